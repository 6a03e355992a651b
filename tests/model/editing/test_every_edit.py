"""What holds for every edit."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from pathlib import Path

import attrs

from model import editing
from model.harness import Harness
from tests.model.editing.cases import printed, walked


def test_no_edit_touches_the_harness_it_was_given():
    harness = walked()
    before = {field.name: getattr(harness, field.name) for field in attrs.fields(Harness)}
    editing.remove_lamp(harness, "L1")
    editing.edit_output(harness, 1, number=9)
    editing.remove_leg(harness, "W2", "W3")
    printed(harness)
    assert all(getattr(harness, name) is value for name, value in before.items())


def test_every_public_edit_is_tested_in_this_folder():
    text = "".join(file.read_text("utf-8") for file in Path(__file__).parent.glob("test_*.py"))
    edits = set(editing.__all__) - {"Merge", "RunChoice"}
    assert {name for name in edits if f"editing.{name}(" not in text} == set()


def test_every_edit_of_the_package_is_among_its_names():
    files = [
        importlib.import_module(module.name)
        for module in pkgutil.iter_modules(editing.__path__, "model.editing.")
    ]
    edits = {
        name
        for file in files
        for name, value in vars(file).items()
        if inspect.isfunction(value) and inspect.signature(value).return_annotation == "Harness"
    }
    inner = {"swap_lamp", "forget_ways"}
    assert {name for name in edits if not name.startswith("_")} - inner <= set(editing.__all__)

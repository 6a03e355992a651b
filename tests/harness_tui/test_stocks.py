"""The person's own stock beside the program's."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from harness_tui.preferences import stock_folder
from harness_tui.stocks import all_stocks, stock_faults
from model.labels.stock import packaged_stocks
from tests.harness_tui.homes import own_home


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    own_home(tmp_path, monkeypatch)
    return stock_folder()


def flag(title: str) -> str:
    text = (resources.files("label_templates") / "flag-12.toml").read_text("utf-8")
    return text.replace("Flag, tape 12 mm", title)


def test_no_folder_is_the_stock_of_the_program() -> None:
    assert all_stocks() == packaged_stocks()
    assert stock_faults() == ""


def test_files_are_merged_and_read_again_once_they_change(folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text(flag("Mine"))
    assert all_stocks()["mine"].title == "Mine"
    assert len(all_stocks()) == len(packaged_stocks()) + 1
    assert all_stocks() is all_stocks()
    (folder / "mine.toml").write_text(flag("Mine, wider"))
    assert all_stocks()["mine"].title == "Mine, wider"
    (folder / "mine.toml").unlink()
    assert "mine" not in all_stocks()


def test_every_fault_of_every_file_is_said_and_the_rest_is_used(folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "good.toml").write_text(flag("Good"))
    (folder / "bad.toml").write_text(flag("Bad").replace("height_mm = 12.0", "height_mm = -1\nfoo = 3"))
    (folder / "worse.toml").write_bytes(b"\xff")
    (folder / "flag-9.toml").write_text(flag("Mine"))
    said = stock_faults()
    for part in ("bad.toml: label.height_mm", "label.foo", "worse.toml", "flag-9.toml", str(folder)):
        assert part in said
    assert "good" in all_stocks()
    assert all_stocks()["flag-9"] == packaged_stocks()["flag-9"]


def test_a_file_in_the_place_of_the_folder_is_said(folder: Path) -> None:
    folder.parent.mkdir(parents=True)
    folder.write_text("")
    assert all_stocks().keys() == packaged_stocks().keys()
    assert "can't be read" in stock_faults()

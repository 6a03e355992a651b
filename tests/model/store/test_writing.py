"""The text of a project file: the same harness, the same text, and back again."""

from __future__ import annotations

import tomllib
from random import Random

import attrs
import pytest
from hypothesis import given, settings

from model.editing import add_lamp, new_harness
from model.harness import Harness
from model.store import dumps, loads
from model.store.shape import ENUMS, PLANS, ROOT_KEYS
from tests.model.store.samples import as_plain, full_harness
from tests.strategies import NASTY_NAMES, harness_from_seed, harnesses

GOLDEN = """\
schema = 1  # lengths in mm, currents in mA; comments of your own are not kept

[project]
name = "Lighthouse"
code = "LH"

[supply]
chemistry = "NiMH"
cells = 6

[controller]
name = "controller"
at = "W1"
switched = "negative"

[[controller.block]]
name = "A"
outputs = [
    { number = 1, pin = "1" },
    { number = 2, pin = "2" },
    { number = 3, pin = "3" },
    { number = 4, pin = "4" },
    { number = 5, pin = "5" },
    { number = 6, pin = "6" },
]
commons = [
    { pin = "7" },
]

[[waypoint]]
id = "W1"
name = "controller"

[[lamp]]
id = "L1"
name = "Lantern"
function = "lighthouse lamp"
colour = "white"
size = "5 mm"
build = "bare"
current_ma = 7.5
"""

DEFAULTS_OF_SCHEMA_1 = {
    "Supply": {
        "chemistry": "NiMH",
        "cells": 6,
        "flat_v": None,
        "nominal_v": None,
        "full_v": None,
        "capacity_mah": None,
    },
    "Controller": {"name": "controller", "at": "W1", "switched": "negative", "block": ()},
    "Block": {"outputs": (), "commons": ()},
    "Output": {
        "function": "",
        "limit_ma": 250.0,
        "delivers": "supply",
        "delivers_v": None,
        "delivers_ma": None,
        "colour": None,
    },
    "CommonPin": {"limit_ma": 1000.0},
    "Waypoint": {"reachable": True},
    "Leg": {"loop_mm": None, "plug": "", "plug_mm": 0.0, "hole_mm": None},
    "Lamp": {
        "function": "other",
        "place": "",
        "hand": "",
        "colour": "white",
        "size": "3 mm",
        "build": "bare",
        "current_ma": None,
        "vf_low_v": None,
        "vf_v": None,
        "vf_high_v": None,
        "max_ma": None,
        "resistor_ohm": None,
        "rated_v": None,
        "rated_ma": None,
        "lead_mm": 0.0,
        "output": None,
        "at": None,
        "spur_mm": 0.0,
        "measured_mm": None,
        "run": None,
    },
    "Run": {"way": ()},
    "Lead": {"joint": None, "pin": None, "colour": None},
    "Joint": {"output": None, "onto": None, "pin": None, "way": (), "colour": None, "gauge": None},
    "Contact": {},
    "Spool": {"gauge": "28 AWG"},
    "Printed": {"said": ""},
    "Checked": {},
    "Settings": {
        "slack_pct": 10.0,
        "slack_min_mm": 20.0,
        "service_loop_mm": 60.0,
        "lamp_spare_mm": 15.0,
        "strip_mm": 3.0,
        "joint_overlap_mm": 8.0,
        "round_mm": 5.0,
        "joint_cost_mm": 40.0,
        "joint_max_wires": 4,
        "pin_max_wires": 2,
        "gauge": "28 AWG",
        "plus_colour": "RD",
        "minus_colour": "BK",
        "colour_per_output": False,
        "series": "E12",
        "resistor_tolerance_pct": 5.0,
        "drawer_ohm": (),
        "resistor_body": "axial",
        "inside_c": 40.0,
        "contact_milliohm": 20.0,
        "joint_milliohm": 1.0,
        "switch_milliohm": 100.0,
        "visible_difference_pct": 20.0,
        "tag_scheme": "code",
        "sleeve_stock": "",
        "flag_stock": "",
    },
    "Progress": {"walk": "", "bench": "", "skipped": ()},
    "TagRecord": {
        "meaning": "",
        "printed_lamp": "",
        "printed_controller": "",
        "said_lamp": "",
        "said_controller": "",
        "on_lamp": "",
        "on_controller": "",
        "earlier": (),
        "steps": (),
        "cut_mm": None,
        "retired": "",
        "replaced_by": (),
        "events": (),
    },
    "Event": {"note": ""},
    "Print": {"on": "", "said": ""},
}


def test_golden_text() -> None:
    harness = add_lamp(
        new_harness("Lighthouse", "LH"), "Lantern", function="lighthouse lamp", size="5 mm", current_ma=7.5
    )
    assert dumps(harness) == GOLDEN


def test_every_field_survives() -> None:
    harness = full_harness()
    again = loads(dumps(harness))
    assert as_plain(again) == as_plain(harness)
    assert dumps(again) == dumps(harness)


def test_the_full_harness_is_full() -> None:
    """Each field differs from its default somewhere, so that the test above leaves none out."""
    text = dumps(full_harness())
    written = tomllib.loads(text)
    keys = set()

    def walk(value: object) -> None:
        if isinstance(value, dict):
            keys.update(value)
            for inner in value.values():
                walk(inner)
        if isinstance(value, list):
            for inner in value:
                walk(inner)

    walk(written)
    wanted = {field.key for plans in PLANS.values() for field in plans} | set(ROOT_KEYS)
    assert wanted - keys == set()


def test_every_class_of_a_harness_has_a_place() -> None:
    """A field of a type the file does not know would be lost in silence."""
    for cls in PLANS:
        attrs.resolve_types(cls)
        for field in attrs.fields(cls):
            assert set(_classes(field.type)) <= {*PLANS, *ENUMS, str, int, float, bool}, (cls, field.name)
    attrs.resolve_types(Harness)
    assert {field.name for field in attrs.fields(Harness)} == {
        "name",
        "code",
        "supply",
        "controller",
        "waypoints",
        "legs",
        "lamps",
        "joints",
        "contacts",
        "spools",
        "printed",
        "checked",
        "settings",
        "progress",
        "ledger",
    }


def _classes(kind: object) -> list[object]:
    parts = getattr(kind, "__args__", ())
    if parts:
        return [cls for part in parts for cls in _classes(part)]
    return [] if kind in (type(None), Ellipsis) else [kind]


@pytest.mark.parametrize("cls", PLANS, ids=lambda cls: cls.__name__)
def test_defaults_are_part_of_the_schema(cls: type) -> None:
    """What is left out of a file means these values for ever; changing one needs a new schema."""
    have = {field.key: field.default for field in PLANS[cls] if field.default is not attrs.NOTHING}
    for key, value in DEFAULTS_OF_SCHEMA_1[cls.__name__].items():
        assert have[key] == value, key


@given(harnesses(world=True, later_edits=3))
@settings(max_examples=60, deadline=None)
def test_round_trip_of_any_harness(harness: Harness) -> None:
    text = dumps(harness)
    again = loads(text)
    assert as_plain(again) == as_plain(harness)
    assert dumps(again) == text


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_data(name: str) -> None:
    harness = add_lamp(new_harness(name, "T1"), name, function=name, place=name)
    text = dumps(harness)
    again = loads(text)
    assert (again.name, again.lamps[0].name, again.lamps[0].place) == (name, name, name)
    assert all(sign == "\n" or sign >= " " for sign in text)


def test_an_edit_changes_few_lines() -> None:
    """A changed lamp is a changed block: the file can be compared by eye."""
    harness = harness_from_seed(3, lamps=(8, 8), nasty=0.0)
    before = dumps(harness).splitlines()
    lamps = (*harness.lamps[:4], attrs.evolve(harness.lamps[4], current_ma=9.0), *harness.lamps[5:])
    after = dumps(attrs.evolve(harness, lamps=lamps)).splitlines()
    assert [line for line in after if line not in before] == ["current_ma = 9"]


@pytest.mark.parametrize(
    ("length_mm", "written"),
    [
        (210.0, "210"),
        (210, "210"),
        (333.3, "333.3"),
        (0.1 + 0.2, "0.30000000000000004"),
        (1e-7, "1e-07"),
        (-0.0, "0"),
    ],
)
def test_numbers(length_mm: float, written: str) -> None:
    harness = full_harness()
    harness = attrs.evolve(harness, legs=(attrs.evolve(harness.legs[0], length_mm=length_mm, plug_mm=0.0),))
    text = dumps(harness)
    assert f"length_mm = {written}\n" in text
    assert loads(text).legs[0].length_mm == length_mm


def test_the_order_of_lists_is_kept() -> None:
    harness = full_harness()
    turned = attrs.evolve(harness, lamps=harness.lamps[::-1], joints=harness.joints[::-1])
    again = loads(dumps(turned))
    assert [lamp.id for lamp in again.lamps] == ["L2", "L1"]
    assert [joint.id for joint in again.joints] == ["J2", "J1"]


def test_one_text_for_one_harness() -> None:
    rng = Random(5)
    for _ in range(20):
        seed = rng.randrange(10_000)
        assert dumps(harness_from_seed(seed)) == dumps(harness_from_seed(seed))

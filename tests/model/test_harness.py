"""What the values of a harness accept, and how they refuse the rest."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.errors import BadValue, LoomError, NotThere
from model.harness import (
    Block,
    Build,
    Checked,
    CommonPin,
    Contact,
    Controller,
    Delivers,
    Hand,
    Harness,
    Joint,
    Lamp,
    Lead,
    Leg,
    Output,
    Polarity,
    Printed,
    Progress,
    Run,
    Settings,
    Supply,
    Switched,
    Waypoint,
)
from model.values import NAME_MAX, is_unseen, parse_number, shown, text_fault
from tests.strategies import NASTY_NAMES, names

Make = Callable[..., Any]


def lamp(**fields: Any) -> Lamp:
    return Lamp(**{"id": "L1", "name": "Headlamp left", **fields})


def output(**fields: Any) -> Output:
    return Output(**{"number": 1, "pin": "1", **fields})


def leg(**fields: Any) -> Leg:
    return Leg(**{"a": "W1", "b": "W2", "length_mm": 100.0, **fields})


def point(**fields: Any) -> Waypoint:
    return Waypoint(**{"id": "W1", "name": "cab floor", **fields})


def harness(**fields: Any) -> Harness:
    return Harness(**{"name": "Gritter", "code": "GRT", **fields})


# Each number of a harness: how to make the value, the field, what is just allowed, what is just not.
NUMBERS: tuple[tuple[Make, str, tuple[Any, ...], tuple[Any, ...]], ...] = (
    (Supply, "cells", (1, 60), (-1, 61, 2.9)),
    (Supply, "flat_v", (0.1, 60), (0, -1.2, 60.1)),
    (Supply, "full_v", (0.1, 60), (0, -1.2, 60.1)),
    (Supply, "capacity_mah", (1, 1e6), (0, 1e7)),
    (output, "number", (1, 99), (0, 100, -1, 1.5)),
    (output, "limit_ma", (0.5, 100_000), (0, -1, 100_001)),
    (output, "delivers_v", (3.3, 60), (0, 61)),
    (output, "delivers_ma", (20, 10_000), (0, 10_001)),
    (CommonPin, "limit_ma", (0.5, 100_000), (0, 100_001)),
    (leg, "length_mm", (0, 100_000), (-0.1, 100_001)),
    (leg, "loop_mm", (0, 10_000, None), (-1, 10_001)),
    (leg, "plug_mm", (0, 100), (-1,)),
    (leg, "hole_mm", (0.1, 1000, None), (0, -3, 1001)),
    (lamp, "current_ma", (0.1, 3000, None), (0, -10, 3001)),
    (lamp, "vf_v", (1.8, 60, None), (0, 61)),
    (lamp, "resistor_ohm", (0, 1e7, None), (-1, 2e7)),
    (lamp, "rated_v", (6, 60, None), (0, 61)),
    (lamp, "lead_mm", (0, 100_000), (-1, 100_001)),
    (lamp, "output", (1, 99, None), (0, 100, 1.0)),
    (lamp, "spur_mm", (0, 100_000), (-1,)),
    (lamp, "measured_mm", (0.1, 100_000, None), (0, -1)),
    (Settings, "slack_pct", (0, 100), (-1, 101)),
    (Settings, "slack_min_mm", (0, 1000), (-1, 1001)),
    (Settings, "round_mm", (0.1, 100), (0, 101)),
    (Settings, "joint_max_wires", (3, 12), (2, 13, 3.5)),
    (Settings, "pin_max_wires", (1, 12), (0, 13, 1.5)),
    (Settings, "resistor_tolerance_pct", (0, 20), (-1, 21)),
    (Settings, "inside_c", (-20, 40, 100), (-21, 101)),
    (Settings, "contact_milliohm", (0, 10_000), (-1, 10_001)),
    (Settings, "joint_milliohm", (0, 10_000), (-1, 10_001)),
    (Settings, "switch_milliohm", (0, 10_000), (-1, 10_001)),
    (Settings, "visible_difference_pct", (0.1, 100), (0, 101)),
    (lambda **fields: Contact(plug="P1", origin="L1-", **fields), "number", (1, 999), (0, 1000, 1.5)),
)
NEVER_NUMBERS: tuple[Any, ...] = (
    float("inf"),
    float("-inf"),
    float("nan"),
    True,
    False,
    "10",
    "",
    [10],
    {},
    10**400,
    -(10**400),
    10**5000,
    1j,
    b"10",
)


def made_with(make: Make, field: str) -> Make:
    """`make` with what a common pin needs beside the field under test."""
    return (lambda **fields: CommonPin(pin="7", **fields)) if make is CommonPin else make


@pytest.mark.parametrize(
    ("make", "field", "good", "bad"), NUMBERS, ids=lambda value: value if isinstance(value, str) else ""
)
def test_numbers(make: Make, field: str, good: tuple[Any, ...], bad: tuple[Any, ...]):
    make = made_with(make, field)
    for value in good:
        assert getattr(make(**{field: value}), field) == value
    for value in (*bad, *NEVER_NUMBERS):
        with pytest.raises(BadValue) as caught:
            make(**{field: value})
        assert caught.value.limit, "the message says what would be right"
        assert field.replace("_", " ") in caught.value.subject
        assert len(caught.value.message()) < 300


TEXTS: tuple[tuple[Make, str, int, bool], ...] = (
    # how to make the value, the field, most characters, whether it may be empty
    (harness, "name", 60, False),
    (output, "pin", 6, False),
    (output, "function", 60, True),
    (lambda **fields: CommonPin(**fields), "pin", 6, False),
    (lambda **fields: Block(**fields), "name", 6, False),
    (Controller, "name", 60, False),
    (point, "name", 60, False),
    (leg, "plug", 6, True),
    (lamp, "name", 60, False),
    (lamp, "function", 60, True),
    (lamp, "place", 60, True),
    (lambda **fields: Contact(number=1, origin="L1-", **fields), "plug", 6, False),
    (lambda **fields: Contact(number=1, plug="P1", **fields), "origin", 12, False),
    (lambda **fields: Printed(kind="joint", day="2026-03-03", **fields), "name", 12, False),
    (lambda **fields: Checked(day="2026-03-03", **fields), "id", 20, False),
    (Settings, "sleeve_stock", 40, True),
    (Progress, "walk", 8, True),
)
BAD_TEXTS: tuple[Any, ...] = (
    "x" * 500,
    "\x00",
    "a\x1b[31m",
    "a\nb",
    "tab\there",
    "\u202eabc",
    "\u2028",
    "\ud800",
    "\ue000",
    7,
    None,
    b"abc",
    ["abc"],
)


@pytest.mark.parametrize(
    ("make", "field", "most", "empty"), TEXTS, ids=lambda value: value if isinstance(value, str) else ""
)
def test_texts(make: Make, field: str, most: int, empty: bool):
    for value in ("x", "x" * most, "[/]"[:most], "\U0001f6a8", "\u05de"):
        assert getattr(make(**{field: value}), field) == value
    for value in ("x" * (most + 1), *BAD_TEXTS):
        with pytest.raises(BadValue) as caught:
            make(**{field: value})
        assert not any(is_unseen(sign) for sign in caught.value.message()), (
            "the message itself is safe to show"
        )
        assert len(caught.value.message()) < 300
    for value in ("", "   "):
        if empty:
            make(**{field: value})
        else:
            with pytest.raises(BadValue, match="empty"):
                make(**{field: value})


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_that_something_careless_would_stumble_over_are_kept_as_they_are(name: str):
    assert lamp(name=name).name == name
    assert harness(name=name).name == name


@given(names())
def test_any_name_of_seen_characters_is_accepted(name: str):
    assert lamp(name=name).name == name


@given(st.text(max_size=80))
def test_a_name_is_accepted_exactly_when_it_has_no_fault(name: str):
    fault = text_fault(name) or ("" if name.strip() else "is empty")
    if not fault:
        assert lamp(name=name).name == name
    else:
        with pytest.raises(BadValue):
            lamp(name=name)


CHOICES: tuple[tuple[Make, str, tuple[Any, ...]], ...] = (
    (Supply, "chemistry", ("NiMH", "lead-acid")),
    (lamp, "colour", ("amber", "warm white")),
    (lamp, "size", ("3 mm", "0603")),
    (lamp, "build", (Build.BARE,)),
    (lamp, "hand", tuple(Hand)),
    (output, "delivers", (Delivers.SUPPLY,)),
    (output, "colour", ("RD", None)),
    (Controller, "switched", tuple(Switched)),
    (Lead, "colour", ("BK", None)),
    (Settings, "gauge", (Settings().gauge,)),
    (Settings, "series", ("E6", "E96")),
    (Settings, "resistor_body", ("axial", "chip")),
    (Settings, "plus_colour", ("RD",)),
    (Settings, "tag_scheme", (Settings().tag_scheme,)),
)


@pytest.mark.parametrize(
    ("make", "field", "good"), CHOICES, ids=lambda value: value if isinstance(value, str) else ""
)
def test_choices(make: Make, field: str, good: tuple[Any, ...]):
    for value in good:
        assert getattr(make(**{field: value}), field) is value
    for value in ("no such thing", 1, True, [], {}, "x" * 500, "\x1b[31m"):
        with pytest.raises(BadValue) as caught:
            make(**{field: value})
        assert caught.value.limit, "the message lists what there is"
        assert not any(is_unseen(sign) for sign in caught.value.message())


@pytest.mark.parametrize("drawer", [(), (330.0,), (0.47, 1e7), tuple(float(ohm) for ohm in range(1, 201))])
def test_a_drawer(drawer: tuple[float, ...]):
    assert Settings(drawer_ohm=drawer).drawer_ohm == drawer


@pytest.mark.parametrize(
    "drawer",
    [
        (0.0,),
        (330.0, -1.0),
        (1e7 + 1,),
        (330.0, float("nan")),
        (True,),
        ("330",),
        [330.0],
        330.0,
        (1.0,) * 201,
    ],
)
def test_what_no_drawer_holds(drawer: Any):
    with pytest.raises(BadValue) as caught:
        Settings(drawer_ohm=drawer)
    assert caught.value.limit
    assert "drawer ohm" in caught.value.subject


def test_a_text_that_looks_like_a_member_is_not_one():
    with pytest.raises(BadValue, match="ready-wired"):
        lamp(build="ready-wired", rated_v=12.0)


IDS: tuple[tuple[Make, str, str], ...] = (
    (lamp, "id", "L"),
    (lamp, "at", "W"),
    (point, "id", "W"),
    (leg, "a", "W"),
    (leg, "b", "W"),
    (Controller, "at", "W"),
    (lambda **fields: Joint(**{"id": "J1", "at": "W1", **fields}), "id", "J"),
    (lambda **fields: Joint(**{"id": "J1", "at": "W1", **fields}), "at", "W"),
    (lambda **fields: Joint(**{"id": "J1", "at": "W1", **fields}), "onto", "J"),
    (Lead, "joint", "J"),
)


@pytest.mark.parametrize(
    ("make", "field", "letter"), IDS, ids=lambda value: value if isinstance(value, str) else ""
)
def test_ids(make: Make, field: str, letter: str):
    for value in (f"{letter}9", f"{letter}99999"):
        assert getattr(make(**{field: value}), field) == value
    other = "J" if letter != "J" else "W"
    bad = (
        "",
        letter,
        f"{letter}0",
        f"{letter}01",
        f"{letter}100000",
        f"{letter}-1",
        f"{letter.lower()}1",
        f"{other}1",
    )
    for value in (
        *bad,
        f"{letter}1\n",
        f"{letter}\u0663",
        f"{letter}1 ",
        1,
        True,
        [],
        f"{letter}" + "1" * 500,
    ):
        with pytest.raises(BadValue) as caught:
            make(**{field: value})
        assert len(caught.value.message()) < 200


def test_a_value_wrong_in_two_fields_is_refused_for_one_of_them():
    with pytest.raises(BadValue):
        Contact(plug="x" * 500, number=10**5000, origin="")
    with pytest.raises(BadValue):
        Output(number="\x1b[31m" * 100, pin=None)


@pytest.mark.parametrize("code", ["GRT", "T2", "A1B", "99"])
def test_project_codes(code: str):
    assert harness(code=code).code == code


@pytest.mark.parametrize(
    "code", ["", "G", "GRIT", "grt", "G-T", "GR\n", "G T", "\u0391\u0392", 12, None, "A" * 500]
)
def test_project_codes_refused(code: Any):
    with pytest.raises(BadValue, match="project code"):
        harness(code=code)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Supply(chemistry="regulated"), "missing"),
        (lambda: Supply(chemistry="NiMH", cells=0), "cells"),
        (lambda: Supply(flat_v=7.0, nominal_v=6.0), "order"),
        (lambda: Supply(flat_v=7.0, full_v=6.0), "order"),
        (lambda: output(delivers=Delivers.REGULATED), "missing"),
        (lambda: output(delivers=Delivers.CURRENT), "missing"),
        (lambda: leg(b="W1"), "one waypoint"),
        (lambda: leg(plug="P1", plug_mm=100.1), "100.1 mm"),
        (lambda: lamp(build=Build.WIRED), "rated volts"),
    ],
)
def test_values_that_do_not_go_together(make: Callable[[], object], words: str):
    with pytest.raises(BadValue, match=words):
        make()


@pytest.mark.parametrize(
    "make",
    [
        lambda: Supply(chemistry="regulated", cells=0, nominal_v=5.0),
        lambda: Supply(flat_v=5.4, nominal_v=7.2, full_v=8.7),
        lambda: output(delivers=Delivers.CURRENT, delivers_ma=20.0),
        lambda: leg(plug="P1", plug_mm=100.0),
        lambda: lamp(build=Build.WIRED, rated_v=12.0, lead_mm=300.0),
    ],
)
def test_values_that_do(make: Callable[[], object]):
    assert make() == make()


# --- what a harness answers -----------------------------------------------------------------------


def test_polarity():
    assert (Polarity.PLUS.word, Polarity.MINUS.word) == ("plus", "minus")
    assert Polarity.PLUS.other is Polarity.MINUS
    assert Polarity.MINUS.other is Polarity.PLUS


@pytest.mark.parametrize(
    ("switched", "at_outputs", "at_common"),
    [(Switched.NEGATIVE, Polarity.MINUS, Polarity.PLUS), (Switched.POSITIVE, Polarity.PLUS, Polarity.MINUS)],
)
def test_which_polarity_goes_where(switched: Switched, at_outputs: Polarity, at_common: Polarity):
    one = harness(controller=Controller(switched=switched))
    assert one.controller.switched_polarity is at_outputs
    assert one.controller.common_polarity is at_common
    assert one.net_of(lamp(output=3), at_outputs) == 3
    assert one.net_of(lamp(output=3), at_common) is None
    assert one.polarity_of(Joint(id="J1", at="W1", output=3)) is at_outputs
    assert one.polarity_of(Joint(id="J1", at="W1")) is at_common


def test_looking_things_up():
    block = Block(name="A", outputs=(output(), output(number=2, pin="2")), commons=(CommonPin(pin="7"),))
    here = leg()
    whole = harness(
        controller=Controller(blocks=(block,)),
        waypoints=(point(), point(id="W2", name="bumper")),
        legs=(here,),
        lamps=(lamp(),),
        joints=(Joint(id="J1", at="W2"),),
    )
    assert whole.lamp("L1") is whole.lamps[0]
    assert whole.waypoint("W2").name == "bumper"
    assert whole.joint("J1") is whole.joints[0]
    assert whole.find_leg("W2", "W1") is whole.find_leg("W1", "W2") is here
    assert whole.find_leg("W1", "W1") is None
    assert whole.controller.find_output(2) == (block, block.outputs[1])
    assert whole.controller.find_output(None) is None
    assert list(whole.controller.commons()) == [(block, block.commons[0])]
    assert (whole.find_lamp(None), whole.find_waypoint("W9"), whole.find_joint(None)) == (None, None, None)
    for look_up, missing in ((whole.lamp, "L9"), (whole.waypoint, "W9"), (whole.joint, "J9")):
        with pytest.raises(NotThere, match=missing):
            look_up(missing)


def test_run_leads():
    run = Run(plus=Lead(pin="A.7"), minus=Lead(joint="J1"))
    assert run.lead(Polarity.PLUS).pin == "A.7"
    assert run.lead(Polarity.MINUS).joint == "J1"
    changed = run.with_lead(Polarity.MINUS, Lead(colour="BU"))
    assert (changed.plus, changed.minus) == (run.plus, Lead(colour="BU"))


def test_values_are_frozen_and_a_harness_is_compared_by_identity():
    one = harness()
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        one.name = "other"  # type: ignore[misc]
    assert one != harness()
    assert lamp() == lamp()


# --- words ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("lamp", "lamp"),
        ("a\x1b[2J", "a\\x1b[2J"),
        ("x" * 50, "x" * 39 + "\u2026"),
        ("\u202e", "\\x202e"),
        ("", ""),
    ],
)
def test_shown(text: str, safe: str):
    assert shown(text) == safe


@given(st.text())
def test_shown_is_always_short_and_safe(text: str):
    safe = shown(text)
    assert len(safe) <= 40
    assert not any(is_unseen(sign) for sign in safe)


def test_a_joined_emoji_is_one_sign_and_no_fault():
    assert text_fault("\U0001f468\u200d\U0001f527 \u2b50\ufe0f") == ""
    assert text_fault("x" * NAME_MAX) == ""
    assert text_fault("x" * (NAME_MAX + 1))


@pytest.mark.parametrize(
    ("error", "message"),
    [
        (LoomError("lamp Fog", "is dark"), "lamp Fog: is dark."),
        (LoomError("lamp Fog", "30 mA", limit="20 mA"), "lamp Fog: 30 mA (20 mA)."),
        (
            LoomError("lamp Fog", "30 mA", limit="20 mA", remedy="Choose 560R."),
            "lamp Fog: 30 mA (20 mA). Choose 560R.",
        ),
    ],
)
def test_messages(error: LoomError, message: str):
    assert error.message() == str(error) == message


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("120", 120.0),
        ("120 mm", 120.0),
        ("120mm", 120.0),
        ("4,5", 4.5),
        (" 4.5 ", 4.5),
        ("", None),
        ("-", None),
    ],
)
def test_numbers_as_typed(typed: str, value: float | None):
    assert parse_number(typed, "leg", "mm") == value


@pytest.mark.parametrize(
    "typed", ["x", "1_000", "inf", "nan", "1,2,3", "1,000.5", "120 in", "0x10", "\x1b", "1e999"]
)
def test_numbers_as_not_to_be_typed(typed: str):
    with pytest.raises(BadValue, match="leg") as caught:
        parse_number(typed, "leg", "mm")
    assert not any(is_unseen(sign) for sign in caught.value.message())

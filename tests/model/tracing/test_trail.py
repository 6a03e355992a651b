"""Trails: the tree from the pin, the way to the wire, and their drawing in lines."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harness_tui.examples import text as demo_text
from model import editing
from model.checks.outputs import pin_twice
from model.editing import RunChoice
from model.harness import Harness
from model.routing.allot import settle
from model.routing.wires import Wire, derive
from model.store import loads
from model.tracing.lines import MARKS, cells, cut, draw_trail
from model.tracing.trail import PointKind, Trail, trail, walk
from tests.following import follow
from tests.model.tracing.loom import gritter
from tests.strategies import NASTY_NAMES, harnesses
from tests.strategies import walk as walk_all


def trail_of(harness: Harness, key: str) -> Trail:
    return trail(harness, derive(harness).by_key[key])


def test_from_pin_to_lamp():
    way = trail_of(gritter(), "L1-")
    assert (way.root.kind, way.root.ref, way.root.words) == (PointKind.PIN, "A.5", "output 5, pin A5")
    assert [(branch.tag, branch.to.ref, branch.to.place, branch.asked) for branch in way.line] == [
        ("9C9", "J1", "cab floor", False),
        ("K7L", "L1", "front bumper", True),
    ]
    assert [branch.tag for branch in way.neighbours] == ["H4E"]
    assert way.behind.lamps == ("Indicator front left",)
    assert way.root.lamps == ("Indicator front left", "Indicator side left")


def test_of_a_trunk_everything_hangs_behind():
    way = trail_of(gritter(), "J1-")
    assert [branch.tag for branch in way.line] == ["9C9"]
    assert [branch.tag for branch in way.behind.branches] == ["K7L", "H4E"]
    assert way.neighbours == ()


def test_over_a_plug():
    way = trail_of(gritter(), "L3-")
    assert [(branch.wire.key, branch.to.kind, branch.to.ref) for branch in way.line] == [
        ("L3-.2", PointKind.PLUG, "P1.2"),
        ("L3-", PointKind.LAMP, "L3"),
    ]


def test_wires_on_one_common_pin_hang_together():
    way = trail_of(gritter(), "L1+")
    assert way.root.ref == "A.7"
    assert [branch.wire.key for branch in way.neighbours] == ["L2+", "L3+.2"]


def test_wires_without_a_pin_stand_alone():
    harness = settle(editing.remove_common(gritter(), "A", "7"))
    way = trail_of(harness, "L1+")
    assert (way.root.ref, way.root.words) == ("", "no pin yet")
    assert way.neighbours == ()


@settings(max_examples=50, deadline=None)
@given(harnesses(world=True, later_edits=3))
def test_the_line_is_what_a_finger_follows(harness: Harness):
    seen: set[str] = set()
    for lamp in harness.lamps:
        if lamp.run is None:
            continue
        for polarity in (harness.controller.common_polarity, harness.controller.switched_polarity):
            followed = follow(harness, lamp.id, polarity)
            line = trail(harness, followed[0]).line
            assert [branch.wire for branch in line] == followed[::-1]
            assert [branch.asked for branch in line] == [False] * (len(line) - 1) + [True]
            seen |= {wire.key for wire in followed}
    assert seen == set(derive(harness).by_key)


@settings(max_examples=50, deadline=None)
@given(harnesses(later_edits=3))
def test_a_trail_holds_each_wire_once_and_all_that_hang_together(harness: Harness):
    names = {lamp.id: lamp.name for lamp in harness.lamps}
    # On a pin that is written down twice, which a check reports, two nets do hang together.
    doubled = any(finding.rule == "pin used twice" for finding in pin_twice(harness))
    for wire in derive(harness).wires:
        way = trail(harness, wire)
        branches = list(walk(way.root))
        keys = [branch.wire.key for branch in branches]
        assert len(set(keys)) == len(keys)
        assert sum(branch.asked for branch in branches) == 1
        assert sorted(way.behind.lamps) == sorted(names[lamp_id] for lamp_id in wire.lamps)
        for branch in branches:
            assert branch.tag == harness.ledger.live()[branch.wire.key].tag
            if not doubled:
                assert (branch.wire.polarity, branch.wire.output) == (wire.polarity, wire.output)
            assert branch.to.kind.value == branch.wire.lamp_end.kind.value
        together = [
            other for other in derive(harness).wires if _pin_of(harness, other) == _pin_of(harness, wire)
        ]
        assert set(keys) == {other.key for other in together}


def _pin_of(harness: Harness, wire: Wire) -> str:
    """The pin a wire ends on in the end; a chain without one stands for itself."""
    lamp_id = wire.lamps[0]
    last = follow(harness, lamp_id, wire.polarity)[-1]
    return last.controller_end.ref or last.key


def test_drawn_in_80_columns():
    assert draw_trail(trail_of(gritter(), "L1-")) == [
        "controller                     cab floor                front bumper",
        "■ out 5 A5 ── 9C9 BK 305 mm ── ◆ J1 ━━ K7L BK 170 mm ━━ ○ Indicator front left -",
        "                               └── H4E BK 50 mm ── ○ Indicator side left -",
    ]


def test_drawn_with_all_that_hangs_behind_a_trunk_and_beside_it():
    assert draw_trail(trail_of(gritter(), "L3+.2"), 100) == [
        "controller                          cab floor",
        "■ common pin A7 ━━ A8F RD 330 mm ━━ ▣ plug P1 contact 1",
        "│                                   └── P6R RD 105 mm ── ○ Beacon +",
        "├── F8N RD 445 mm ── ○ Indicator front left +",
        "└── J5E RD 315 mm ── ○ Indicator side left +",
    ]


def test_drawn_in_40_columns():
    assert draw_trail(trail_of(gritter(), "L1-"), 40) == [
        "controller",
        "■ out 5 A5",
        "               cab floor",
        "… ── 9C9 BK ── ◆ J1",
        "               └── H4E BK ── ○ Indicato…",
        "               front bumper",
        "… ━━ K7L BK ━━ ○ Indicator front left -",
    ]


@pytest.mark.parametrize("width", [40, 60, 80, 120, 200])
def test_drawing_names_every_wire_of_the_line_and_its_neighbours(width: int):
    harness = gritter()
    text = "\n".join(draw_trail(trail_of(harness, "L1-"), width))
    tags = {key: record.tag for key, record in harness.ledger.live().items()}
    for key in ("J1-", "L1-", "L2-"):
        assert tags[key] in text
    assert f"\u2501\u2501 {tags['L1-']} BK" in text
    assert f"\u2501\u2501 {tags['J1-']}" not in text


@settings(max_examples=60, deadline=None)
@given(harnesses(later_edits=2, nasty=0.4), st.integers(min_value=40, max_value=160))
def test_drawing_keeps_to_its_width_and_shows_every_hop(harness: Harness, width: int):
    for wire in derive(harness).wires:
        way = trail(harness, wire)
        lines = draw_trail(way, width)
        assert all(cells(line) <= width for line in lines), lines
        text = "\n".join(lines)
        for branch in way.line:
            assert f" {branch.tag} {branch.wire.colour}" in text
        for branch in way.neighbours:
            assert branch.tag in text
        assert text.count("\u2501\u2501 ") >= 1


@settings(max_examples=20, deadline=None)
@given(harnesses(lamps=(6, 12)), st.integers(min_value=5, max_value=12))
def test_drawing_keeps_to_its_rows(harness: Harness, rows: int):
    for wire in derive(harness).wires:
        whole = draw_trail(trail(harness, wire))
        lines = draw_trail(trail(harness, wire), rows=rows)
        if len(whole) <= rows:
            assert lines == whole
        else:
            assert len(lines) <= rows
            assert any("\u2501\u2501 " in line for line in lines)
            # In their order; two wires may read alike, so that a line may stand there twice.
            rest = iter(whole)
            assert all(line in rest for line in lines if not line.startswith("\u2026 and "))


def test_the_asked_wire_is_never_among_those_left_out():
    harness = chain_of_plugs(9)
    way = trail_of(harness, "L1-")
    lines = draw_trail(way, 60, rows=5)
    assert len(lines) == 5
    text = "\n".join(lines)
    assert f"\u2501\u2501 {way.tag} " in text
    assert lines[0].startswith(MARKS[PointKind.PIN])
    named = sum(branch.tag in text for branch in way.line)
    assert lines[-1] == f"\u2026 and {len(way.line) - named} wires more"


def test_what_hangs_beside_is_left_out_and_counted():
    harness = walk_all(loads(demo_text("gritter"), "gritter.toml"))
    wire = next(one for one in derive(harness).wires if len(trail(harness, one).line) == 3)
    way = trail(harness, wire)
    whole = draw_trail(way)
    lines = draw_trail(way, rows=6)
    assert len(whole) > len(lines) == 6
    assert any(f"\u2501\u2501 {way.tag} " in line for line in lines)
    assert lines[-1] == f"\u2026 and {len(whole) - 5} wires more"


def chain_of_plugs(count: int) -> Harness:
    """One lamp behind so many plugs."""
    harness = editing.new_harness("Long", "LNG")
    for number in range(count):
        harness = editing.add_waypoint(harness, f"bulkhead {number + 1}")
        harness = editing.set_leg(
            harness, f"W{number + 1}", f"W{number + 2}", length_mm=100, plug=f"P{number + 1}"
        )
    harness = editing.add_lamp(harness, "Light at the very end of it all", output=1, at=f"W{count + 1}")
    way = tuple(f"W{number}" for number in range(count + 1, 0, -1))
    return settle(editing.accept_run(harness, "L1", RunChoice(way=way)))


def test_a_line_too_long_goes_on_in_a_next_row():
    harness = chain_of_plugs(9)
    lines = draw_trail(trail_of(harness, "L1-"))
    rows = [line for line in lines if MARKS[PointKind.PIN] in line or line.startswith("\u2026 ")]
    assert len(rows) > 1
    joined = " ".join(rows)
    order = [joined.index(branch.tag) for branch in trail_of(harness, "L1-").line]
    assert order == sorted(order)


@pytest.mark.parametrize(
    ("text", "columns"),
    [("", 0), ("K7L", 3), ("\u30e9\u30f3\u30d7", 6), ("e\u0301", 1), ("\U0001f6a8", 2), ("\u05de", 1)],
)
def test_columns_of_a_text(text: str, columns: int):
    assert cells(text) == columns


@pytest.mark.parametrize(
    ("text", "width", "expected"),
    [
        ("Beacon", 6, "Beacon"),
        ("Beacon", 5, "Beac\u2026"),
        ("Cab lamp", 5, "Cab\u2026"),
        ("\u30e9\u30f3\u30d7", 4, "\u30e9\u2026"),
        ("Beacon", 1, "\u2026"),
        ("Beacon", 0, ""),
    ],
)
def test_cut_marks_that_it_cut(text: str, width: int, expected: str):
    assert cut(text, width) == expected
    assert cells(expected) <= max(width, 0)


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_any_name_can_be_drawn(name: str):
    harness = settle(editing.edit_lamp(gritter(), "L1", name=name))
    for line in draw_trail(trail_of(harness, "L1-"), 60):
        assert cells(line) <= 60

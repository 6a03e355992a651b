"""A trace step by step: what is seen, what is left, what to test, and how it ends."""

from __future__ import annotations

from random import Random

import pytest

from model import editing
from model.errors import BadValue, LoomError, NotThere
from model.harness import Harness
from model.routing.allot import settle
from model.tracing.behaviour import Faults, Sight
from model.tracing.fault_words import fault_places
from model.tracing.faults import Fault, FaultKind, all_faults
from model.tracing.probe_words import probe_words
from model.tracing.proposing import Proposal, Standing, next_test, standing, unexpected
from model.tracing.trace import (
    SOUND,
    Probe,
    ProbeKind,
    Trace,
    answer,
    begin,
    carried_over,
    clear,
    refuse,
    see,
    see_rest,
    suspects,
    with_battery,
)
from model.tracing.trace_text import lamps_called, seen_in_words, trace_of, trace_text
from tests.model.tracing.decision_trees import reading_of
from tests.model.tracing.loom import gritter
from tests.strategies import harness_from_seed


@pytest.fixture(scope="module")
def harness() -> Harness:
    return gritter()


def words(trace: Trace) -> list[str]:
    return [one.words for one in suspects(trace)]


def kinds(trace: Trace) -> set[FaultKind]:
    return {fault.kind for one in suspects(trace) for fault in one.faults}


def both_dark(harness: Harness) -> Trace:
    trace = see(see(begin(harness), "L1", Sight.DARK), "L2", Sight.DARK)
    return see_rest(trace)


def test_nothing_odd_says_so(harness: Harness) -> None:
    trace = see(begin(harness), "L1", Sight.LIT)
    assert standing(trace) is Standing.NOTHING_ODD
    assert suspects(trace) == ()
    assert next_test(trace) is None


def test_two_dark_lamps_of_one_joint(harness: Harness) -> None:
    trace = both_dark(harness)
    assert standing(trace) is Standing.OPEN
    left = words(trace)
    assert "9C9 is broken at output 5, pin A5" in left
    assert "output 5 gives nothing" in left
    # What darkens one of them alone, or the beacon as well, is out.
    assert not any("K7L" in one or "H4E" in one or "common pin" in one for one in left)
    assert sum(one.share for one in suspects(trace)) == pytest.approx(1)
    assert [one.share for one in suspects(trace)] == sorted(
        (one.share for one in suspects(trace)), reverse=True
    )
    assert "explains all 2" in suspects(trace)[0].reason


def test_a_meter_on_the_pin_narrows_it(harness: Harness) -> None:
    probe = Probe(kind=ProbeKind.VOLTS, ref="pin A.5", on=5)
    trace = both_dark(harness)
    whole = answer(trace, probe, 0.05)
    assert "output 5 gives nothing" not in words(whole)
    dead = answer(trace, probe, 6.2)
    assert words(dead)[0] == "output 5 gives nothing"
    assert "the reading fits" in suspects(dead)[0].reason
    assert probe_words(harness, probe) == "meter from battery minus to output 5, pin A5, output 5 on"


def test_to_the_end_by_what_is_proposed(harness: Harness) -> None:
    """The true fault is that 9C9 came out of the joint."""
    true = next(one.faults for one in suspects(both_dark(harness)) if one.words.startswith("9C9 is loose"))
    trace = both_dark(harness)
    for _ in range(10):
        proposal = next_test(trace)
        if proposal is None:
            break
        fitting = next(one for one in proposal.expectations if true in [s.faults for s in one.suspects])
        reading = fitting.code or (fitting.low_v + fitting.high_v) / 2
        trace = answer(trace, proposal.probe, reading)
    assert standing(trace) is Standing.FOUND
    assert words(trace) == ["9C9 is loose in joint J1 at cab floor"]
    assert trace_text(trace)[-1] == "Found: 9C9 is loose in joint J1 at cab floor."


def test_every_step_can_be_taken_back(harness: Harness) -> None:
    before = both_dark(harness)
    left = words(before)
    after = answer(before, Probe(kind=ProbeKind.LOOK, ref="joint J1"), SOUND)
    assert words(after) != left
    assert words(before) == left
    assert see(before, "L1", None).odd == ("L2",)


def test_a_test_that_cant_be_made_is_not_proposed_again(harness: Harness) -> None:
    trace = both_dark(harness)
    first = next_test(trace)
    assert first is not None
    second = next_test(refuse(trace, first.probe))
    assert second is not None
    assert second.probe != first.probe
    while (proposal := next_test(trace)) is not None:
        trace = refuse(trace, proposal.probe)
    assert standing(trace) is Standing.ALIKE
    assert "can't be told apart" in trace_text(trace)[-1]


@pytest.mark.parametrize(
    ("sight", "among", "never"),
    [
        (Sight.DIM, {FaultKind.RESISTOR_HIGH, FaultKind.PLUG_RESISTS}, {FaultKind.LED_OPEN}),
        (Sight.BRIGHT, {FaultKind.RESISTOR_LOW}, {FaultKind.RESISTOR_HIGH, FaultKind.PLUG_OPEN}),
        (Sight.FLICKERS, {FaultKind.PLUG_OPEN, FaultKind.BROKEN_LAMP_END}, {FaultKind.LED_REVERSED}),
        (Sight.STAYS, {FaultKind.OUTPUT_STUCK}, {FaultKind.LED_OPEN, FaultKind.PLUG_OPEN}),
        (Sight.WRONG, {FaultKind.WRONG_OUTPUT}, {FaultKind.OUTPUT_DEAD, FaultKind.LED_OPEN}),
        (Sight.DARK, {FaultKind.LED_REVERSED, FaultKind.OUTPUT_DEAD}, {FaultKind.WRONG_OUTPUT}),
    ],
)
def test_what_a_sight_speaks_for(
    harness: Harness, sight: Sight, among: set[FaultKind], never: set[FaultKind]
) -> None:
    trace = see_rest(see(begin(harness), "L3", sight))
    assert among <= kinds(trace)
    assert not never & kinds(trace)


def test_two_faults_where_one_is_not_enough(harness: Harness) -> None:
    """One lamp too bright and the beacon dark: no single fault does that."""
    trace = see(see(begin(harness), "L1", Sight.BRIGHT), "L3", Sight.DARK)
    trace = see(trace, "L2", Sight.LIT)
    left = suspects(trace)
    assert left
    assert all(len(one.faults) == 2 for one in left)
    assert "two faults at once are unlikely" in left[0].reason
    assert "; and " in left[0].words


def put_in(harness: Harness, faults: Faults) -> Trace:
    """What a person sees of these faults."""
    trace = begin(harness)
    for lamp in trace.simulator.outputs:
        looks = trace.simulator.look(faults, lamp)
        trace = see(trace, lamp, Sight.LIT if Sight.LIT in looks else min(looks))
    return trace


def test_two_faults_at_once_are_held_to_the_end() -> None:
    """Any two faults of different kinds that no single one explains: both are found by what is proposed."""
    rng = Random(5)
    followed = 0
    for seed in range(2000, 2012):
        harness = harness_from_seed(seed, lamps=(4, 12), points=(2, 8), walked=1.0)
        by_kind: dict[FaultKind, list[Fault]] = {}
        for fault in all_faults(harness):
            by_kind.setdefault(fault.kind, []).append(fault)
        for _ in range(3):
            one, other = (rng.choice(by_kind[kind]) for kind in rng.sample(list(by_kind), 2))
            trace = put_in(harness, (one, other))
            if not trace.odd or ((left := suspects(trace)) and len(left[0].faults) == 1):
                continue
            while (proposal := next_test(trace)) is not None:
                trace = answer(trace, proposal.probe, reading_of(trace, (one, other), proposal.probe))
            found = [set(suspect.faults) for suspect in suspects(trace)]
            assert {one, other} in found, (seed, one, other)
            followed += 1
    assert followed > 15


def test_what_was_looked_for_and_is_not_there(harness: Harness) -> None:
    trace = both_dark(harness)
    while left := suspects(trace):
        if len(left[0].faults) > 1:
            break
        cleared = left[0].faults
        trace = clear(trace, cleared)
        assert cleared not in [one.faults for one in suspects(trace)]
    # No single fault is left, so that two at once are thought of, none of them of those that were cleared.
    assert suspects(trace)
    assert not trace.cleared & {fault for one in suspects(trace) for fault in one.faults}
    rewired = settle(editing.drop_run(harness, "L3"))
    assert carried_over(trace, rewired).cleared == frozenset()


def test_a_look_may_find_nothing_wrong_where_all_suspects_are(harness: Harness) -> None:
    trace = answer(both_dark(harness), Probe(kind=ProbeKind.VOLTS, ref="joint J1", on=5), 6.4)
    never = (FaultKind.OUTPUT_DEAD, FaultKind.SHORT)
    for kind in (FaultKind.BROKEN_CONTROLLER_END, FaultKind.BROKEN_LAMP_END, *never):
        for one in suspects(trace):
            if one.faults[0].kind is kind and "joint J1" not in fault_places(harness, one.faults[0]):
                trace = clear(trace, one.faults)
    proposal = next_test(trace)
    assert proposal is not None
    assert proposal.probe == Probe(kind=ProbeKind.LOOK, ref="joint J1")
    assert SOUND not in [one.code for one in proposal.expectations]
    assert [one.code for one in unexpected(trace, proposal)] == [SOUND]
    assert not any(
        "joint J1" in fault_places(harness, fault)
        for one in suspects(answer(trace, proposal.probe, SOUND))
        for fault in one.faults
    )


@pytest.mark.parametrize("kind", [ProbeKind.SEE, ProbeKind.SWITCH, ProbeKind.DIODE])
def test_every_answer_can_be_given(harness: Harness, kind: ProbeKind) -> None:
    trace = see(begin(harness), "L1", Sight.WRONG)
    proposal = Proposal(probe=Probe(kind=kind, ref="L1"), effort=1.0, expectations=())
    codes = [one.code for one in unexpected(trace, proposal)]
    assert {*codes} >= {
        ProbeKind.SEE: {sight.value for sight in Sight},
        ProbeKind.SWITCH: {"none", "2"},
        ProbeKind.DIODE: {"lights", "shorted", "dark both ways"},
    }[kind]
    for code in codes:
        answer(trace, proposal.probe, code)


def test_what_nothing_explains_is_said(harness: Harness) -> None:
    trace = both_dark(harness)
    probe = Probe(kind=ProbeKind.VOLTS, ref="pin A.5", on=5)
    trace = answer(trace, probe, 40.0)
    assert standing(trace) is Standing.UNEXPLAINED
    assert "check what was entered" in " ".join(" ".join(trace_text(trace)[-2:]).split())


def test_refused(harness: Harness) -> None:
    trace = both_dark(harness)
    volts = Probe(kind=ProbeKind.VOLTS, ref="pin A.5", on=5)
    for reading in (float("nan"), float("inf"), "7"):
        with pytest.raises(BadValue, match="reading"):
            answer(trace, volts, reading)
    with pytest.raises(BadValue, match="seen"):
        answer(trace, Probe(kind=ProbeKind.SEE, ref="L1"), "purple")
    with pytest.raises(BadValue, match="seen"):
        answer(trace, Probe(kind=ProbeKind.LOOK, ref="joint J1"), 3.0)
    with pytest.raises(BadValue, match="battery"):
        with_battery(trace, 0.0)
    with pytest.raises(NotThere, match="not wired"):
        see(trace, "L99", Sight.DARK)


def test_on_the_battery_as_it_is(harness: Harness) -> None:
    trace = with_battery(both_dark(harness), 8.5)
    dead = answer(trace, Probe(kind=ProbeKind.VOLTS, ref="pin A.5", on=5), 7.4)
    assert words(dead)[0] == "output 5 gives nothing"


def test_carried_over_to_an_edited_harness(harness: Harness) -> None:
    trace = answer(both_dark(harness), Probe(kind=ProbeKind.LOOK, ref="joint J1"), SOUND)
    logged = carried_over(trace, editing.log_event(harness, "K7L", "note", "wiggled", "2026-03-03"))
    assert words(logged) == words(trace)
    rewired = carried_over(trace, settle(editing.drop_run(harness, "L2")))
    assert rewired.odd == ("L1",)
    assert rewired.answers == ()


@pytest.mark.parametrize(
    ("text", "lamps"),
    [
        ("beacon", ("L3",)),
        ("L2", ("L2",)),
        ("indicator f", ("L1",)),
        ("9c9", ("L1", "L2")),
        ("output 5", ("L1", "L2")),
        ("J1", ("L1", "L2")),
        ("joint j1", ("L1", "L2")),
    ],
)
def test_lamps_by_name_tag_or_output(harness: Harness, text: str, lamps: tuple[str, ...]) -> None:
    assert lamps_called(harness, text) == lamps


@pytest.mark.parametrize(
    ("said", "seen"),
    [
        ("beacon dark", ((Sight.DARK, ("L3",)),)),
        ("output 5 dark and Beacon ok", ((Sight.DARK, ("L1", "L2")), (Sight.LIT, ("L3",)))),
        ("K7L, beacon Dim", ((Sight.DIM, ("L1", "L3")),)),
        ("J1 dark, the rest lit", ((Sight.DARK, ("L1", "L2")), (Sight.LIT, ("L3",)))),
        ("rest lit; beacon dim", ((Sight.DIM, ("L3",)), (Sight.LIT, ("L1", "L2")))),
        ("beacon dark, all others are lit", ((Sight.DARK, ("L3",)), (Sight.LIT, ("L1", "L2")))),
        ("L3 wrong output; L1, L1 stays on", ((Sight.WRONG, ("L3",)), (Sight.STAYS, ("L1",)))),
    ],
)
def test_what_is_seen_in_words(
    harness: Harness, said: str, seen: tuple[tuple[Sight, tuple[str, ...]], ...]
) -> None:
    assert seen_in_words(harness, said) == seen


@pytest.mark.parametrize(
    "said", ["Beacon, left and high dark, L1 dim", '"Beacon, left and high" dark; L1 dim']
)
def test_a_comma_in_a_name_parts_nothing(harness: Harness, said: str) -> None:
    named = editing.edit_lamp(harness, "L3", name="Beacon, left and high")
    assert seen_in_words(named, said) == ((Sight.DARK, ("L3",)), (Sight.DIM, ("L1",)))


@pytest.mark.parametrize("said", ["", "beacon", "beacon purple", "dark", "L1 dark, L2"])
def test_what_is_not_said_in_full(harness: Harness, said: str) -> None:
    with pytest.raises(LoomError):
        seen_in_words(harness, said)


def test_lines_keep_to_the_width(harness: Harness) -> None:
    for width in (60, 80):
        lines = trace_text(both_dark(harness), width)
        assert max(map(len, lines)) <= width
        assert "".join("".join(lines).split()) == "".join(
            "".join(trace_text(both_dark(harness), 999)).split()
        )


def test_lamps_nobody_knows(harness: Harness) -> None:
    with pytest.raises(NotThere, match="nothing such"):
        lamps_called(harness, "nothing such")
    with pytest.raises(BadValue, match="Indicator front left, Indicator side left"):
        lamps_called(harness, "indicator")
    with pytest.raises(NotThere):
        lamps_called(harness, "")


def test_as_lines(harness: Harness) -> None:
    lines = trace_text(trace_of(harness, [(Sight.DARK, ["output 5"]), (Sight.LIT, ["beacon"])]))
    assert lines[0] == "seen  lit: Beacon"
    assert lines[1] == "seen  dark: Indicator front left, Indicator side left"
    assert any(line.startswith("left ") for line in lines)
    assert any(line.startswith("next ") for line in lines)

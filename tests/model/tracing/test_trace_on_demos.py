"""Traces on the demos where a test once told the wrong thing, too little, or nothing at the end."""

from __future__ import annotations

from functools import cache

import pytest

from harness_tui.examples import text
from model.electrics.lamps import all_lamps
from model.harness import Harness
from model.routing.allot import settle
from model.store import loads
from model.tracing.behaviour import Faults, Sight
from model.tracing.fault_words import fault_places
from model.tracing.faults import FaultKind, all_faults
from model.tracing.probe_words import probe_words, reading_words
from model.tracing.proposing import Standing, confirming_look, next_test, standing
from model.tracing.trace import (
    APART,
    SOUND,
    TOUCHING,
    Probe,
    ProbeKind,
    Trace,
    answer,
    begin,
    fault_code,
    outcomes,
    refuse,
    see,
    see_rest,
    suspects,
    volts_of,
)
from model.tracing.trace_text import trace_of, trace_text
from tests.model.tracing.loom import gritter


@cache
def demo(name: str) -> Harness:
    return settle(loads(text(name), f"{name}.toml"))


def dark(name: str, *lamps: str) -> Trace:
    return see_rest(trace_of(demo(name), [(Sight.DARK, lamps)]))


# --- words follow what would be seen at the place -------------------------------------------------


@pytest.mark.parametrize("name", ["gritter", "tug", "lighthouse"])
def test_every_fault_that_is_seen_at_a_place_has_a_reading_of_its_own(name: str) -> None:
    harness = demo(name)
    trace = begin(harness)
    codes = [fault_code(fault) for fault in all_faults(harness)]
    assert len(set(codes)) == len(codes)
    for fault in all_faults(harness):
        for place in fault_places(harness, fault):
            words = reading_words(trace, Probe(kind=ProbeKind.LOOK, ref=place), fault_code(fault))
            if fault.kind in (FaultKind.JOINT_OPEN_ONE, FaultKind.JOINT_RESISTS):
                assert f"joint {fault.ref} " in words


@pytest.mark.parametrize(
    "lamps",
    [
        ("Beacon front right", "Roof marker left", "Roof marker right"),
        ("Headlamp left", "Side lamp left", "Indicator front left"),
    ],
)
def test_the_answers_of_an_opened_joint_are_of_that_joint(lamps: tuple[str, ...]) -> None:
    trace = dark("gritter", *lamps)
    proposal = next_test(trace)
    assert proposal is not None
    assert proposal.probe.kind is ProbeKind.LOOK
    joint = proposal.probe.ref
    loose = [one for one in proposal.expectations if "loose" in one.words and one.code != SOUND]
    assert loose
    for one in loose:
        assert f"in {joint} " in one.words
        assert standing(answer(trace, proposal.probe, one.code)) is Standing.FOUND
        assert suspects(answer(trace, proposal.probe, one.code))[0].words == one.words


# --- a dead output, or a short on it --------------------------------------------------------------


def followed(trace: Trace, ohm: str) -> tuple[Trace, list[Probe]]:
    """All sound wherever one looks, nothing on the meter, and this between plus and minus."""
    probes = []
    while (proposal := next_test(trace)) is not None and ohm not in [one.reading for one in trace.answers]:
        probes.append(proposal.probe)
        reading: float | str = {ProbeKind.VOLTS: 0.0, ProbeKind.OHM: ohm, ProbeKind.SEE: "lit"}.get(
            proposal.probe.kind, SOUND
        )
        trace = answer(trace, proposal.probe, reading)
    return trace, probes


def short_at(lamp: str) -> Faults:
    """Plus and minus of a lamp of the tug touch."""
    return next((f,) for f in all_faults(demo("tug")) if f.kind is FaultKind.SHORT and f.lamp == lamp)


def test_a_dead_output_is_told_from_a_short_by_ohm() -> None:
    trace, probes = followed(trace_of(demo("tug"), [(Sight.DARK, ["output 8"])]), APART)
    assert standing(trace) is Standing.FOUND
    assert suspects(trace)[0].words == "output 8 gives nothing"
    assert len(probes) <= 4
    assert probes[-1].kind is ProbeKind.OHM
    words = probe_words(trace.harness, probes[-1])
    assert words == "battery off, ohm from output 8, pin A8 to the common minus"
    shorted, _ = followed(trace_of(demo("tug"), [(Sight.DARK, ["output 8"])]), TOUCHING)
    assert {fault.kind for one in suspects(shorted) for fault in one.faults} == {FaultKind.SHORT}


@pytest.mark.parametrize("reading", [0.0, 0.4, 3.0, 5.4])
def test_a_short_may_hold_some_volts_or_none(reading: float) -> None:
    """An output that trips or limits its current holds less than wires alone would let it."""
    trace = trace_of(demo("tug"), [(Sight.DARK, ["output 8"])])
    short = short_at(trace.odd[1])
    probe = Probe(kind=ProbeKind.VOLTS, ref=f"lamp {trace.odd[1]}+", on=8)
    left = [one.faults for one in suspects(answer(trace, probe, reading))]
    assert short in left


def test_what_gave_up_is_not_asked_for_its_volts_again() -> None:
    trace = trace_of(demo("tug"), [(Sight.DARK, ["output 8"])])
    short = next(
        (f,) for f in all_faults(demo("tug")) if f.kind is FaultKind.SHORT and f.lamp == trace.odd[0]
    )
    probe = Probe(kind=ProbeKind.VOLTS, ref="pin A.8", on=8)
    other = Probe(kind=ProbeKind.VOLTS, ref=f"lamp {trace.odd[0]}+", on=8)
    assert len(volts_of(trace, short, other)) == 2
    spans = volts_of(trace, short, probe)
    assert volts_of(trace, short, probe) == spans
    high = answer(trace, probe, max(high for _, high in spans))
    assert len(volts_of(high, short, other)) == 1


def test_a_short_is_across_every_lamp_of_its_output() -> None:
    trace = trace_of(demo("tug"), [(Sight.DARK, ["output 8"])])
    one, other = trace.odd[:2]
    short = short_at(one)
    assert outcomes(trace, short, Probe(kind=ProbeKind.DIODE, ref=other)) == {"shorted"}


# --- readings that float --------------------------------------------------------------------------


@pytest.mark.parametrize("reading", [4.3, 4.9, 5.1, 5.8])
def test_a_floating_reading_through_a_white_led_may_be_any_of_many(reading: float) -> None:
    harness = gritter()
    trace = see_rest(see(begin(harness), "L3", Sight.DARK))
    assert all_lamps(harness)["L3"].led.vf_v > 3
    found = suspects(answer(trace, Probe(kind=ProbeKind.VOLTS, ref="pin A.2", on=2), reading))
    assert "output 2 gives nothing" in [one.words for one in found]


def test_it_is_said_that_it_floats() -> None:
    trace = see_rest(see(begin(gritter()), "L3", Sight.DARK))
    while (proposal := next_test(trace)) is not None and proposal.probe.kind is not ProbeKind.VOLTS:
        trace = refuse(trace, proposal.probe)
    assert proposal is not None
    assert any(
        one.words.startswith("about 4.0 to 6") and "it floats" in one.words for one in proposal.expectations
    )


def test_a_reading_a_little_outside_keeps_the_nearest_suspects() -> None:
    trace = see_rest(see(begin(gritter()), "L3", Sight.DARK))
    probe = Probe(kind=ProbeKind.VOLTS, ref="pin A.2", on=2)
    low = min(low for one in suspects(trace) for low, high in volts_of(trace, one.faults, probe) if high > 3)
    beside = answer(trace, probe, low - 1.2)
    assert standing(beside) is not Standing.UNEXPLAINED
    assert any("a little outside" in one.reason for one in suspects(beside))
    assert standing(answer(trace, probe, 40.0)) is Standing.UNEXPLAINED


# --- how sure one can be --------------------------------------------------------------------------


def test_what_only_lamps_told_is_confirmed_by_a_look() -> None:
    harness = demo("gritter")
    swap = next(f for f in all_faults(harness) if f.kind is FaultKind.TAGS_SWAPPED)
    trace = begin(harness)
    for lamp in trace.simulator.outputs:
        looks = trace.simulator.look((swap,), lamp)
        trace = see(trace, lamp, Sight.LIT if Sight.LIT in looks else min(looks))
    trace = next(
        one
        for one in (trace, answer(trace, Probe(kind=ProbeKind.LOOK, ref="pin A.1"), SOUND))
        if standing(one) is Standing.FOUND
    )
    look = confirming_look(trace)
    assert look is not None
    assert look.probe.ref in fault_places(harness, suspects(trace)[0].faults[0])
    assert any("to be sure: " in line for line in trace_text(trace))
    assert confirming_look(answer(trace, look.probe, look.expectations[0].code)) is None
    assert swap not in [fault for one in suspects(answer(trace, look.probe, SOUND)) for fault in one.faults]


def test_a_wire_whose_other_lamps_are_right_is_hardly_to_blame() -> None:
    trace = see_rest(trace_of(demo("gritter"), [(Sight.DIM, ["Tail lamp left"])]))
    shares = {one.words.partition(" ")[0]: one.share for one in suspects(trace)}
    assert shares["R42"] > 0.5
    assert shares["ML2"] < 0.06


def test_a_white_led_may_stay_dark_in_the_diode_test() -> None:
    trace = see(begin(gritter()), "L3", Sight.DARK)
    probe = Probe(kind=ProbeKind.DIODE, ref="L3")
    led = next((f,) for f in all_faults(gritter()) if f.kind is FaultKind.LED_OPEN and f.lamp == "L3")
    assert outcomes(trace, (), probe) == {"lights", "dark both ways"}
    assert outcomes(trace, led, probe) == {"dark both ways"}
    assert "more volts than the meter has" in probe_words(gritter(), probe)
    left = [one.faults for one in suspects(answer(trace, probe, "dark both ways"))]
    assert led in left
    assert len(left) > 3
    amber = Probe(kind=ProbeKind.DIODE, ref="L1")
    assert outcomes(see(begin(gritter()), "L1", Sight.DARK), (), amber) == {"lights"}
    assert "more volts" not in probe_words(gritter(), amber)

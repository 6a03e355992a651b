"""A test as one would tell somebody to do it, and what it may give, in words."""

from __future__ import annotations

from model.harness import Harness
from model.tracing.fault_words import fault_words, node_words, place_words
from model.tracing.faults import SHORT_BELOW_OHM, all_faults
from model.tracing.trace import SOUND, TOUCHING, Probe, ProbeKind, Trace, beyond_diode_test, fault_code


def probe_words(harness: Harness, probe: Probe) -> str:
    """The test as one would tell somebody to do it."""
    if probe.kind is ProbeKind.SEE:
        return f"look at {harness.lamp(probe.ref).name}, output {harness.lamp(probe.ref).output} on"
    if probe.kind is ProbeKind.SWITCH:
        return f"switch the outputs on one by one: which lights {harness.lamp(probe.ref).name}?"
    if probe.kind is ProbeKind.VOLTS:
        state = "all outputs off" if probe.on is None else f"output {probe.on} on"
        return f"meter from battery minus to {node_words(harness, probe.ref)}, {state}"
    if probe.kind is ProbeKind.DIODE:
        words = f"battery off, diode test across {harness.lamp(probe.ref).name}: does it light?"
        return (
            f"{words} It may need more volts than the meter has"
            if beyond_diode_test(harness, probe.ref)
            else words
        )
    if probe.kind is ProbeKind.OHM:
        common = harness.controller.common_polarity.word
        return f"battery off, ohm from {node_words(harness, probe.ref)} to the common {common}"
    kind = probe.ref.partition(" ")[0]
    verb = {"joint": "open", "plug": "pull"}.get(kind, "go to")
    return f"{verb} {place_words(harness, probe.ref)}, look and wiggle"


def reading_words(trace: Trace, probe: Probe, code: str) -> str:
    """A reading that is no number, in words."""
    if probe.kind is ProbeKind.SWITCH:
        return "no output" if code == "none" else f"output {code}"
    if probe.kind is ProbeKind.OHM:
        below = f"{SHORT_BELOW_OHM:g} ohm"
        return f"under {below}: a short" if code == TOUCHING else f"more than {below}: no short"
    if probe.kind is not ProbeKind.LOOK:
        return code
    if code == SOUND:
        return "all sound there"
    shown = next((one for one in all_faults(trace.harness) if fault_code(one) == code), None)
    return fault_words(trace.harness, shown) if shown else code

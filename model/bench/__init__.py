"""The bench: in which order the wires are made, and what is done to each, step by step."""

from __future__ import annotations

from model.bench.cut import CutCheck, Fit, cut_check
from model.bench.history import event_said, step_said
from model.bench.joints import JointCard, JointWire, joint_card
from model.bench.order import StepKind, bench_order, next_wire, progress, step_kinds, steps_done
from model.bench.soldering import mark_step, set_length, take_back_step
from model.bench.step_words import (
    METER_OHM,
    Step,
    is_made,
    lit_volts,
    most_ohm,
    next_step,
    resistor_words,
    steps,
)

__all__ = [
    "METER_OHM",
    "CutCheck",
    "Fit",
    "JointCard",
    "JointWire",
    "Step",
    "StepKind",
    "bench_order",
    "cut_check",
    "event_said",
    "is_made",
    "joint_card",
    "lit_volts",
    "mark_step",
    "most_ohm",
    "next_step",
    "next_wire",
    "progress",
    "resistor_words",
    "set_length",
    "step_kinds",
    "step_said",
    "steps",
    "steps_done",
    "take_back_step",
]

"""The groups of Setup about wire: gauge and colours, what is on hand, what is added to its way, joints."""

from __future__ import annotations

from collections import Counter

from harness_tui.screens.setup_group import Figure, Group, figure_group, yes_no
from harness_tui.session import Edit
from harness_tui.widgets.form import Field
from model import editing, lengths
from model.errors import BadValue, NotThere
from model.harness import Harness
from model.routing.words import colour_words
from model.standards.colours import COLOURS, colour
from model.standards.wire import GAUGES
from model.starting import colour_outputs

# --- gauge and colours ---


def _wire_summary(harness: Harness) -> str:
    settings = harness.settings
    colours = f"plus {colour_words(settings.plus_colour)}, minus {colour_words(settings.minus_colour)}"
    if settings.colour_per_output:
        side = harness.controller.switched_polarity.word
        colours = f"{colours}; {side} a colour per output"
    return f"{settings.gauge}; {colours}"


def _wire_fields(harness: Harness) -> list[Field]:
    settings = harness.settings
    codes = tuple(COLOURS)
    return [
        Field(key="gauge", label="gauge", text=settings.gauge, choices=tuple(GAUGES), help="of all wires"),
        Field(
            key="colour_per_output",
            label="per output",
            text=yes_no(settings.colour_per_output),
            choices=("no", "yes"),
            help="a colour for each output's switched wires; outputs without one are given the next free",
        ),
        Field(
            key="plus_colour",
            label="plus colour",
            text=settings.plus_colour,
            choices=codes,
            help="code or name",
        ),
        Field(
            key="minus_colour",
            label="minus colour",
            text=settings.minus_colour,
            choices=codes,
            help="code or name",
        ),
    ]


def _wire_edit(harness: Harness, key: str, text: str) -> Edit:
    if key == "colour_per_output":
        if text not in ("yes", "no"):
            raise BadValue("colour per output", text, limit="yes or no")
        if text == "yes":
            return colour_outputs
        return lambda h: editing.set_settings(h, colour_per_output=False)
    value = text
    if key in ("plus_colour", "minus_colour"):
        named = next((one.code for one in COLOURS.values() if one.name == text.lower()), "")
        value = named or colour(text.upper()).code
    return lambda h: editing.set_settings(h, **{key: value})


WIRE = Group(
    key="wire",
    title="wire",
    words="One colour for all wires of a polarity; the common side always keeps to its one colour.",
    summary=_wire_summary,
    fields=_wire_fields,
    edit=_wire_edit,
)


# --- spools ---


def _spool_summary(harness: Harness) -> str:
    if not harness.spools:
        return "none entered: the cut list takes new spools"
    colours = Counter(spool.colour for spool in harness.spools)
    return ", ".join(f"{count} {colour_words(code)}" for code, count in colours.items())


def _no_edit(harness: Harness, key: str, text: str) -> Edit:
    raise NotThere(key, "is not a field of this group")


SPOOLS = Group(
    key="spools",
    title="spools",
    words="Which wire is on hand, spools and remnants. Enter lists them; the cut list takes from them.",
    summary=_spool_summary,
    fields=lambda h: [],
    edit=_no_edit,
    door="spools",
)


# --- lengths and joints ---

_LENGTHS = (
    Figure("slack_pct", "slack %", "%", "of the run, at each wire"),
    Figure("slack_min_mm", "slack min mm", "mm", "at least so much slack"),
    Figure("service_loop_mm", "ctl loop mm", "mm", "service loop at the controller"),
    Figure("lamp_spare_mm", "lamp spare mm", "mm", "spare at the lamp"),
    Figure("strip_mm", "strip mm", "mm", "bare end, at each end"),
    Figure("joint_overlap_mm", "overlap mm", "mm", "overlap in a joint"),
    Figure("round_mm", "round up mm", "mm", "cut lengths are rounded up to a multiple"),
)


_JOINTS = (
    Figure("joint_cost_mm", "joint cost mm", "mm", "a joint is worth so much wire"),
    Figure("joint_max_wires", "joint wires", "", "most wires in one joint", whole=True),
    Figure("pin_max_wires", "pin wires", "", "most wires in one pin of the controller", whole=True),
)


def _length_summary(harness: Harness) -> str:
    s = harness.settings
    return (
        f"slack {s.slack_pct:g} %, min {lengths.figure(s.slack_min_mm)}; "
        f"loop {lengths.figure(s.service_loop_mm)}; lamp {lengths.figure(s.lamp_spare_mm)}; "
        f"strip {lengths.figure(s.strip_mm)}; joint {lengths.figure(s.joint_overlap_mm)}; "
        f"to {lengths.text(s.round_mm)}"
    )


def _joint_summary(harness: Harness) -> str:
    s = harness.settings
    most = f"most wires: {s.joint_max_wires} a joint, {s.pin_max_wires} a pin"
    return f"a joint costs {lengths.text(s.joint_cost_mm)}; {most}"


LENGTHS = figure_group(_LENGTHS, _length_summary, "lengths", "lengths")
JOINTS = figure_group(_JOINTS, _joint_summary, "joints", "joints")

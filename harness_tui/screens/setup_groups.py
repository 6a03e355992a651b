"""The groups of Setup: for each its one line summary, its fields, and the edit that a typed field means."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

import attrs

from harness_tui.session import Edit
from harness_tui.widgets.columns import in_unit
from harness_tui.widgets.form import Field
from harness_tui.widgets.lines import supply_words
from model import editing, lengths
from model.electrics.resistor import drawer_text, parse_drawer
from model.electrics.supply import volts
from model.errors import BadValue, NotThere
from model.harness import REGULATED, Harness, Supply, Switched
from model.routing.words import colour_words, place_name
from model.standards.cells import CHEMISTRIES
from model.standards.colours import COLOURS, colour
from model.standards.resistor_power import KINDS
from model.standards.wire import GAUGES
from model.starting import colour_outputs, polarity_words
from model.tags import TagScheme
from model.values import parse_number

PRACTICE = "Defaults are common practice; nothing here is a hard limit."


@attrs.frozen(kw_only=True)
class Group:
    """Some settings that belong together.

    `what_if`: what is typed is shown with what it would change, and accepted when the group is left.
    `door` is the screen that has it, for what does not go into a form.
    """

    key: str
    title: str
    words: str
    summary: Callable[[Harness], str]
    fields: Callable[[Harness], list[Field]]
    edit: Callable[[Harness, str, str], Edit]
    what_if: bool = False
    door: str = ""


@attrs.frozen
class _Figure:
    """A setting that is a number."""

    key: str
    label: str
    unit: str
    help: str
    whole: bool = False


def _text(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _number(text: str, label: str, unit: str = "", *, whole: bool = False) -> Any:
    value = lengths.read(text, label) if unit == "mm" else parse_number(text, label, unit)
    if value is None:
        raise BadValue(label, "is empty", remedy="Type a number.")
    if whole and not float(value).is_integer():
        raise BadValue(label, f"{value:g} is not a whole number")
    return int(value) if whole else value


def _figures(figures: tuple[_Figure, ...], words: Callable[[Harness], str], key: str, title: str) -> Group:
    """A group of settings that are all numbers."""

    def fields(harness: Harness) -> list[Field]:
        return [
            Field(
                key=one.key,
                label=in_unit(one.label),
                text=(lengths.typed if one.unit == "mm" else _text)(getattr(harness.settings, one.key)),
                help=one.help,
            )
            for one in figures
        ]

    def edit(harness: Harness, key: str, text: str) -> Edit:
        one = next(figure for figure in figures if figure.key == key)
        value = _number(text, one.label, one.unit, whole=one.whole)
        return lambda h: editing.set_settings(h, **{key: value})

    return Group(key=key, title=title, words=PRACTICE, summary=words, fields=fields, edit=edit)


def _yes(value: bool) -> str:
    return "yes" if value else "no"


# --- project ---


def _project_fields(harness: Harness) -> list[Field]:
    return [
        Field(key="name", label="name", text=harness.name, help="what you call the model"),
        Field(
            key="code",
            label="code",
            text=harness.code,
            help="2 or 3 letters or digits; it stands in every QR code",
        ),
    ]


def _project_edit(harness: Harness, key: str, text: str) -> Edit:
    value = " ".join(text.split())
    if key == "code":
        return lambda h: editing.rename(h, code=value.upper())
    return lambda h: editing.rename(h, name=value)


# --- supply ---


def _supply_fields(harness: Harness) -> list[Field]:
    supply = harness.supply
    battery = supply.chemistry != REGULATED
    usual = volts(attrs.evolve(supply, flat_v=None, nominal_v=None, full_v=None)) if battery else None
    cells = Field(key="cells", label="cells", text=str(supply.cells), help="in series")
    own = [
        Field(
            key=key,
            label=label,
            text=_text(getattr(supply, key)),
            help=f"empty: {getattr(usual, key):.1f} V by the cells" if usual else "of the regulated supply",
        )
        for key, label in (("nominal_v", "nominal V"), ("flat_v", "flat V"), ("full_v", "full V"))
    ]
    capacity = Field(
        key="capacity_mah",
        label="capacity mAh",
        text=_text(supply.capacity_mah),
        help="for how long it lasts",
    )
    kind = Field(
        key="chemistry",
        label="battery",
        text=supply.chemistry,
        choices=(*CHEMISTRIES, REGULATED),
        help="what feeds it",
    )
    return [kind, *([cells] if battery else []), *own, capacity]


def _supply_edit(harness: Harness, key: str, text: str) -> Edit:
    supply = harness.supply
    if key == "chemistry":
        # Volts that were typed belong to the battery before; a regulated supply needs its volts at once.
        nominal_v = round(volts(supply).nominal_v, 1) if text == REGULATED else None
        cells = max(supply.cells, 1)
        changed: Supply = attrs.evolve(
            supply, chemistry=text, cells=cells, flat_v=None, nominal_v=nominal_v, full_v=None
        )
    elif key == "cells":
        changed = attrs.evolve(supply, cells=_number(text, "cells", whole=True))
    else:
        label = {"capacity_mah": "capacity"}.get(key, key.removesuffix("_v") + " volts")
        typed: dict[str, Any] = {key: parse_number(text, label, "mAh" if key == "capacity_mah" else "V")}
        changed = attrs.evolve(supply, **typed)
    return lambda h: editing.set_supply(h, changed)


# --- controller ---


def _controller_fields(harness: Harness) -> list[Field]:
    controller = harness.controller
    return [
        Field(key="name", label="controller", text=controller.name, help="what you call it"),
        Field(
            key="at",
            label="sits at",
            text=place_name(harness, controller.at),
            choices=tuple(point.name for point in harness.waypoints),
            help="the waypoint where it sits",
        ),
        Field(
            key="switched",
            label="switched side",
            text=controller.switched,
            choices=tuple(Switched),
            help="the side of the lamps that the outputs switch; the other is the common",
        ),
    ]


def _controller_edit(harness: Harness, key: str, text: str) -> Edit:
    value = " ".join(text.split())
    if key == "name":
        return lambda h: editing.set_controller(h, name=value)
    if key == "at":
        point = next((point for point in harness.waypoints if point.name.lower() == value.lower()), None)
        if point is None:
            raise NotThere(f"waypoint {value}", "does not exist", remedy="Add it in Routes (2).")
        return lambda h: editing.set_controller(h, at=point.id)
    if value not in tuple(Switched):
        raise BadValue("switched side", value, limit="negative or positive")
    return lambda h: editing.set_switched(h, Switched(value))


# --- wire ---


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
            text=_yes(settings.colour_per_output),
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


# --- resistors ---

_SERIES = ("E6", "E12", "E24", "E48", "E96")


def _resistor_summary(harness: Harness) -> str:
    settings = harness.settings
    drawer = drawer_text(settings.drawer_ohm)
    source = f"from the drawer: {drawer}" if drawer else settings.series
    body = "on legs" if settings.resistor_body == "axial" else "chips"
    return f"{source}, {settings.resistor_tolerance_pct:g} %, {body}, {settings.inside_c:g} C inside"


def _resistor_fields(harness: Harness) -> list[Field]:
    settings = harness.settings
    tolerance = _text(settings.resistor_tolerance_pct)
    return [
        Field(
            key="series",
            label="series",
            text=settings.series,
            choices=_SERIES,
            help="values on hand, IEC 60063",
        ),
        Field(
            key="resistor_tolerance_pct",
            label="tolerance %",
            text=tolerance,
            help="proved at the low end of it",
        ),
        Field(
            key="drawer_ohm",
            label="drawer",
            text=drawer_text(settings.drawer_ohm),
            help="values you have, such as 220 470R 4K7: only they are taken; empty: the series is bought",
        ),
        Field(
            key="resistor_body",
            label="body",
            text=settings.resistor_body,
            choices=KINDS,
            help="on legs or to solder flat",
        ),
        Field(
            key="inside_c",
            label="inside C",
            text=_text(settings.inside_c),
            help="temperature in the closed model, for resistors and wire; common practice 40",
        ),
    ]


def _resistor_edit(harness: Harness, key: str, text: str) -> Edit:
    value: Any = text
    if key == "series":
        value = text.upper()
    elif key == "drawer_ohm":
        value = parse_drawer(text)
    elif key == "resistor_tolerance_pct":
        value = _number(text, "tolerance", "%")
    elif key == "inside_c":
        value = _number(text, "temperature inside", "C")
    return lambda h: editing.set_settings(h, **{key: value})


# --- tags and labels ---

_SCHEMES = {
    TagScheme.CODE: "codes with a check character, such as K7L",
    TagScheme.NUMBER: "plain numbers per output",
}


def _tag_fields(harness: Harness) -> list[Field]:
    return [
        Field(
            key="tag_scheme",
            label="tags",
            text=harness.settings.tag_scheme,
            choices=tuple(TagScheme),
            help="codes catch every slip; numbers per output do not. Fixed with the first tag",
        )
    ]


def _tag_edit(harness: Harness, key: str, text: str) -> Edit:
    if text not in tuple(TagScheme):
        raise BadValue("tags", text, limit="code or number")
    return lambda h: editing.set_settings(h, tag_scheme=TagScheme(text))


def _stock_fields(harness: Harness) -> list[Field]:
    from harness_tui.stocks import all_stocks
    from model.labels.stock import of_kind

    stocks = all_stocks()
    sleeves = tuple(stock.name for stock in of_kind(stocks, "sleeve"))
    flat = tuple(stock.name for kind in ("flag", "wrap") for stock in of_kind(stocks, kind))
    settings = harness.settings
    return [
        Field(
            key="sleeve_stock",
            label="sleeves",
            text=settings.sleeve_stock,
            choices=("", *sleeves),
            help="empty: by wire",
        ),
        Field(
            key="flag_stock",
            label="flags",
            text=settings.flag_stock,
            choices=("", *flat),
            help="with the QR code",
        ),
    ]


def _stock_edit(harness: Harness, key: str, text: str) -> Edit:
    known = next(field for field in _stock_fields(harness) if field.key == key).choices
    if text not in known:
        raise NotThere(f"stock {text}", "does not exist", remedy="Space shows those there are.")
    return lambda h: editing.set_settings(h, **{key: text})


_LENGTHS = (
    _Figure("slack_pct", "slack %", "%", "of the run, at each wire"),
    _Figure("slack_min_mm", "slack min mm", "mm", "at least so much slack"),
    _Figure("service_loop_mm", "ctl loop mm", "mm", "service loop at the controller"),
    _Figure("lamp_spare_mm", "lamp spare mm", "mm", "spare at the lamp"),
    _Figure("strip_mm", "strip mm", "mm", "bare end, at each end"),
    _Figure("joint_overlap_mm", "overlap mm", "mm", "overlap in a joint"),
    _Figure("round_mm", "round up mm", "mm", "cut lengths are rounded up to a multiple"),
)

_JOINTS = (
    _Figure("joint_cost_mm", "joint cost mm", "mm", "a joint is worth so much wire"),
    _Figure("joint_max_wires", "joint wires", "", "most wires in one joint", whole=True),
    _Figure("pin_max_wires", "pin wires", "", "most wires in one pin of the controller", whole=True),
)


_CONTACTS = (
    _Figure("contact_milliohm", "contact mohm", "mohm", "one mated contact, of a plug or a pin"),
    _Figure("joint_milliohm", "joint mohm", "mohm", "one soldered joint"),
    _Figure("switch_milliohm", "switch mohm", "mohm", "an output that is on"),
    _Figure("visible_difference_pct", "uneven %", "%", "lamps of one kind that differ by more are found"),
)


def _contact_summary(harness: Harness) -> str:
    s = harness.settings
    return (
        f"contact {s.contact_milliohm:g}, joint {s.joint_milliohm:g}, switch {s.switch_milliohm:g} milliohm; "
        f"uneven from {s.visible_difference_pct:g} %"
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


def _controller_summary(harness: Harness) -> str:
    controller = harness.controller
    return f"{controller.name} at {place_name(harness, controller.at)}; {polarity_words(controller.switched)}"


def _spool_summary(harness: Harness) -> str:
    if not harness.spools:
        return "none entered: the cut list takes new spools"
    colours = Counter(spool.colour for spool in harness.spools)
    return ", ".join(f"{count} {colour_words(code)}" for code, count in colours.items())


def _no_edit(harness: Harness, key: str, text: str) -> Edit:
    raise NotThere(key, "is not a field of this group")


def _supply_summary(harness: Harness) -> str:
    capacity = harness.supply.capacity_mah
    return supply_words(harness) + (f", {capacity:g} mAh" if capacity else "")


def _stock_summary(harness: Harness) -> str:
    settings = harness.settings
    return f"sleeves {settings.sleeve_stock or 'by the wire'}; flags {settings.flag_stock or 'not chosen'}"


GROUPS: tuple[Group, ...] = (
    Group(
        key="project",
        title="project",
        words="The code stands on every label with a QR code. Once one is printed it stays.",
        summary=lambda h: f"{h.code}  {h.name}",
        fields=_project_fields,
        edit=_project_edit,
    ),
    Group(
        key="supply",
        title="supply",
        words="Resistors are proved on the full battery. Volts you type go before those of the cells.",
        summary=_supply_summary,
        fields=_supply_fields,
        edit=_supply_edit,
        what_if=True,
    ),
    Group(
        key="controller",
        title="controller",
        words="Outputs, pins and limits are on Outputs (3). Another switched side opens every run again.",
        summary=_controller_summary,
        fields=_controller_fields,
        edit=_controller_edit,
    ),
    Group(
        key="wire",
        title="wire",
        words="One colour for all wires of a polarity; the common side always keeps to its one colour.",
        summary=_wire_summary,
        fields=_wire_fields,
        edit=_wire_edit,
    ),
    Group(
        key="spools",
        title="spools",
        words="Which wire is on hand, spools and remnants. Enter lists them; the cut list takes from them.",
        summary=_spool_summary,
        fields=lambda h: [],
        edit=_no_edit,
        door="spools",
    ),
    _figures(_LENGTHS, _length_summary, "lengths", "lengths"),
    _figures(_JOINTS, _joint_summary, "joints", "joints"),
    Group(
        key="resistors",
        title="resistors",
        words="The next higher value of the series is taken, and proved at the low end of the tolerance.",
        summary=_resistor_summary,
        fields=_resistor_fields,
        edit=_resistor_edit,
        what_if=True,
    ),
    _figures(_CONTACTS, _contact_summary, "contacts", "contacts"),
    Group(
        key="tags",
        title="tags",
        words="Choose before the first run is accepted: a tag once given keeps its meaning.",
        summary=lambda h: _SCHEMES[h.settings.tag_scheme],
        fields=_tag_fields,
        edit=_tag_edit,
    ),
    Group(
        key="labels",
        title="labels",
        words="What labels are printed on; each is looked at on Labels (6).",
        summary=_stock_summary,
        fields=_stock_fields,
        edit=_stock_edit,
    ),
)

"""The groups of Setup that the figures rest on: supply, controller, resistors, contacts."""

from __future__ import annotations

from typing import Any

import attrs

from harness_tui.screens.setup_group import Figure, Group, figure_group, figure_text, number
from harness_tui.session import Edit
from harness_tui.widgets.form import Field
from harness_tui.widgets.lines import supply_words
from model import editing
from model.electrics.resistor import drawer_text, parse_drawer
from model.electrics.supply import volts
from model.errors import BadValue, NotThere
from model.harness import REGULATED, Harness, Supply, Switched
from model.routing.words import place_name
from model.standards.cells import CHEMISTRIES
from model.standards.resistor_power import KINDS
from model.starting import polarity_words
from model.values import parse_number

# --- supply ---


def _supply_summary(harness: Harness) -> str:
    capacity = harness.supply.capacity_mah
    return supply_words(harness) + (f", {capacity:g} mAh" if capacity else "")


def _supply_fields(harness: Harness) -> list[Field]:
    supply = harness.supply
    battery = supply.chemistry != REGULATED
    usual = volts(attrs.evolve(supply, flat_v=None, nominal_v=None, full_v=None)) if battery else None
    cells = Field(key="cells", label="cells", text=str(supply.cells), help="in series")
    own = [
        Field(
            key=key,
            label=label,
            text=figure_text(getattr(supply, key)),
            help=f"empty: {getattr(usual, key):.1f} V by the cells" if usual else "of the regulated supply",
        )
        for key, label in (("nominal_v", "nominal V"), ("flat_v", "flat V"), ("full_v", "full V"))
    ]
    capacity = Field(
        key="capacity_mah",
        label="capacity mAh",
        text=figure_text(supply.capacity_mah),
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
        changed = attrs.evolve(supply, cells=number(text, "cells", whole=True))
    else:
        label = {"capacity_mah": "capacity"}.get(key, key.removesuffix("_v") + " volts")
        typed: dict[str, Any] = {key: parse_number(text, label, "mAh" if key == "capacity_mah" else "V")}
        changed = attrs.evolve(supply, **typed)
    return lambda h: editing.set_supply(h, changed)


SUPPLY = Group(
    key="supply",
    title="supply",
    words="Resistors are proved on the full battery. Volts you type go before those of the cells.",
    summary=_supply_summary,
    fields=_supply_fields,
    edit=_supply_edit,
    what_if=True,
)


# --- controller ---


def _controller_summary(harness: Harness) -> str:
    controller = harness.controller
    return f"{controller.name} at {place_name(harness, controller.at)}; {polarity_words(controller.switched)}"


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


CONTROLLER = Group(
    key="controller",
    title="controller",
    words="Outputs, pins and limits are on Outputs (3). Another switched side opens every run again.",
    summary=_controller_summary,
    fields=_controller_fields,
    edit=_controller_edit,
)


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
    tolerance = figure_text(settings.resistor_tolerance_pct)
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
            text=figure_text(settings.inside_c),
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
        value = number(text, "tolerance", "%")
    elif key == "inside_c":
        value = number(text, "temperature inside", "C")
    return lambda h: editing.set_settings(h, **{key: value})


RESISTORS = Group(
    key="resistors",
    title="resistors",
    words="The next higher value of the series is taken, and proved at the low end of the tolerance.",
    summary=_resistor_summary,
    fields=_resistor_fields,
    edit=_resistor_edit,
    what_if=True,
)


# --- contacts ---

_CONTACTS = (
    Figure("contact_milliohm", "contact mohm", "mohm", "one mated contact, of a plug or a pin"),
    Figure("joint_milliohm", "joint mohm", "mohm", "one soldered joint"),
    Figure("switch_milliohm", "switch mohm", "mohm", "an output that is on"),
    Figure("visible_difference_pct", "uneven %", "%", "lamps of one kind that differ by more are found"),
)


def _contact_summary(harness: Harness) -> str:
    s = harness.settings
    return (
        f"contact {s.contact_milliohm:g}, joint {s.joint_milliohm:g}, switch {s.switch_milliohm:g} milliohm; "
        f"uneven from {s.visible_difference_pct:g} %"
    )


CONTACTS = figure_group(_CONTACTS, _contact_summary, "contacts", "contacts")

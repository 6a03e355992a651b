"""How a harness is laid out in its file: which key holds which field, and what is always written.

A field that stands at its default is left out, so that a file holds what the person decided. A default is
therefore part of the schema: changing one needs a new schema number and a migration that writes the old one.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Any

import attrs

from model.harness import (
    Block,
    Build,
    Checked,
    CommonPin,
    Contact,
    Controller,
    Delivers,
    Hand,
    Joint,
    Lamp,
    Lead,
    Leg,
    Output,
    Printed,
    Progress,
    Run,
    Settings,
    Spool,
    Supply,
    Switched,
    Waypoint,
)
from model.tags import Event, Print, TagRecord, TagScheme

SCHEMA = 1
"""The schema this version writes."""

SECTIONS: Mapping[str, tuple[str, type[Any]]] = MappingProxyType(
    {"supply": ("supply", Supply), "controller": ("controller", Controller)}
)
"""Tables that are always there: key in the file, field of the harness, class."""

LISTS: Mapping[str, tuple[str, type[Any]]] = MappingProxyType(
    {
        "waypoint": ("waypoints", Waypoint),
        "leg": ("legs", Leg),
        "lamp": ("lamps", Lamp),
        "joint": ("joints", Joint),
        "contact": ("contacts", Contact),
        "spool": ("spools", Spool),
        "printed": ("printed", Printed),
        "checked": ("checked", Checked),
    }
)
"""Arrays of tables, one block of lines an item, in the order they are written."""

TAIL: Mapping[str, tuple[str, type[Any]]] = MappingProxyType(
    {"settings": ("settings", Settings), "progress": ("progress", Progress)}
)
"""Tables that stand behind the lists and are left out where nothing differs from the default."""

TAG = "tag"
"""The array of the ledger's records, last because it grows longest."""

ROOT_KEYS = ("schema", "project", *SECTIONS, *LISTS, *TAIL, TAG)

KEYS: Mapping[tuple[type[Any], str], str] = MappingProxyType({(Controller, "blocks"): "block"})
"""Fields whose key in the file is not their own name."""

ALWAYS: Mapping[type[Any], frozenset[str]] = MappingProxyType(
    {
        Supply: frozenset({"chemistry", "cells"}),
        Controller: frozenset({"name", "at", "switched"}),
        Block: frozenset({"name"}),
        Lamp: frozenset({"function", "colour", "size", "build"}),
    }
)
"""Fields written even at their default: what a reader of the file looks for."""

VALUES: tuple[type[Any], ...] = (
    Supply, Controller, Block, Output, CommonPin, Waypoint, Leg, Lamp, Run, Lead, Joint, Contact, Spool,
    Printed, Checked, Settings, Progress, TagRecord, Event, Print,
)  # fmt: skip
"""Every class that stands in a file as a table."""

ENUMS: tuple[type[StrEnum], ...] = (Switched, Delivers, Build, Hand, TagScheme)
"""Every set of words that stands in a file."""


@attrs.frozen(kw_only=True)
class FieldPlan:
    """One field in the file: its own name, its key, its default (NOTHING: none), whether always written."""

    name: str
    key: str
    default: Any
    always: bool


def plan(cls: type[Any]) -> tuple[FieldPlan, ...]:
    """The fields of a class in the order they are written."""
    always = ALWAYS.get(cls, frozenset())
    return tuple(
        FieldPlan(
            name=field.name,
            key=KEYS.get((cls, field.name), field.name),
            default=field.default,
            always=field.default is attrs.NOTHING or field.name in always,
        )
        for field in attrs.fields(cls)
    )


PLANS: Mapping[type[Any], tuple[FieldPlan, ...]] = MappingProxyType({cls: plan(cls) for cls in VALUES})

_REFERENCES = frozenset(
    {
        "id", "at", "a", "b", "name", "number", "pin", "outputs", "output", "commons", "block", "run", "way",
        "plus", "minus", "joint", "onto", "plug", "origin", "measured_mm", "tag", "wire", "retired",
        "replaced_by",
    }
)  # fmt: skip

LEAVES = frozenset(field.key for plans in PLANS.values() for field in plans) - _REFERENCES
"""Keys that play no part in who refers to whom: with only these faulty, references can still be judged."""

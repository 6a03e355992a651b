"""Validators shared by every value of the core; each raises BadValue with subject, limit and remedy."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Collection, Mapping
from enum import Enum
from typing import Any

import attrs

from model.errors import BadValue

NAME_MAX = 60
"""Longest name, in characters: what still fits a line of an 80 column screen beside its figures."""

Validator = Callable[[Any, Any, Any], None]

_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
"""Unicode categories that are not shown: controls, direction overrides, unassigned, line breaks."""

_JOINERS = {"\u200d", "\ufe0f"}
"""Zero width joiner and emoji selector: they are part of one visible sign."""


def _subject(instance: Any, attribute: Any) -> str:
    kind = type(instance).__name__.lower()
    label = str(attribute.name).replace("_", " ")
    for field in ("name", "id", "number"):
        name = getattr(instance, field, None)
        # The name itself may be what is wrong: it is not needed twice, and may be anything.
        usable = (isinstance(name, str) and name) or (isinstance(name, int) and 0 < name < 1000)
        if usable and attribute.name != field:
            return f"{kind} {shown(str(name))}: {label}"
    return f"{kind}: {label}"


def shown(text: str, limit: int = 40) -> str:
    """`text` fit for a message: unseen characters as escapes, cut to `limit` with a mark that it is cut."""
    safe = "".join(f"\\x{ord(sign):02x}" if is_unseen(sign) else sign for sign in text)
    return safe if len(safe) <= limit else safe[: limit - 1] + "\u2026"


def is_unseen(sign: str) -> bool:
    """Whether a character would not be seen, or would act on a terminal instead of being shown."""
    return sign not in _JOINERS and unicodedata.category(sign) in _UNSEEN


def text_fault(text: str, limit: int = NAME_MAX) -> str:
    """Why `text` can't stand in a harness, or an empty string."""
    if len(text) > limit:
        return f"{len(text)} characters long, at most {limit} fit"
    # Asking the whole text first is some twenty times faster; it refuses nothing that is seen but odd spaces.
    if not text.isprintable() and any(is_unseen(sign) for sign in text):
        return f"has a control character: {shown(text)}"
    return ""


def text(limit: int = NAME_MAX, *, empty: bool = True) -> Validator:
    """A line of seen characters, at most `limit` of them."""

    def check(instance: Any, attribute: Any, value: Any) -> None:
        if not isinstance(value, str):
            raise BadValue(_subject(instance, attribute), f"{value!r} is not a text")
        fault = text_fault(value, limit)
        if not fault and not empty and not value.strip():
            fault = "is empty"
        if fault:
            raise BadValue(_subject(instance, attribute), fault, remedy="Type a shorter, plain text.")

    return check


def in_range(
    low: float,
    high: float,
    unit: str = "",
    *,
    above: bool = False,
    whole: bool = False,
    optional: bool = False,
) -> Validator:
    """A finite number from `low` to `high`; None where `optional`.

    `above`: `low` itself is excluded; `whole`: an int.
    """
    where = f"more than {low:g} and at most {high:g}" if above else f"{low:g} to {high:g}"
    limit = f"{where} {unit}".strip()

    def check(instance: Any, attribute: Any, value: Any) -> None:
        if value is None and optional:
            return
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            shape = f"{shown(repr(value))} is not a number"
            raise BadValue(_subject(instance, attribute), shape, limit=limit)
        if whole and not isinstance(value, int):
            raise BadValue(_subject(instance, attribute), f"{value:g} is not a whole number", limit=limit)
        # Comparing never overflows, unlike turning a huge int into a float; nan fails both comparisons.
        if not low <= value <= high or (above and value == low):
            small = isinstance(value, float) or abs(value) < 10**15
            number = f"{value:g}" if small else "a very large number"
            raise BadValue(_subject(instance, attribute), f"{number} is out of range", limit=limit)

    return check


def each(one: Validator, most: int) -> Validator:
    """A tuple of at most `most` values, each as `one` wants it."""

    def check(instance: Any, attribute: Any, value: Any) -> None:
        if not isinstance(value, tuple):
            raise BadValue(_subject(instance, attribute), f"{shown(repr(value))} is no list", limit="a list")
        if len(value) > most:
            raise BadValue(_subject(instance, attribute), f"{len(value)} values", limit=f"at most {most}")
        for item in value:
            one(instance, attribute, item)

    return check


def member(kind: type[Enum]) -> Validator:
    """A member of an enumeration, not a text that looks like one."""

    def check(instance: Any, attribute: Any, value: Any) -> None:
        if not isinstance(value, kind):
            words = ", ".join(str(choice.value) or "none" for choice in kind)
            raise BadValue(_subject(instance, attribute), f"{shown(repr(value))} is not known", limit=words)

    return check


def one_of(choices: Collection[str], *, optional: bool = False) -> Validator:
    """One of a fixed set of words; None where `optional`."""

    def check(instance: Any, attribute: Any, value: Any) -> None:
        if value is None and optional:
            return
        if not isinstance(value, str) or value not in choices:
            words = ", ".join(str(choice) for choice in choices)
            raise BadValue(_subject(instance, attribute), f"{shown(str(value))} is not known", limit=words)

    return check


def parse_number(typed: str, subject: str, unit: str = "") -> float | None:
    """A number as a person types it: "", "120", "120 mm", "4,5"; None for nothing or a dash. Raises
    BadValue.
    """
    plain = typed.strip()
    if plain in ("", "-", "\u2013"):
        return None
    if unit and plain.lower().endswith(unit.lower()):
        plain = plain[: -len(unit)].strip()
    try:
        value = float(plain.replace(",", ".") if plain.count(",") == 1 and "." not in plain else plain)
    except ValueError:
        value = math.nan
    if not math.isfinite(value) or "_" in plain:
        limit = f"a number in {unit}" if unit else "a number"
        raise BadValue(subject, f"{shown(typed)} is not a number", limit=limit)
    return value


def counted(count: int, noun: str) -> str:
    """A number with its noun: "1 wire", "2 wires", "0 wires"."""
    return f"{count} {noun}{'' if count == 1 else 's'}"


def unfit_fields(cls: type[Any], values: Mapping[str, Any]) -> list[tuple[str, BadValue]]:
    """Every field of an attrs class whose value its own validator refuses, with the fault; fields not given
    pass.

    The class itself stops at its first fault; a file or list shall hear of all of them.
    """
    bare: Any = object.__new__(cls)
    unfit: list[tuple[str, BadValue]] = []
    for field in attrs.fields(cls):
        if field.validator is not None and field.name in values:
            try:
                field.validator(bare, field, values[field.name])
            except BadValue as fault:
                unfit.append((field.name, fault))
    return unfit

"""What a group of Setup is: its one line summary, its fields, and the edit that a typed field means."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import attrs

from harness_tui.session import Edit
from harness_tui.widgets.columns import in_unit
from harness_tui.widgets.form import Field
from model import editing, lengths
from model.errors import BadValue
from model.harness import Harness
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
class Figure:
    """A setting that is a number."""

    key: str
    label: str
    unit: str
    help: str
    whole: bool = False


def figure_text(value: float | None) -> str:
    """A number as it stands in a field; "" for none."""
    return "" if value is None else f"{value:g}"


def number(text: str, label: str, unit: str = "", *, whole: bool = False) -> Any:
    """The number that was typed, a length in mm; an int if it is to be `whole`. BadValue where it is none."""
    value = lengths.read(text, label) if unit == "mm" else parse_number(text, label, unit)
    if value is None:
        raise BadValue(label, "is empty", remedy="Type a number.")
    if whole and not float(value).is_integer():
        raise BadValue(label, f"{value:g} is not a whole number")
    return int(value) if whole else value


def figure_group(figures: tuple[Figure, ...], words: Callable[[Harness], str], key: str, title: str) -> Group:
    """A group of settings that are all numbers."""

    def fields(harness: Harness) -> list[Field]:
        return [
            Field(
                key=one.key,
                label=in_unit(one.label),
                text=(lengths.typed if one.unit == "mm" else figure_text)(getattr(harness.settings, one.key)),
                help=one.help,
            )
            for one in figures
        ]

    def edit(harness: Harness, key: str, text: str) -> Edit:
        one = next(figure for figure in figures if figure.key == key)
        value = number(text, one.label, one.unit, whole=one.whole)
        return lambda h: editing.set_settings(h, **{key: value})

    return Group(key=key, title=title, words=PRACTICE, summary=words, fields=fields, edit=edit)


def yes_no(value: bool) -> str:
    """As it stands in a field."""
    return "yes" if value else "no"

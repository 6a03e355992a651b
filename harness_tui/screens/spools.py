"""Spools: which wire is on hand, what is to be cut from each length, and what to buy."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.binding import Binding
from textual.content import Content
from textual.widgets import Static

from harness_tui.screens.list_room import ListRoom
from harness_tui.screens.room import styles_beside
from harness_tui.session import Edit
from harness_tui.widgets.ask_checked import AskChecked
from harness_tui.widgets.columns import fitted, spread
from harness_tui.widgets.form import Field
from harness_tui.widgets.lines import clip
from harness_tui.widgets.table import Row
from harness_tui.widgets.wire_paint import wire_chip
from model import lengths
from model.errors import BadValue
from model.harness import Spool
from model.routing.cutting import GroupCuts
from model.routing.spools import (
    SpoolUse,
    add_spool,
    edit_spool,
    remove_spool,
    spool_uses,
    to_buy,
)
from model.routing.words import colour_words
from model.standards.colours import COLOURS
from model.standards.wire import GAUGES
from model.values import counted

LEAST = (10, 14, 8, 9, 6, 8, 8)
SHARE = (1, 0, 0, 0, 0, 0, 0)


class SpoolsScreen(ListRoom[SpoolUse]):
    """The list of spools and remnants, and a form for the one under the cursor."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Spools"
    HELP = (
        "Which wire is on hand: spools, and what is left of older ones. a adds a length, Enter changes the "
        "one under the cursor, d takes it off. The cut list says which piece comes from which length, the "
        "shortest lengths first; what it takes from each stands beside it. What is marked as cut at the "
        "bench comes off the spool it was planned from; a length entered anew counts from then on. The last "
        "5 mm of a length are not counted on, so that no piece comes out short. What nothing is entered for "
        "is bought."
    )
    BINDINGS: ClassVar = [
        Binding("a", "add", "add", tooltip="add a spool or remnant", id="spools.add"),
        Binding("d,delete", "delete", "delete", tooltip="take it off the list", id="spools.delete"),
        Binding("e", "edit", "edit", key_display="Enter", id="spools.edit"),
        Binding("c", "cut_list", "cut list", tooltip="the cut list, in Papers", id="spools.cuts"),
    ]

    TITLES = ("spool", "colour", "gauge", "length mm", "pieces", " used mm", " left mm")
    LIST, FORM = "spools", "spool"
    EMPTY = (
        "No wire is entered as on hand, so the cut list takes new spools.\n\n"
        "Press a and type the colour of a spool or remnant, then its length."
    )
    NOTHING = "There is no spool here: a adds one."

    # --- drawing ---

    def where(self) -> str:
        return f"Spools {len(self.session.harness.spools)}"

    def show_harness(self) -> None:
        uses = spool_uses(self.session.harness)
        self.show_empty(not uses)
        widths = spread(self.app.size.width - 1, LEAST, SHARE)
        self.table.fill_to(widths, [self._row(use, widths) for use in uses])
        if not uses and not self.form.editing:
            self.table.focus()
        self.show_here()

    @staticmethod
    def _row(use: SpoolUse, widths: tuple[int, ...]) -> Row:
        spool = use.spool
        chip = wire_chip(spool.colour) + Content(f" {COLOURS[spool.colour].name}")
        texts = (
            lengths.figure(spool.left_mm),
            str(use.pieces) if use.pieces else "",
            lengths.figure(use.used_mm) if use.pieces else "",
            lengths.figure(use.left_mm) if use.pieces else "",
        )
        numbers = (fitted(text, width, right=True) for text, width in zip(texts, widths[3:], strict=True))
        return spool.name, (fitted(spool.name, widths[0]), chip, fitted(spool.gauge, widths[2]), *numbers)

    def here(self) -> SpoolUse | None:
        here = self.table.here
        return next((use for use in spool_uses(self.session.harness) if use.spool.name == here), None)

    def show_here(self) -> None:
        use = self.here()
        self.form.display = use is not None
        if use is not None:
            self.form.show(_fields(use.spool))
        width = self.app.size.width - 2
        lines = [Content(clip(_use_words(use), width))] if use is not None else []
        lines += [Content.styled(clip(words, width), "$accent") for words in self._buying()]
        self.query_one("#about", Static).update(Content("\n").join(lines[:5]))

    def _buying(self) -> Iterator[str]:
        groups = to_buy(self.session.harness)
        for group in groups:
            yield _buy_words(group)
        if not groups and any(use.pieces for use in spool_uses(self.session.harness)):
            yield "What is on hand suffices for all wires that are not cut yet."

    # --- keys ---

    def action_add(self) -> None:
        """Ask for the colour and the length of a spool or remnant."""
        harness = self.session.harness
        missing = next(iter(to_buy(harness)), None)
        proposed = missing.colour if missing is not None else harness.settings.plus_colour

        def named(typed: str | None) -> None:
            if typed is not None:
                self._ask_length(_colour(typed), missing)

        self.app.push_screen(
            AskChecked(
                "Colour of the spool or remnant",
                proposed,
                check=_colour,
                more=" ".join(COLOURS),
                choices=[*COLOURS, *(one.name for one in COLOURS.values())],
            ),
            named,
        )

    def _ask_length(self, colour: str, missing: GroupCuts | None) -> None:
        harness = self.session.harness
        gauge = missing.gauge if missing is not None and missing.colour == colour else harness.settings.gauge

        def length(typed: str) -> float:
            value = lengths.read(typed, "length")
            if value is None:
                raise BadValue("length", "is missing", remedy="Measure it, or take what the spool says.")
            return value

        def measured(typed: str | None) -> None:
            if typed is None:
                return
            words = f"add {colour_words(colour)} wire"
            if self.edit(lambda h: add_spool(h, colour, length(typed), gauge), words):
                name = self.session.harness.spools[-1].name
                self.go_to(name)
                self.say(f"Added {name}. Enter changes its name, colour, gauge or length.")

        self.app.push_screen(
            AskChecked(
                f"How much {colour_words(colour)} {gauge} is on it?",
                check=lambda typed: add_spool(harness, colour, length(typed), gauge),
                more=f"In {lengths.unit()}, or with its unit: 850 mm, 85 cm, 10 m, 33 in.",
            ),
            measured,
        )

    def action_delete(self) -> None:
        """Take the spool under the cursor off the list."""
        use = self.here()
        if use is None:
            self.say(self.NOTHING)
            return
        name = use.spool.name
        if self.edit(lambda h: remove_spool(h, name), f"delete spool {name}"):
            self.say(f"Deleted {name}. u brings it back.")

    def action_cut_list(self) -> None:
        """Go to the cut list."""
        self.loom.action_go("papers", "cut-list")

    # --- the form ---

    def first_field(self, thing: SpoolUse) -> str | None:
        return "length_mm"

    def take(self, thing: SpoolUse, key: str, text: str) -> str:
        name = thing.spool.name
        self.session.apply(_edit(name, key, text), f"spool {name}: {key.removesuffix('_mm')}")
        return " ".join(text.split()) if key == "name" else name


def _colour(typed: str) -> str:
    """The code that was typed, or that of the name that was. BadValue."""
    text = typed.strip()
    named = next((one.code for one in COLOURS.values() if one.name == text.lower()), text.upper())
    if named not in COLOURS:
        raise BadValue("colour", f"{text!r} is not known" if text else "is missing", limit=" ".join(COLOURS))
    return named


def _fields(spool: Spool) -> list[Field]:
    return [
        Field(
            key="length_mm",
            label=f"length {lengths.unit()}",
            text=lengths.typed(spool.left_mm),
            help="what can still be cut from it; 850, 85 cm or 10 m",
        ),
        Field(key="name", label="name", text=spool.name, help="what the cut list and its label call it"),
        Field(key="colour", label="colour", text=spool.colour, choices=tuple(COLOURS), help="code or name"),
        Field(key="gauge", label="gauge", text=spool.gauge, choices=tuple(GAUGES), help="of the conductor"),
    ]


def _edit(name: str, key: str, text: str) -> Edit:
    """What a typed field means. BadValue where it can mean nothing."""
    if key == "length_mm":
        length_mm = lengths.read(text, f"spool {name}: length")
        if length_mm is None:
            raise BadValue(f"spool {name}: length", "is missing", remedy="d takes the spool off the list.")
        return lambda h: edit_spool(h, name, length_mm=length_mm)
    value = _colour(text) if key == "colour" else " ".join(text.split())
    return lambda h: edit_spool(h, name, **{key: value})


def _use_words(use: SpoolUse) -> str:
    """What was cut from it since its length was entered, and what is to be cut from it."""
    spool = use.spool
    if not spool.cut_mm:
        return _plan_words(use)
    entered, cut = lengths.text(spool.length_mm), lengths.text(spool.cut_mm)
    if spool.cut_mm > spool.length_mm:
        return f"{spool.name}: {entered} entered, {cut} cut since: measure what is left and enter it"
    return f"{spool.name}: {entered} entered, {cut} cut since;{_plan_words(use).partition(':')[2]}"


def _plan_words(use: SpoolUse) -> str:
    if use.pieces:
        count = counted(use.pieces, "piece")
        used, left = lengths.long(use.used_mm), lengths.long(use.left_mm)
        return f"{use.spool.name}: {count}, {used}, to cut from it; {left} are left"
    if use.wanted:
        return f"{use.spool.name}: no piece is cut from it, shorter or better lengths take them all"
    return f"{use.spool.name}: no wire of this colour and gauge is left to cut"


def _buy_words(group: GroupCuts) -> str:
    wire = f"{colour_words(group.colour)} {group.gauge}"
    why = "none on hand" if group.assumed else "too little on hand"
    what = f"{counted(group.count, 'piece')}, {lengths.long(group.total_mm)}"
    return f"{wire}: {what}, {why}: buy {group.buy} x {group.sold_mm / 1000:g} m"

"""Commissioning: before the first power-on a checklist, then output by output what should light."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.widgets import DataTable, Static

from harness_tui.screens.room import Room, styles_beside
from harness_tui.session import today
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.ask_checked import AskChecked, ask_number
from harness_tui.widgets.battery import ask_battery
from harness_tui.widgets.columns import FittedTable, spread
from harness_tui.widgets.lines import clip
from harness_tui.widgets.pick import Pick, PickSome
from harness_tui.widgets.table import Row
from model.cautions import CAUTIONS
from model.editing import check_off
from model.electrics.supply import source_word
from model.errors import LoomError
from model.harness import Harness
from model.tracing.behaviour import Sight
from model.tracing.commission import (
    Isolation,
    OutputTest,
    checklist,
    current_verdict,
    isolation,
    isolation_verdict,
    last_readings,
    last_sights,
    log_all_lit,
    log_current,
    log_isolation,
    log_lamp,
    ohm_words,
    output_tests,
    parse_ohm,
    short_places,
    unmade,
)
from model.tracing.faults import SHORT_BELOW_OHM
from model.values import parse_number

_WRONG = tuple(sight for sight in Sight if sight is not Sight.LIT)


class CommissioningScreen(Room):
    """Checks, resistances and outputs, one a line; what the line asks for below."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Commissioning"
    HELP = (
        "Work down the list. Space ticks a check off, with the day. On a resistance press Enter and type "
        "what the meter says. Then connect the battery and switch each output on alone: Enter says that all "
        "lamps light, n that one does not, i enters the current, v the volts of the battery. What is "
        "entered is written into the history of the wires with today's date; t takes what was seen to Trace."
    )
    BINDINGS: ClassVar = [
        Binding(
            "enter,space", "yes", "yes", key_display="enter", tooltip="done, or all lit", id="commission.yes"
        ),
        Binding("n", "not_so", "not so", tooltip="what happened instead", id="commission.not"),
        Binding("i", "current", "current", tooltip="the current of this output", id="commission.current"),
        Binding("v", "battery", "battery", tooltip="the volts the battery has now", id="commission.battery"),
        Binding("t", "trace", "trace", tooltip="find the fault with what was seen", id="commission.trace"),
        Binding("escape", "leave", "back", show=False, id="commission.leave"),
    ]

    def compose_body(self) -> ComposeResult:
        yield FittedTable(("", "check", "expect", "found"), id="list")
        yield Static("", id="told", markup=False)

    def on_screen_resume(self) -> None:
        super().on_screen_resume()
        self.set_focus(self.query_one(FittedTable))

    def action_leave(self) -> None:
        """To the screen before."""
        self.loom.action_room_before()

    # --- drawing ---

    def show_harness(self) -> None:
        harness = self.session.harness
        try:
            tests = self._tests(harness)
        except LoomError as error:
            self.say(error.message(), "error")
            tests = ()
        table = self.query_one(FittedTable)
        table.display = bool(tests)
        if not tests:
            self.query_one("#told", Static).update(
                "\n  No lamp can light yet: give the lamps outputs (3) and walk their runs (4)."
            )
            return
        widths = spread(self.app.size.width - 1, (2, 34, 12, 16), (0, 3, 0, 1))
        table.fill_to(widths, list(self._rows(harness, tests, widths)))
        self._tell()

    def _rows(
        self, harness: Harness, tests: tuple[OutputTest, ...], widths: tuple[int, ...]
    ) -> Iterator[Row]:
        days = _days(harness)
        for item in checklist(harness):
            said = item.words if len(item.words) <= widths[1] else item.short
            words, day = Content(clip(said, widths[1])), days.get(item.id, "")
            yield f"check {item.id}", (_mark(bool(day)), words, "", Content.styled(day, "dim"))
        read = last_readings(harness)
        for one in isolation(harness):
            ohm = read.ohms.get(one.ref)
            bad = ohm is not None and bool(isolation_verdict(one, _reading(ohm)))
            yield (
                f"ohm {one.ref}",
                (
                    _mark(ohm is not None, bad),
                    Content(clip(one.words, widths[1])),
                    Content(f"> {ohm_words(one.limit_ohm)}"),
                    Content.styled("" if ohm is None else ohm_words(ohm), "$text-error" if bad else ""),
                ),
            )
        sights = last_sights(harness)
        for test in tests:
            seen = [sights[lamp.lamp_id][1] for lamp in test.lamps if lamp.lamp_id in sights]
            wrong = any(sight is not Sight.LIT for sight in seen)
            lit = sum(sight is Sight.LIT for sight in seen)
            found = f"{lit} of {len(test.lamps)} lit" if seen else ""
            if test.output in read.currents_ma:
                current_ma = read.currents_ma[test.output]
                wrong = wrong or bool(current_verdict(test, current_ma))
                found = f"{found} {current_ma:g} mA".strip()
            yield (
                f"output {test.output}",
                (
                    _mark(len(seen) == len(test.lamps), wrong),
                    Content(clip(f"{test.words} on: {_names(test)}", widths[1])),
                    Content(f"{test.least_ma:.0f} to {test.most_ma:.0f} mA"),
                    Content.styled(clip(found, widths[3]), "$text-warning" if wrong else ""),
                ),
            )

    @on(DataTable.RowHighlighted)
    def _tell(self) -> None:
        told = self.query_one("#told", Static)
        width = max(self.app.size.width - 3, 20)
        told.update(Content("\n").join(self._told(width)))
        self.tell_keys()

    def _told(self, width: int) -> Iterator[Content]:
        """What the line under the cursor asks for."""
        one = self._under_cursor()
        if isinstance(one, Isolation):
            source = source_word(self.session.harness.supply)
            yield Content.styled(f"{source} off, harness unplugged from the controller", "bold")
            yield Content(clip(f"meter from the {one.words}: over {ohm_words(one.limit_ohm)}", width))
            ohm = last_readings(self.session.harness).ohms.get(one.ref)
            if ohm is not None and ohm < SHORT_BELOW_OHM:
                where = "; ".join(short_places(self.session.harness, one))
                words = clip(f"plus and minus are close at: {where}", 4 * width)
                yield from Content.styled(words, "$text-error").wrap(width)
            yield Content.styled("Enter and the ohm; empty where the meter shows over range", "dim")
        elif isinstance(one, OutputTest):
            source = source_word(self.session.harness.supply)
            first = f"switch on output {one.output} alone, {source} at {one.battery_v:.1f} V"
            yield Content.styled(first, "bold")
            for bad in self._bad_readings(one):
                yield from Content.styled(f"First: {bad}", "$text-error").wrap(width)
            yield from Content(clip(f"should light: {_names(one)}", 3 * width)).wrap(width)
            yield Content.styled("Enter all light   n not so   i current   t trace", "dim")
        else:
            ref = str(one).partition(" ")[2]
            item = next((item for item in checklist(self.session.harness) if item.id == ref), None)
            if item is not None:
                yield from Content.styled(item.words, "bold").wrap(width)
            for caution in CAUTIONS[:2]:
                yield from Content.styled(f"{caution.about}: {caution.words}", "dim").wrap(width)
            yield Content.styled("space ticks it off", "dim")

    def _bad_readings(self, test: OutputTest) -> Iterator[str]:
        """What the meter said of the output's pin that is not right, to be seen to before it is on."""
        harness = self.session.harness
        ohms = last_readings(harness).ohms
        for one in isolation(harness):
            if one.output == test.output and one.ref in ohms:
                wrong = isolation_verdict(one, _reading(ohms[one.ref]))
                if wrong:
                    yield wrong

    def _tests(self, harness: Harness) -> tuple[OutputTest, ...]:
        return output_tests(harness, self.session.battery_v)

    def _under_cursor(self) -> Isolation | OutputTest | str:
        here = self.query_one(FittedTable).here
        kind, _, ref = here.partition(" ")
        harness = self.session.harness
        if kind == "ohm":
            return next((one for one in isolation(harness) if one.ref == ref), here)
        if kind == "output":
            return next((one for one in self._tests(harness) if str(one.output) == ref), here)
        return here

    # --- keys ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Grey what can't be done now."""
        if not self.is_mounted or not self.query(FittedTable):
            return None
        here = self.query_one(FittedTable).here
        if action in ("not_so", "current"):
            return True if here.startswith("output ") else None
        if action == "trace":
            seen = last_sights(self.session.harness).values()
            return True if any(sight is not Sight.LIT for _, sight in seen) else None
        return True

    @on(DataTable.RowSelected)
    def _enter(self, event: DataTable.RowSelected) -> None:
        event.stop()
        self.action_yes()

    def action_yes(self) -> None:
        """The check is done, the resistance is asked for, or all lamps of the output light."""
        one = self._under_cursor()
        table = self.query_one(FittedTable)
        if isinstance(one, Isolation):
            self._ask_ohm(one)
        elif isinstance(one, OutputTest):
            if self.edit(lambda h: log_all_lit(h, one, today()), f"output {one.output}: all lit"):
                table.action_cursor_down()
        elif one:
            check_id = one.partition(" ")[2]
            day = "" if check_id in _days(self.session.harness) else today()
            if self.edit(lambda h: check_off(h, check_id, day), f"check {check_id}"):
                table.action_cursor_down()
                left = unmade(self.session.harness) if check_id == "wires" and day else ""
                if left:
                    self.say(f"Ticked off, but {left}: what is not made can't be tested.", "warning")

    def _ask_ohm(self, one: Isolation) -> None:
        def read(typed: str | None) -> None:
            if typed is None:
                return
            ohm = parse_ohm(typed)
            if not self.edit(lambda h: log_isolation(h, one, ohm, today()), f"ohm at {one.ref}"):
                return
            wrong = isolation_verdict(one, ohm)
            if wrong:
                self.say(wrong, "error")
            else:
                self.query_one(FittedTable).action_cursor_down()

        more = "For example 4, 12k or 2.2M. Empty where the meter shows over range."
        question = AskChecked(f"{one.words}, in ohm", check=parse_ohm, more=more)
        self.app.push_screen(question, read)

    def action_current(self) -> None:
        """Ask for the current of the output."""
        one = self._under_cursor()
        if not isinstance(one, OutputTest):
            return

        def read(typed: str | None) -> None:
            value = parse_number(typed, "current", "mA") if typed else None
            if value is None or not self.edit(
                lambda h: log_current(h, one, value, today()), f"output {one.output}: current"
            ):
                return
            wrong = current_verdict(one, value)
            if wrong:
                self.say(wrong, "warning")

        more = f"{one.least_ma:.0f} to {one.most_ma:.0f} mA is right at {one.battery_v:.1f} V."
        question = ask_number(
            f"Current of output {one.output}, in mA",
            subject="current",
            unit="mA",
            more=more,
            then=lambda value: None if value is None else current_verdict(one, value),
        )
        self.app.push_screen(question, read)

    def action_not_so(self) -> None:
        """Ask which lamps do not do as they should, and what they do."""
        one = self._under_cursor()
        if not isinstance(one, OutputTest):
            return

        def which(taken: tuple[str, ...] | None) -> None:
            if taken:
                self.app.push_screen(
                    Choose("What happens instead?", [sight.value for sight in _WRONG]),
                    lambda place: self._log_wrong(one, taken, place),
                )

        picks = [Pick(key=lamp.lamp_id, line=lamp.name, taken=len(one.lamps) == 1) for lamp in one.lamps]
        self.app.push_screen(PickSome(f"Output {one.output}: which are not as they should be?", picks), which)

    def _log_wrong(self, one: OutputTest, taken: tuple[str, ...], place: int | None) -> None:
        if place is None:
            return
        sight = _WRONG[place]

        def edit(harness: Harness) -> Harness:
            for lamp in one.lamps:
                seen = sight if lamp.lamp_id in taken else Sight.LIT
                harness = log_lamp(harness, one, lamp.lamp_id, seen, today())
            return harness

        if self.edit(edit, f"output {one.output}: {sight.value}"):
            self.say("Written into the history. t traces it, or go on with the list first.")

    def action_battery(self) -> None:
        """Ask for the volts of the battery now: the currents to expect go by them."""

        def told(battery_v: float | None) -> None:
            self.session.battery_v = battery_v
            self.redraw()

        ask_battery(self.app, self.session.battery_v, told)

    def action_trace(self) -> None:
        """Take what was seen to Trace."""
        self.loom.action_go("trace", "tests")


def _days(harness: Harness) -> dict[str, str]:
    """The day on which each check was ticked off, by its id."""
    return {one.id: one.day for one in harness.checked}


def _names(test: OutputTest) -> str:
    return ", ".join(lamp.name for lamp in test.lamps)


def _mark(done: bool, wrong: bool = False) -> Content:
    if wrong:
        return Content.styled("!", "$text-warning")
    return Content.styled("\u2713" if done else "", "dim")


def _reading(ohm: float) -> float | None:
    return None if math.isinf(ohm) else ohm

"""Find: type or scan a tag, or ask in words; the wire, its whole way, and all that is known of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

import attrs
from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import DataTable, Input, Static
from textual.worker import get_current_worker

from harness_tui.other_projects import Elsewhere, elsewhere, worth_asking
from harness_tui.screens.print_room import PrintRoom
from harness_tui.screens.room import styles_beside
from harness_tui.session import today
from harness_tui.stocks import all_stocks
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.ask_checked import AskChecked
from harness_tui.widgets.battery import ask_battery
from harness_tui.widgets.columns import FittedTable, spread
from harness_tui.widgets.found_lines import elsewhere_lines, empty_lines, found_rows, meter_lines
from harness_tui.widgets.lines import clip
from harness_tui.widgets.wire_answer import event_lines, is_off, retired_lines, wire_lines
from model import editing
from model.checks.making import TAKEN_OFF
from model.errors import LoomError
from model.harness import Harness
from model.labels.batch import label_group, stock_group, wire_batch
from model.tags import UNKNOWN
from model.tracing.find import Found, FoundKind, WireAnswer, find, forerunners, wire_answer
from model.tracing.trail import trail, walk

NEAR = 6
"""So many tags asked for last are taken as being at hand when a doubtful one is guessed."""

_ASK_WORDS = "tag (? = can't be read), lamp, output 5, pin A5, J3, colour, place"


class FindLine(Input):
    """The line that is typed or scanned into."""

    HELP = (
        "Type a tag, with ? for a character that can't be read, or scan a label's code. Several tags at once "
        "say what they have in common. Words look up lamps, functions, outputs, pins, joints, plugs, colours "
        "and places."
    )
    BINDINGS: ClassVar = [
        Binding("escape", "screen.to_answer", "to the answer", id="find.answer"),
        Binding("down", "screen.to_answer", "to the answer", show=False, id="find.down"),
        Binding("slash", "anew", "a new question", show=False, id="find.anew"),
        Binding(
            "ctrl+t", "screen.trace", "lamps are dark", tooltip="lamps are dark or odd: Trace", id="find.dark"
        ),
    ]

    async def _on_key(self, event: events.Key) -> None:
        # "/" is Find from anywhere; pressed again it starts a new question, and no name begins with one.
        if event.key == "slash" and (not self.value or self.selection.start != self.selection.end):
            event.stop()
            event.prevent_default()
            self.action_anew()
            return
        await super()._on_key(event)

    def action_anew(self) -> None:
        """Empty the line."""
        self.value = ""


class FindScreen(PrintRoom):
    """A line to ask in; the answer below it."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Find"
    HELP = FindLine.HELP
    BINDINGS: ClassVar = [
        Binding("r", "reprint", "reprint", tooltip="print both labels of this wire again", id="find.reprint"),
        Binding(
            "u",
            "undo_print",
            "undo",
            show=False,
            tooltip="take the mark of the last print off, else undo",
            id="find.undo",
        ),
        Binding(
            "o", "others", "others", tooltip="every wire that hangs together with this one", id="find.others"
        ),
        Binding("a", "also", "also", tooltip="what else these words mean", id="find.also"),
        Binding("e", "edit", "edit lamp", tooltip="the lamp of this wire, in Lamps", id="find.edit"),
        Binding("b", "bench", "bench", tooltip="the steps of this wire, at the bench", id="find.bench"),
        Binding("t", "trace", "trace", tooltip="what may be wrong, and what to test", id="find.trace"),
        Binding("m", "meter", "meter", tooltip="what a meter should say along its way", id="find.meter"),
        Binding(
            "h", "history", "history", tooltip="everything that happened to this wire", id="find.history"
        ),
        Binding("l", "log", "log", tooltip="write a line into its history", id="find.log"),
        Binding("x", "taken_off", "taken off", tooltip="the labels of a retired tag are off", id="find.off"),
        Binding("escape", "leave", "back", show=False, id="find.leave"),
        Binding("v", "battery", "battery", tooltip="the volts the battery has now", id="find.battery"),
        Binding("enter", "open_heir", "open", show=False, id="find.heir"),
        Binding(
            "p", "project", "open its project", tooltip="the other project that knows it", id="find.project"
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.asked = ""
        self.found: Found | None = None
        self.history = False
        self.meter = False
        self._also = False
        self._asked_of: Harness | None = None
        self._before: list[str] = []
        self._near: list[str] = []
        self._covered = False
        self.elsewhere: tuple[Elsewhere, ...] = ()

    def compose_body(self) -> ComposeResult:
        with Horizontal(id="ask"):
            yield Static("find", markup=False)
            yield FindLine("", placeholder=_ASK_WORDS, compact=True, select_on_focus=False)
        yield Static("", id="said", markup=False)
        with VerticalScroll(id="answer"):
            yield Static("", id="text", markup=False)
        yield FittedTable(("tag", "wire", "colour", "mm", "made"), id="wires")

    # --- coming and going ---

    def on_key(self, event: events.Key) -> None:
        # A scanner types capitals: a code read while the cursor is in the answer goes to the line.
        sign = event.character or ""
        line = self.query_one(FindLine)
        if self.focused is not line and sign.isascii() and sign.isupper() and sign != "U":
            event.stop()
            self.set_focus(line)
            line.value = sign
            line.cursor_position = 1

    def on_screen_suspend(self) -> None:
        # A dialog over this screen gives the cursor back; coming from elsewhere one wants the line.
        self._covered = isinstance(self.app.screen, ModalScreen)

    def on_screen_resume(self) -> None:
        super().on_screen_resume()
        if not self._covered:
            self._to_line()
        self._covered = False

    def go_to(self, ref: str) -> None:
        if ref == "ask":
            self._to_line()
        else:
            self.ask(ref)
            self.action_to_answer()

    def _to_line(self) -> None:
        """Put the cursor in the line; what is typed replaces what stands there."""
        line = self.query_one(FindLine)
        self.set_focus(line)
        line.select_all()

    def ask(self, text: str) -> None:
        """Look something up and show what came of it."""
        if self.asked and self.asked != text and self.found is not None:
            self._before.append(self.asked)
            del self._before[:-20]
        self._show(text)

    def _show(self, text: str) -> None:
        self.asked = text
        self.history = self.meter = self._also = False
        self._asked_of = None
        self.elsewhere = ()
        line = self.query_one(FindLine)
        line.value = text
        self.say("")
        self.redraw()
        self.query_one("#answer").scroll_home(animate=False)
        if self.found is not None and self.found.answer is not None:
            tag = self.found.answer.tag
            self._near = [*(one for one in self._near if one != tag), tag][-NEAR:]
        if self.found is not None and worth_asking(self.found):
            self._ask_elsewhere(self.found)

    def _ask_elsewhere(self, found: Found) -> None:
        """Look into the person's other projects, and show what they know if nothing else was asked since."""
        beside = self.session.path

        def search() -> None:
            worker = get_current_worker()
            there = elsewhere(found, beside, lambda: not worker.is_cancelled)
            if not worker.is_cancelled:
                self.app.call_from_thread(self._found_elsewhere, found.asked, there)

        self.run_worker(search, thread=True, exclusive=True, group="elsewhere", exit_on_error=False)

    def _found_elsewhere(self, asked: str, there: tuple[Elsewhere, ...]) -> None:
        if self.found is not None and self.found.asked == asked and there:
            self.elsewhere = there
            self.redraw()

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        event.stop()
        text = event.value.strip()
        if text and text == self.asked:
            self.action_to_answer()
        elif text:
            self.ask(text)
            if (
                self.found is not None
                and self.found.answer is not None
                and not self.query_one(FittedTable).display
            ):
                # Its keys work at once; a scanner's next code is heard there as well.
                self.action_to_answer()
            else:
                # A scanner may send the next code at once: it replaces this one.
                self.query_one(FindLine).select_all()

    def action_to_answer(self) -> None:
        """Put the cursor in the answer; with none, go back."""
        if self.found is None:
            self.loom.action_room_before()
            return
        table = self.query_one(FittedTable)
        (table if table.display else self.query_one("#answer")).focus()
        if table.display and table.here.startswith("#"):
            table.action_cursor_down()  # a heading has nothing to open
        self.refresh_bindings()

    def action_leave(self) -> None:
        """To what was asked before, else to the screen before."""
        if self.history or self.meter or self._also:
            self.history = self.meter = self._also = False
            self._asked_of = None
            self.redraw()
            self.action_to_answer()
        elif self._before:
            self._show(self._before.pop())
            self.action_to_answer()
        else:
            self.loom.action_room_before()

    # --- drawing ---

    def show_harness(self) -> None:
        harness = self.session.harness
        if self._asked_of is not harness:
            self.found = find(harness, self.asked, near=self._near) if self.asked else None
            if self.found is not None and self._also:
                heading = "; ".join(one.words for one in self.found.also)
                self.found = attrs.evolve(
                    self.found, kind=FoundKind.LISTS, answer=None, heading=heading, lists=self.found.also
                )
            self._asked_of = harness
        found = self.found
        widths = spread(self.app.size.width - 1, (4, 24, 8, 6, 8), (0, 1, 0, 0, 0))
        rows = list(found_rows(harness, found, widths[1])) if found else []
        table, answer = self.query_one(FittedTable), self.query_one("#answer")
        table.display = bool(rows)
        answer.display = not rows
        table.fill_to(widths, rows)
        text = self.query_one("#text", Static)
        words = self._said(found) if found else Content("")
        said = self.query_one("#said", Static)
        said.display = bool(words.plain)
        said.update(words)
        if found is None:
            text.update(Content("\n").join(empty_lines(harness)))
            return
        answered = found.answer is not None and not rows
        lines = list(self._answer(harness, found)) if answered else []
        lines += elsewhere_lines(self.elsewhere, self._width()) if not rows else []
        text.update(Content("\n").join(lines))
        self.refresh_bindings()

    def _width(self) -> int:
        return max(self.app.size.width - 3, 20)

    def _said(self, found: Found) -> Content:
        """What was found, in one or two lines."""
        width = self._width()
        if found.kind in (FoundKind.WIRE, FoundKind.RETIRED):
            parts = [
                part for part in (found.reason, found.end_words and f"label of the {found.end_words}") if part
            ]
            if found.also:
                parts.append(f"also {'; '.join(one.words for one in found.also)}: a")
            style = "$text-warning" if found.reason else "dim"
            return Content.styled(clip(" \u00b7 ".join(parts), width), style)
        warn = found.kind in (FoundKind.NOTHING, FoundKind.OTHER_PROJECT, FoundKind.CANDIDATES)
        if self.elsewhere and found.kind is FoundKind.CANDIDATES:
            projects = ", ".join(dict.fromkeys(one.code for one in self.elsewhere))
            known = "It may also be" if UNKNOWN in found.asked else "As it stands it is"
            more = Content.styled(f"\n{known} of {projects}: p opens that.", "$text-warning")
            return Content.styled(found.heading, "$text-warning") + more
        return Content.styled(found.heading, "$text-warning" if warn else "")

    def _answer(self, harness: Harness, found: Found) -> Iterator[Content]:
        answer = found.answer
        width = self._width()
        if answer is None:
            return
        if self.meter and answer.wire is not None:
            yield from meter_lines(harness, answer.tag, width, self.session.battery_v)
            yield Content.styled("v: the battery has other volts now", "dim")
        elif self.history:
            yield Content.styled(f"{answer.tag}: everything that happened", "bold")
            for old in forerunners(harness, answer.tag):
                yield Content(clip(f"re-tagged  it was {old.tag}, {old.retired}", width))
            yield from event_lines(answer.record, width, len(answer.record.events), whole=True)
        elif answer.wire is None:
            yield from retired_lines(answer, found.heirs, width)
        else:
            rows = max(self.app.size.height - 17, 5)
            yield from wire_lines(harness, answer, width, rows, self.session.battery_v)

    # --- keys ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done with what is shown."""
        answer = self._shown()
        if self.meter and action in ("reprint", "others", "edit", "bench"):
            return False
        if action in ("reprint", "others", "edit", "bench", "meter"):
            return bool(answer and answer.wire)
        if action in ("history", "log"):
            return answer is not None
        if action == "also":
            return bool(self.found and self.found.also)
        if action == "taken_off":
            return bool(answer and not answer.wire and answer.record.issued and not is_off(answer.record))
        if action == "open_heir":
            return bool(self.found and self.found.heirs)
        if action == "project":
            return bool(self.elsewhere)
        if action == "battery":
            return self.meter and bool(answer and answer.wire)
        return True

    def _shown(self) -> WireAnswer | None:
        """The one tag that is shown, or the one under the cursor of a list."""
        if self.found is None or not self.is_mounted:
            return None
        if self.found.answer is not None:
            return self.found.answer
        table = self.query_one(FittedTable)
        record = self.session.harness.ledger.find(table.here) if table.display else None
        return wire_answer(self.session.harness, record) if record else None

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        self.tell_keys()
        here = self.query_one(FittedTable).here
        if self.found is not None and self.found.kind is FoundKind.CANDIDATES:
            reasons = [one.reason for one in self.found.candidates if one.answer.tag == here]
            self.say(f"{here}: {reasons[0]}" if reasons else "")

    @on(DataTable.RowSelected)
    def _opened(self) -> None:
        tag = self.query_one(FittedTable).here
        if self.session.harness.ledger.find(tag) is not None:
            self.ask(tag)
            self.action_to_answer()

    def action_open_heir(self) -> None:
        """Show the tag that took the place of a retired one."""
        if self.found is not None and self.found.heirs:
            self.ask(self.found.heirs[0].tag)
            self.action_to_answer()

    def action_project(self) -> None:
        """Open the other project that knows what was asked, and ask there."""

        def chosen(place: int | None) -> None:
            if place is not None:
                self.loom.change_project(self.elsewhere[place].path, self.asked)

        if len(self.elsewhere) == 1:
            chosen(0)
        elif self.elsewhere:
            lines = [f"{one.code}  {one.name}: {one.words}" for one in self.elsewhere]
            self.app.push_screen(Choose("Open which project?", lines), chosen)

    def action_battery(self) -> None:
        """Ask for the volts of the battery now, for what the meter should say."""

        def told(battery_v: float | None) -> None:
            self.session.battery_v = battery_v
            self.redraw()

        ask_battery(self.app, self.session.battery_v, told)

    def action_others(self) -> None:
        """List every wire on the same pin."""
        answer = self._shown()
        if answer is not None and answer.wire is not None:
            tree = trail(self.session.harness, answer.wire)
            tags = [branch.tag for branch in walk(tree.root) if branch.tag]
            if len(tags) > 1:
                self.ask(" ".join(tags[:40]))
                self.action_to_answer()
            else:
                self.say(f"{answer.tag} hangs together with no other wire.")

    def action_also(self) -> None:
        """Show what else the words that were asked mean."""
        if self.found is not None and self.found.also:
            self._also, self._asked_of = True, None
            self.redraw()
            self.action_to_answer()

    def action_edit(self) -> None:
        """Go to the wire's lamp."""
        answer = self._shown()
        if answer is not None and answer.wire is not None and answer.wire.lamps:
            self.loom.action_go("lamps", answer.wire.lamps[0])

    def action_bench(self) -> None:
        """Go to the wire at the bench."""
        answer = self._shown()
        if answer is not None:
            self.loom.action_go("bench", answer.tag)

    def action_trace(self) -> None:
        """Go to Trace, the cursor on a lamp of this wire, or of the joint that was asked for."""
        lists = self.found.lists if self.found is not None else ()
        joints = [ref for one in lists for ref in one.refs if self.session.harness.find_joint(ref)]
        answer = self._shown()
        tag = answer.tag if answer is not None and answer.wire is not None else ""
        self.loom.action_go("trace", joints[0] if len(joints) == 1 and len(lists) == 1 else tag)

    def action_meter(self) -> None:
        """Show what a meter should say along the way of the wire, or the answer again."""
        self._show_side(meter=True)

    def action_history(self) -> None:
        """Show everything that happened to the wire, or the answer again."""
        self._show_side(history=True)

    def _show_side(self, *, meter: bool = False, history: bool = False) -> None:
        """Show something else of the wire in place of the answer, or the answer where that is shown."""
        answer = self._shown()
        if answer is None:
            return
        if self.found is not None and self.found.answer is None:
            self.ask(answer.tag)
            self.action_to_answer()
        shown = (self.meter, self.history) == (meter, history)
        self.meter, self.history = (False, False) if shown else (meter, history)
        self.redraw()

    def action_log(self) -> None:
        """Ask for a line for the history."""
        answer = self._shown()
        if answer is None:
            return
        tag = answer.tag

        def write(typed: str | None) -> None:
            note = (typed or "").strip()
            if note and self.edit(lambda h: editing.log_event(h, tag, "note", note, today()), f"{tag}: note"):
                self.say(f"Written into the history of {tag}.")

        now = self.session.harness
        self.app.push_screen(
            AskChecked(
                f"What happened to {tag}?",
                check=lambda typed: editing.log_event(now, tag, "note", typed.strip(), today()),
                more="For example  found broken at the hinge",
            ),
            write,
        )

    def action_taken_off(self) -> None:
        """Note that the labels of a retired tag are off."""
        answer = self._shown()
        if answer is not None and self.edit(
            lambda h: editing.log_event(h, answer.tag, TAKEN_OFF, "", today()), f"{answer.tag} {TAKEN_OFF}"
        ):
            self.say(f"Noted: no label of {answer.tag} is on a wire any more.")

    def action_reprint(self) -> None:
        """Print both labels of the wire."""
        answer = self._shown()
        if answer is None or answer.wire is None:
            return
        harness = self.session.harness
        settings = harness.settings
        try:
            group = label_group(harness, all_stocks(), settings.sleeve_stock, answer.wire)
            if answer.record.steps:
                group = "flag"
            chosen = settings.sleeve_stock if group == "sleeve" else settings.flag_stock
            labels = wire_batch(harness, all_stocks(), chosen, group, [answer.wire])
        except LoomError as error:
            self.say(error.message(), "error")
            return
        assert all(stock_group(label.layout.stock) == group for label in labels)
        self.print_labels(labels)

"""Trace: what each lamp does, what may be wrong, and what to test next."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import ClassVar

from textual import events, on
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
from harness_tui.widgets.table import Row
from harness_tui.widgets.trace_lines import next_test_lines, suspect_line, wrapped
from model.errors import LoomError
from model.harness import Harness
from model.routing.wires import derive
from model.tracing.behaviour import Faults, Sight
from model.tracing.commission import is_repair_logged, log_repair, trace_of_tests
from model.tracing.fault_words import fault_tags
from model.tracing.probe_words import probe_words
from model.tracing.proposing import Proposal, Standing, confirming_look, next_test, standing, unexpected
from model.tracing.trace import (
    ProbeKind,
    Trace,
    answer,
    begin,
    carried_over,
    clear,
    faults_words,
    refuse,
    see,
    see_rest,
    suspects,
    with_battery,
)
from model.tracing.trace_text import (
    expectation_words,
    lamps_called,
    seen_in_words,
    share_words,
    standing_words,
)
from model.values import counted, parse_number

_EMPTY = "\n  No lamp can light yet: give the lamps outputs (3) and walk their runs (4)."
_SIGHT_WORDS = "d dark  m dim  b bright  f flickers  w lights with a wrong output  y stays on  l lit"
_NOTE_MAX = 200
_TOLD_SHARE = 0.6
"""The share of the screen that suspects and test may take; the style sheet says the same."""

SIGHT_KEYS = (
    ("d", Sight.DARK),
    ("m", Sight.DIM),
    ("b", Sight.BRIGHT),
    ("f", Sight.FLICKERS),
    ("w", Sight.WRONG),
    ("y", Sight.STAYS),
    ("l", Sight.LIT),
)

_TIPS = {
    Sight.DARK: "dark with every output",
    Sight.DIM: "dimmer than it should be",
    Sight.BRIGHT: "brighter than it should be",
    Sight.FLICKERS: "comes and goes",
    Sight.WRONG: "lights with another output than its own",
    Sight.STAYS: "stays lit with all outputs off",
    Sight.LIT: "as it should be",
}


class TraceScreen(Room):
    """The lamps with what is seen of them; below, the suspects and the test to make next."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Trace"
    HELP = (
        "Switch the outputs on one after the other and press one key for each lamp: d dark, m dim, b bright, "
        "f flickers, w lights with a wrong output, y stays on, l lit; a says that all others are lit, e says "
        "it of several in words. The suspects that explain it stand below, the likeliest first, and the test "
        "that tells most for the least trouble. Enter answers it, n takes another test, c says that the "
        "first suspect is not there, backspace takes back the last step. v enters the volts of the "
        "battery now, g writes what was found into the history."
    )
    BINDINGS: ClassVar = [
        *(
            Binding(
                key,
                f"sight('{sight.name}')",
                sight.value,
                show=sight in (Sight.DARK, Sight.LIT),
                tooltip=_TIPS[sight],
                id=f"trace.{sight.name.lower()}",
            )
            for key, sight in SIGHT_KEYS
        ),
        Binding("e", "words", "words", tooltip="say it of several lamps at once", id="trace.words"),
        Binding("a", "rest", "rest lit", tooltip="all lamps not looked at yet are lit", id="trace.rest"),
        Binding(
            "enter",
            "answer",
            "answer",
            key_display="enter",
            tooltip="enter what the test gave",
            id="trace.answer",
        ),
        Binding("n", "other", "other", tooltip="this test can't be made", id="trace.other"),
        Binding(
            "c", "clear", "not it", show=False, tooltip="the first suspect is not there", id="trace.clear"
        ),
        Binding("s", "suspects", "all", tooltip="all of them, with the reason", id="trace.suspects"),
        Binding("v", "battery", "volts", tooltip="the volts the battery has now", id="trace.battery"),
        Binding("g", "log", "log", tooltip="write what was found into the history", id="trace.log"),
        Binding(
            "backspace",
            "step_back",
            "undo",
            key_display="bksp",
            tooltip="the last step",
            id="trace.step",
        ),
        Binding(
            "x", "forget", "start anew", show=False, tooltip="forget all that was seen", id="trace.forget"
        ),
        Binding("escape", "leave", "back", show=False, id="trace.leave"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.trace: Trace | None = None
        self._before: list[Trace] = []
        self._words = ""
        self._logged: tuple[Faults, str] = ((), "")

    def compose_body(self) -> ComposeResult:
        yield FittedTable(("", "lamp", "output", "seen"), id="lamps")
        yield Static("", id="told", markup=False)

    # --- coming and going ---

    def on_screen_resume(self) -> None:
        super().on_screen_resume()
        self.set_focus(self.query_one(FittedTable))

    def go_to(self, ref: str) -> None:
        """A lamp's id or a tag: the cursor goes there; a joint: its lamps are ready to be told of.

        "tests": what the last tests showed is taken over.
        """
        if ref == "tests":
            self._take_over()
            return
        if self.session.harness.find_joint(ref) is not None:
            self._begin_at_joint(ref)
            return
        record = self.session.harness.ledger.find(ref)
        wire = derive(self.session.harness).by_key.get(record.wire) if record and record.live else None
        for lamp in wire.lamps if wire else (ref,):
            if self.query_one(FittedTable).go_to(lamp):
                break

    def _begin_at_joint(self, ref: str) -> None:
        """The cursor on the first lamp behind a joint; e begins with the joint's name."""
        try:
            lamps = lamps_called(self.session.harness, ref)
        except LoomError as error:
            self.say(error.message(), "error")
            return
        self.query_one(FittedTable).go_to(lamps[0])
        self._words = f"{ref} dark"
        count = f"the {len(lamps)} lamps" if len(lamps) > 1 else "the lamp"
        self.say(
            f"e says what {count} behind {ref} do{'' if len(lamps) > 1 else 'es'}; it is filled in: dark."
        )

    def _take_over(self) -> None:
        try:
            trace = trace_of_tests(self.session.harness, self.session.battery_v)
        except LoomError as error:
            self.say(error.message(), "error")
            return
        self._step(lambda _: trace)
        if trace.odd:
            self.query_one(FittedTable).go_to(trace.odd[0])
        self.say("Taken over from the tests: what each lamp did when it was last tested.")

    def action_leave(self) -> None:
        """To the screen before; what was seen stays."""
        self.loom.action_room_before()

    # --- drawing ---

    def _current(self) -> Trace | None:
        """The trace on the harness as it is now; None, with the cause said, where it can't be worked out."""
        harness = self.session.harness
        try:
            if self.trace is None:
                self.trace = begin(harness, battery_v=self.session.battery_v)
            elif self.trace.harness is not harness:
                self.trace = carried_over(self.trace, harness)
            if self.trace.battery_v != self.session.battery_v:
                self.trace = with_battery(self.trace, self.session.battery_v)
            standing(self.trace)
        except LoomError as error:
            self.trace = None
            self.say(error.message(), "error")
        return self.trace

    def show_harness(self) -> None:
        harness = self.session.harness
        trace = self._current()
        table, told = self.query_one(FittedTable), self.query_one("#told", Static)
        table.display = trace is not None and bool(trace.simulator.outputs)
        if trace is None or not table.display:
            told.update(_EMPTY if trace is not None else "")
            return
        widths = spread(self.app.size.width - 1, (2, 24, 12, 12), (0, 3, 1, 0))
        table.fill_to(widths, [_row(harness, trace, lamp, widths) for lamp in trace.simulator.outputs])
        width = max(self.app.size.width - 3, 20)
        told.update(Content("\n").join(self._told(trace, width)))
        self.refresh_bindings()

    def where(self) -> str:
        trace = self.trace
        if trace is None or not trace.odd:
            return "Trace"
        left = len(suspects(trace))
        return f"Trace {counted(left, 'suspect')}"

    def _told(self, trace: Trace, width: int) -> Iterator[Content]:
        """Suspects and the next test, in lines of at most `width` columns."""
        state = standing(trace)
        if state is Standing.NOTHING_ODD:
            seen = len(trace.sights)
            yield Content.styled(
                "Switch the outputs on one by one. For each lamp press what it does:", "bold"
            )
            yield Content(_SIGHT_WORDS)
            yield Content.styled(f"{seen} of {len(trace.simulator.outputs)} lamps looked at", "dim")
            return
        roomy = self.app.size.height > 30
        if roomy:
            yield Content.styled(_SIGHT_WORDS, "dim")
        left = suspects(trace)
        proposal = next_test(trace)
        # The test to make next must not be pushed off the screen by those it is to tell apart.
        room = int(self.app.size.height * _TOLD_SHARE) - 2
        test = list(next_test_lines(trace, proposal, width, max(room * 2 // 3 - 1, 5)))
        above = room - max(len(test), 2) - 3
        shown = left[: max((above + 1) // 2 if roomy else above, 2)]
        for place, suspect in enumerate(shown):
            yield suspect_line(suspect, "left" if place == 0 else "", width)
            if place == 0 or roomy:
                yield Content.styled(f"{'':<7}{clip(suspect.reason, width - 7)}", "dim")
        if len(left) > len(shown):
            yield Content.styled(f"{'':<7}and {len(left) - len(shown)} more, s shows all", "dim")
        if proposal is None:
            style = "$text-warning" if state is Standing.UNEXPLAINED else "bold $accent"
            for line in wrapped(standing_words(trace), width):
                yield Content.styled(line, style)
            look = confirming_look(trace)
            if look is not None:
                words = f"to be sure: {probe_words(trace.harness, look.probe)}   Enter answers"
                for line in wrapped(words, width):
                    yield Content.styled(line, "dim")
            if state in (Standing.FOUND, Standing.ALIKE):
                then = "g writes it into the history once it is mended; c says that it is not there."
                if self._is_logged(trace):
                    then = "Written into the history. Test the lamps again: x starts anew."
                yield Content.styled(clip(then, width), "dim")
            return
        yield from test

    def _is_logged(self, trace: Trace) -> bool:
        """Whether the repair of what was found is in the history already."""
        found = suspects(trace)
        faults, note = self._logged
        return bool(found and faults == found[0].faults) and is_repair_logged(trace.harness, faults, note)

    # --- keys ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Grey what can't be done now."""
        trace = self.trace
        if trace is None or not trace.simulator.outputs:
            return None if action not in ("leave",) else True
        if action == "answer":
            return True if self._proposal() is not None else None
        if action == "other":
            return True if trace.odd and next_test(trace) is not None else None
        if action == "log" and trace.odd and self._is_logged(trace):
            return None
        if action in ("suspects", "log", "clear"):
            return True if trace.odd and suspects(trace) else None
        if action == "step_back":
            return True if self._before else None
        return True

    def _step(self, change: Callable[[Trace], Trace]) -> bool:
        """One step of the trace; what can't be is said."""
        before = self.trace
        if before is None:
            return False
        try:
            self.trace = change(before)
            standing(self.trace)
        except LoomError as error:
            self.trace = before
            self.say(error.message(), "error")
            return False
        self._before.append(before)
        self.say("")
        self.redraw()
        return True

    def action_sight(self, name: str) -> None:
        """What the lamp under the cursor does; the cursor goes on."""
        table = self.query_one(FittedTable)
        lamp = table.here
        if lamp and self._step(lambda trace: see(trace, lamp, Sight[name])):
            table.action_cursor_down()

    def action_words(self) -> None:
        """Ask for what is seen of several lamps, in words."""

        harness = self.session.harness
        more = "For example  output 5, roof marker left dark; J14 dim; the rest lit"
        ask = AskChecked(
            "What do you see?", self._words, check=lambda text: seen_in_words(harness, text), more=more
        )

        ask.begun = True

        def told(typed: str | None) -> None:
            # What was left by Escape is there again the next time.
            self._words = ask.text if typed is None else ""
            if typed:
                self._step(lambda trace: _as_said(trace, typed))

        self.app.push_screen(ask, told)

    def action_rest(self) -> None:
        """All lamps not looked at yet are lit."""
        self._step(see_rest)

    def action_step_back(self) -> None:
        """Take back the last step."""
        if self._before:
            self.trace = self._before.pop()
            self.session.battery_v = self.trace.battery_v
            self.say("Taken back.")
            self.redraw()

    def action_forget(self) -> None:
        """Start anew; backspace brings all back."""
        self._step(lambda trace: begin(trace.harness, battery_v=trace.battery_v))

    def action_other(self) -> None:
        """Another test than this one."""
        proposal = next_test(self.trace) if self.trace else None
        if proposal is not None:
            self._step(lambda trace: refuse(trace, proposal.probe))

    @on(DataTable.RowSelected)
    def _enter(self, event: DataTable.RowSelected) -> None:
        event.stop()
        self.action_answer()

    def _proposal(self) -> Proposal | None:
        """The test that Enter answers: the next one, or the look that confirms what was found."""
        trace = self.trace
        if trace is None or not trace.odd:
            return None
        return next_test(trace) or confirming_look(trace)

    def on_key(self, event: events.Key) -> None:
        # A reading typed straight away opens the question of the meter; figures are other screens elsewhere.
        sign = event.character or ""
        proposal = self._proposal() if sign and sign in "0123456789.,-+" else None
        if proposal is not None and proposal.probe.kind is ProbeKind.VOLTS:
            event.stop()
            event.prevent_default()
            self.action_answer(sign)

    def action_answer(self, typed: str = "") -> None:
        """Enter what the test gave; `typed` stands in the line of a meter's reading already."""
        trace = self.trace
        proposal = self._proposal()
        if trace is None or proposal is None:
            self.say("Press for each lamp what it does; there is no test to answer yet.")
            return
        probe = proposal.probe
        words = probe_words(trace.harness, probe)
        if probe.kind is ProbeKind.VOLTS:

            def read(typed: str | None) -> None:
                value = parse_number(typed, "reading", "V") if typed else None
                if value is not None:
                    self._step(lambda old: answer(old, probe, value))

            more = "   ".join(clip(expectation_words(one, 1), 60) for one in proposal.expectations[:2])
            ask = ask_number(f"{words}, in V", typed, subject="reading", unit="V", more=more)
            ask.begun = bool(typed)
            self.app.push_screen(ask, read)
            return
        choices = (*proposal.expectations, *unexpected(trace, proposal))

        def chosen(place: int | None) -> None:
            if place is not None:
                self._step(lambda old: answer(old, probe, choices[place].code))

        self.app.push_screen(Choose(words, [one.words for one in choices]), chosen)

    def action_clear(self) -> None:
        """The first suspect was looked for and is not there."""
        found = suspects(self.trace) if self.trace else ()
        if found and self._step(lambda old: clear(old, found[0].faults[:1])):
            self.say(clip(f"Not so: {faults_words(self.session.harness, found[0].faults[:1])}.", 200))

    def action_suspects(self) -> None:
        """All suspects with the reason; Enter shows the wire of one in Find."""
        trace = self.trace
        found = suspects(trace) if trace else ()
        lines = [f"{share_words(one.share):>5}  {one.words}: {one.reason}" for one in found]

        def chosen(place: int | None) -> None:
            if place is not None:
                harness = self.session.harness
                tags = [tag for fault in found[place].faults for tag in fault_tags(harness, fault)]
                if tags:
                    self.loom.action_go("find", " ".join(dict.fromkeys(tags)))

        self.app.push_screen(Choose("Suspects; Enter shows the wire", lines), chosen)

    def action_battery(self) -> None:
        """Ask for the volts of the battery now."""
        trace = self.trace
        if trace is None:
            return

        def told(battery_v: float | None) -> None:
            before, self.session.battery_v = self.session.battery_v, battery_v
            if not self._step(lambda old: with_battery(old, battery_v)):
                self.session.battery_v = before

        ask_battery(self.app, trace.battery_v, told)

    def action_log(self) -> None:
        """Write what was found and mended into the history of its wires."""
        trace = self.trace
        found = suspects(trace) if trace else ()
        if trace is None or not found:
            return
        first = found[0]

        def write(typed: str | None) -> None:
            note = (typed or "").strip()
            if note and self.edit(
                lambda harness: log_repair(harness, trace, first.faults, note, today()), "log a repair"
            ):
                self._logged = (first.faults, note)
                self.redraw()
                self.say("Written into the history. Test the lamps again, x starts anew.")

        note = clip(f"{first.words}: mended", _NOTE_MAX)
        more = "It goes into the history of its wires."
        now = self.session.harness
        self.app.push_screen(
            AskChecked(
                "What was found and mended?",
                note,
                check=lambda typed: log_repair(now, trace, first.faults, typed.strip(), today()),
                more=more,
            ),
            write,
        )


def _as_said(trace: Trace, text: str) -> Trace:
    for sight, lamps in seen_in_words(trace.harness, text):
        for lamp in lamps:
            trace = see(trace, lamp, sight)
    return trace


def _row(harness: Harness, trace: Trace, lamp_id: str, widths: tuple[int, ...]) -> Row:
    sight = trace.sights.get(lamp_id)
    lamp = harness.lamp(lamp_id)
    found = harness.controller.find_output(lamp.output)
    function = f" {found[1].function}" if found and found[1].function else ""
    odd = sight is not None and sight is not Sight.LIT
    mark = "!" if odd else "\u2713" if sight else ""
    style = "$text-warning" if odd else "dim" if sight else ""
    return lamp_id, (
        Content.styled(mark, style),
        Content(clip(lamp.name, widths[1])),
        Content(clip(f"{lamp.output}{function}", widths[2])),
        Content.styled(sight.value if sight else "", style),
    )

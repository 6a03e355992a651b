"""Bench: one wire, one step at a time; what is done is remembered at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from math import isclose
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import DataTable, Static

from harness_tui.screens.room import Room, styles_beside
from harness_tui.session import today
from harness_tui.widgets.ask_checked import ask_number
from harness_tui.widgets.big import big
from harness_tui.widgets.columns import FittedTable, spread
from harness_tui.widgets.joint_lines import joint_lines
from harness_tui.widgets.lines import clip
from harness_tui.widgets.run_lines import cut_sum
from harness_tui.widgets.table import Row
from harness_tui.widgets.wire_paint import wire_chip, wire_stroke
from model import editing, lengths
from model.bench import (
    Step,
    StepKind,
    bench_order,
    mark_step,
    next_step,
    next_wire,
    progress,
    set_length,
    step_kinds,
    steps,
    steps_done,
    take_back_step,
)
from model.findings import Finding
from model.harness import Harness
from model.memo import by_identity
from model.routing.made import made_mm
from model.routing.wires import EndKind, Wire
from model.routing.words import colour_words, net_words, wire_words
from model.tags import TagRecord

PANEL_FROM = 112
"""Columns from which the list of wires stands beside the steps."""

PANEL_LEAST = 36
STEPS_LEAST = 60
"""Columns the list has at least, and what it leaves for the steps where its longest line wants more."""

_INDENT = 8
_EMPTY = """
  No wires to make yet.

  Press 4 and walk the lamps: each accepted run gives its wires."""


@by_identity
def _records(harness: Harness) -> Mapping[str, TagRecord]:
    return harness.ledger.live()


@by_identity
def _longest_line(harness: Harness) -> int:
    """Columns of the longest line in the list of wires: a mark, the tag, where the wire goes."""
    return 10 + max(
        (Content(wire_words(harness, wire)).cell_length for wire in bench_order(harness)), default=0
    )


class BenchScreen(Room):
    """The wire in hand: its tag large, its steps with what is done, the next one bright."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Bench"
    HELP = (
        "Make the wires one after the other: cut, sleeves on, strip, join, shrink, test. Space marks the "
        "bright step as done. Tag sleeves and joint sleeves go on before the joint is made, in that order. "
        "You can stop at any step and go on at it later."
    )
    BINDINGS: ClassVar = [
        Binding(
            "space,enter",
            "done",
            "done",
            key_display="space",
            tooltip="the bright step is done; behind the last one, the next wire",
            id="bench.done",
        ),
        Binding(
            "backspace",
            "undone",
            "undo",
            key_display="bksp",
            tooltip="take back the last step of this wire",
            id="bench.undone",
        ),
        Binding("l", "length", "length", tooltip="the length it was really cut to", id="bench.length"),
        Binding("n,right", "step(1)", "next", key_display="n", tooltip="the next wire", id="bench.next"),
        Binding(
            "p,left", "step(-1)", "before", key_display="p", tooltip="the wire before", id="bench.before"
        ),
        Binding("v", "joint", "joint", tooltip="what meets in the joint of this wire", id="bench.joint"),
        Binding("t", "list", "list", tooltip="all wires; Enter takes one", id="bench.list"),
        Binding(
            "c",
            "commission",
            "power on",
            tooltip="the first power-on, step by step",
            id="bench.commission",
        ),
        Binding("f", "find", "find", show=False, tooltip="the whole way of this wire", id="bench.find"),
        Binding("escape", "leave", "back", show=False, tooltip="to the steps, else back", id="bench.leave"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.key = ""
        self.joint = ""

    def compose_body(self) -> ComposeResult:
        yield Static("", id="wire", markup=False)
        with Horizontal():
            with VerticalScroll(id="work", can_focus=False):
                yield Static("", id="steps", markup=False)
            yield FittedTable(("", "tag", "wire", "colour", "cut mm"), id="wires")
            yield Static("", id="beside", markup=False)
        yield Static("", id="made", markup=False)

    def on_mount(self) -> None:
        self.query_one("#wires").display = False

    # --- which wire ---

    @property
    def listing(self) -> bool:
        """Whether the list of wires is up."""
        return bool(self.query_one("#wires").display)

    def on_screen_resume(self) -> None:
        if self._wire() is None:
            self.key = self._resume_at()
        super().on_screen_resume()

    def _resume_at(self) -> str:
        """The wire the person stopped at, else the first one that is not made."""
        harness = self.session.harness
        record = harness.ledger.find(harness.progress.bench) if harness.progress.bench else None
        if record is not None and record.live:
            return record.wire
        wire = next_wire(harness) or next(iter(bench_order(harness)), None)
        return wire.key if wire else ""

    def _wire(self) -> Wire | None:
        return next((wire for wire in bench_order(self.session.harness) if wire.key == self.key), None)

    def _record(self, wire: Wire) -> TagRecord | None:
        return _records(self.session.harness).get(wire.key)

    def _tag(self, wire: Wire) -> str:
        record = self._record(wire)
        return record.tag if record else ""

    def go_to(self, ref: str) -> None:
        record = self.session.harness.ledger.find(ref)
        if record is not None and not record.live:
            self.loom.action_go("find", ref)
            return
        key = record.wire if record is not None and record.live else ref
        if any(wire.key == key for wire in bench_order(self.session.harness)):
            self._turn_to(key)

    def _turn_to(self, key: str) -> None:
        self.key = key
        self.joint = ""
        self.query_one("#wires").display = False
        self.set_focus(None)
        wire = self._wire()
        if wire is not None:
            tag = self._tag(wire)
            self.session.remember(lambda harness: editing.set_progress(harness, bench=tag))
        self.say("")
        self.redraw()

    def where(self) -> str:
        order = bench_order(self.session.harness)
        place = next((place for place, wire in enumerate(order, 1) if wire.key == self.key), 0)
        return f"Bench {place} of {len(order)}"

    # --- drawing ---

    def show_harness(self) -> None:
        harness = self.session.harness
        wire = self._wire()
        if wire is None:
            # Its lamp may be gone, or its run open again.
            self.key = self._resume_at()
            wire = self._wire()
        self.query_one("#wire").display = wire is not None
        self.query_one("#made").display = wire is not None
        beside = self.query_one("#beside", Static)
        beside.display = self.app.size.width >= PANEL_FROM and wire is not None and not self.listing
        if wire is None:
            self.query_one("#wires").display = False
            self.query_one("#work").display = True
            self.query_one("#steps", Static).update(_EMPTY)
            return
        self.query_one("#wire", Static).update(Content("\n").join(self._head(harness, wire)))
        self.query_one("#made", Static).update(self._made_line(harness))
        self.query_one("#work").display = not self.listing
        if beside.display:
            beside.styles.width = self._beside_width()
            beside.update(Content("\n").join(self._beside(harness, wire)))
        if self.listing:
            widths = spread(self.app.size.width - 1, (4, 4, 24, 8, 6), (0, 0, 1, 0, 0))
            rows = [self._row(harness, one, widths[2]) for one in bench_order(harness)]
            self.query_one(FittedTable).fill_to(widths, rows)
        elif self.joint and harness.find_joint(self.joint) is not None:
            self.query_one("#steps", Static).update(
                Content("\n").join(joint_lines(harness, self.joint, wire, self._width()))
            )
            self.query_one("#work").scroll_home(animate=False)
        else:
            self.joint = ""
            self._show_steps(harness, wire)

    def _width(self) -> int:
        return max(self.app.size.width - 2, 20)

    def _head(self, harness: Harness, wire: Wire) -> Iterator[Content]:
        order = bench_order(harness)
        place = next(place for place, one in enumerate(order, 1) if one.key == wire.key)
        rows = big(self._tag(wire))
        room = max(self._width() - len(rows[0]) - 2, 10)
        record = self._record(wire)
        printed = "labels printed" if record and record.printed_lamp and record.printed_controller else ""
        first = (f"wire {place} of {len(order)}", net_words(harness, wire.output), printed)
        third = f" {colour_words(wire.colour)} {wire.gauge}   {self._cut(wire)}"
        left = (
            Content.styled(clip(" \u00b7 ".join(filter(None, first)), room), "dim"),
            Content.styled(clip(wire_words(harness, wire), room), "bold"),
            wire_chip(wire.colour) + Content(clip(third, room - 4)),
        )
        for words, row in zip(left, rows, strict=True):
            gap = max(self._width() - words.cell_length - len(row), 1)
            yield words + Content(" " * gap) + Content.styled(row, "bold $accent")
        yield wire_stroke(wire.colour, self._width())

    def _cut(self, wire: Wire) -> str:
        now = made_mm(self._record(wire), wire)
        if not isclose(now, wire.cut_mm):
            return f"cut to {lengths.text(now)}, the plan says {lengths.text(wire.cut_mm)}"
        return f"own lead, {lengths.text(now)}" if wire.own_lead else lengths.text(now)

    def _made_line(self, harness: Harness) -> Content:
        made, total = progress(harness)
        done, of = steps_done(harness)
        room = 20
        full = room * done // of if of else 0
        bar = Content.styled("\u2501" * full, "$accent") + Content.styled("\u2501" * (room - full), "dim")
        return bar + Content.styled(f"  {made} of {total} wires made, {done} of {of} steps", "dim")

    def _show_steps(self, harness: Harness, wire: Wire) -> None:
        lines: list[Content] = []
        now = 0
        following = next_step(harness, wire)
        made, total = progress(harness)
        room = self._width() - (self._beside_width() + 1 if self.query_one("#beside").display else 0)
        if made == total:
            lines += [
                Content(""),
                Content.styled(f"  All wires are made: {total} of {total}.", "bold $accent"),
                Content("  6 prints labels, / finds any wire by its tag, 8 writes the papers."),
            ]
        for number, step in enumerate(steps(harness, wire), 1):
            if following is not None and step.id == following.id:
                now = len(lines)
                lines.append(Content(""))
                lines += self._step_lines(step, "\u25b6", "bold $accent", room)
                if step.kind is StepKind.CUT:
                    lines += _wrapped(Content.styled(_sum_words(wire), "dim"), "", room)
                lines.append(Content(""))
            elif following is None or self._is_done(wire, step):
                lines += self._step_lines(step, "\u2713", "dim", room)
            else:
                lines += self._step_lines(step, str(number), "", room)
        if following is None and made < total:
            said = f"  {self._tag(wire)} is made. Space goes to the next wire."
            lines += [Content(""), Content.styled(said, "bold $accent")]
        for one in self._found(self._tag(wire)):
            words = f"{one.found}. {one.limit[:1].upper()}{one.limit[1:]}. {one.remedy}"
            lines += [Content(""), *_wrapped(Content.styled(words, "$text-warning"), "!", room)]
        self.query_one("#steps", Static).update(Content("\n").join(lines))
        work = self.query_one("#work")
        self.call_after_refresh(lambda: work.scroll_to(y=max(now - 1, 0), animate=False))

    def _is_done(self, wire: Wire, step: Step) -> bool:
        record = self._record(wire)
        return record is not None and step.id in record.steps

    @staticmethod
    def _step_lines(step: Step, mark: str, style: str, width: int) -> list[Content]:
        return _wrapped(Content.styled(step.words, style), mark, width)

    def _row(self, harness: Harness, wire: Wire, room: int) -> Row:
        words = clip(wire_words(harness, wire), room)
        cells = (
            self._mark(wire),
            self._tag(wire),
            words,
            wire_chip(wire.colour),
            f"{lengths.figure(made_mm(self._record(wire), wire)):>6}",
        )
        return wire.key, cells

    def _mark(self, wire: Wire) -> str:
        """A tick for a wire that is made, else how many of its steps are."""
        record = self._record(wire)
        kinds = step_kinds(wire)
        done = sum(kind in record.steps for kind in kinds) if record else 0
        return "\u2713" if done == len(kinds) else f"{done}/{len(kinds)}" if done else ""

    def _beside_width(self) -> int:
        """Columns of the list of wires with its border: what its longest line wants, where there is room."""
        wanted = _longest_line(self.session.harness) + 2
        return max(PANEL_LEAST, min(wanted, self.app.size.width - STEPS_LEAST))

    def _beside(self, harness: Harness, wire: Wire) -> Iterator[Content]:
        order = bench_order(harness)
        place = next(place for place, one in enumerate(order) if one.key == wire.key)
        rows = max(self.app.size.height - 8, 5)
        first = min(max(place - rows // 2, 0), max(len(order) - rows, 0))
        room = self._beside_width() - 1
        for one in order[first : first + rows]:
            line = f" {self._mark(one):<3} {self._tag(one):<4} {wire_words(harness, one)}"
            text = clip(line, room)
            yield Content.styled(text, "bold reverse" if one.key == wire.key else "")

    # --- keys ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Grey what can't be done now."""
        wire = self._wire() if self.is_mounted else None
        if action in ("done", "undone", "length", "step", "list", "find"):
            if wire is None:
                return None
            return not self.listing if action in ("done", "undone") else True
        if action == "joint":
            return True if wire is not None and not self.listing and self._joints(wire) else None
        return True

    def action_done(self) -> None:
        """Mark the next step as done; behind the last one go to the next wire.

        A held key does one: nobody has read the steps it would run over.
        """
        wire = self._wire()
        if wire is None or self.loom.key_held:
            return
        harness = self.session.harness
        self.joint = ""
        step = next_step(harness, wire)
        if step is None:
            self._next_open(wire)
            return
        tag = self._tag(wire)
        if self.edit(lambda h: mark_step(h, tag, step.id, today()), f"{tag}: {step.id}"):
            self.session.remember(lambda h: editing.set_progress(h, bench=tag))
            if next_wire(self.session.harness) is None:
                self.say("All wires are made.")

    def _next_open(self, wire: Wire) -> None:
        following = next_wire(self.session.harness, wire)
        if following is None:
            self.say("All wires are made. n and p still show each of them.")
        else:
            self._turn_to(following.key)

    def action_undone(self) -> None:
        """Take back the last step of this wire."""
        wire = self._wire()
        if wire is None:
            return
        done = [step for step in steps(self.session.harness, wire) if self._is_done(wire, step)]
        tag = self._tag(wire)
        if not done:
            self.say(f"No step of {tag} is done yet. p goes to the wire before.")
            return
        last = done[-1].id
        if self.edit(lambda harness: take_back_step(harness, tag, last, today()), f"{tag}: not {last}"):
            self.say(f"{last} of {tag} is open again.")

    def action_length(self) -> None:
        """Ask for the length the wire was really cut to."""
        wire = self._wire()
        if wire is None:
            return
        record = self._record(wire)
        now = lengths.typed(record.cut_mm if record is not None else None)
        tag = self._tag(wire)
        harness = self.session.harness
        self.app.push_screen(
            ask_number(
                f"Length {tag} was cut to, in {lengths.unit()}",
                now,
                subject=f"{tag}: length",
                more=f"The plan says {lengths.text(wire.cut_mm)}. Empty goes back to it.",
                then=lambda value: set_length(harness, tag, value, today()),
            ),
            partial(self._cut_to, tag),
        )

    def _cut_to(self, tag: str, typed: str | None) -> None:
        if typed is None:
            return
        value = lengths.read(typed, f"{tag}: length")
        if self.edit(lambda harness: set_length(harness, tag, value, today()), f"{tag}: length"):
            found = self._found(tag)
            if found:
                self.say(f"{found[0].subject}: {found[0].found}. {found[0].remedy}", "warning")

    def _found(self, tag: str) -> list[Finding]:
        """What is wrong with a wire as it is made, its length before all."""
        return [one for one in self.session.findings if one.ref == tag and one.place == "bench"]

    def action_step(self, places: int) -> None:
        """Go to another wire."""
        order = bench_order(self.session.harness)
        place = next((place for place, wire in enumerate(order) if wire.key == self.key), 0) + places
        if 0 <= place < len(order):
            self._turn_to(order[place].key)
        else:
            self.say("This is the last wire." if places > 0 else "This is the first wire.")

    @staticmethod
    def _joints(wire: Wire) -> list[str]:
        """The joints a wire ends in, the one to be made at its controller end first."""
        return [end.ref for end in (wire.controller_end, wire.lamp_end) if end.kind is EndKind.JOINT]

    def action_joint(self) -> None:
        """Show what meets in the wire's joint, then in its other one, then the steps again."""
        wire = self._wire()
        joints = self._joints(wire) if wire else []
        if not joints:
            self.say("This wire ends in no joint.")
            return
        round_trip = ["", *joints]
        here = round_trip.index(self.joint) if self.joint in round_trip else -1
        self.joint = round_trip[(here + 1) % len(round_trip)]
        self.redraw()

    def action_list(self) -> None:
        """Show all wires, or the steps again."""
        table = self.query_one(FittedTable)
        table.display = not table.display
        self.redraw()
        if table.display:
            table.go_to(self.key)
            table.focus()
        else:
            self.set_focus(None)
        self.refresh_bindings()

    @on(DataTable.RowSelected)
    def _chosen(self) -> None:
        self._turn_to(self.query_one(FittedTable).here)

    def action_find(self) -> None:
        """Show the wire in Find."""
        wire = self._wire()
        if wire is not None:
            self.loom.action_go("find", self._tag(wire))

    def action_commission(self) -> None:
        """Go to the first power-on."""
        self.loom.action_go("commissioning")

    def action_leave(self) -> None:
        """From the list or the joint back to the steps, else the screen before."""
        if self.listing:
            self.action_list()
        elif self.joint:
            self.joint = ""
            self.redraw()
        else:
            self.loom.action_room_before()


def _sum_words(wire: Wire) -> str:
    """The length to cut, or to leave of a lamp's own lead, as a sum with its result."""
    return f"{cut_sum(wire)} = {lengths.text(wire.cut_mm)}"


def _wrapped(words: Content, mark: str, width: int) -> list[Content]:
    """Words wrapped to `width`, hanging behind a mark."""
    lines = words.wrap(max(width - _INDENT, 12))
    return [
        Content(f"  {mark if place == 0 else '':<{_INDENT - 2}}") + line for place, line in enumerate(lines)
    ]

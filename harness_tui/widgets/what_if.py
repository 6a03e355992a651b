"""What a change would do to the lamps, shown before it is accepted."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from harness_tui.widgets.columns import fitted
from model.electrics.lamps import LampElectrics, Verdict
from model.electrics.resistor import ResistorChoice
from model.electrics.whatif import Comparison, LampChange

_HOT = (Verdict.OVER, Verdict.BARE_END)


def comparison_words(comparison: Comparison, lamps: int) -> str:
    """All of it in a line: "4 of 31 lamps change: 3 other resistors, 1 no longer right".

    Resistors that are soldered stay as they are, whatever would be bought today.
    """
    count = len(comparison.lamps)
    if not lamps:
        return "there are no lamps yet"
    if not count:
        return "no lamp changes"
    resistors = sum(change.other_resistor for change in comparison.lamps)
    soldered = sum(change.soldered for change in comparison.lamps)
    worse = sum(change.worse for change in comparison.lamps)
    better = sum(change.better for change in comparison.lamps)
    parts = [f"{resistors} other resistor{'s' if resistors > 1 else ''}"] if resistors else []
    if soldered:
        parts.append(f"{soldered} soldered {'resistors stay' if soldered > 1 else 'resistor stays'}")
    parts += [f"{worse} no longer right"] if worse else []
    parts += [f"{better} right now"] if better else []
    head = f"{count} of {lamps} lamp{'s' if lamps > 1 else ''} change{'s' if count == 1 else ''}"
    return f"{head}: {', '.join(parts)}" if parts else f"{head} a little; no other resistor, no other verdict"


def load_words(comparison: Comparison) -> str:
    """What the battery and the outputs carry: "all on, full volts: 372 to 290 mA; over: output 1"."""
    sums = _pair(f"{comparison.total_before_ma:.0f}", f"{comparison.total_after_ma:.0f}")
    over = [
        f"output {change.number} {change.after_ma:.0f} mA" for change in comparison.outputs if change.over
    ]
    return f"all on, full volts: {sums} mA" + (f"; over its limit: {', '.join(over)}" if over else "")


def change_words(change: LampChange) -> str:
    """One lamp: "330R to 470R, 10.0 to 9.8 mA, right"; what stays the same is said once."""
    before, after = change.before, change.after
    if before is None or after is None:
        return "new" if before is None else "gone"
    verdict = f"now {after.verdict}" if before.verdict is not after.verdict else str(after.verdict)
    if change.better:
        verdict = f"{before.verdict} before, right now"
    names = (_resistor(before), _resistor(after))
    resistor = _pair(*names) if any(names) else ""
    current = _pair(*(f"{one.current.nominal_ma:.1f}" for one in (before, after)))
    return ", ".join(part for part in (resistor, f"{current} mA", verdict) if part)


def _resistor(one: LampElectrics) -> str:
    return one.choice.letter_code if isinstance(one.choice, ResistorChoice) else ""


def _pair(before: str, after: str) -> str:
    return after if before == after else f"{before or 'none'} to {after or 'none'}"


def _order(change: LampChange) -> tuple[bool, bool, bool]:
    return not change.worse, not change.better, not change.other_resistor


class WhatIf(ModalScreen[bool | None]):
    """Shows a comparison: True accepts the change, False keeps what was, None goes on editing."""

    DEFAULT_CSS = """
    WhatIf { align: left bottom; background: transparent; }
    WhatIf #frame { height: auto; max-height: 80%; background: $background; border-top: solid $accent;
                    padding: 0 1; }
    WhatIf VerticalScroll { height: auto; max-height: 12; }
    WhatIf .more { text-style: dim; }
    """
    BINDINGS: ClassVar = [
        Binding("enter", "accept", "accept", id="whatif.accept"),
        Binding("k", "keep", "keep what was", id="whatif.keep"),
        Binding("escape", "leave", "go on editing", id="whatif.leave"),
    ]

    def __init__(self, change: str, keep: str, comparison: Comparison, lamps: int) -> None:
        """`change` says what Enter makes of it, `keep` what k leaves it at; `lamps` is how many there are."""
        super().__init__()
        self.change = change
        self.keep = keep
        self.comparison = comparison
        self.lamps = lamps

    def compose(self) -> ComposeResult:
        with Vertical(id="frame"):
            yield Static(Content.styled(self.change, "bold"), markup=False)
            yield Static(f"now: {self.keep}", markup=False, classes="more")
            more = "Enter accepts   k keeps it as it is now   Escape goes on editing"
            yield Static(more, markup=False, classes="more")
            yield Static(comparison_words(self.comparison, self.lamps), markup=False)
            style = "$text-error bold" if any(one.over for one in self.comparison.outputs) else ""
            yield Static(Content.styled(load_words(self.comparison), style), markup=False)
            with VerticalScroll():
                yield Static(Content("\n").join(self._lines()), markup=False)

    def on_mount(self) -> None:
        self.query_one(VerticalScroll).focus()

    def _lines(self) -> Iterator[Content]:
        for change in sorted(self.comparison.lamps, key=_order):
            yield Content(f" {fitted(change.lamp.name, 26)} ") + Content.styled(
                change_words(change), _style(change)
            )

    def action_accept(self) -> None:
        """Make the change."""
        self.dismiss(True)

    def action_keep(self) -> None:
        """Drop what was typed."""
        self.dismiss(False)

    def action_leave(self) -> None:
        """Go back to what was typed."""
        self.dismiss(None)


def _style(change: LampChange) -> str:
    if change.after is None or change.after.verdict is Verdict.RIGHT:
        return ""
    return "$text-error bold" if change.after.verdict in _HOT else "$text-warning"

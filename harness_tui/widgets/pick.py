"""Several of a list: a mark for each, changed with space, accepted with Enter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

import attrs
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static

from harness_tui.widgets.lines import clip


@attrs.frozen(kw_only=True)
class Pick:
    """One line: the key of its thing, what is shown, and whether it is marked."""

    key: str
    line: str
    taken: bool = False


class PickSome(ModalScreen[tuple[str, ...] | None]):
    """Asks which of several; gives the keys that are marked, None on Escape."""

    DEFAULT_CSS = """
    PickSome { align: left bottom; background: transparent; }
    PickSome Vertical { height: auto; max-height: 80%; background: $background; border-top: solid $accent;
                        padding: 0 1; }
    PickSome OptionList { height: auto; max-height: 14; background: $background; border: none; padding: 0; }
    PickSome .more { text-style: dim; }
    """
    BINDINGS: ClassVar = [
        Binding("space", "change", "mark", priority=True, id="pick.change"),
        Binding("enter", "accept", "accept", priority=True, id="pick.accept"),
        Binding("escape", "leave", "back", id="pick.leave"),
    ]

    def __init__(self, question: str, picks: Sequence[Pick]) -> None:
        super().__init__()
        self.question = question
        self.picks = tuple(picks)
        self.taken = {pick.key for pick in picks if pick.taken}

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(self.question, markup=False)
            yield OptionList(*(self._line(pick) for pick in self.picks), markup=False)
            yield Static("space marks   Enter accepts   Escape back", markup=False, classes="more")

    def on_mount(self) -> None:
        options = self.query_one(OptionList)
        options.focus()
        first = next((place for place, pick in enumerate(self.picks) if pick.taken), 0)
        options.highlighted = first if self.picks else None

    def _line(self, pick: Pick) -> Content:
        mark = Content.styled("[x] ", "$accent bold") if pick.key in self.taken else Content("[ ] ")
        # A line that wraps would look like two things to mark.
        return mark + Content(clip(pick.line, self.app.size.width - 9))

    def action_change(self) -> None:
        """Mark the line, or take its mark away, and go to the next."""
        options = self.query_one(OptionList)
        place = options.highlighted
        if place is None:
            return
        pick = self.picks[place]
        self.taken ^= {pick.key}
        options.replace_option_prompt_at_index(place, self._line(pick))
        if place + 1 < len(self.picks):
            options.highlighted = place + 1

    def action_accept(self) -> None:
        """Close with what is marked."""
        self.dismiss(tuple(pick.key for pick in self.picks if pick.key in self.taken))

    def action_leave(self) -> None:
        """Close without a change."""
        self.dismiss(None)

"""One question in the bottom lines of the screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.suggester import SuggestFromList
from textual.widgets import Input, Static


class Ask(ModalScreen[str | None]):
    """Asks for one line of text. Enter gives it, Escape gives None.

    A text that is `begun` is gone on with; any other is typed over.
    """

    DEFAULT_CSS = """
    Ask { align: left bottom; background: transparent; }
    Ask Vertical {
        height: auto;
        max-height: 12;
        background: $background;
        border-top: solid $accent;
        padding: 0 1;
    }
    Ask Input { height: 1; }
    Ask .more { text-style: dim; height: auto; }
    """
    BINDINGS: ClassVar = [Binding("escape", "leave", "back", id="ask.leave")]

    def __init__(self, question: str, text: str = "", *, more: str = "", choices: Sequence[str] = ()) -> None:
        super().__init__()
        self.question = question
        self.text = text
        self.more = more
        self.choices = tuple(choices)
        self.begun = False

    def compose(self) -> ComposeResult:
        suggester = SuggestFromList(self.choices, case_sensitive=False) if self.choices else None
        with Vertical():
            yield Static(self.question, markup=False)
            yield Input(self.text, compact=True, suggester=suggester, max_length=2000)
            if self.more:
                yield Static(self.more, markup=False, classes="more")

    def on_mount(self) -> None:
        line = self.query_one(Input)
        line.select_on_focus = not self.begun
        line.focus()
        if self.begun:
            line.cursor_position = len(line.value)

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self.dismiss(event.value)

    def action_leave(self) -> None:
        """Close without an answer; what was typed stays in `text`."""
        self.text = self.query_one(Input).value
        self.dismiss(None)


class Choose(ModalScreen[int | None]):
    """Asks to choose one line of several; gives its place, None on Escape."""

    DEFAULT_CSS = """
    Choose { align: left bottom; background: transparent; }
    Choose Vertical {
        height: auto;
        max-height: 80%;
        background: $background;
        border-top: solid $accent;
        padding: 0 1;
    }
    Choose OptionList:focus { border: none; }
    Choose OptionList { height: auto; max-height: 14; background: $background; border: none; padding: 0; }
    """
    BINDINGS: ClassVar = [Binding("escape", "leave", "back", id="choose.leave")]

    def __init__(self, question: str, lines: Sequence[str], at: int = 0) -> None:
        super().__init__()
        self.question = question
        self.lines = tuple(lines)
        self.at = at

    def compose(self) -> ComposeResult:
        from textual.content import Content
        from textual.widgets import OptionList

        with Vertical():
            yield Static(self.question, markup=False)
            yield OptionList(*(Content(line) for line in self.lines), markup=False)

    def on_mount(self) -> None:
        from textual.widgets import OptionList

        options = self.query_one(OptionList)
        options.focus()
        options.highlighted = self.at if self.lines else None

    def on_option_list_option_selected(self, event: object) -> None:
        self.dismiss(getattr(event, "option_index", None))

    def action_leave(self) -> None:
        """Close without a choice."""
        self.dismiss(None)

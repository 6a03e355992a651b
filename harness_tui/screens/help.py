"""Help for the screen that is up: what it is for, its keys, and the keys that work everywhere."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import ScrollableContainer, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widget import Widget
from textual.widgets import DataTable, Input, OptionList, Static

EVERYWHERE = (
    ("1 to 8", "Lamps, Routes, Outputs, Walk, Bench, Labels, Find, Papers; 0 Setup"),
    ("F2 to F10", "the same from inside a field"),
    ("/", "find: type or scan a tag, a lamp, an output, a place"),
    ("!", "the findings, each leading to its place"),
    ("u  U", "undo, redo"),
    ("G", "the guide: five steps from lamps to labels; again, closed"),
    ("S", "NOT SAVED in the head line: asks what to do about it"),
    ("Enter", "accept and go on"),
    ("Escape", "one step back; nothing is lost"),
    ("ctrl+p", "the palette: every action by name"),
    ("ctrl+z", "back to the shell for a while; fg there returns"),
    ("ctrl+q", "leave; everything is saved already"),
)


_USUAL: tuple[tuple[type[Widget], str], ...] = (
    (DataTable, "The cursor is in a list: Up, Down, PgUp, PgDn, Home and End move it; Enter takes the line."),
    (OptionList, "The cursor is in a list: Up, Down, Home and End move it; Enter takes the line."),
    (
        Input,
        "The cursor is in a line to type in: Enter accepts, Right takes the greyed rest, Escape goes back.",
    ),
    (ScrollableContainer, "This text moves with Up, Down, PgUp, PgDn, Home and End."),
)


def explained(widget: Widget | None) -> str:
    """What the widget with the focus is and does: its own words, else those of its kind."""
    if widget is None:
        return ""
    explain = getattr(widget, "explain", None)
    own = explain() if explain is not None else widget.HELP or widget.tooltip
    if own:
        return str(own)
    return next((words for kind, words in _USUAL if isinstance(widget, kind)), "")


class HelpScreen(ModalScreen[None]):
    """Shows the help of a screen or a question, and of the widget with the focus."""

    DEFAULT_CSS = """
    HelpScreen { align: center middle; background: transparent; }
    HelpScreen VerticalScroll { width: 100%; max-width: 90; height: auto; max-height: 100%;
                                background: $background; border: round $accent; padding: 0 1; }
    """
    BINDINGS: ClassVar = [Binding("escape,question_mark,enter", "close", "back", id="help.close")]

    def __init__(self, of: Screen[Any]) -> None:
        """`of` is the screen, or the question, that is up."""
        super().__init__()
        self.of = of

    def compose(self) -> ComposeResult:
        with VerticalScroll():
            yield Static(Content("\n").join(self._lines()), markup=False)

    def on_mount(self) -> None:
        self.query_one(VerticalScroll).focus()

    def _lines(self) -> Iterator[Content]:
        question = isinstance(self.of, ModalScreen)
        yield Content.styled(getattr(self.of, "WORD", "") or "A question", "bold")
        asked = getattr(self.of, "question", "") if question else ""
        for text in (asked, getattr(self.of, "HELP", ""), explained(self.of.focused)):
            if text:
                yield Content(text)
        yield Content("")
        for binding in self.of.BINDINGS:
            if isinstance(binding, Binding) and binding.description:
                keys = binding.key_display or "  ".join(
                    self.app.get_key_display(one) for one in binding.make_bindings([binding])
                )
                yield self._line(keys, binding.tooltip or binding.description)
        if question:
            yield self._line("F1", "this help")
            return
        yield Content("")
        yield Content.styled("everywhere", "dim")
        for keys, words in EVERYWHERE:
            yield self._line(keys, words)

    @staticmethod
    def _line(keys: str, words: str) -> Content:
        return Content.styled(f"{keys:<16}", "bold") + Content(words)

    def action_close(self) -> None:
        """Close the help."""
        self.dismiss(None)

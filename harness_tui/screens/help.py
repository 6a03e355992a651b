"""Help for the screen that is up: what it is for, its keys, and the keys that work everywhere."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from harness_tui.screens.room import Room

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
    ("ctrl+q", "leave; everything is saved already"),
)


class HelpScreen(ModalScreen[None]):
    """Shows the help of a room."""

    DEFAULT_CSS = """
    HelpScreen { align: center middle; background: transparent; }
    HelpScreen VerticalScroll { width: 100%; max-width: 90; height: auto; max-height: 100%;
                                background: $background; border: round $accent; padding: 0 1; }
    """
    BINDINGS: ClassVar = [Binding("escape,question_mark,f1,enter", "close", "back", id="help.close")]

    def __init__(self, room: Room) -> None:
        super().__init__()
        self.room = room

    def compose(self) -> ComposeResult:
        with VerticalScroll():
            yield Static(Content("\n").join(self._lines()), markup=False)

    def _lines(self) -> Iterator[Content]:
        yield Content.styled(self.room.WORD, "bold")
        focused = self.room.focused
        explained = getattr(focused, "HELP", "") or (focused.tooltip if focused is not None else "")
        for text in (self.room.HELP, str(explained or "")):
            if text:
                yield Content(text)
        yield Content("")
        for binding in self.room.BINDINGS:
            if isinstance(binding, Binding) and binding.description:
                keys = binding.key_display or "  ".join(
                    self.app.get_key_display(one) for one in binding.make_bindings([binding])
                )
                yield self._line(keys, binding.tooltip or binding.description)
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

"""The cautions, shown once before the first project."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from model.cautions import CAUTIONS


class CautionsScreen(ModalScreen[bool]):
    """Shows every caution: True once they are read, False where it is only closed."""

    DEFAULT_CSS = """
    CautionsScreen { align: center middle; background: transparent; }
    CautionsScreen VerticalScroll { width: 100%; max-width: 100; height: auto; max-height: 100%;
                                    background: $background; border: round $accent; padding: 0 1; }
    CautionsScreen .row { height: auto; }
    CautionsScreen .about { width: 14; text-style: bold; }
    CautionsScreen .words { width: 1fr; height: auto; }
    """
    BINDINGS: ClassVar = [
        Binding("enter", "read", "I have read them", id="cautions.read"),
        Binding("escape", "close", "back", id="cautions.close"),
    ]

    def compose(self) -> ComposeResult:
        with VerticalScroll():
            yield Static(Content.styled("Before you begin", "bold"), markup=False)
            yield Static("", markup=False)
            for caution in CAUTIONS:
                with Horizontal(classes="row"):
                    yield Static(caution.about, markup=False, classes="about")
                    yield Static(caution.words, markup=False, classes="words")
            yield Static("", markup=False)
            yield Static("Enter: I have read them   Escape: show them again next time", markup=False)

    def on_mount(self) -> None:
        self.query_one(VerticalScroll).focus()

    def action_read(self) -> None:
        """Close for good."""
        self.dismiss(True)

    def action_close(self) -> None:
        """Close until the next start."""
        self.dismiss(False)

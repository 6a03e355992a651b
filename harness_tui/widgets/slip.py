"""A slip: a few fields in the bottom lines of the screen, what came of them, and what the next key does."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Grid, Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from harness_tui.widgets.form import Field, FieldInput
from model.errors import BadValue
from model.values import parse_number

if TYPE_CHECKING:
    from harness_tui.app import LoomApp

T = TypeVar("T")


class Slip(ModalScreen[T]):
    """Fields with a line that says what came of them and one that says what Enter does.

    A subclass gives `heading`, `fields`, and `action_go`, which Enter calls from any field.
    """

    DEFAULT_CSS = """
    Slip { align: left bottom; background: transparent; }
    Slip Vertical { height: auto; max-height: 90%; background: $background; border-top: solid $accent;
                    padding: 0 1; }
    Slip Grid { grid-size: 2; grid-columns: 24 1fr; grid-rows: 1; height: auto; }
    Slip Input { height: 1; }
    Slip .dim { text-style: dim; height: auto; }
    Slip #state { height: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = []

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(self.heading(), markup=False, id="heading")
            with Grid():
                for field in self.fields():
                    yield Static(field.label, markup=False, classes="dim")
                    editor = FieldInput(field)
                    editor.id = field.key
                    editor.placeholder = field.help
                    yield editor
            yield Static("", markup=False, id="state")
            yield Static("", markup=False, id="hint", classes="dim")

    def heading(self) -> Content:
        """The first line."""
        return Content("")

    def fields(self) -> Iterator[Field]:
        """The fields; the help of each stands where nothing is typed."""
        yield from ()

    @property
    def loom(self) -> LoomApp:
        """The app, by its own type."""
        return cast("LoomApp", self.app)

    def say(self, text: str, style: str = "") -> None:
        """Say what came of it."""
        self.query_one("#state", Static).update(Content.styled(text, style))

    def hint(self, text: str) -> None:
        """Say what the next key does."""
        self.query_one("#hint", Static).update(Content(text))

    def typed(self, key: str) -> str:
        """What stands in a field, of a choice its first letters will do; "" for a field that is not there."""
        found = self.query(f"#{key}")
        editor = found.first() if found else None
        return editor.field.read(editor.value) if isinstance(editor, FieldInput) else ""

    def number(self, key: str, words: str) -> float | None:
        """The number in a field, None where nothing is typed. Raises BadValue."""
        return parse_number(self.typed(key), words)

    def whole(self, key: str, words: str, default: int) -> int:
        """The whole number from 1 on in a field, or the default. Raises BadValue."""
        value = self.number(key, words)
        if value is None:
            return default
        if value != int(value) or value < 1:
            raise BadValue(words, f"{value:g}", limit="a whole number from 1 on")
        return int(value)

    def close_fields(self) -> None:
        """Let nothing be typed while something is under way."""
        for field in self.query(Input):
            field.disabled = True
        self.set_focus(None)

    def open_fields(self, key: str) -> None:
        """Let be typed again, first in the field `key`."""
        for field in self.query(Input):
            field.disabled = False
        self.query_one(f"#{key}").focus()

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self.action_go()

    def action_go(self) -> None:
        """What Enter does."""

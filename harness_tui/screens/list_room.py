"""The base of the screens with a list and a form: what is under the cursor is shown and changed below it."""

from __future__ import annotations

from typing import ClassVar, Generic, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.widgets import DataTable, Static

from harness_tui.screens.room import Room, styles_beside
from harness_tui.widgets.columns import FittedTable
from harness_tui.widgets.form import Form
from model import lengths
from model.errors import LoomError
from model.findings import Finding

T = TypeVar("T")

SIDE_FROM = 120
"""Columns from which more on the thing under the cursor stands beside the list."""

SIDE_WIDTH = 40
"""Columns that it takes there, with its border."""


class ListRoom(Room, Generic[T]):
    """A list of things of one kind, a line or two about the one under the cursor, and its fields.

    A subclass gives `here` (the thing under the cursor), `show_here` (draw what belongs to it), `first_field`
    and `take` (what a typed field changes), with `compose_list` somewhere in its `compose_body`. A `Static`
    with the id `side` may stand beside the list.
    """

    DEFAULT_CSS = styles_beside(__file__)

    TITLES: ClassVar[tuple[str, ...]] = ()
    LIST = ""
    """The id of the table."""
    FORM = ""
    """The id of the form."""
    EMPTY = ""
    """What stands in place of an empty list."""
    NOTHING = ""
    """Said where there is nothing under the cursor to change."""

    def compose_body(self) -> ComposeResult:
        yield from self.compose_list()

    def compose_list(self) -> ComposeResult:
        """The table, the words of an empty one, the lines about the thing under the cursor, its form."""
        yield FittedTable(self.TITLES, id=self.LIST)
        if self.EMPTY:
            yield Static(self.EMPTY, id="empty", markup=False)
        yield Static("", id="about", markup=False)
        yield Form(id=self.FORM)

    def on_mount(self) -> None:
        self.form.accept = self.accept
        self.form.on_error = lambda text: self.say(text, "error")
        self.form.on_back = self.say
        self.table.focus()

    # --- what a subclass says ---

    def here(self) -> T | None:
        """The thing under the cursor."""
        raise NotImplementedError

    def show_here(self) -> None:
        """Draw what belongs to the thing under the cursor."""
        raise NotImplementedError

    def first_field(self, thing: T) -> str | None:
        """The field that has the cursor first, "" for whichever that is; None where none can be changed."""
        return ""

    def take(self, thing: T, key: str, text: str) -> str:
        """Change the field `key` of a thing to what was typed; returns the key of its row afterwards.

        Raises LoomError where it can't stand.
        """
        raise NotImplementedError

    # --- drawing ---

    @property
    def table(self) -> FittedTable:
        """The list."""
        return self.query_one(FittedTable)

    @property
    def form(self) -> Form:
        """The fields of the thing under the cursor."""
        return self.query_one(Form)

    @property
    def list_width(self) -> int:
        """Columns that the list has, without what stands beside it."""
        beside = any(side.display for side in self.query("#side"))
        return self.app.size.width - 2 - (SIDE_WIDTH if beside else 0)

    def show_empty(self, empty: bool) -> None:
        """Show the list, or in its place what an empty one says."""
        self.query_one("#empty").display = empty
        self.table.display = not empty

    def known_findings(self) -> tuple[Finding, ...]:
        """What the checks have found; where they have not looked yet, they do once the screen is drawn."""
        if self.session.findings_known:
            return self.session.findings
        self.call_after_refresh(self._look)
        return ()

    def _look(self) -> None:
        if self.is_attached and self.is_current and self.session.findings:
            self.show_harness()

    # --- the cursor ---

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        if not self.form.has_cursor:
            self.after_move(self.show_here)

    def put_cursor(self, key: str) -> bool:
        """Put the cursor on a row and draw what belongs to it; False if there is none of this key."""
        found = self.table.go_to(key)
        if found:
            self.show_here()
        return found

    def go_to(self, ref: str) -> None:
        if self.put_cursor(ref):
            self.table.focus()

    # --- the form ---

    def field_words(self, key: str) -> str:
        """What a field is called on the screen, without its unit."""
        label = next((field.label for field in self.form.fields if field.key == key), key.replace("_", " "))
        return label.removesuffix(f" {lengths.unit()}").removesuffix(" mm")

    def accept(self, key: str, text: str) -> str:
        """Take what was typed into a field; what is wrong with it, or "" once it is drawn."""
        thing = self.here()
        if thing is None:
            return self.NOTHING
        try:
            after = self.take(thing, key, text)
        except LoomError as error:
            return error.message()
        self._redraw_at(after)
        self.say(self.session.unsaved, "error")
        return ""

    def _redraw_at(self, key: str) -> None:
        """Draw anew with the cursor on `key`, which may be another name of the row it was on."""
        if key == self.table.here:
            self.redraw()
            return
        with self.prevent(DataTable.RowHighlighted):
            self.redraw()
            self.table.go_to(key)
        self.show_here()

    @on(Form.Left)
    def _form_left(self) -> None:
        self.leave_form()

    def leave_form(self) -> None:
        """Go from the fields back to the list."""
        self.table.focus()
        self.redraw()

    @on(DataTable.RowSelected)
    def _row_chosen(self) -> None:
        self.action_edit()

    def action_edit(self) -> None:
        """Go into the fields of the thing under the cursor."""
        self.draw_moved()
        thing = self.here()
        key = None if thing is None else self.first_field(thing)
        if key is None:
            self.say(self.NOTHING)
        else:
            self.form.start(key)

"""A table of one row a thing, which keeps its cursor on the thing when it is drawn anew."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.content import Content
from textual.widgets import DataTable
from textual.widgets.data_table import RowDoesNotExist, RowKey

Cell = Content | str
Row = tuple[str, Sequence[Cell]]
"""The id of the thing and its cells."""


class ThingTable(DataTable[Content]):
    """A row table over things with ids. `fill` draws it; `here` is the id under the cursor."""

    def __init__(self, columns: Sequence[tuple[str, int | None]], *, id: str | None = None) -> None:
        """`columns` are titles with widths in cells; None takes what the text needs."""
        # A cell keeps its own print colour under the cursor: a wire's chip is read by it.
        super().__init__(
            cursor_type="row", zebra_stripes=False, cursor_foreground_priority="renderable", id=id
        )
        self._titles = tuple(columns)
        self._rows: list[tuple[str, tuple[str, ...]]] = []

    def on_mount(self) -> None:
        for title, width in self._titles:
            self.add_column(title, key=title, width=width)

    def on_resize(self) -> None:
        # A form that grows below takes rows away: the one under the cursor stays in sight.
        if self.row_count:
            self.call_after_refresh(self._show_cursor)

    def _show_cursor(self) -> None:
        """Scroll to the row that the cursor is on by now; it may have moved since the room changed."""
        if self.row_count:
            self.move_cursor(row=self.cursor_row, animate=False, scroll=True)

    def action_scroll_home(self) -> None:
        """Go to the first row; all columns of a row are in sight, so that there is nothing at its left
        end.
        """
        self.move_cursor(row=0, animate=False)

    def action_scroll_end(self) -> None:
        """Go to the last row."""
        self.move_cursor(row=max(self.row_count - 1, 0), animate=False)

    def _update_dimensions(self, new_rows: Iterable[RowKey]) -> None:
        # Measuring every cell of every row is most of what a long list costs, and is for nothing where no
        # column takes its width from it. All rows are one line high.
        fixed = not any(column.auto_width for column in self.columns.values())
        super()._update_dimensions(() if fixed else new_rows)

    def fill(self, rows: Sequence[Row]) -> None:
        """Show these rows; only what differs from before is drawn anew."""
        if not self.columns:
            return
        new = [(key, tuple(_plain(cell) for cell in cells)) for key, cells in rows]
        if new == self._rows:
            return
        kept = self.here
        place = self.cursor_row
        if [key for key, _ in new] == [key for key, _ in self._rows]:
            for (key, cells), (_, plain), (_, old) in zip(rows, new, self._rows, strict=True):
                for (title, _), cell, text, was in zip(self._titles, cells, plain, old, strict=True):
                    if text != was:
                        self.update_cell(key, title, _content(cell))
        else:
            self.clear()
            for key, cells in rows:
                self.add_row(*(_content(cell) for cell in cells), key=key)
            self._rows = new
            if not self.go_to(kept):
                self.move_cursor(row=min(place, len(new) - 1), animate=False)
        self._rows = new

    @property
    def here(self) -> str:
        """The id of the thing under the cursor, "" in an empty table."""
        return self._rows[self.cursor_row][0] if 0 <= self.cursor_row < len(self._rows) else ""

    def go_to(self, key: str) -> bool:
        """Put the cursor on a thing; False if it is not here."""
        try:
            place = self.get_row_index(key)
        except RowDoesNotExist:
            return False
        self.move_cursor(row=place, animate=False)
        return True


def _content(cell: Cell) -> Content:
    return cell if isinstance(cell, Content) else Content(cell)


def _plain(cell: Cell) -> str:
    return f"{cell.plain}\0{cell.spans}" if isinstance(cell, Content) else cell

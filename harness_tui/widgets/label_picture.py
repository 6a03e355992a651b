"""A label as a picture of the terminal's own, dot by dot: even its code can be scanned from the screen.

Only where the terminal draws pictures (see `harness_tui.pictures`); elsewhere the widget takes no room.
"""

from __future__ import annotations

import io
import sys
from typing import TYPE_CHECKING, Any

from textual.containers import Container

if TYPE_CHECKING:
    from PIL import Image

    from harness_tui.pictures import Cell
    from model.labels.items import Layout


class LabelPicture(Container):
    """Shows one label as large as fits; hidden until `show_label` draws one."""

    DEFAULT_CSS = """
    LabelPicture { width: auto; height: auto; display: none; }
    """

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._shown: tuple[Layout, Cell, int, int] | None = None

    def show_label(self, layout: Layout | None, cell: Cell | None, width: int, rows: int) -> bool:
        """Draw a label into at most `width` columns and `rows` rows of such cells.

        False, and hidden, for no label or a terminal without pictures (no `cell`): the caller then draws it
        in half blocks.
        """
        if layout is None or cell is None or width < 1 or rows < 1:
            self.display = False
            return False
        if self._shown != (layout, cell, width, rows):
            self._shown = layout, cell, width, rows
            picture, columns, lines = fitted(layout, width, rows, cell)
            self.styles.width, self.styles.height = columns, lines
            for child in list(self.children):
                child.remove()
            image = _image_class(cell)(picture)
            image.styles.width, image.styles.height = columns, lines
            self.mount(image)
        self.display = True
        return True


def fitted(layout: Layout, width: int, rows: int, cell: Cell) -> tuple[Image.Image, int, int]:
    """The label on whole cells, and how many columns and rows they are.

    Each dot is a square of whole pixels where there is room for that; a larger label is made smaller.
    """
    from PIL import Image

    from model.labels.drawing import WHITE, draw

    plain = draw(layout).convert("L")
    room = width * cell.width, rows * cell.height
    scale = min(room[0] / plain.width, room[1] / plain.height)
    if scale >= 1:
        whole = int(scale)
        drawn = plain.resize((plain.width * whole, plain.height * whole), Image.Resampling.NEAREST)
    else:
        smaller = max(1, int(plain.width * scale)), max(1, int(plain.height * scale))
        drawn = plain.resize(smaller, Image.Resampling.BOX)
    columns, lines = -(-drawn.width // cell.width), -(-drawn.height // cell.height)
    canvas = Image.new("L", (columns * cell.width, lines * cell.height), WHITE)
    canvas.paste(drawn, (0, 0))
    return canvas.convert("RGB"), columns, lines


def _image_class(cell: Cell) -> Any:
    """The widget that draws sixels, loaded with the first picture.

    As it is loaded it asks the terminal, and what that answers would now be taken for keys: so it is shown
    a standard output that is no terminal, and told what is known already.
    """
    real = sys.__stdout__
    setattr(sys, "__stdout__", io.StringIO())  # noqa: B010  (a constant to the type checker)
    try:
        from textual_image import _terminal
        from textual_image.widget.sixel import Image as SixelImage
    finally:
        setattr(sys, "__stdout__", real)  # noqa: B010
    known = _terminal.CellSize(cell.width, cell.height)
    setattr(_terminal.get_cell_size, "_result", known)  # noqa: B010
    return SixelImage

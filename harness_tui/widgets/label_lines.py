"""A label in words and as a picture: its row in the table, and what is shown of the one under the cursor."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from textual.content import Content
from textual.style import Style

from harness_tui.widgets.lines import clip
from harness_tui.widgets.table import Row
from model.findings import Severity
from model.labels.batch import Label, LabelState, one_face
from model.labels.preview import text_preview
from model.labels.stock import Stock
from model.papers.label_sets import CARD_COLUMNS
from model.routing.wires import EndKind
from model.values import counted

PAPER = Style.parse("#101010 on #f4f4f4")
"""Ink on a label."""

BOX = 30
"""Columns of the label as text."""

CARD = CARD_COLUMNS + 4
"""Columns of a bench card as text: its lines and the frame."""

_ENDS = {"L": "lamp", "C": "controller"}


def label_row(label: Label, room: int) -> Row:
    """The cells of a label in the table: mark of a problem, tag, end, what it says, state."""
    mark = Content("")
    if label.problems:
        mark = Content.styled("!" if label.printable else "!!", "$text-warning")
    changed = label.state is LabelState.CHANGED
    state = Content.styled(f"{label.state} {label.day}".rstrip(), "$text-warning" if changed else "")
    says = " / ".join(_lines_of(label)) or "the tag alone"
    return label.key, (mark, label.text.tag, _end_words(label), clip(says, room), state)


def _end_words(label: Label) -> str:
    """What the labelled end goes to, in at most ten columns; the kind of a label that is on no end."""
    wire = label.wires[0] if label.wires and label.text.kind == "wire" else None
    if label.serves:
        return "both ends"
    if wire is None or label.text.end not in _ENDS:
        return label.text.kind
    end = wire.lamp_end if label.text.end == "L" else wire.controller_end
    if end.kind is EndKind.JOINT:
        return f"joint {end.ref}"
    return f"plug {end.ref.rpartition('.')[0]}" if end.kind is EndKind.PLUG else _ENDS[label.text.end]


def _lines_of(label: Label) -> list[str]:
    """The lines that stand on the label as printed, each once."""
    return list(dict.fromkeys(text.text for text in label.layout.texts if text.role == "line"))


def picture(label: Label, width: int, rows: int) -> list[Content]:
    """The label as it is drawn, in half blocks."""
    # Pillow is loaded with the first picture.
    from model.labels.drawing import cells

    return [Content.styled(row, PAPER) for row in cells(one_face(label.layout), max(width, 10), rows)]


def picture_lines(label: Label, width: int, rows: int, *, large: bool) -> Iterator[Content]:
    """The label as it is drawn, and with `large` off beside it the same in letters that can be read.

    The print of a card is too fine to be drawn so: it is shown in letters alone.
    """
    card = label.text.kind == "card"
    if large and not card:
        yield from picture(label, width, rows)
        return
    wide = min(width, CARD) if card else BOX
    box = text_preview(label.layout, wide)
    if len(box) > rows:
        box[rows - 1 :] = [f"  … {counted(len(box) - rows, 'line')} more"]
    drawn = picture(label, width - BOX - 2, rows) if width >= BOX + 40 and not card else []
    for place in range(max(len(box), len(drawn))):
        left = box[place] if place < len(box) else ""
        yield Content(f"{left:<{wide}}  ") + (drawn[place] if place < len(drawn) else Content(""))


def said_lines(label: Label, width: int, better: Sequence[Stock], most: int) -> Iterator[Content]:
    """Size, height of the tag, code; at most `most` problems, and what mends them on `better` stock."""
    layout, stock = label.layout, label.layout.stock
    size = f"{layout.length_mm:.0f} x {layout.height_mm:.1f} mm"
    tag = f"tag {layout.tag_height_mm:.1f} mm high" if label.printable else "no room for the tag"
    code = f"code {layout.qr.level}" if layout.qr else "no code"
    yield Content.styled(clip(f"{stock.title}, {stock.dpi} dpi   {size}   {tag}   {code}", width), "dim")
    for problem in label.problems[:most]:
        line = f"! {problem.found}" + (f" ({problem.limit})" if problem.limit else "")
        yield Content.styled(clip(line, width), "$text-warning")
    if label.problems:
        others = "; ".join(stock.title for stock in better[:3])
        fits = f" All fits on: {others}" if others else ""
        yield Content(clip(f"  {label.problems[0].remedy}{fits}", width))
    elif label.state is LabelState.CHANGED:
        yield Content.styled("! It says something else now than when it was printed.", "$text-warning")
    elif label.left_out and label.text.kind == "wire":
        other = "the other end is" if label.layout.text.lines else "its ends go"
        yield Content.styled(f"  No room for where {other}; a flag has it.", "dim")
    if not label.problems:
        for note in notes(label)[: max(most - 1, 1)]:
            yield Content.styled(clip(f"  {note}", width), "dim")


def notes(label: Label) -> list[str]:
    """What is less than wished of a label without being a fault: a line left out, why there is no code."""
    mere = [problem for problem in label.layout.problems if problem.severity <= Severity.NOTE]
    said = [problem.found + (f" ({problem.limit})" if problem.limit else "") for problem in mere]
    # A label too small for a code has a finding of its own that says the same in fewer words.
    if label.layout.no_qr and all(problem.rule != "label-qr" for problem in mere):
        said.append(label.layout.no_qr)
    return said

"""The lines that stay: the head line of every screen and the line that speaks."""

from __future__ import annotations

import re

from textual.content import Content
from textual.widgets import Static

from harness_tui.session import Session
from model.electrics.supply import volts
from model.findings import Finding, Severity
from model.harness import REGULATED, Harness


def supply_words(harness: Harness) -> str:
    """The supply and its volts flat, nominal and full: "NiMH 6 cells  6.0 / 7.2 / 8.7 V"."""
    supply = harness.supply
    level = volts(supply)
    name = REGULATED if supply.chemistry == REGULATED else f"{supply.chemistry} {supply.cells} cells"
    if supply.chemistry == REGULATED and level.flat_v == level.full_v:
        return f"{name}  {level.nominal_v:.1f} V"
    return f"{name}  {level.flat_v:.1f} / {level.nominal_v:.1f} / {level.full_v:.1f} V"


SHORT_WORD = 6
"""Letters of a last word that is kept when a name is shortened."""


def clip(text: str, width: int) -> str:
    """`text` in at most `width` columns, with a mark where it is shortened.

    A name of few words keeps a short last one, which tells it from its neighbour: "Buffer be… left".
    """
    from rich.cells import cell_len, set_cell_size

    if cell_len(text) <= width:
        return text
    head, _, last = text.rpartition(" ")
    keep = cell_len(last) + 2
    if head and text.count(" ") < 4 and len(last) <= SHORT_WORD and keep <= width - 4:
        return f"{set_cell_size(head, width - keep).rstrip()}\u2026 {last}"
    return set_cell_size(text, max(width - 1, 0)).rstrip() + "\u2026"


def path_lines(text: str, width: int) -> list[str]:
    """A text with a path in lines of at most `width` columns, parted after a slash: its end is what is looked
    for.
    """
    from rich.cells import cell_len, chop_cells

    lines = [""]
    for part in re.split(r"(?<=[/\\])", text):
        for piece in chop_cells(part, width) if cell_len(part) > width else [part]:
            if lines[-1] and cell_len(lines[-1]) + cell_len(piece) > width:
                lines.append("")
            lines[-1] += piece
    return lines


def tell(static: Static, content: Content) -> None:
    """Show `content` in a text that is as high as it needs; the screen is laid out anew only if that changes.

    To lay out is most of what a key costs, as everything on the screen is then drawn anew.
    """
    width, height = static.content_size
    same = width > 0 and content.get_height({}, width) == height
    static.update(content, layout=not same)


LEAST_NAME = 14
"""Columns a project's name keeps before the supply is left out."""


class HeadLine(Static):
    """Project, supply, where one is, findings."""

    DEFAULT_CSS = """
    HeadLine { dock: top; height: 1; padding: 0 1; text-style: bold; }
    """

    def __init__(self) -> None:
        super().__init__("", markup=False)

    def tell(self, session: Session, where: str, findings: tuple[Finding, ...] | None) -> None:
        """Draw the line anew for a session; `where` is the screen and the place in it.

        `findings` are None while they are still being worked out.
        """
        harness = session.harness
        known = findings is not None
        findings = findings or ()
        worst = max((finding.severity for finding in findings), default=None)
        right = Content(f"{where}  ")
        if session.unsaved:
            right += Content.styled("NOT SAVED ", "$text-error bold")
        elif session.read_only:
            right += Content.styled("reading ", "$text-warning")
        count = sum(finding.severity > Severity.NOTE for finding in findings)
        style = "$text-error" if worst is Severity.DANGER else "$text-warning" if count else "dim"
        right += Content.styled(f"! {count}" if known else "! \u2026", style)
        width = max(self.app.size.width - 2, 20)
        room = width - right.cell_length - 1
        left = f"{harness.code}  {harness.name}"
        volts_text = supply_words(harness)
        if len(left) + 2 + len(volts_text) <= room:
            left = f"{left}  {volts_text}"
        elif len(harness.code) + len(volts_text) + 2 + LEAST_NAME <= room:
            # With little room the volts go first: they never change, the name tells which model this is.
            name = clip(harness.name, room - len(harness.code) - len(volts_text) - 4)
            left = f"{harness.code}  {name}  {volts_text}"
        left = clip(left, room)
        self.update(
            Content(left) + Content(" " * max(room - Content(left).cell_length + 1, 1)) + right, layout=False
        )


class SayLine(Static):
    """One line that says what happened or what is wrong. It stays until the next thing is said."""

    DEFAULT_CSS = """
    SayLine { height: auto; max-height: 4; padding: 0 1; }
    SayLine.error { color: $text-error; }
    SayLine.warning { color: $text-warning; }
    """

    def __init__(self) -> None:
        super().__init__("", markup=False)
        self.text = ""

    def say(self, text: str, kind: str = "") -> None:
        """Show `text`; `kind` is "", "warning" or "error"."""
        if not text and not self.text:
            return
        self.text = text
        self.set_class(kind == "error", "error")
        self.set_class(kind == "warning", "warning")
        tell(self, Content(text))

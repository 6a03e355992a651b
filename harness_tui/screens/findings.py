"""The findings: what the checks say, worst first, each leading to its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static

from model.findings import Finding, Severity
from model.values import counted

if TYPE_CHECKING:
    from harness_tui.app import LoomApp

_MARKS = {
    Severity.DANGER: ("!!", "$text-error bold"),
    Severity.WARNING: ("! ", "$text-warning"),
    Severity.NOTE: ("- ", "dim"),
}


def finding_line(finding: Finding) -> Content:
    """One finding as the list shows it: what, how much, and what to do."""
    mark, style = _MARKS[finding.severity]
    limit = f" ({finding.limit})" if finding.limit else ""
    line = Content.styled(f"{mark} {finding.subject}", style) + Content(f": {finding.found}{limit}")
    return line + Content.styled(f"\n   {finding.remedy}", "dim") if finding.remedy else line


def count_words(findings: tuple[Finding, ...]) -> str:
    """How many there are; notes apart, which the head line does not count: "2 findings, 1 note"."""
    notes = sum(finding.severity is Severity.NOTE for finding in findings)
    counts = (("finding", len(findings) - notes), ("note", notes))
    return ", ".join(counted(count, word) for word, count in counts if count)


class FindingsScreen(ModalScreen[None]):
    """Lists every finding. Enter goes to where it is mended."""

    DEFAULT_CSS = """
    FindingsScreen { align: center middle; background: transparent; }
    FindingsScreen Vertical { width: 100%; max-width: 110; height: auto; max-height: 90%;
                              background: $background; border: round $accent; padding: 0 1; }
    FindingsScreen OptionList {
        height: auto;
        max-height: 40;
        background: $background;
        border: none;
        padding: 0;
    }
    FindingsScreen OptionList:focus { border: none; }
    FindingsScreen #foot { text-style: dim; }
    """
    BINDINGS: ClassVar = [Binding("escape,exclamation_mark", "close", "back", id="findings.close")]

    def compose(self) -> ComposeResult:
        self.findings = cast("LoomApp", self.app).session.findings
        with Vertical():
            if self.findings:
                yield Static(count_words(self.findings), markup=False)
                yield OptionList(*(finding_line(finding) for finding in self.findings), markup=False)
                yield Static("Enter goes there   Escape back", markup=False, id="foot")
            else:
                yield Static("No findings: nothing the checks know of is wrong.", markup=False)
                yield Static("Escape back", markup=False, id="foot")

    @on(OptionList.OptionSelected)
    def _go(self, event: OptionList.OptionSelected) -> None:
        finding = self.findings[event.option_index]
        app = cast("LoomApp", self.app)
        self.dismiss(None)
        if finding.place:
            app.call_later(app.action_go, finding.place, finding.ref)

    def action_close(self) -> None:
        """Close the list."""
        self.dismiss(None)

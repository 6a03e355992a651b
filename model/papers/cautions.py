"""The cautions as a page of text, to hang up over the bench."""

from __future__ import annotations

import textwrap

from model.cautions import CAUTIONS


def cautions_text(width: int = 78) -> str:
    """The cautions in lines of at most `width` columns (40 or more), each under its catchword."""
    margin = max(len(caution.about) for caution in CAUTIONS) + 2
    lines: list[str] = []
    for caution in CAUTIONS:
        lines += textwrap.wrap(
            caution.words,
            max(width, 40),
            initial_indent=f"{caution.about:<{margin}}",
            subsequent_indent=" " * margin,
        )
    return "\n".join([*lines, ""])

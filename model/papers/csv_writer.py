"""Every table of the papers as a file for a spreadsheet."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from model.harness import Harness
from model.papers.table import as_csv

if TYPE_CHECKING:
    from model.papers.shelf import Paper


def papers_csv(papers: Sequence[Paper], harness: Harness) -> dict[str, str]:
    """The text of each table by its file name: "GRT-wire-list.csv", or "GRT-output-map-outputs.csv" of
    several.

    Names hold letters, digits and hyphens only, whatever the project and its things are called.
    """
    files: dict[str, str] = {}
    for paper in papers:
        tables = paper.tables(harness) if paper.tables is not None else ()
        for number, table in enumerate(tables, 1):
            stem = f"{harness.code}-{paper.key}"
            if len(tables) > 1:
                word = re.match(r"[A-Za-z]+", table.title)
                stem += f"-{word.group().lower()}" if word else f"-{number}"
            if f"{stem}.csv" in files:
                stem += f"-{number}"
            files[f"{stem}.csv"] = as_csv((table,))
    return files

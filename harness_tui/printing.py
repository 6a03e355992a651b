"""Writing labels and papers into a folder."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import attrs

from model.errors import StoreError
from model.harness import Harness
from model.labels.items import Layout
from model.labels.stock import Stock

if TYPE_CHECKING:
    from model.papers.shelf import Paper

Going = Callable[[int, int], bool]
"""Called with (done, of how many); what it returns says whether to go on."""


@attrs.frozen(kw_only=True)
class Written:
    """What was written: the PDFs, how many pictures, and whether it was stopped before the end."""

    folder: Path
    pdfs: tuple[Path, ...]
    pictures: int
    stopped: bool = False


def label_folder(project: Path | None, code: str) -> Path:
    """The folder that is proposed: beside the project file, else in the working directory."""
    beside = project.parent if project is not None else Path.cwd()
    return beside / f"{code}-labels"


def write_labels(
    layouts: Sequence[Layout],
    folder: Path,
    code: str,
    *,
    start: int = 0,
    copies: int = 1,
    going: Going | None = None,
) -> Written:
    """Write the labels in the order given, grouped by stock; existing files of these names are replaced.

    Each stock gives one PDF "CODE-STOCK.pdf" and a folder of its name with a PNG of each label. `start` is
    the first free place of a part-used sheet, counted from 0; on other stock it is not used. Raises
    StoreError where a file can't be written and BadValue for a start or number of copies that can't be.
    """
    from model.labels.drawing import save_png
    from model.labels.sheets import make_pdf, pages
    from model.labels.text import file_name

    groups: dict[Stock, list[Layout]] = {}
    for layout in layouts:
        groups.setdefault(layout.stock, []).append(layout)
    sheets = {
        stock: pages(group, start=start if stock.sheet else 0, copies=copies, heading=code)
        for stock, group in groups.items()
    }
    total = sum(map(len, sheets.values())) + len(layouts)
    done = 0
    pdfs: list[Path] = []

    def told(count: int, _: int) -> bool:
        return going is None or going(done + count, total)

    for stock, group in groups.items():
        pictures = folder / stock.name
        _make(pictures)
        path = folder / f"{code}-{stock.name}.pdf"
        if not make_pdf(sheets[stock], path, title=f"{code} labels, {stock.title}", going=told):
            return Written(folder=folder, pdfs=tuple(pdfs), pictures=0, stopped=True)
        pdfs.append(path)
        done += len(sheets[stock])
        for layout in group:
            if not told(0, 0):
                return Written(folder=folder, pdfs=tuple(pdfs), pictures=0, stopped=True)
            save_png(layout, pictures / file_name(layout.text))
            done += 1
    told(0, 0)
    return Written(folder=folder, pdfs=tuple(pdfs), pictures=len(layouts))


@attrs.frozen(kw_only=True)
class PapersWritten:
    """Which files were written, and whether it was stopped before the end."""

    folder: Path
    files: tuple[Path, ...]
    stopped: bool = False


def paper_folder(project: Path | None, code: str) -> Path:
    """The folder that is proposed: beside the project file, else in the working directory."""
    beside = project.parent if project is not None else Path.cwd()
    return beside / f"{code}-papers"


def write_papers(
    papers: Sequence[Paper], harness: Harness, folder: Path, *, going: Going | None = None
) -> PapersWritten:
    """Write each paper as text, and its tables as CSV; existing files of these names are replaced.

    The files are "CODE-KEY.txt" and "CODE-KEY.csv" in UTF-8; the CSV begins with a mark by which spreadsheets
    know it. Each is whole or not there. Raises StoreError where one can't be written.
    """
    _make(folder)
    files: list[Path] = []
    for done, paper in enumerate(papers):
        if going is not None and not going(done, len(papers)):
            return PapersWritten(folder=folder, files=tuple(files), stopped=True)
        stem = f"{harness.code}-{paper.key}"
        files.append(_write(folder / f"{stem}.txt", paper.text(harness), "utf-8"))
        table = paper.csv(harness)
        if table is not None:
            files.append(_write(folder / f"{stem}.csv", table, "utf-8-sig"))
    if going is not None:
        going(len(papers), len(papers))
    return PapersWritten(folder=folder, files=tuple(files))


def _write(path: Path, text: str, encoding: str) -> Path:
    partial = path.with_name(path.name + ".part")
    try:
        partial.write_text(text, encoding=encoding, newline="")
        partial.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            partial.unlink(missing_ok=True)
        raise StoreError(str(path), f"can't be written: {error.strerror or error}") from error
    return path


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            str(folder), f"can't be made: {error.strerror or error}", remedy="Choose another folder."
        ) from error

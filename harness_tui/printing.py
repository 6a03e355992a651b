"""Writing labels and papers into a folder."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import attrs

from model.errors import StoreError
from model.harness import Harness
from model.labels.items import Layout
from model.labels.stock import Stock

if TYPE_CHECKING:
    from model.labels.sheets import Calibration, Page
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


@attrs.frozen(kw_only=True)
class Group:
    """Labels of one kind on one stock, and their pages. `name` is the project's code, with the kind but
    for wires.
    """

    name: str
    stock: Stock
    layouts: tuple[Layout, ...]
    pages: tuple[Page, ...]


def by_stock(
    layouts: Sequence[Layout],
    code: str,
    *,
    start: int = 0,
    copies: int = 1,
    strip_mm: float | None = None,
) -> tuple[Group, ...]:
    """Labels grouped by kind and stock, in their order. Raises BadValue.

    `start` counts on sheets only; `strip_mm` puts as many labels of tape or carrier onto a page as go into
    that length.
    """
    from model.labels.sheets import pages

    groups: dict[tuple[str, Stock], list[Layout]] = {}
    for layout in layouts:
        kind = layout.text.kind
        name = code if kind == "wire" else f"{code}-{kind}s"
        groups.setdefault((name, layout.stock), []).append(layout)
    return tuple(
        Group(
            name=name,
            stock=stock,
            layouts=tuple(group),
            pages=pages(
                group,
                start=start if stock.sheet else 0,
                copies=copies,
                strip_mm=None if stock.sheet else strip_mm,
                heading=name,
            ),
        )
        for (name, stock), group in groups.items()
    )


def write_labels(
    layouts: Sequence[Layout],
    folder: Path,
    code: str,
    *,
    start: int = 0,
    copies: int = 1,
    strip_mm: float | None = None,
    calibration: Calibration | None = None,
    going: Going | None = None,
) -> Written:
    """Write the labels in the order given, grouped by stock; existing files of these names are replaced.

    Each stock gives one PDF "CODE-STOCK.pdf" and a folder of its name with a PNG of each label, named by
    project, tag and end; joints, plugs, spools and cards have their kind in the PDF's name. With `strip_mm`
    the labels of tape and carrier are put together into strips of at most that length, a page of the PDF and
    a PNG each, named by the first and the last label; sheets stay as they are. `start` is the first free
    place of a part-used sheet, counted from 0; on other stock it is not used. `calibration` is the printer's;
    it is for the PDF, since a picture has whole dots only. Raises StoreError where a file can't be written
    and BadValue for a start, length or number of copies that can't be.
    """
    from model.labels.sheets import make_pdf

    groups = by_stock(layouts, code, start=start, copies=copies, strip_mm=strip_mm)
    total = sum(len(group.pages) + _picture_count(group, strip_mm) for group in groups)
    done = pictures = 0
    pdfs: list[Path] = []

    def told(count: int, _: int) -> bool:
        return going is None or going(done + count, total)

    for group in groups:
        beside = folder / group.stock.name
        make_folder(beside)
        path = folder / f"{group.name}-{group.stock.name}.pdf"
        title = f"{group.name} labels, {group.stock.title}"
        if not make_pdf(group.pages, path, calibration=calibration, title=title, going=told):
            return Written(folder=folder, pdfs=tuple(pdfs), pictures=pictures, stopped=True)
        pdfs.append(path)
        done += len(group.pages)
        for save in _pictures(group, beside, strip_mm):
            if not told(0, 0):
                return Written(folder=folder, pdfs=tuple(pdfs), pictures=pictures, stopped=True)
            save()
            done += 1
            pictures += 1
    told(0, 0)
    return Written(folder=folder, pdfs=tuple(pdfs), pictures=pictures)


def _in_strips(group: Group, strip_mm: float | None) -> bool:
    return strip_mm is not None and group.stock.sheet is None


def _picture_count(group: Group, strip_mm: float | None) -> int:
    return len(group.pages) if _in_strips(group, strip_mm) else len(group.layouts)


def _pictures(group: Group, folder: Path, strip_mm: float | None) -> Iterator[Callable[[], None]]:
    """What writes each picture: one of each strip, or of each label whatever the number of copies."""
    from model.labels.drawing import save_png
    from model.labels.text import file_name

    if not _in_strips(group, strip_mm):
        for layout in group.layouts:
            yield partial(save_png, layout, folder / file_name(layout.text))
        return
    for number, page in enumerate(group.pages, 1):
        first, last = page.placed[0].layout.text, page.placed[-1].layout.text
        ends = first.name if first == last else f"{first.name}-to-{last.name}"
        name = re.sub(r"[^A-Za-z0-9-]+", "_", f"{group.name}-strip{number}-{ends}")
        yield partial(_save_page, page, folder / f"{name}.png")


def _save_page(page: Page, path: Path) -> None:
    from model.labels.drawing import save_image
    from model.labels.sheets import draw_page

    save_image(draw_page(page), path, page.dpi)


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
    papers: Sequence[Paper],
    harness: Harness,
    folder: Path,
    *,
    page: str = "A4",
    day: str = "",
    going: Going | None = None,
) -> PapersWritten:
    """Write the papers as one PDF, one HTML file, and each table as CSV; existing files of these names are
    replaced.

    "CODE-papers.pdf" is for a printer, with pages of size `page`, "CODE-papers.html" for a phone; the
    CSV begins with a mark by which spreadsheets know UTF-8. `day` stands on the pages. Each file is
    whole or not there. Raises StoreError where one can't be written and BadValue for an unknown page
    size.
    """
    from model.papers.csv_writer import papers_csv
    from model.papers.html_writer import papers_html
    from model.papers.pdf_writer import papers_pdf

    make_folder(folder)
    files: list[Path] = []
    total = 3 * len(papers)

    def told(before: int) -> Going:
        return lambda done, _: going is None or going(before + done, total)

    def written(stopped: bool) -> PapersWritten:
        return PapersWritten(folder=folder, files=tuple(files), stopped=stopped)

    pdf = papers_pdf(papers, harness, page=page, day=day, going=told(0))
    if pdf is None:
        return written(True)
    files.append(_write(folder / f"{harness.code}-papers.pdf", pdf))
    html = papers_html(papers, harness, day=day, going=told(len(papers)))
    if html is None:
        return written(True)
    files.append(_write(folder / f"{harness.code}-papers.html", html.encode("utf-8", "replace")))
    tell = told(2 * len(papers))
    for done, paper in enumerate(papers):
        if not tell(done, 0):
            return written(True)
        for name, table in papers_csv([paper], harness).items():
            files.append(_write(folder / name, table.encode("utf-8-sig", "replace")))
    tell(len(papers), 0)
    return written(False)


def image_file(project: Path | None, code: str) -> Path:
    """The file that is proposed for the drawing as an image: beside the project file, else in the working
    directory.
    """
    beside = project.parent if project is not None else Path.cwd()
    return beside / f"{code}-loom.png"


def write_image(harness: Harness, path: Path, *, note: str = "", day: str = "") -> Path:
    """Write the drawing of a settled harness as an image of the kind its name ends in (.png, .svg, .pdf); an
    existing file of that name is replaced.

    `note` stands behind its title, `day` (YYYY-MM-DD) is that of the PDF. BadValue for another kind,
    StoreError where it can't be written.
    """
    from model.papers.drawing import drawing
    from model.papers.figure_image import figure_image, image_kind

    kind = image_kind(path.name)
    figure = drawing(harness)
    if note:
        figure = attrs.evolve(figure, title=f"{figure.title}, {note}")
    return _write(path, figure_image(figure, harness, kind, day=day))


def _write(path: Path, content: bytes) -> Path:
    partial = path.with_name(path.name + ".part")
    try:
        partial.write_bytes(content)
        partial.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            partial.unlink(missing_ok=True)
        raise StoreError(
            str(path),
            f"can't be written: {error.strerror or error}",
            remedy="Make room there, or choose another folder.",
        ) from error
    return path


def make_folder(folder: Path) -> None:
    """Make a folder and those above it; StoreError where that can't be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError) as error:
        raise StoreError(
            str(folder), "can't be made: a file has that name", remedy="Choose another folder."
        ) from error
    except OSError as error:
        raise StoreError(
            str(folder), f"can't be made: {error.strerror or error}", remedy="Choose another folder."
        ) from error

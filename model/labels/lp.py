"""What to hand to `lp` so that a label comes out at its true size.

A job has one media size, so pages are grouped by size. CUPS cuts media sizes down to whole points, by way
of hundredths of a millimetre, and centres the page: sizes are rounded up and a tenth added, so that
nothing of a label is cut off.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from itertools import groupby
from pathlib import Path

import attrs

from model.errors import BadValue
from model.labels.sheets import Calibration, Page, paper_mm
from model.labels.stock import MM_PER_INCH, PAGES, Stock
from model.values import shown

_QUEUE = re.compile(r"[A-Za-z0-9_.][A-Za-z0-9_.@-]{0,126}")


@attrs.frozen(kw_only=True)
class Job:
    """Pages of one size: `make_pdf(job.pages, ..., turned=job.turned)` writes them, one command prints."""

    pages: tuple[Page, ...]
    media: str
    dpi: int
    turned: bool


def jobs(sheets: Sequence[Page], stock: Stock, calibration: Calibration | None = None) -> tuple[Job, ...]:
    """The pages in their order, those of one size that follow each other in one job.

    A tape runs along the text and printers want its width first, so its pages are turned. `calibration` is
    that of `make_pdf`.
    """
    turned = stock.medium == "tape"
    stretch = calibration or Calibration()
    found: list[Job] = []
    for media, group in groupby(sheets, lambda page: _media(page, stretch, turned=turned)):
        found.append(Job(pages=tuple(group), media=media, dpi=stock.dpi, turned=turned))
    return tuple(found)


def lp_command(job: Job, queue: str, pdf: Path, copies: int = 1) -> tuple[str, ...]:
    """The command that prints the job's PDF on a queue, unscaled. BadValue for a queue no system can have."""
    if not _QUEUE.fullmatch(queue):
        raise BadValue("printer", shown(repr(queue)), limit="the name of a queue as `lpstat -e` lists it")
    if not 1 <= copies <= 100:
        raise BadValue("copies", f"{copies}", limit="1 to 100")
    options = (
        f"media={job.media}",
        "print-scaling=none",
        f"printer-resolution={job.dpi}dpi",
        f"Resolution={job.dpi}dpi",  # the name in older printer descriptions
    )
    return (
        "lp",
        "-d",
        queue,
        "-n",
        str(copies),
        *(part for option in options for part in ("-o", option)),
        "--",
        str(pdf),
    )


def _media(page: Page, stretch: Calibration, *, turned: bool) -> str:
    across, down = paper_mm(page, stretch)
    for name, size in PAGES.items():
        if size == (page.width_mm, page.height_mm):
            return name
    sides = (down, across) if turned else (across, down)
    width, height = (math.ceil(round(side * 72 / MM_PER_INCH, 3)) for side in sides)
    return f"Custom.{width}.1x{height}.1"

"""Printers: the queues of the system, how true each printer prints, and sending labels to one.

A printer is known by a name: that of its queue, or any name for one that is reached by way of a PDF.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import attrs

from harness_tui.preferences import Stretch, read_state, remember_printer
from harness_tui.printing import Going, by_stock, make_folder
from model.errors import BadValue, StoreError
from model.labels.items import Layout
from model.values import shown, text_fault

if TYPE_CHECKING:
    from model.labels.lp import Job
    from model.labels.sheets import Calibration, Page, Rulers
    from model.labels.stock import Stock

PATIENCE_S = 30.0
ASK_S = 5.0


@attrs.frozen(kw_only=True)
class Sent:
    """What was sent to a queue: its jobs by name, how many pages, and whether it was stopped half-way."""

    queue: str
    jobs: tuple[str, ...]
    pages: int
    stopped: bool = False


def queues() -> tuple[str, ...]:
    """The names of the system's queues; none where there is no `lp`, or nothing answers."""
    if not shutil.which("lp") or not shutil.which("lpstat"):
        return ()
    try:
        done = subprocess.run(
            ["lpstat", "-e"], capture_output=True, text=True, errors="replace", timeout=ASK_S, check=False
        )
    except (OSError, subprocess.TimeoutExpired):
        return ()
    return tuple(line.strip() for line in done.stdout.splitlines() if line.strip())


def measured_printers() -> tuple[str, ...]:
    """The names of all printers whose rulers were printed."""
    return tuple(sorted(read_state().printers))


def calibration_of(name: str) -> Calibration:
    """How lengths are stretched for a printer; not at all for one that was never measured."""
    from model.labels.sheets import Calibration

    stretch = read_state().printers.get(name, Stretch())
    return Calibration(x=stretch.x, y=stretch.y)


def stretch_words(name: str) -> str:
    """ "stretched to 99.80 % across, 100.40 % down", or "not measured"."""
    stretch = read_state().printers.get(name)
    if stretch is None or (stretch.x, stretch.y) == (1.0, 1.0):
        return "not measured" if stretch is None else "as it prints by itself"
    return f"stretched to {100 * stretch.x:.2f} % across, {100 * stretch.y:.2f} % down"


def checked_name(name: str) -> str:
    """The name of a printer; BadValue for one that can't be."""
    name = name.strip()
    fault = text_fault(name) or ("" if name else "is empty")
    if fault:
        raise BadValue("printer", fault, remedy="Type a short name, for example that of its queue.")
    return name


# --- rulers ---


def _rulers(name: str, on: str | Stock) -> tuple[Page, Rulers, Calibration]:
    from model.labels.sheets import Rulers, calibration_page, calibration_tape, tape_rulers

    note = (
        f"For the printer {name}, {stretch_words(name)}."
        if name
        else "For a printer that is not measured yet."
    )
    if isinstance(on, str):
        return calibration_page(on, note=note), Rulers(), calibration_of(name)
    return calibration_tape(on, note=note), tape_rulers(on), calibration_of(name)


def _remember_page(name: str, rulers: Rulers) -> None:
    before = read_state().printers.get(name, Stretch())
    with_page = attrs.evolve(
        before, page_x=before.x, page_y=before.y, ruler_x=rulers.x_mm, ruler_y=rulers.y_mm
    )
    remember_printer(name, with_page)


def write_rulers(name: str, on: str | Stock, folder: Path) -> Path:
    """Write the rulers for a printer ("" for none in particular), stretched as its labels would be.

    `on` is a size of paper, or the tape of a printer that takes no paper. Raises StoreError where they can't
    be written and BadValue for an unknown size, or stock that has no room for rulers.
    """
    from model.labels.sheets import make_pdf

    page, rulers, calibration = _rulers(name, on)
    make_folder(folder)
    where = on if isinstance(on, str) else on.name
    path = folder / f"rulers-{where}.pdf"
    make_pdf([page], path, calibration=calibration, title=f"Rulers, {where}")
    if name:
        _remember_page(name, rulers)
    return path


def print_rulers(queue: str, on: str | Stock) -> str:
    """Send the rulers to a queue, on paper of a size or on a tape; returns the job's name.

    Raises StoreError with what `lp` says, and BadValue as `write_rulers`.
    """
    from model.labels.lp import Job, jobs
    from model.labels.sheets import make_pdf

    page, rulers, calibration = _rulers(queue, on)
    if isinstance(on, str):
        job = Job(pages=(page,), media=on, dpi=page.dpi, turned=False)
    else:
        (job,) = jobs([page], on, calibration)
    with TemporaryDirectory(prefix="loomtag-") as folder:
        pdf = Path(folder) / "rulers.pdf"
        make_pdf(job.pages, pdf, calibration=calibration, title=f"Rulers, {queue}", turned=job.turned)
        name = _send(job, queue, pdf)
    _remember_page(queue, rulers)
    return name


def rulers_of(name: str) -> Rulers:
    """The rulers last printed for a printer; those of a page for one that has none yet."""
    from model.labels.sheets import Rulers

    before = read_state().printers.get(name, Stretch())
    return Rulers(x_mm=before.ruler_x, y_mm=before.ruler_y)


def remember_measures(name: str, across_mm: float | None, down_mm: float | None) -> Calibration:
    """Work out from the measured rulers how lengths are stretched for a printer from now on, and remember it.

    `across_mm` is the ruler across the way the paper or tape goes, `down_mm` the one along it; None leaves
    that way as it is. Measuring the same rulers twice gives the same. Raises BadValue where a ruler is more
    than a tenth off.
    """
    from model.labels.sheets import Calibration

    before = read_state().printers.get(name, Stretch())
    with_page = Calibration(x=before.page_x, y=before.page_y)
    found = with_page.after(across_mm, down_mm, rulers_of(name))
    remember_printer(name, attrs.evolve(before, x=found.x, y=found.y))
    return found


# --- sending ---


def send_labels(
    layouts: Sequence[Layout],
    queue: str,
    code: str,
    *,
    start: int = 0,
    copies: int = 1,
    strip_mm: float | None = None,
    going: Going | None = None,
) -> Sent:
    """Print labels on a queue, each stock at its media size and resolution, stretched for the printer.

    `start` is the first free place of a part-used sheet, counted from 0, `strip_mm` puts as many labels of a
    tape together as go into that length. Raises StoreError with what `lp`
    says and BadValue for a queue, start or number of copies that can't be. What was sent stays sent.
    """
    from model.labels.lp import jobs
    from model.labels.sheets import make_pdf

    groups = by_stock(layouts, code, start=start, copies=copies, strip_mm=strip_mm)
    calibration = calibration_of(queue)
    wanted = [job for group in groups for job in jobs(group.pages, group.stock, calibration)]
    total = sum(len(job.pages) for job in wanted)
    sent: list[str] = []
    done = 0
    with TemporaryDirectory(prefix="loomtag-") as folder:
        pdf = Path(folder) / f"{code}-labels.pdf"
        for job in wanted:
            if going is not None and not going(done, total):
                return Sent(queue=queue, jobs=tuple(sent), pages=done, stopped=True)
            make_pdf(job.pages, pdf, calibration=calibration, title=f"{code} labels", turned=job.turned)
            sent.append(_send(job, queue, pdf))
            done += len(job.pages)
    if going is not None:
        going(done, total)
    return Sent(queue=queue, jobs=tuple(sent), pages=done)


def _send(job: Job, queue: str, pdf: Path) -> str:
    from model.labels.lp import lp_command

    command = lp_command(job, queue, pdf)
    instead = "Write a PDF instead and print that at 100 %."
    subject = f"printer {shown(queue)}"
    try:
        done = subprocess.run(
            command, capture_output=True, text=True, errors="replace", timeout=PATIENCE_S, check=False
        )
    except FileNotFoundError:
        raise StoreError(subject, "this system has no lp", remedy=instead) from None
    except subprocess.TimeoutExpired:
        raise StoreError(subject, f"does not answer within {PATIENCE_S:g} s", remedy=instead) from None
    except OSError as error:
        raise StoreError(
            subject, f"lp can't be started: {error.strerror or error}", remedy=instead
        ) from error
    if done.returncode:
        said = shown(" ".join((done.stderr or done.stdout).split()), 120) or f"lp ends with {done.returncode}"
        raise StoreError(subject, said, remedy=instead)
    # "request id is desk-12 (1 file(s))"
    words = done.stdout.split()
    return next((word for word in words if word.startswith(f"{queue}-")), queue)

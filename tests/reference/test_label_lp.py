"""Labels through a real CUPS server whose queues write into files: size, resolution, and codes that read."""

from __future__ import annotations

import os
import struct
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from harness_tui.printers import print_rulers, queues, remember_measures, send_labels
from model.errors import StoreError
from model.labels.layout import lay_out
from model.labels.lp import Job, jobs, lp_command
from model.labels.sheets import make_pdf, pages
from model.labels.stock import load_stocks
from tests.harness_tui.homes import own_home
from tests.model.labels.label_cases import label
from tests.reference import cups_server

STOCKS = load_stocks()

pytestmark = [
    pytest.mark.skipif(cups_server.DAEMON is None, reason="Debian's cups is not installed"),
    pytest.mark.skipif(getattr(os, "geteuid", lambda: 1)() != 0, reason="cupsd needs root to start filters"),
]


@pytest.fixture(scope="module")
def server() -> Iterator[cups_server.Server]:
    # not in pytest's folder: the filters run as another user, who can't get there
    with TemporaryDirectory(prefix="cups-") as folder, cups_server.serving(Path(folder)) as running:
        yield running


def _print(server: cups_server.Server, queue: str, name: str, dpi: int, folder: Path) -> tuple[Job, bytes]:
    stock = STOCKS[name].at(dpi)
    (job,) = jobs(pages([lay_out(stock, label())]), stock)
    pdf = folder / "label.pdf"
    make_pdf(job.pages, pdf, turned=job.turned)
    server.run(lp_command(job, queue, pdf))
    return job, server.printed(queue)


def _codes(image: Image.Image) -> list[str]:
    found = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
    return sorted(code.text for code in found)


@pytest.mark.parametrize(("name", "dpi"), [("flag-12", 300), ("flag-24", 180), ("flags-a4", 600)])
def test_pages_arrive_unscaled(server: cups_server.Server, name: str, dpi: int, tmp_path: Path) -> None:
    job, data = _print(server, "pdf", name, dpi, tmp_path)
    page = job.pages[0]
    with pypdfium2.PdfDocument(data) as document, pypdfium2.PdfDocument(tmp_path / "label.pdf") as ours:
        sides = sorted(points * 25.4 / 72 for points in document[0].get_size())
        wanted = sorted((page.width_mm, page.height_mm))
        more = [side - want for side, want in zip(sides, wanted, strict=True)]
        assert all(-0.15 < one < 0.4 for one in more), more
        boxes = [
            next(part.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE])).get_bounds()
            for part in (document[0], ours[0])
        ]
        assert sorted(_sides(boxes[0])) == pytest.approx(sorted(_sides(boxes[1])), abs=0.1)
        assert _codes(document[0].render(scale=600 / 72).to_pil()) == ["GRT-K7L-L"] * 2


def _sides(box: tuple[float, float, float, float]) -> tuple[float, float]:
    return (box[2] - box[0]) * 25.4 / 72, (box[3] - box[1]) * 25.4 / 72


@pytest.mark.parametrize(("name", "dpi"), [("flag-12", 300), ("flag-18", 180)])
def test_dots_arrive_one_to_one(server: cups_server.Server, name: str, dpi: int, tmp_path: Path) -> None:
    """CUPS raster: the header has the resolution at byte 276 and width and height in dots at 372."""
    job, data = _print(server, "raster", name, dpi, tmp_path)
    assert data[:4] == b"3SaR"
    across, down = struct.unpack_from("<II", data, 4 + 276)
    assert (across, down) == (dpi, dpi)
    width, height = struct.unpack_from("<II", data, 4 + 372)
    page = job.pages[0]
    assert width / dpi * 25.4 == pytest.approx(page.height_mm, abs=0.5)
    assert height / dpi * 25.4 == pytest.approx(page.width_mm, abs=0.5)


def test_labels_go_straight_to_the_queue_that_the_system_lists(
    server: cups_server.Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The program's own way: it asks for the queues, prints on one, and what `lp` refuses is said."""
    own_home(tmp_path / "home", monkeypatch)
    monkeypatch.setenv("CUPS_SERVER", f"127.0.0.1:{server.port}")
    assert set(queues()) == set(cups_server.FILTERS)
    layouts = [lay_out(STOCKS["flags-a4"], label(tag=tag)) for tag in ("K7L", "9C9", "H4E")]
    sent = send_labels(layouts, "pdf", "GRT", start=52, copies=1)
    assert (sent.pages, len(sent.jobs)) == (2, 1)
    assert sent.jobs[0].startswith("pdf-")
    with pypdfium2.PdfDocument(server.printed("pdf")) as document:
        assert len(document) == 2
        assert _codes(document[0].render(scale=600 / 72).to_pil()) == ["GRT-9C9-L"] * 2 + ["GRT-K7L-L"] * 2
    with pytest.raises(StoreError, match=r"printer nowhere: .*Write a PDF instead"):
        send_labels(layouts, "nowhere", "GRT")


def test_rulers_arrive_with_the_length_they_are_stretched_to(
    server: cups_server.Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A printer that prints 1 % short across: its next rulers are 1 % longer there, and down as before."""
    own_home(tmp_path / "home", monkeypatch)
    monkeypatch.setenv("CUPS_SERVER", f"127.0.0.1:{server.port}")
    sides = []
    for _ in range(2):
        print_rulers("pdf", "A4")
        with pypdfium2.PdfDocument(server.printed("pdf")) as document:
            part = next(document[0].get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]))
            sides.append(_sides(part.get_bounds()))
        remember_measures("pdf", 148.5, 200.0)
    assert sides[1][0] / sides[0][0] == pytest.approx(150 / 148.5, abs=0.001)
    assert sides[1][1] / sides[0][1] == pytest.approx(1.0, abs=0.001)


def test_rulers_on_a_tape_arrive_whole_and_stretched_along_it(
    server: cups_server.Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A printer that feeds 2 % short: its rulers, and the tape they are on, grow by that along it."""
    own_home(tmp_path / "home", monkeypatch)
    monkeypatch.setenv("CUPS_SERVER", f"127.0.0.1:{server.port}")
    inks, papers = [], []
    for _ in range(2):
        print_rulers("pdf", STOCKS["flag-12"].at(300))
        with pypdfium2.PdfDocument(server.printed("pdf")) as document:
            part = next(document[0].get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]))
            inks.append(sorted(_sides(part.get_bounds())))
            papers.append(sorted(points * 25.4 / 72 for points in document[0].get_size()))
        remember_measures("pdf", None, 98.0)
    assert inks[1][1] / inks[0][1] == pytest.approx(100 / 98, abs=0.001)
    assert inks[1][0] / inks[0][0] == pytest.approx(1.0, abs=0.005)
    assert papers[1][1] - papers[0][1] == pytest.approx(0.0204 * papers[0][1], abs=0.5)
    assert inks[1][1] < papers[1][1]

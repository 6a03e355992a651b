"""The commands that print labels. What a CUPS server makes of them is in tests/reference."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from model.errors import BadValue
from model.labels.layout import lay_out
from model.labels.lp import jobs, lp_command
from model.labels.sheets import pages
from model.labels.stock import load_stocks
from tests.model.labels.label_cases import label

STOCKS = load_stocks()


@pytest.mark.parametrize(
    ("name", "media", "turned"),
    [
        ("flags-a4", "A4", False),
        ("flags-letter", "Letter", False),
        ("plate-50x25", "Custom.154.1x71.1", False),  # 54 by 25 mm
    ],
)
def test_media_of_sheets_and_carriers(name: str, media: str, turned: bool) -> None:
    stock = STOCKS[name]
    (job,) = jobs(pages([lay_out(stock, label())]), stock)
    assert (job.media, job.dpi, job.turned) == (media, stock.dpi, turned)


def test_labels_of_one_length_go_in_one_job_and_tape_is_turned() -> None:
    stock = STOCKS["flag-12"].at(300)
    texts = [label(), label(tag="9C9"), label(lines=(("a",),)), label(lines=(("c",),))]
    sheets = pages([lay_out(stock, text) for text in texts])
    found = jobs(sheets, stock)
    assert [page for job in found for page in job.pages] == list(sheets)
    assert [len(job.pages) for job in found] == [2, 2]
    for job in found:
        assert job.turned
        width, length = job.media.removeprefix("Custom.").split("x")
        assert width == "35.1"  # 12 mm are 34.02 points
        assert 0.1 <= float(length) - job.pages[0].width_mm * 72 / 25.4 < 1.11


def test_command_prints_unscaled_at_the_resolution() -> None:
    stock = STOCKS["flags-a4"]
    (job,) = jobs(pages([lay_out(stock, label())]), stock)
    command = lp_command(job, "desk", Path("-odd name.pdf"), 2)
    assert command[:5] == ("lp", "-d", "desk", "-n", "2")
    assert command[-2:] == ("--", "-odd name.pdf")
    options = [after for before, after in pairwise(command) if before == "-o"]
    assert options == ["media=A4", "print-scaling=none", "printer-resolution=600dpi", "Resolution=600dpi"]


@pytest.mark.parametrize("queue", ["", "-o", "a b", "a;b", "a/b", "x" * 200, "a\n"])
def test_refuses_what_is_no_queue(queue: str) -> None:
    stock = STOCKS["flags-a4"]
    (job,) = jobs(pages([lay_out(stock, label())]), stock)
    with pytest.raises(BadValue):
        lp_command(job, queue, Path("a.pdf"))
    with pytest.raises(BadValue):
        lp_command(job, "desk", Path("a.pdf"), 0)

"""Damaged stock files: each ends in a clear error or in a stock that labels can be laid out on.

LOOMTAG_FUZZ=100000 runs the whole; without it a few thousand from the same seed.
"""

from __future__ import annotations

import math
import time
from importlib import resources
from pathlib import Path

import pytest

from model.errors import Faults
from model.labels.stock import RESOLUTIONS_DPI, Stock, stock_from_toml, stocks_with
from tests.mutations import batter, rounds


def good_files() -> list[bytes]:
    folder = resources.files("label_templates")
    return [
        entry.read_bytes()
        for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
        if entry.name.endswith(".toml")
    ]


def check(stock: Stock) -> None:
    """What could be read has room for print, a place on its medium, and a known resolution."""
    assert stock.title.isprintable()
    assert stock.note.isprintable()
    assert 0 <= 2 * stock.margin_x_mm < stock.length_mm <= stock.length_max_mm <= 300
    assert 0 <= 2 * stock.margin_y_mm < stock.print_height_mm <= stock.height_mm <= 300
    assert stock.dpi in stock.resolutions_dpi
    assert set(stock.resolutions_dpi) <= set(RESOLUTIONS_DPI)
    least, most = stock.od_range_mm
    assert 0 <= least <= most
    assert math.isfinite(stock.thickness_mm)
    assert (stock.sheet is None) == (stock.medium != "sheet")
    if stock.sheet is not None:
        assert stock.sheet.places >= 1


@pytest.mark.skipif("sys.platform == 'win32'", reason="no resource module")
def test_damaged_stock_files(tmp_path: Path) -> None:
    folder = tmp_path / "stock"
    folder.mkdir()
    path = folder / "my-own.toml"

    def read(data: bytes) -> Stock:
        path.write_bytes(data)
        stocks, faults = stocks_with(folder)
        if faults:
            raise Faults("stock", faults)
        return stocks["my-own"]

    figures = batter(good_files(), read, check, rounds(2500), seed=3)
    print(figures)
    assert figures["read"] > 0.05 * figures["count"]
    assert figures["refused"] > 0.5 * figures["count"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("schema = 1", "schema = 0x" + "f" * 5000),
        ("schema = 1", "schema = [" + "[" * 20000),
        ("schema = 1", "a." * 16000 + "a = 1"),
        ("height_mm = 12.0", "height_mm = 0x" + "f" * 5000),
        ("[180, 360, 203, 300, 600]", "[0x" + "f" * 5000 + "]"),
        ("[180, 360, 203, 300, 600]", "[0x" + "f" * 5000 + ", 'x']"),
        ('"flag"', "0x" + "f" * 5000),
    ],
)
def test_numbers_and_nesting_past_all_measure(old: str, new: str) -> None:
    good = next(data for data in good_files() if b'"Flag, tape 12 mm"' in data).decode()
    assert old in good
    begun = time.process_time()
    with pytest.raises(Faults) as caught:
        stock_from_toml(good.replace(old, new), "my-own.toml")
    assert len(caught.value.message()) < 600
    assert time.process_time() - begun < 2


def test_a_sleeve_that_no_wire_fits_is_refused() -> None:
    good = next(data for data in good_files() if b"expanded_mm = 2.36" in data).decode()
    assert "recovered_mm = 1.17" in good
    with pytest.raises(Faults, match=r"2 grips no wire that goes into 2\.36"):
        stock_from_toml(good.replace("recovered_mm = 1.17", "recovered_mm = 2.0"), "my-own.toml")

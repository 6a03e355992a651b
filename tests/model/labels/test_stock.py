"""Stock files: what comes with the program, the person's own, and every kind of fault."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.errors import BadValue, Faults, NotThere
from model.labels.stock import (
    KINDS,
    RESOLUTIONS_DPI,
    Stock,
    load_stocks,
    sleeve_stock_for,
    stock_from_toml,
    stock_named,
)
from model.standards.heatshrink import SLEEVES

STOCKS = load_stocks()

FLAG = """
schema = 1
title = "My flag"
kind = "flag"
medium = "tape"
resolutions_dpi = [203]

[label]
length_mm = [40.0, 60]
height_mm = 12
margin_x_mm = 1.0
margin_y_mm = 1.0

[tape]
width_mm = 12.0
gap_mm = 2.0
"""


def test_at_least_ten_of_all_kinds_and_resolutions() -> None:
    assert len(STOCKS) >= 10
    assert {stock.kind for stock in STOCKS.values()} == set(KINDS)
    assert {dpi for stock in STOCKS.values() for dpi in stock.resolutions_dpi} == set(RESOLUTIONS_DPI)
    assert {stock.sheet.page for stock in STOCKS.values() if stock.sheet} == {"A4", "Letter"}


SLEEVE_STOCKS = [stock for stock in STOCKS.values() if stock.sleeve]


@pytest.mark.parametrize("stock", SLEEVE_STOCKS, ids=lambda stock: stock.name)
def test_sleeve_stock_is_a_published_size_printed_at_its_flat_width(stock: Stock) -> None:
    tube = stock.sleeve
    assert tube is not None
    assert (tube.expanded_mm, tube.recovered_mm, tube.wall_mm) in {
        (size.expanded_mm, size.recovered_mm, size.wall_mm) for size in SLEEVES
    }
    assert stock.height_mm == pytest.approx(math.pi * tube.expanded_mm / 2, abs=0.01)


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda stock: stock.name)
def test_names_no_maker(stock: Stock) -> None:
    kinds = {"sleeve", "ladder", "flag", "flags", "wrap", "strips", "plate", "cards"}
    assert stock.name.split("-")[0] in kinds
    words = {word for word in re.split(r"[ ,]+", stock.title.lower()) if not word.replace(".", "").isdigit()}
    plain = "2:1 3:1 mm x of on a with under tape sheet a4 letter clear tail paper bench"
    assert words <= kinds | set(plain.split())


def test_own_folder_is_merged_in(tmp_path: Path) -> None:
    (tmp_path / "my-flag.toml").write_text(FLAG)
    (tmp_path / "notes.txt").write_text("not stock")
    stocks = load_stocks(tmp_path)
    assert len(stocks) == len(STOCKS) + 1
    mine = stocks["my-flag"]
    assert (mine.length_mm, mine.length_max_mm, mine.height_mm, mine.dpi) == (40.0, 60.0, 12.0, 203)
    assert load_stocks(tmp_path / "not there") == STOCKS


FAULTS = [
    ("schema = 1", "schema = 2", "schema"),
    ("schema = 1", "schema = true", "schema"),
    ("schema = 1", "", "schema"),
    ('kind = "flag"', 'kind = "pennant"', "kind"),
    ('kind = "flag"', 'kind = ["flag"]', "kind"),
    ('medium = "tape"', 'medium = "reel"', "medium"),
    ('title = "My flag"', "title = 3", "title"),
    ('title = "My flag"', 'title = "a\\u001b[31m"', "title"),
    ('title = "My flag"', f'title = "{"x" * 61}"', "title"),
    ("[203]", "[204]", "resolutions_dpi"),
    ("[203]", "[]", "resolutions_dpi"),
    ("[203]", "[203, 203]", "resolutions_dpi"),
    ("[203]", "[true]", "resolutions_dpi"),
    ("[203]", "203", "resolutions_dpi"),
    ("[40.0, 60]", "[60.0, 40.0]", "label.length_mm"),
    ("[40.0, 60]", "[40.0]", "label.length_mm"),
    ("[40.0, 60]", "4.0", "label.length_mm"),
    ("height_mm = 12", "height_mm = inf", "label.height_mm"),
    ("height_mm = 12", "height_mm = nan", "label.height_mm"),
    ("height_mm = 12", "height_mm = true", "label.height_mm"),
    ("height_mm = 12", 'height_mm = "12"', "label.height_mm"),
    ("height_mm = 12", "height_mm = 1" + "0" * 400, "label.height_mm"),
    ("height_mm = 12\n", "", "label.height_mm"),
    ("margin_y_mm = 1.0", "margin_y_mm = 6.0", "label.margin_y_mm"),
    ("margin_x_mm = 1.0", "margin_x_mm = 20.0", "label.margin_x_mm"),
    ("width_mm = 12.0", "width_mm = 9.0", "tape.width_mm"),
    ("gap_mm = 2.0", "gap_mm = 2.0\ncolour = 1", "tape.colour"),
    ("[tape]", "[ladder]", "tape"),
    ("[label]", "[label.more]", "label.more"),
    ("[label]", "printed_mm = 3\n[label]", "printed_mm"),
    ("schema = 1", "schema = 1\nbrand = 2", "brand"),
]


@pytest.mark.parametrize(("old", "new", "key"), FAULTS)
def test_fault_names_file_and_field(old: str, new: str, key: str) -> None:
    assert old in FLAG
    with pytest.raises(Faults) as caught:
        stock_from_toml(FLAG.replace(old, new, 1), "my-flag.toml")
    assert f"my-flag.toml: {key}" in [fault.subject for fault in caught.value.faults]
    assert "\x1b" not in caught.value.message()


def test_all_faults_of_all_files_at_once(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text(FLAG.replace("[203]", "[1]").replace("gap_mm = 2.0", "gap_mm = -1"))
    (tmp_path / "b.toml").write_text("not toml [")
    (tmp_path / "c.toml").write_bytes(b"title = '\xff'")
    (tmp_path / "d.toml").mkdir()
    (tmp_path / "e.toml").write_text("#" * 70_000)
    (tmp_path / "flag-12.toml").write_text(FLAG)
    (tmp_path / "Bad Name.toml").write_text(FLAG)
    with pytest.raises(Faults) as caught:
        load_stocks(tmp_path)
    subjects = [fault.subject for fault in caught.value.faults]
    assert subjects == [
        "Bad Name.toml: name",
        "a.toml: resolutions_dpi",
        "a.toml: tape.gap_mm",
        *("b.toml", "c.toml", "d.toml", "e.toml", "flag-12.toml"),
    ]


def test_sleeve_of_the_wrong_flat_width_is_refused() -> None:
    text = FLAG.replace('"flag"', '"sleeve"').replace("height_mm = 12", "height_mm = 3.0")
    text = text.replace("_mm = 1.0", "_mm = 0.3")
    text += "[sleeve]\nexpanded_mm = 2.36\nrecovered_mm = 1.17\nwall_mm = 0.5\n"
    with pytest.raises(Faults, match=r"3\.66 to 4\.38"):
        stock_from_toml(text, "mine.toml")
    assert stock_from_toml(text.replace("= 3.0", "= 3.71"), "mine.toml").sleeve is not None


def test_sheet_that_runs_off_the_page_is_refused() -> None:
    text = FLAG.replace('"tape"', '"sheet"').replace("[40.0, 60]", "60").partition("[tape]")[0]
    text += "[sheet]\npage = 'A4'\ncolumns = 3\nrows = 24\n"
    text += "left_mm = 10\ntop_mm = 5\ngap_x_mm = 5\ngap_y_mm = 0\n"
    assert stock_from_toml(text, "mine.toml").sheet is not None
    with pytest.raises(Faults, match="end at 265 mm"):
        stock_from_toml(text.replace("columns = 3", "columns = 4"), "mine.toml")
    with pytest.raises(Faults, match="end at 305 mm"):
        stock_from_toml(text.replace("rows = 24", "rows = 25"), "mine.toml")


def _stock_or_faults(text: str) -> Stock | Faults:
    try:
        return stock_from_toml(text, "my-flag.toml")
    except Faults as error:
        return error


@given(st.data())
def test_damaged_files_end_in_faults_or_a_stock(data: st.DataObject) -> None:
    text = bytearray(FLAG.encode())
    for _ in range(data.draw(st.integers(1, 6))):
        place = data.draw(st.integers(0, len(text) - 1))
        text[place : place + data.draw(st.integers(0, 4))] = data.draw(st.binary(max_size=3))
    found = _stock_or_faults(text.decode("utf-8", "replace"))
    if isinstance(found, Faults):
        assert found.faults
        return
    assert 0 < found.height_mm < 400
    assert found.dpi in RESOLUTIONS_DPI


@pytest.mark.parametrize(
    ("od_mm", "name"),
    [
        (1.0, "sleeve-1.6"),
        (0.7, "sleeve-1.5-3to1"),
        (1.3, "sleeve-1.6"),
        (1.5, "sleeve-2.4"),
        (2.2, "sleeve-3.2"),
        (9.0, "sleeve-12.7"),
        (40.0, None),
        (0.3, None),
    ],
)
def test_sleeve_for_a_diameter(od_mm: float, name: str | None) -> None:
    found = sleeve_stock_for(STOCKS, od_mm)
    assert (found.name if found else None) == name


def test_sleeve_like_another_keeps_medium_and_resolution() -> None:
    found = sleeve_stock_for(STOCKS, 2.0, like=STOCKS["ladder-2.4"].at(600))
    assert found is not None
    assert (found.name, found.dpi) == ("ladder-3.2", 600)


def test_unknown_stock_and_resolution() -> None:
    with pytest.raises(NotThere, match="flag-12, flag-18"):
        stock_named(STOCKS, "flag-13")
    assert stock_named(STOCKS, "flag-12") is STOCKS["flag-12"]
    with pytest.raises(BadValue, match="180, 203"):
        STOCKS["flag-12"].at(72)

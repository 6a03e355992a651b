"""Printers as the system knows them, what is remembered of each, and what is said when one does not print."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pypdfium2
import pytest

from harness_tui import printers
from harness_tui.preferences import Stretch, read_state, state_file
from harness_tui.printers import (
    calibration_of,
    checked_name,
    measured_printers,
    print_rulers,
    queues,
    remember_measures,
    send_labels,
    stretch_words,
    write_rulers,
)
from harness_tui.printing import write_labels
from model.errors import BadValue, StoreError
from model.labels.batch import wire_batch
from model.labels.items import Layout
from model.labels.stock import packaged_stocks
from tests.harness_tui.homes import own_home
from tests.model.tracing.loom import gritter

pytestmark = pytest.mark.skipif(os.name != "posix", reason="the stand-ins for lp are shell scripts")


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    return own_home(tmp_path / "home", monkeypatch)


def stand_in(folder: Path, **scripts: str) -> None:
    """Commands of these names, which are shell scripts."""
    (folder / "bin").mkdir(exist_ok=True)
    for name, script in scripts.items():
        path = folder / "bin" / name
        path.write_text(f"#!/bin/sh\n{script}\n")
        path.chmod(path.stat().st_mode | stat.S_IXUSR)


def layouts(stock: str = "flags-a4", count: int = 3) -> list[Layout]:
    batch = wire_batch(gritter(), packaged_stocks(), stock, "flag")
    return [label.layout for label in batch[:count]]


@pytest.mark.parametrize(
    ("lpstat", "found"),
    [
        ("echo desk; echo 'Office_2'", ("desk", "Office_2")),
        ("echo 'lpstat: no server' >&2; exit 1", ()),
        ("", ()),
    ],
)
def test_queues_are_those_the_system_lists(tmp_path: Path, lpstat: str, found: tuple[str, ...]) -> None:
    stand_in(tmp_path, lp="", lpstat=lpstat)
    assert queues() == found


def test_without_lp_there_is_none(tmp_path: Path) -> None:
    assert queues() == ()
    stand_in(tmp_path, lpstat="echo desk")
    assert queues() == ()


def test_a_system_that_does_not_answer_is_not_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(printers, "ASK_S", 0.2)
    stand_in(tmp_path, lp="", lpstat="while :; do :; done")
    assert queues() == ()


def test_each_stock_is_a_job_at_its_own_media_and_resolution(tmp_path: Path) -> None:
    stand_in(tmp_path, lp=f'echo "$@" >>{tmp_path}/said; echo "request id is desk-7 (1 file(s))"')
    sent = send_labels([*layouts(), *layouts("flag-12", 1)], "desk", "GRT", start=53, copies=2)
    assert (sent.jobs, sent.pages, sent.stopped) == (("desk-7", "desk-7"), 4, False)
    first, second = (tmp_path / "said").read_text().splitlines()
    for words in ("-d desk", "media=A4", "printer-resolution=600dpi", "print-scaling=none"):
        assert words in first
    assert "media=Custom.35.1x" in second


def test_stopping_keeps_what_was_sent(tmp_path: Path) -> None:
    stand_in(tmp_path, lp=f"echo job >>{tmp_path}/said")
    everything = [*layouts(), *layouts("flags-letter"), *layouts("cards-a4")]
    sent = send_labels(everything, "desk", "GRT", going=lambda done, total: done < 1)
    assert (sent.pages, sent.stopped) == (1, True)
    assert (tmp_path / "said").read_text() == "job\n"


@pytest.mark.parametrize(
    ("lp", "said"),
    [
        (
            "echo 'lp: The printer or class does not exist.' >&2; exit 1",
            "The printer or class does not exist",
        ),
        ("exit 3", "lp ends with 3"),
        (r"printf 'lp: \033[31mbad\n' >&2; exit 1", r"\\x1b\[31mbad"),
    ],
)
def test_what_lp_says_is_said_with_the_way_out(tmp_path: Path, lp: str, said: str) -> None:
    stand_in(tmp_path, lp=lp)
    with pytest.raises(StoreError, match=said) as caught:
        send_labels(layouts(), "desk", "GRT")
    assert "Write a PDF instead" in caught.value.message()


def test_a_system_without_lp_and_one_that_hangs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(StoreError, match="has no lp"):
        send_labels(layouts(), "desk", "GRT")
    monkeypatch.setattr(printers, "PATIENCE_S", 0.2)
    stand_in(tmp_path, lp="while :; do :; done")
    with pytest.raises(StoreError, match="does not answer"):
        send_labels(layouts(), "desk", "GRT")


def test_a_queue_that_can_not_be(tmp_path: Path) -> None:
    stand_in(tmp_path, lp="echo never")
    for queue in ("-o", "a b", ""):
        with pytest.raises(BadValue):
            send_labels(layouts(), queue, "GRT")


def test_measuring_the_same_page_twice_gives_the_same(tmp_path: Path) -> None:
    assert stretch_words("desk") == "not measured"
    write_rulers("desk", "A4", tmp_path)
    for _ in range(2):
        found = remember_measures("desk", 148.5, 201.0)
        assert (found.x, found.y) == (pytest.approx(150 / 148.5), pytest.approx(200 / 201))
    assert measured_printers() == ("desk",)
    assert calibration_of("office").x == 1.0
    # The next page is printed with that; if it measures true, nothing changes.
    write_rulers("desk", "Letter", tmp_path)
    before = read_state().printers["desk"]
    assert (before.page_x, before.page_y) == (before.x, before.y)
    remember_measures("desk", 150.0, 200.0)
    assert read_state().printers["desk"] == before
    assert "101.01 % across" in stretch_words("desk")


def test_a_printer_that_takes_no_paper_is_measured_on_its_tape(tmp_path: Path) -> None:
    tape = packaged_stocks()["flag-12"]
    assert write_rulers("tape", tape, tmp_path).name == "rulers-flag-12.pdf"
    for _ in range(2):
        found = remember_measures("tape", None, 98.0)
        assert (found.x, found.y) == (1.0, pytest.approx(100 / 98))
    lengths = []
    for calibration in (None, calibration_of("tape")):
        written = write_labels(layouts("flag-12", 1), tmp_path / "out", "GRT", calibration=calibration)
        with pypdfium2.PdfDocument(written.pdfs[0]) as pdf:
            lengths.append(pdf[0].get_size()[0])
    assert lengths[1] / lengths[0] == pytest.approx(100 / 98, abs=1e-4)
    # rulers on paper are of other lengths
    write_rulers("tape", "A4", tmp_path)
    assert remember_measures("tape", 150.0, 200.0).y == pytest.approx(100 / 98)


def test_rulers_on_a_tape_are_sent_turned_and_at_its_resolution(tmp_path: Path) -> None:
    stand_in(tmp_path, lp='echo "$@" > "${0%/*}/said"; echo "request id is desk-3 (1 file(s))"')
    assert print_rulers("desk", packaged_stocks()["flag-12"].at(180)) == "desk-3"
    said = (tmp_path / "bin" / "said").read_text()
    assert "media=Custom.35.1x331.1" in said
    assert "printer-resolution=180dpi" in said


def test_the_page_says_for_which_printer_it_is(tmp_path: Path) -> None:
    write_rulers("desk", "A4", tmp_path)
    remember_measures("desk", 148.5, 201.0)
    path = write_rulers("desk", "A4", tmp_path / "deep")
    assert path.name == "rulers-A4.pdf"
    plain = write_rulers("", "A4", tmp_path / "plain")
    assert path.read_bytes() != plain.read_bytes()
    assert measured_printers() == ("desk",), "a page for no printer is remembered for none"
    wide = []
    for one in (plain, path):
        with pypdfium2.PdfDocument(one) as pdf:
            width, height = (points * 25.4 / 72 for points in pdf[0].get_size())
            assert (width, height) == (pytest.approx(210, abs=0.1), pytest.approx(297, abs=0.1))
            part = next(pdf[0].get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]))
            left, _, right, _ = part.get_bounds()
            wide.append(right - left)
    assert wide[1] > wide[0]


def test_labels_for_a_measured_printer_are_stretched(tmp_path: Path) -> None:
    remember_measures("desk", 148.5, 201.0)
    sizes = []
    for name in ("", "desk"):
        calibration = calibration_of(name) if name else None
        written = write_labels(layouts(count=54), tmp_path / f"to{name}", "GRT", calibration=calibration)
        with pypdfium2.PdfDocument(written.pdfs[0]) as pdf:
            part = next(pdf[0].get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]))
            left, lower, right, upper = part.get_bounds()
            sizes.append((right - left, upper - lower))
    assert sizes[1][0] / sizes[0][0] == pytest.approx(150 / 148.5, abs=1e-4)
    assert sizes[1][1] / sizes[0][1] == pytest.approx(200 / 201, abs=1e-4)


def test_a_ruler_that_is_far_off_is_refused_and_nothing_is_remembered() -> None:
    with pytest.raises(BadValue, match="100 %"):
        remember_measures("desk", 120.0, 200.0)
    assert read_state().printers == {}


@pytest.mark.parametrize("name", ["", "  ", "x" * 61, "a\nb"])
def test_names_no_printer_has(name: str) -> None:
    with pytest.raises(BadValue):
        checked_name(name)


@pytest.mark.parametrize(
    "wrong",
    [
        "[printers.wild]\nx = 2.0",
        "[printers.odd]\nx = '1'",
        "[printers.none]\ny = nan",
        "[printers]\nflat = 3",
    ],
)
def test_what_no_printer_can_be_is_not_remembered(wrong: str) -> None:
    path = state_file()
    path.parent.mkdir(parents=True)
    path.write_text(f"[choices]\nprinter = 'desk'\nother = 3\n{wrong}\n[printers.desk]\nx = 1.01\ny = 0.99\n")
    state = read_state()
    assert dict(state.choices) == {"printer": "desk"}
    assert dict(state.printers) == {"desk": Stretch(x=1.01, y=0.99)}

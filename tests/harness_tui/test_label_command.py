"""`loomtag labels` as a plain command: what goes where, and the exit codes."""

from __future__ import annotations

import re
from pathlib import Path

import pypdfium2
import pytest
from PIL import Image

from harness_tui import printers
from harness_tui.cli import FINE, FOUND, UNUSABLE, main
from harness_tui.preferences import stock_folder
from harness_tui.projects import close_project, open_project
from model import editing
from model.harness import Spool
from model.store import load, save
from tests.harness_tui.homes import own_home
from tests.model.tracing.loom import gritter


@pytest.fixture(autouse=True)
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the project a.toml, and no printers."""
    monkeypatch.setattr(printers, "queues", lambda: ())
    folder = own_home(tmp_path / "home", monkeypatch)
    save(
        editing.set_spools(gritter(), [Spool(name="Red 28", colour="RD", length_mm=9500)]), folder / "a.toml"
    )
    return folder


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.rglob("*.png")}


def pages(path: Path) -> int:
    with pypdfium2.PdfDocument(path) as pdf:
        return len(pdf)


@pytest.mark.parametrize(
    ("options", "pdf", "page_count", "pictures"),
    [
        ((), "GRT-flag-12.pdf", 18, 18),
        (("--copies", "2"), "GRT-flag-12.pdf", 36, 18),
        (("--run", "indicator front left"), "GRT-flag-12.pdf", 6, 6),
        (("--stock", "flags-a4", "--start", "50"), "GRT-flags-a4.pdf", 2, 18),
        (("--stock", "sleeve-1.5-3to1", "--dpi", "600"), "GRT-sleeve-1.5-3to1.pdf", 18, 18),
        (("--stock", "sleeve"), "GRT-sleeve-1.5-3to1.pdf", 18, 18),
        (("--dpi", "300", "--strip", "300"), "GRT-flag-12.pdf", 6, 6),
        (("--stock", "flags-a4", "--strip", "300"), "GRT-flags-a4.pdf", 1, 18),
        (("--what", "joints"), "GRT-joints-flag-12.pdf", 1, 1),
        (("--what", "plugs", "--stock", "plate-50x25"), "GRT-plugs-plate-50x25.pdf", 1, 1),
        (("--what", "spools"), "GRT-spools-plate-50x25.pdf", 1, 1),
        (("--what", "cards", "--only", "unmade"), "GRT-cards-cards-a4.pdf", 1, 9),
    ],
)
def test_what_is_written(
    work: Path,
    options: tuple[str, ...],
    pdf: str,
    page_count: int,
    pictures: int,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["labels", "a.toml", "--out", "out", *options]) == FINE
    assert capsys.readouterr().out.strip() == str(Path("out") / pdf)
    assert pages(work / "out" / pdf) == page_count
    assert len(names(work / "out")) == pictures


def test_what_was_marked_is_not_new_and_what_changed_is_found(work: Path) -> None:
    assert main(["labels", "a.toml", "--run", "Beacon"]) == FINE
    assert main(["labels", "a.toml", "--only", "new", "--out", "new"]) == FINE
    assert names(work / "new").isdisjoint(names(work / "labels"))
    assert main(["labels", "a.toml", "--only", "new"]) == FOUND
    assert main(["labels", "a.toml", "--only", "changed"]) == FOUND
    save(editing.edit_lamp(load(work / "a.toml"), "L1", name="Blinker"), work / "a.toml")
    assert main(["labels", "a.toml", "--only", "changed", "--out", "changed"]) == FINE
    assert names(work / "changed") == {f"GRT-{tag}-{end}.png" for tag in ("K7L", "F8N") for end in "LC"}


def test_a_draft_leaves_the_project_as_it_is(work: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = (work / "a.toml").read_bytes()
    assert main(["labels", "a.toml", "--draft"]) == FINE
    assert (work / "a.toml").read_bytes() == before
    assert "Not marked as printed: a draft" in capsys.readouterr().err
    assert main(["labels", "a.toml", "--what", "cards"]) == FINE
    assert (work / "a.toml").read_bytes() == before, "of cards nothing is kept"


def test_a_project_that_is_open_elsewhere_is_printed_but_not_marked(
    work: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (work / "a.toml").read_bytes()
    holding = open_project(work / "a.toml")
    holding.begin()
    try:
        assert main(["labels", "a.toml"]) == FINE
    finally:
        close_project(holding)
    assert len(names(work / "labels")) == 18
    assert "Not marked as printed: is held by" in capsys.readouterr().err
    assert (work / "a.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("options", "code", "said"),
    [
        ((), UNUSABLE, "which project?"),
        (("a.toml", "--stock", "nope"), UNUSABLE, "Take one of"),
        (("a.toml", "--start", "99", "--stock", "flags-a4"), UNUSABLE, "1 to 54"),
        (("a.toml", "--start", "0", "--stock", "flags-a4"), UNUSABLE, "1 to 54"),
        (("a.toml", "--copies", "0"), UNUSABLE, "1 to 100"),
        (("a.toml", "--dpi", "77"), UNUSABLE, "180, 203, 300"),
        (("a.toml", "--strip", "5000"), UNUSABLE, "at most 1000 mm"),
        (("a.toml", "--strip", "nan"), UNUSABLE, "at most 1000 mm"),
        (("--calibration", "nope"), UNUSABLE, "stock nope: does not exist"),
        (("--calibration", "sleeve-1.6"), UNUSABLE, "at least 6 mm"),
        (("--calibration", "flags-a4"), UNUSABLE, "it is a sheet"),
        (("--measured", ",", "--printer", "desk"), UNUSABLE, "neither length"),
        (("a.toml", "--run", "Indicator"), UNUSABLE, "beginning of several"),
        (("a.toml", "--run", "Siren"), UNUSABLE, "is not there"),
        (("a.toml", "--printer", "desk"), UNUSABLE, "was never measured"),
        (("a.toml", "--send"), UNUSABLE, "leave out --send for a PDF"),
        (("a.toml", "--send", "--printer", "desk"), UNUSABLE, "is no queue of this system"),
        (("a.toml", "--what", "cards", "--stock", "plate-50x25"), FOUND, "no room for"),
        (("--measured", "150", "--printer", "desk"), UNUSABLE, "two lengths"),
        (("--measured", "150,x", "--printer", "desk"), UNUSABLE, "two lengths"),
        (("--measured", "150,200"), UNUSABLE, "printer: is empty"),
        (("--measured", "100,200", "--printer", "desk"), UNUSABLE, "at most a tenth off"),
    ],
)
def test_what_can_not_be_done_is_said(
    options: tuple[str, ...], code: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["labels", *options]) == code
    assert said in capsys.readouterr().err


def test_rulers_are_printed_measured_and_counted_in(work: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["labels", "--calibration", "Letter", "--out", "out", "--printer", "desk"]) == FINE
    assert pages(work / "out" / "rulers-Letter.pdf") == 1
    assert "--printer desk --measured ACROSS,DOWN" in capsys.readouterr().err
    assert main(["labels", "--measured", "148.5,201", "--printer", "desk"]) == FINE
    assert "101.01 % across" in capsys.readouterr().err
    assert main(["labels", "--printers"]) == FINE
    assert capsys.readouterr().out.split()[:3] == ["desk", "by", "PDF"]
    for options in ((), ("--printer", "desk")):
        assert (
            main(["labels", "a.toml", "--stock", "flags-a4", "--out", f"o{len(options)}", *options]) == FINE
        )
    plain, true = ((work / name / "GRT-flags-a4.pdf").read_bytes() for name in ("o0", "o2"))
    assert plain != true


def test_a_printer_without_paper_is_measured_on_its_tape(
    work: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ask = ["labels", "--calibration", "flag-12", "--dpi", "180", "--printer", "tape", "--out", "out"]
    assert main(ask) == FINE
    told = capsys.readouterr()
    assert told.out.strip() == str(Path("out") / "rulers-flag-12.pdf")
    assert "--printer tape --measured ,ALONG" in told.err
    assert main(["labels", "--measured", ",98.0", "--printer", "tape"]) == FINE
    assert "100.00 % across, 102.04 % down" in capsys.readouterr().err


def test_each_strip_is_a_picture_with_its_resolution_named_by_its_ends(work: Path) -> None:
    assert main(["labels", "a.toml", "--dpi", "300", "--strip", "300", "--out", "out"]) == FINE
    with pypdfium2.PdfDocument(work / "out" / "GRT-flag-12.pdf") as pdf:
        sizes = [tuple(points * 25.4 / 72 for points in page.get_size()) for page in pdf]
    for number, (width_mm, height_mm) in enumerate(sizes, 1):
        (path,) = (work / "out" / "flag-12").glob(f"GRT-strip{number}-*.png")
        assert re.fullmatch(r"GRT-strip\d+-...-[LC]-to-...-[LC]", path.stem)
        with Image.open(path) as picture:
            assert picture.info["dpi"] == (pytest.approx(300, abs=0.01), pytest.approx(300, abs=0.01))
            assert picture.width / 300 * 25.4 == pytest.approx(width_mm, abs=0.1)
            assert picture.height / 300 * 25.4 == pytest.approx(height_mm, abs=0.1)


def test_what_does_not_fit_is_said_once_for_all_labels(
    work: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["labels", "a.toml", "--stock", "sleeve-3.2", "--draft"]) == FOUND
    told = capsys.readouterr().err.splitlines()
    (fault,) = (line for line in told if "mm thick" in line)
    assert " and 14 more: 0.836 mm thick" in fault
    assert "fits on sleeve-1.5-3to1" in fault
    assert any(line.startswith("18 labels on Sleeve 2:1, 3.2 mm, tape, 300 dpi, about 0.") for line in told)
    # what is less than wished is said too, and is no fault
    assert main(["labels", "a.toml", "--stock", "flag-12", "--dpi", "180", "--draft"]) == FINE
    noted = capsys.readouterr().err
    assert "note, label" in noted
    assert "modules of 2 dots" in noted


def test_own_stock_is_listed_and_its_faults_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["labels", "--list"]) == FINE
    known = len(capsys.readouterr().out.splitlines())
    stock_folder().mkdir(parents=True)
    (stock_folder() / "mine.toml").write_text("schema = 1\ntitle = 3\n")
    assert main(["labels", "--list"]) == FOUND
    told = capsys.readouterr()
    assert len(told.out.splitlines()) == known
    assert told.err.count("mine.toml") > 3

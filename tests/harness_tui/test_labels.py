"""Labels: from the table to files on disk, and what is printed stays known."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Sequence
from importlib import resources
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from PIL import Image
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.preferences import stock_folder
from harness_tui.printers import Sent
from harness_tui.printing import Written, write_labels
from harness_tui.screens import labels as labels_screen
from harness_tui.screens import printer_slip, printing
from harness_tui.screens.find import FindScreen
from harness_tui.screens.labels import LabelsScreen
from harness_tui.screens.printing import PrintScreen
from harness_tui.session import Session
from harness_tui.widgets.columns import FittedTable
from harness_tui.widgets.label_lines import label_row
from model import editing
from model.editing import new_harness
from model.errors import StoreError
from model.harness import Harness, Spool
from model.labels.batch import wire_batch
from model.labels.items import Layout
from model.labels.stock import packaged_stocks
from model.routing.allot import settle
from model.routing.wires import derive
from tests.harness_tui.homes import own_home
from tests.harness_tui.screen_text import screen_text
from tests.model.tracing.loom import gritter


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Nothing of the person's is read, and no printer of this system is known."""
    for module in (printer_slip, printing):
        monkeypatch.setattr(module, "queues", lambda: ())
    return own_home(tmp_path / "home", monkeypatch)


def labels(harness: Harness, path: Path | None = None) -> LoomApp:
    return LoomApp(Session(harness, path), room="labels")


def flat(app: LoomApp) -> str:
    """The screen without its line breaks."""
    return " ".join(screen_text(app).split())


def table(app: LoomApp) -> FittedTable:
    return app.screen.query_one(FittedTable)


def printed(app: LoomApp) -> set[str]:
    """Tag and end of every label that is known to be printed."""
    found = set()
    for record in app.session.harness.ledger:
        found |= {f"{record.tag}-L"} if record.printed_lamp else set()
        found |= {f"{record.tag}-C"} if record.printed_controller else set()
    return found


async def test_every_wire_has_both_its_labels_and_a_picture() -> None:
    app = labels(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert table(app).row_count == 18
        assert "Labels 18, 18 to print" in screen_text(app)
        assert "not printed 18" in screen_text(app)
        await pilot.press("k")
        await pilot.pause()
        app.screen.query_one(FittedTable).go_to("K7L-L")
        await pilot.pause()
        text = screen_text(app)
        assert re.search(r"\u2502 K7L +\u2212", text), "the label in letters"
        assert "lamp end" in text
        assert "\u2588" in text, "and as it is drawn"
        assert "Flag, tape 12 mm, 180 dpi" in text
        await pilot.press("enter")
        await pilot.pause()
        assert screen_text(app).count("\u2588") > text.count("\u2588"), "Enter enlarges"
        await pilot.press("escape")
        await pilot.pause()
        assert table(app).display


async def test_printing_writes_true_files_and_marks_them(tmp_path: Path) -> None:
    app = labels(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("k", "p")
        await pilot.pause()
        assert app.screen.query_one("#folder", Input).value == str(tmp_path / "GRT-labels")
        await pilot.press("enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "100 %" in screen_text(app)
        assert "18 labels marked as printed." in flat(app)
        assert len(printed(app)) == 18, "before any key more"
        pictures = sorted((tmp_path / "GRT-labels" / "flag-12").glob("*.png"))
        assert len(pictures) == 18
        for picture in pictures:
            with Image.open(picture) as image:
                codes = zxingcpp.read_barcodes(image.convert("L"))
            assert {code.text for code in codes} == {picture.stem}
        pdf = pypdfium2.PdfDocument(tmp_path / "GRT-labels" / "GRT-flag-12.pdf")
        assert len(pdf) == 18
        pdf.close()
        await pilot.press("enter")
        await pilot.pause()
        assert len(printed(app)) == 18
        assert screen_text(app).splitlines()[0].split("  ")[-2].strip() == "Labels 18"
        # A renamed lamp makes the labels of its wires untrue, and only those.
        app.session.apply(lambda harness: editing.edit_lamp(harness, "L1", name="Blinker"), "rename")
        await pilot.press("w", "w")
        await pilot.pause()
        assert "changed 4" in screen_text(app)
        assert table(app).row_count == 4
        assert "says something else now" in flat(app)


@pytest.mark.parametrize("leave", ["escape", "enter"])
async def test_no_key_loses_that_labels_were_printed(tmp_path: Path, leave: str) -> None:
    app = labels(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r", "enter")
        await app.workers.wait_for_complete()
        await pilot.press(leave)
        await pilot.pause()
        assert isinstance(app.screen, LabelsScreen)
        assert len(printed(app)) == 1
        assert len(list(tmp_path.rglob("*.png"))) == 1
        assert "u takes the mark off again" in flat(app)
        await pilot.press("u")
        await pilot.pause()
        assert printed(app) == set(), "the file was only looked at"


async def test_labels_that_did_not_come_out_are_as_before(tmp_path: Path) -> None:
    harness = editing.mark_printed(gritter(), [("K7L", "C")], "2026-01-01", said={("K7L", "C"): "old"})
    app = labels(harness, tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("p", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert len(printed(app)) == 18
        await pilot.press("n")
        await pilot.pause()
        assert isinstance(app.screen, LabelsScreen)
        assert printed(app) == {"K7L-C"}, "an older print is not forgotten with it"
        record = app.session.harness.ledger.get("K7L")
        assert (record.printed_controller, record.said_controller) == ("2026-01-01", "old")
        await pilot.press("m", "u", "u")
        await pilot.pause()
        assert printed(app) == {"K7L-C"}, "a mark by hand is taken back too, and only once"


async def test_what_is_printed_on_sleeves_is_not_printed_on_flags(tmp_path: Path) -> None:
    app = labels(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("m")
        await pilot.pause()
        assert "not printed 17 " in flat(app)
        await pilot.press("k")
        await pilot.pause()
        assert "not printed 18 " in flat(app)
        await pilot.press("m", "k", "m", "k")
        await pilot.pause()
        assert "not printed 17 " in flat(app), "the sleeve's mark is off again, the flag's is not"


async def test_a_folder_that_cannot_be_is_said_and_another_can_be_typed(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    app = labels(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r")
        await pilot.pause()
        folder = app.screen.query_one("#folder", Input)
        folder.value = str(tmp_path / "file" / "labels")
        await pilot.press("enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "can't be made" in flat(app)
        folder.value = str(tmp_path / "elsewhere")
        app.screen.query_one("#copies", Input).value = "none"
        await pilot.press("enter")
        await pilot.pause()
        assert "none is not a number" in flat(app)
        app.screen.query_one("#copies", Input).value = "2"
        await pilot.press("enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        pdf = pypdfium2.PdfDocument(next((tmp_path / "elsewhere").glob("*.pdf")))
        assert len(pdf) == 2, "two copies"
        pdf.close()


async def test_escape_stops_the_printing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def slow(
        layouts: Sequence[Layout], folder: Path, code: str, *, going: Callable[[int, int], bool], **_: Any
    ) -> Written:
        for done in range(1000):
            if not going(done, 1000):
                return Written(folder=folder, pdfs=(), pictures=0, stopped=True)
            time.sleep(0.01)
        raise AssertionError("was not stopped")

    monkeypatch.setattr(printing, "write_labels", slow)
    app = labels(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("p", "enter")
        await pilot.pause(0.3)
        assert "of 1000" in screen_text(app)
        assert "Escape stops" in screen_text(app)
        await pilot.press("escape")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Stopped." in screen_text(app)
        assert isinstance(app.screen, PrintScreen)
        await pilot.press("escape")
        await pilot.pause()
        assert printed(app) == set()


@pytest.mark.parametrize("steps", [0, 1, 5])
def test_stopped_writing_leaves_no_half_pdf(tmp_path: Path, steps: int) -> None:
    batch = wire_batch(gritter(), packaged_stocks(), "", "flag")
    written = write_labels(
        [label.layout for label in batch], tmp_path, "GRT", going=lambda done, total: done < steps
    )
    assert written.stopped
    assert list(tmp_path.rglob("*.pdf*")) == []


def test_labels_of_several_stocks_give_a_pdf_each(tmp_path: Path) -> None:
    harness = gritter()
    flags, sleeves = (wire_batch(harness, packaged_stocks(), "", group) for group in ("flag", "sleeve"))
    written = write_labels([label.layout for label in (*flags, *sleeves)], tmp_path, "GRT")
    assert sorted(path.name for path in written.pdfs) == ["GRT-flag-12.pdf", "GRT-sleeve-1.5-3to1.pdf"]
    assert written.pictures == 36
    assert len(list(tmp_path.rglob("*.png"))) == 36


def test_a_part_used_sheet_starts_where_it_is_free(tmp_path: Path) -> None:
    batch = wire_batch(gritter(), packaged_stocks(), "flags-a4", "flag")
    layouts = [label.layout for label in batch]
    places = layouts[0].stock.sheet.places if layouts[0].stock.sheet else pytest.fail("no sheet")
    for start, expected in ((0, 1), (places - 17, 2)):
        (path,) = write_labels(layouts, tmp_path, "GRT", start=start).pdfs
        pdf = pypdfium2.PdfDocument(path)
        assert len(pdf) == expected
        pdf.close()


def test_a_folder_that_may_not_be_written_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "flag-12").write_text("in the way")
    batch = wire_batch(gritter(), packaged_stocks(), "", "flag")
    with pytest.raises(StoreError, match="can't be made"):
        write_labels([label.layout for label in batch], tmp_path, "GRT")


async def test_the_stock_chosen_is_remembered() -> None:
    app = labels(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("k", "s", "down", "down", "down", "enter")
        await pilot.pause()
        name = app.session.harness.settings.flag_stock
        assert name.startswith("flag-")
        stock = packaged_stocks()[name]
        assert stock.title in screen_text(app)
        await pilot.press("k", "s", "end", "enter")
        await pilot.pause()
        chosen = packaged_stocks()[app.session.harness.settings.sleeve_stock]
        assert chosen.kind in ("sleeve", "strip")
        assert app.session.harness.settings.flag_stock == name
    again = labels(app.session.harness)
    async with again.run_test(size=(80, 24)) as pilot:
        assert chosen.title[:20] in screen_text(again)


async def test_a_stock_that_is_gone_is_said_and_another_can_be_chosen() -> None:
    harness = editing.set_settings(gritter(), sleeve_stock="sleeve-99")
    app = labels(harness)
    async with app.run_test(size=(80, 24)) as pilot:
        assert "sleeve-99" in screen_text(app)
        assert "does not exist" in screen_text(app)
        await pilot.press("s", "home", "enter")
        await pilot.pause()
        assert app.session.harness.settings.sleeve_stock == ""
        assert table(app).row_count == 18


async def test_what_does_not_fit_is_listed_with_what_would() -> None:
    # One wire is so short that one sleeve stands for both its ends.
    app = labels(editing.set_settings(gritter(), sleeve_stock="sleeve-12.7"))
    async with app.run_test(size=(80, 24)) as pilot:
        assert "with problems 17" in screen_text(app)
        assert "0.836091 mm thick" in screen_text(app) or "mm thick" in screen_text(app)
        assert "fits on:" in screen_text(app)
        await pilot.press("w", "w", "w", "w")
        await pilot.pause()
        assert table(app).row_count == 17
        await pilot.press("k")
        await pilot.pause()
        assert "No label has problems." in flat(app)


async def test_one_run_and_marks_by_hand() -> None:
    app = labels(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        table(app).go_to("K7L-L")
        await pilot.press("o")
        await pilot.pause()
        assert "run of Indicator front left" in screen_text(app)
        tags = {label.text.tag for label in app.screen._shown()}  # type: ignore[attr-defined]
        assert tags == {"K7L", "F8N", "9C9"}
        table(app).go_to("K7L-C")
        await pilot.press("m")
        await pilot.pause()
        assert printed(app) == {"K7L-C"}
        await pilot.press("m")
        await pilot.pause()
        assert printed(app) == set()
        await pilot.press("escape")
        await pilot.pause()
        assert table(app).row_count == 18


async def test_many_labels_are_worked_out_behind_the_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(labels_screen, "AT_ONCE", 3)
    monkeypatch.setattr(labels_screen, "AT_ONCE_S", 0.0)
    app = labels(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        screen = app.screen
        assert isinstance(screen, LabelsScreen)
        screen.go_to("N6H")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert table(app).row_count == 18
        assert table(app).here == "N6H-L", "the cursor goes where it was sent, once there is something"
        await pilot.press("m")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Labels 18, 17 to print" in screen_text(app)


async def test_nothing_to_print_yet() -> None:
    app = labels(new_harness("Empty", "NIL"))
    async with app.run_test(size=(80, 24)) as pilot:
        assert "Press 4 and walk the lamps" in flat(app)
        await pilot.press("p", "r", "w", "o", "m", "f", "d", "enter", "k")
        await pilot.pause()
        assert isinstance(app.screen, LabelsScreen)
        assert "Press 4 and walk the lamps" in flat(app)


async def test_a_project_open_for_reading_can_be_printed_but_not_marked(tmp_path: Path) -> None:
    app = LoomApp(Session(gritter(), tmp_path / "a.toml", read_only="is open elsewhere"), room="labels")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Nothing is marked as printed: this project is open elsewhere." in flat(app)
        await pilot.press("enter")
        await pilot.pause()
        assert "Marked as printed" not in flat(app)
        assert printed(app) == set()
        assert list(tmp_path.rglob("*.png"))


@pytest.mark.parametrize(
    ("size", "name"),
    [((20, 5), "[/]"), ((40, 10), "../../etc"), ((200, 60), "\U0001f6a8" * 9), ((80, 24), "x" * 60)],
)
async def test_any_name_in_any_window(tmp_path: Path, size: tuple[int, int], name: str) -> None:
    app = labels(settle(editing.edit_lamp(gritter(), "L1", name=name)), tmp_path / "deep" / "a.toml")
    async with app.run_test(size=size) as pilot:
        await pilot.press("k", "enter", "escape", "o", "escape", "r", "enter")
        await app.workers.wait_for_complete()
        await pilot.press("enter")
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert len(printed(app)) == 1
        assert all((tmp_path / "deep") in path.parents for path in tmp_path.rglob("*.p*"))


async def test_joints_plugs_spools_and_cards_have_labels_too(tmp_path: Path) -> None:
    harness = editing.set_spools(gritter(), [Spool(name="Red 28", colour="RD", length_mm=9500)])
    app = labels(harness, tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        for what, some, said in (
            ("joints", "J1", "K7L H4E 9C9"),
            ("plugs", "P1", "2 contacts"),
            ("spools", "RED-28", "9.50 m"),
            ("cards", "K7L", "[ ] cut"),
        ):
            await pilot.press("t")
            await app.workers.wait_for_complete()
            await pilot.pause()
            table(app).go_to(some)
            await pilot.pause()
            assert said in flat(app), what
            await pilot.press("p", "enter")
            await app.workers.wait_for_complete()
            await pilot.pause()
            assert "100 %" in flat(app)
            assert next((tmp_path / "GRT-labels").glob(f"GRT-{what}-*.pdf"))
            await pilot.press("enter")
            await pilot.pause()
        assert {one.name for one in app.session.harness.printed} == {"J1", "P1", "RED-28"}
        assert "not made 9" in flat(app), "a card is not marked"
        await pilot.press("s", "down", "down", "enter")
        await pilot.pause()
        assert "Bench cards, Letter" in flat(app)
        await pilot.press("k", "t", "t")
        await pilot.pause()
        assert "not printed 0" in flat(app), "the joint's label is marked"
        await pilot.press("m")
        await pilot.pause()
        assert {one.name for one in app.session.harness.printed} == {"P1", "RED-28"}
        await pilot.press("f")
        await pilot.pause()
        assert isinstance(app.screen, FindScreen)
        assert "K7L" in screen_text(app), "a wire of the joint"


async def test_none_of_them_says_what_makes_some() -> None:
    app = labels(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("t", "t", "t")
        await pilot.pause()
        assert "Setup (0) says which wire is on hand" in flat(app)


async def test_straight_to_a_printer_of_the_system(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[str, int, int]] = []

    def send(
        layouts: Sequence[Layout], queue: str, code: str, *, start: int, copies: int, going: Any
    ) -> Sent:
        asked.append((queue, len(layouts), copies))
        if len(asked) == 1:
            raise StoreError(f"printer {queue}", "out of tape", remedy="Write a PDF instead.")
        going(18, 18)
        return Sent(queue=queue, jobs=("desk-1", "desk-2"), pages=18)

    for module in (printer_slip, printing):
        monkeypatch.setattr(module, "queues", lambda: ("desk", "office"))
    monkeypatch.setattr(printing, "send_labels", send)
    app = labels(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("p")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "desk, office" in flat(app)
        await pilot.press("space", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "printer desk: out of tape. Write a PDF instead." in flat(app)
        app.screen.query_one("#printer", Input).value = "des"
        await pilot.press("enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Sent to desk: 18 pages in 2 jobs; printer not measured." in flat(app)
        assert asked == [("desk", 18, 1), ("desk", 18, 1)]
        await pilot.press("enter")
        await pilot.pause()
        assert len(printed(app)) == 18
        assert list(tmp_path.rglob("*.pdf")) == []
        await pilot.press("p")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert app.screen.query_one("#printer", Input).value == "desk", "the last one is remembered"
        app.screen.query_one("#printer", Input).value = "fog"
        await pilot.press("enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "printer fog: is not known (desk, office)" in flat(app)


async def test_rulers_are_printed_then_measured_and_labels_come_out_true(tmp_path: Path) -> None:
    app = labels(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("c", "enter")
        await pilot.pause()
        assert "printer: is empty" in flat(app)
        await pilot.press(*"desk", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Then measure both rulers" in flat(app)
        assert (tmp_path / "GRT-labels" / "rulers-A4.pdf").exists()
        await pilot.press(*"148.5", "enter")
        await pilot.pause()
        assert "one of them is not measured" in flat(app)
        await pilot.press("tab", *"100", "enter")
        await pilot.pause()
        assert "at most a tenth off" in flat(app)
        app.screen.query_one("#down", Input).value = "201"
        await pilot.press("enter")
        await pilot.pause()
        assert "stretched to 101.01 % across, 99.50 % down" in flat(app)
        await pilot.press("escape", "p")
        await app.workers.wait_for_complete()
        await pilot.press("space", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "stretched for desk" in flat(app)


async def test_own_stock_can_be_printed_on_and_its_faults_are_said() -> None:
    stock_folder().mkdir(parents=True)
    text = (resources.files("label_templates") / "flag-12.toml").read_text("utf-8")
    (stock_folder() / "mine.toml").write_text(text.replace("Flag, tape 12 mm", "My own tape"))
    (stock_folder() / "bad.toml").write_text("schema = 1\ntitle = 3\n")
    app = labels(editing.set_settings(gritter(), flag_stock="mine"))
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.press("k")
        await pilot.pause()
        assert "My own tape" in flat(app)
        assert table(app).row_count == 18
        assert "bad.toml: title: 3 is not a plain text" in flat(app)
        assert "bad.toml: kind: is missing" in flat(app)


def test_an_end_is_called_after_what_it_goes_to() -> None:
    harness = gritter()
    ends = {
        label.key: label_row(label, 40)[1][2] for label in wire_batch(harness, packaged_stocks(), "", "flag")
    }
    for wire in derive(harness).wires:
        tag = harness.ledger.live()[wire.key].tag
        for letter, end, usual in (("L", wire.lamp_end, "lamp"), ("C", wire.controller_end, "controller")):
            name = {"joint": f"joint {end.ref}", "plug": f"plug {end.ref.split('.')[0]}"}
            assert ends[f"{tag}-{letter}"] == name.get(end.kind.value, usual)
    assert {"lamp", "controller", "joint J1", "plug P1"} <= set(ends.values())

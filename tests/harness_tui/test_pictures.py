"""Pictures of the terminal's own: asked for without losing a key, drawn dot by dot, half blocks elsewhere."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import IO

import pytest
import zxingcpp
from textual.app import App, ComposeResult

from harness_tui.pictures import ASK, Cell, Question, read_answer
from harness_tui.widgets.label_picture import LabelPicture, fitted
from model.labels.batch import one_face
from model.labels.layout import lay_out
from model.labels.stock import packaged_stocks
from tests.model.labels.label_cases import label

CELL = Cell(width=10, height=20)


@pytest.mark.parametrize(
    ("answer", "found"),
    [
        ("\x1b[6;20;10t\x1b[?62;4;22c", CELL),
        ("\x1b[6;20;10t\x1b[?4;22c", None),  # 4 is the class here, not an attribute
        ("\x1b[6;20;10t\x1b[?62;14;22c", None),
        ("\x1b[6;20;10t\x1b[?62;22c", None),
        ("\x1b[?62;4c", None),
        ("\x1b[6;0;0t\x1b[?62;4c", None),
        ("\x1b[6;99999;10t\x1b[?62;4c", None),
        ("", None),
        ("hello", None),
    ],
)
def test_what_an_answer_says(answer: str, found: Cell | None) -> None:
    assert read_answer(answer) == found


@contextmanager
def terminal(answer: Callable[[str], str]) -> Iterator[tuple[IO[str], int]]:
    """A terminal that answers what it is asked: the program's end as a file, and the other."""
    import pty
    import tty

    outer, inner = pty.openpty()
    tty.setraw(outer)

    def serve() -> None:
        said = os.read(outer, 100).decode()
        os.write(outer, answer(said).encode())

    thread = threading.Thread(target=serve, daemon=True)
    with os.fdopen(inner, "r+b", buffering=0) as raw, open(raw.fileno(), closefd=False) as file:
        thread.start()
        yield file, outer
        thread.join(5)
    os.close(outer)


needs_terminals = pytest.mark.skipif(os.name != "posix", reason="there are no pseudo-terminals")


@needs_terminals
@pytest.mark.parametrize(
    ("attributes", "found"), [("\x1b[?62;4;22c", CELL), ("\x1b[?62;22c", None), ("", None)]
)
def test_the_terminal_is_asked_once(
    attributes: str, found: Cell | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "xterm")
    asked: list[str] = []

    def answer(said: str) -> str:
        asked.append(said)
        return "\x1b[6;20;10t" + attributes

    with terminal(answer) as (file, _):
        assert Question(file, file).answer() == found
    assert asked == [ASK]


@needs_terminals
def test_what_is_typed_already_is_left_to_the_program(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    with terminal(lambda said: "") as (file, outer):
        os.write(outer, b"6\n")
        assert Question(file, file).answer() is None
        assert os.read(file.fileno(), 10).strip() == b"6"
        os.write(file.fileno(), b"done")  # lets the other end go


def test_nothing_is_asked_where_there_is_no_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with open(os.devnull) as nothing:
        assert Question(nothing, nothing).answer() is None
    monkeypatch.setenv("TERM", "dumb")
    assert Question().answer() is None
    assert capsys.readouterr().out == ""


class _Shows(App[None]):
    def compose(self) -> ComposeResult:
        yield LabelPicture(id="picture")


async def test_a_label_is_drawn_as_a_picture_that_can_be_scanned() -> None:
    layout = one_face(lay_out(packaged_stocks()["flag-12"].at(300), label()))
    drawn, columns, rows = fitted(layout, 78, 20, CELL)
    assert drawn.size == (columns * 10, rows * 20)
    assert (columns <= 78, rows <= 20) == (True, True)
    assert [code.text for code in zxingcpp.read_barcodes(drawn)] == ["GRT-K7L-L"]
    app, before = _Shows(), sys.__stdout__
    async with app.run_test(size=(80, 24)) as pilot:
        picture = app.query_one(LabelPicture)
        assert picture.show_label(layout, None, 78, 20) is False
        assert picture.display is False
        assert picture.show_label(layout, CELL, 78, 20) is True
        await pilot.pause()
        assert sys.__stdout__ is before
        assert (picture.region.width, picture.region.height) == (columns, rows)
        lines = picture.children[0].children[0].render_lines(picture.children[0].children[0].size.region)
        assert any("\x1bP" in segment.text for line in lines for segment in line)
        assert picture.show_label(None, CELL, 78, 20) is False
        await pilot.pause()
        assert picture.display is False


def test_a_label_larger_than_the_room_is_made_smaller() -> None:
    layout = lay_out(packaged_stocks()["cards-a4"], label())
    drawn, columns, rows = fitted(layout, 60, 10, CELL)
    assert columns <= 60
    assert rows <= 10
    assert drawn.getextrema()[0][0] < 128

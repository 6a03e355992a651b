"""`loomtag plan` in a terminal: a bar while it works, tables as wide as there is room."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from harness_tui import cli
from harness_tui.examples import text


@pytest.fixture
def tug(tmp_path: Path) -> Path:
    path = tmp_path / "tug.toml"
    path.write_text(text("tug"), encoding="utf-8")
    return path


def test_a_bar_runs_once_the_work_takes_a_while(
    tug: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(cli, "BAR_AFTER_S", 0.0)
    assert cli.main(["plan", str(tug)]) == cli.FINE
    out, talk = capsys.readouterr()
    steps = [part for part in talk.split("\r\x1b[K") if part]
    shares = [int(step.rpartition(" ")[2].removesuffix("%")) for step in steps if step.endswith("%")]
    assert shares == sorted(shares)
    assert len(shares) > 5
    assert talk.endswith("\r\x1b[K"), "it is wiped away in the end"
    assert "\x1b" not in out


def test_no_bar_goes_into_a_file(tug: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["plan", str(tug)]) == cli.FINE
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("command", ["plan", "cuts"])
def test_a_terminal_of_80_columns_is_not_overrun(
    tug: Path, command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", "80")
    assert cli.main([command, str(tug)]) == cli.FINE
    assert max(map(len, capsys.readouterr().out.splitlines())) <= 80

"""`loomtag papers`: what it writes, where, and what it says."""

from __future__ import annotations

import csv
from importlib import resources
from pathlib import Path

import pytest
from pypdfium2 import PdfDocument

from harness_tui.cli import FINE, UNUSABLE, main
from harness_tui.preferences import stock_folder
from harness_tui.projects import new_project
from model import editing
from model.papers.csv_writer import papers_csv
from model.papers.shelf import PAPERS
from tests.harness_tui.homes import own_home
from tests.model.tracing.loom import gritter


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "gritter.toml"
    new_project(path, gritter())
    return path


def test_every_paper_is_written_and_named_on_standard_output(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "deep" / "papers"
    assert main(["papers", str(project), "--out", str(out), "--paper", "Letter"]) == FINE
    said = capsys.readouterr()
    written = {path.name for path in out.iterdir()}
    assert written == {"GRT-papers.pdf", "GRT-papers.html", *papers_csv(PAPERS, gritter())}
    assert {Path(line).name for line in said.out.splitlines()} == written
    assert "100 %" in said.err
    size = PdfDocument(out / "GRT-papers.pdf").get_page_size(0)
    assert [round(side / 72 * 25.4, 1) for side in size] == [215.9, 279.4]
    with (out / "GRT-wire-list.csv").open(encoding="utf-8-sig", newline="") as file:
        tags = {row["tag"] for row in csv.DictReader(file)}
    html = (out / "GRT-papers.html").read_text(encoding="utf-8")
    assert all(f'id="GRT-{tag}-{end}"' in html for tag in tags for end in "LC")


def test_what_cannot_be_written_is_said(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "taken").write_text("in the way")
    assert main(["papers", str(project), "--out", str(tmp_path / "taken")]) == UNUSABLE
    assert "can't be made: a file has that name" in capsys.readouterr().err
    with pytest.raises(SystemExit) as left:
        main(["papers", str(project), "--paper", "a3"])
    assert left.value.code == UNUSABLE


def test_a_stock_of_ones_own_stands_in_the_parts_list(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    own_home(tmp_path, monkeypatch)
    stock_folder().mkdir(parents=True)
    own = (resources.files("label_templates") / "flag-12.toml").read_text("utf-8")
    (stock_folder() / "mine.toml").write_text(own.replace("Flag, tape 12 mm", "My own flags"))
    path = tmp_path / "flags.toml"
    new_project(path, editing.set_settings(gritter(), sleeve_stock="mine"))
    assert main(["papers", str(path), "--out", str(tmp_path / "out")]) == FINE
    assert "My own flags" in (tmp_path / "out" / "GRT-parts-list.csv").read_text(encoding="utf-8-sig")
    assert "My own flags" in (tmp_path / "out" / "GRT-papers.html").read_text(encoding="utf-8")

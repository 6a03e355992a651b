"""Opening, making and copying project files; what another session or another program does to them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from harness_tui import projects
from harness_tui.preferences import read_state
from harness_tui.projects import (
    close_project,
    file_name,
    free_copy_name,
    free_path,
    new_project,
    open_project,
    recent_projects,
    save_copy,
)
from model.editing import add_lamp, new_harness
from model.errors import ChangedOnDisk, Conflict, Faults, NotThere, StoreError
from model.harness import Harness
from model.store.copies import backups
from model.store.project import load
from model.store.writing import dumps
from tests.harness_tui.homes import own_home


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return own_home(tmp_path, monkeypatch)


def tug() -> Harness:
    return add_lamp(new_harness("Tug", "TUG"), "stern", output=1, measured_mm=200.0)


def test_a_new_project_is_on_disk_at_once_and_each_step_after_it(work: Path) -> None:
    session = new_project(work / "tug.toml", tug())
    assert [lamp.name for lamp in load(work / "tug.toml").lamps] == ["stern"]
    session.apply(lambda harness: add_lamp(harness, "anchor"), "add anchor")
    assert [lamp.name for lamp in load(work / "tug.toml").lamps] == ["stern", "anchor"]
    session.undo()
    assert [lamp.name for lamp in load(work / "tug.toml").lamps] == ["stern"]
    assert [path.name for path in recent_projects()] == ["tug.toml"]
    close_project(session)


def test_a_new_project_never_takes_the_place_of_a_file(work: Path) -> None:
    (work / "tug.toml").write_text("my diary")
    with pytest.raises(ChangedOnDisk, match="exists already"):
        new_project(work / "tug.toml", tug())
    assert (work / "tug.toml").read_text() == "my diary"


def test_opened_again_it_is_the_same_with_a_backup(work: Path) -> None:
    close_project(new_project(work / "tug.toml", tug()))
    session = open_project("tug.toml")
    assert dumps(session.harness) == dumps(load(work / "tug.toml"))
    session.begin()
    assert len(backups(work / "tug.toml")) == 1
    assert not session.read_only
    close_project(session)


def test_a_second_session_reads_only_and_says_who_has_it(work: Path) -> None:
    script = (
        "import sys; from harness_tui.projects import open_project; "
        "s = open_project('tug.toml'); s.begin(); print('open', flush=True); sys.stdin.read()"
    )
    close_project(new_project(work / "tug.toml", tug()))
    root = Path(projects.__file__).parent.parent
    other = subprocess.Popen(
        [sys.executable, "-c", script],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(root), "XDG_STATE_HOME": str(work / "s")},
    )
    try:
        assert other.stdout is not None
        assert other.stdout.readline().strip() == b"open"
        session = open_project("tug.toml")
        session.begin()
        assert f"process {other.pid}" in session.read_only
        with pytest.raises(Conflict, match="Close the other session"):
            session.apply(lambda harness: add_lamp(harness, "anchor"), "add anchor")
        other.kill()
        other.wait()
        # A session that died lets go of its file.
        again = open_project("tug.toml")
        again.begin()
        assert not again.read_only
        close_project(again)
    finally:
        other.kill()
        other.communicate()


def test_what_another_program_wrote_is_not_written_over(work: Path) -> None:
    session = new_project(work / "tug.toml", tug())
    theirs = dumps(add_lamp(tug(), "theirs"))
    (work / "tug.toml").write_text(theirs)
    session.apply(lambda harness: add_lamp(harness, "mine"), "add mine")
    assert "changed by another program" in session.unsaved
    assert (work / "tug.toml").read_text() == theirs
    # The work is not lost: a copy holds it.
    path = save_copy(session, "mine.toml")
    assert [lamp.name for lamp in load(path).lamps] == ["stern", "mine"]
    close_project(session)


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser may write everywhere")
def test_a_protected_file_is_read_only(work: Path) -> None:
    close_project(new_project(work / "tug.toml", tug()))
    (work / "tug.toml").chmod(0o444)
    session = open_project("tug.toml")
    session.begin()
    assert "write-protected" in session.read_only


@pytest.mark.parametrize(
    ("content", "kind"), [(None, StoreError), (b"\xff", StoreError), (b"schema = 1\n[project]\n", Faults)]
)
def test_a_file_that_cannot_be_used_leaves_no_lock_behind(
    work: Path, content: bytes | None, kind: type
) -> None:
    if content is not None:
        (work / "bad.toml").write_bytes(content)
    for _ in range(2):  # the second try is not told that the first holds it
        with pytest.raises(kind):
            open_project("bad.toml")
    assert read_state().recent == ()


def test_a_folder_and_the_home_sign(work: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(StoreError, match="is a folder"):
        open_project(work)
    monkeypatch.setenv("HOME", str(work))
    monkeypatch.setenv("USERPROFILE", str(work))
    close_project(new_project("~/tug.toml", tug()))
    assert (work / "tug.toml").exists()


def test_recent_projects_that_are_gone_are_left_out_and_not_forgotten(work: Path) -> None:
    close_project(new_project("a.toml", tug()))
    close_project(new_project("b.toml", tug()))
    (work / "b.toml").rename(work / "elsewhere.toml")
    assert [path.name for path in recent_projects()] == ["a.toml"]
    assert len(read_state().recent) == 2


class TestDemo:
    @pytest.fixture(autouse=True)
    def shelf(self, monkeypatch: pytest.MonkeyPatch) -> None:
        import harness_tui.examples as examples

        monkeypatch.setattr(examples, "names", lambda: ("tug",), raising=False)
        monkeypatch.setattr(examples, "text", lambda name: dumps(tug()), raising=False)

    def test_is_a_copy_of_the_persons_own_that_is_kept(self, work: Path) -> None:
        session = projects.open_demo("tug")
        session.apply(lambda harness: add_lamp(harness, "anchor"), "add anchor")
        close_project(session)
        session = projects.open_demo("tug")
        assert [lamp.name for lamp in session.harness.lamps] == ["stern", "anchor"]
        close_project(session)

    def test_can_be_had_fresh_with_the_old_one_backed_up(self, work: Path) -> None:
        session = projects.open_demo("tug")
        session.apply(lambda harness: add_lamp(harness, "anchor"), "add anchor")
        close_project(session)
        session = projects.open_demo("tug", fresh=True)
        assert [lamp.name for lamp in session.harness.lamps] == ["stern"]
        assert session.path is not None
        assert any("anchor" in backup.path.read_text() for backup in backups(session.path))
        close_project(session)

    def test_of_another_name_is_not_there(self, work: Path) -> None:
        with pytest.raises(NotThere, match="There are tug"):
            projects.open_demo("../../etc/passwd")


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("Winter gritter", "winter-gritter.toml"),
        ("\u00dcber [/] Tug!", "uber-tug.toml"),
        ("../../etc/passwd", "etc-passwd.toml"),
        ("\u65e5\u672c", "model.toml"),
        ("...", "model.toml"),
        ("x" * 60, "x" * 60 + ".toml"),
    ],
)
def test_file_names(name: str, file: str) -> None:
    assert file_name(name) == file


def test_free_names(work: Path) -> None:
    assert free_path(Path("a.toml")) == Path("a.toml")
    Path("a.toml").write_text("")
    Path("a-2.toml").write_text("")
    assert free_path(Path("a.toml")) == Path("a-3.toml")
    assert free_copy_name(work / "a.toml", tug()) == str(work / "a-copy.toml")
    assert free_copy_name(None, tug()) == "tug-copy.toml"

"""One project, one session."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from model.editing import new_harness
from model.errors import Held
from model.store import Holder, load, lock, save
from model.store.disk import temporary_name

ROOT = Path(__file__).parents[3]

HOLD = f"""
import sys; sys.path.insert(0, {str(ROOT)!r})
from model.store import lock
held = lock(sys.argv[1])
print("held", flush=True)
sys.stdin.readline()
held.release()
"""


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "gritter.toml"
    save(new_harness("Gritter", "GRT"), path)
    return path


def hold(path: Path) -> subprocess.Popen[str]:
    """Another session that holds a project until a line comes in."""
    command = [sys.executable, "-c", HOLD, str(path)]
    other = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert other.stdout is not None
    assert other.stdout.readline() == "held\n"
    return other


def test_second_opener_hears_who_and_since_when(project: Path) -> None:
    other = hold(project)
    try:
        with pytest.raises(Held) as caught:
            lock(project)
        assert f"process {other.pid}" in caught.value.holder
        assert caught.value.since.endswith("UTC")
        assert caught.value.since in caught.value.message()
        assert "open it here for reading only" in caught.value.message()
        assert load(project).name == "Gritter"
    finally:
        other.communicate("\n", timeout=20)
    with lock(project) as mine:
        assert (mine.left_by, mine.weak) == (None, "")


def test_second_opener_in_the_same_process(project: Path) -> None:
    with lock(project), pytest.raises(Held, match=f"process {os.getpid()}"):
        lock(project)
    lock(project).release()


def test_release_may_come_twice(project: Path) -> None:
    held = lock(project)
    held.release()
    held.release()
    assert [entry.name for entry in project.parent.iterdir() if entry.suffix == ".json"] == []
    with lock(project):
        held.release()
        with pytest.raises(Held):
            lock(project)


@pytest.mark.skipif(os.name == "nt", reason="no SIGKILL")
def test_a_dead_session_is_recognised(project: Path) -> None:
    other = hold(project)
    other.send_signal(signal.SIGKILL)
    other.communicate(timeout=20)
    with lock(project) as mine:
        assert mine.left_by is not None
        assert mine.left_by.pid == other.pid
        assert str(other.pid) in mine.left_by.words
    assert lock(project).left_by is None


@pytest.mark.skipif(os.name == "nt", reason="links")
def test_a_link_is_the_same_project(project: Path, tmp_path: Path) -> None:
    link = tmp_path / "other name.toml"
    link.symlink_to(project)
    with lock(project), pytest.raises(Held):
        lock(link)


def test_other_projects_are_free(project: Path) -> None:
    other = project.with_name("tug.toml")
    with lock(project), lock(other) as mine:
        assert mine.weak == ""


def test_a_project_that_is_not_there_yet_can_be_held(tmp_path: Path) -> None:
    with lock(tmp_path / "new.toml"), pytest.raises(Held):
        lock(tmp_path / "new.toml")


NOTES: list[bytes] = [
    b"",
    b"{",
    b"[]",
    b"null",
    b"5",
    b"\xff\xfe",
    b"[" * 3000,
    json.dumps({"pid": "x", "host": 5}).encode(),
    json.dumps({"pid": -1}).encode(),
    json.dumps({"pid": 10**40}).encode(),
    json.dumps({"pid": True, "user": None}).encode(),
    json.dumps({"host": "a\x1b[31m" + "x" * 500, "user": "\u202e", "pid": 7, "started": "\n"}).encode(),
]


@pytest.mark.parametrize("note", NOTES, ids=range(len(NOTES)))
def test_whatever_the_note_says_the_message_is_clean(project: Path, note: bytes) -> None:
    with lock(project):
        (project.parent / ".gritter.toml.lock.json").write_bytes(note)
        with pytest.raises(Held) as caught:
            lock(project)
    assert caught.value.message().isprintable()
    assert len(caught.value.message()) < 500 + len(str(project))


def test_a_damaged_note_of_a_dead_session(project: Path) -> None:
    (project.parent / ".gritter.toml.lock.json").write_bytes(b"{")
    with lock(project) as mine:
        assert mine.left_by == Holder()
        assert mine.left_by.words == "another session"


def test_a_folder_without_locks(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A network folder that knows no locks: opened all the same, and said."""
    import filelock

    def refuse(self: Any, *args: Any, **kwargs: Any) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(filelock.FileLock, "acquire", refuse)
    with lock(project) as mine:
        assert "can't hold a lock: operation not supported" in mine.weak


def test_half_written_files_of_the_dead_are_cleared_away(project: Path) -> None:
    left = temporary_name(project).with_name(".gritter.toml.99999.tmp")
    left.write_text("half")
    other = project.with_name(".tug.toml.99999.tmp")
    other.write_text("not ours")
    with lock(project):
        assert not left.exists()
        assert other.exists()

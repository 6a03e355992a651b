"""When a step can't be saved: what is said, what can be done about it, and that nothing is lost or written
unasked.
"""

from __future__ import annotations

import errno
import os
import resource
import signal
import subprocess
import sys
from pathlib import Path

import filelock
import pytest
from textual.widgets import Input

import harness_tui
from harness_tui.app import LoomApp
from harness_tui.cli import main
from harness_tui.preferences import read_preferences
from harness_tui.projects import close_project, go_on_in, new_project, notices, open_project, rescue
from harness_tui.session import Session
from harness_tui.widgets.ask import Choose
from model.editing import add_lamp, new_harness
from model.errors import Conflict
from model.harness import Harness
from model.store import backups, dumps, load
from model.store import disk as store_disk
from tests.harness_tui.homes import own_home
from tests.harness_tui.pressing import pressed, typed
from tests.harness_tui.screen_text import screen_text

ROOT = Path(harness_tui.__file__).parent.parent


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return own_home(tmp_path, monkeypatch)


def tug() -> Harness:
    return add_lamp(new_harness("Tug", "TUG"), "stern", output=1, measured_mm=200.0)


def lamps(path: Path) -> list[str]:
    return [lamp.name for lamp in load(path).lamps]


def add(session: Session, name: str) -> None:
    session.apply(lambda harness: add_lamp(harness, name), f"add {name}")


def plain(app: LoomApp) -> str:
    """The screen's words, whatever the line breaks."""
    return " ".join(screen_text(app).split())


class Broken:
    """A disk whose writing fails with an error as long as one is set."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, path: Path) -> None:
        self.error = 0
        write = store_disk._replace

        def replace(target: Path, data: bytes, mode: int) -> None:
            if self.error and target == path:
                raise OSError(self.error, os.strerror(self.error))
            write(target, data, mode)

        monkeypatch.setattr(store_disk, "_replace", replace)


async def test_a_full_disk_is_said_each_time_and_nothing_is_lost(
    work: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = work / "tug.toml"
    session = new_project(path, tug())
    disk = Broken(monkeypatch, path)
    app = LoomApp(session)
    async with app.run_test(size=(80, 24)) as pilot:
        disk.error = errno.ENOSPC
        await pressed(pilot, "a")
        await typed(pilot, "anchor", "enter", "escape")
        assert "NOT SAVED" in screen_text(app)
        assert "was not saved: the disk is full. Make room and save again." in plain(app)
        assert lamps(path) == ["stern"]
        # Each further step says it again, whatever the screen says of the step.
        await pressed(pilot, "u")
        assert "the disk is full" in plain(app)
        await pressed(pilot, "U")
        assert "the disk is full" in plain(app)
        # On every screen the head line keeps it in sight.
        for key in ("f3", "f4", "f5", "f6", "f7", "f8", "f9", "f10", "f2"):
            await pressed(pilot, key)
            assert "NOT SAVED" in screen_text(app), key

        # Leaving asks first; Escape stays.
        await pressed(pilot, "ctrl+q")
        assert isinstance(app.screen, Choose)
        assert "leave; what is not saved is kept as a backup" in screen_text(app)
        await pressed(pilot, "escape")
        assert app.room is app.screen
        # Once there is room it is saved by itself, within seconds.
        app._retry_save()
        await pressed(pilot)
        assert "NOT SAVED" in screen_text(app)
        disk.error = 0
        app._retry_save()
        await pressed(pilot)
        assert "Saved again" in plain(app)
        assert "NOT SAVED" not in screen_text(app)
        assert lamps(path) == ["stern", "anchor"]

        # A disk that can't be written at all: go on in another file.
        disk.error = errno.EROFS
        await pressed(pilot, "a")
        await typed(pilot, "mast", "enter", "escape")
        assert "the disk is read-only" in plain(app)
        await pressed(pilot, "S", "down", "enter")
        await typed(pilot, "tug.toml", "enter")
        assert "exists already" in plain(app)
        assert isinstance(app.focused, Input)
        assert app.focused.value == "tug.toml"  # to be mended
        await typed(pilot, "other.toml", "enter")
        assert "You go on there" in plain(app)
        await pressed(pilot, "a")
        await typed(pilot, "bow", "enter", "escape")
        assert lamps(work / "other.toml") == ["stern", "anchor", "mast", "bow"]
        assert lamps(path) == ["stern", "anchor"]
        assert "NOT SAVED" not in screen_text(app)
        close_project(session)


@pytest.mark.parametrize("way", ["both", "mine", "theirs", "later", "leave"])
async def test_a_file_another_program_wrote_to(work: Path, way: str) -> None:
    path = work / "tug.toml"
    session = new_project(path, tug())
    theirs = dumps(add_lamp(tug(), "theirs"))
    app = LoomApp(session)
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot)
        path.write_text(theirs)
        await pressed(pilot, "c")
        assert isinstance(app.screen, Choose), "it asks without being asked"
        assert "Another program changed tug.toml" in screen_text(app)
        assert path.read_text() == theirs
        mine = [lamp.name for lamp in session.harness.lamps]
        assert len(mine) > 1

        if way == "both":
            await pressed(pilot, "enter")
            assert (lamps(path), lamps(work / "tug-copy.toml")) == (["stern", "theirs"], mine)
            assert session.path == work / "tug-copy.toml"
        elif way == "mine":
            await pressed(pilot, "down", "enter")
            assert "Write over what another program put in tug.toml?" in screen_text(app)
            await pressed(pilot, "enter")  # the cursor is on no
            assert path.read_text() == theirs
            assert "NOT SAVED" in screen_text(app)
            await pressed(pilot, "f12", "down", "enter", "up", "enter")  # from inside a field
            assert lamps(path) == mine
            assert backups(path)[0].path.read_text() == theirs
        elif way == "theirs":
            await pressed(pilot, "down", "down", "enter")
            assert lamps(path) == ["stern", "theirs"]
            assert "Theirs is taken" in plain(app)
            assert [lamp.name for lamp in load(backups(path)[0].path).lamps] == mine
            await pressed(pilot, "escape", "u")
            assert lamps(path) == mine
        elif way == "later":
            await pressed(pilot, "escape")
            await pressed(pilot, "c")
            assert app.room is app.screen, "it asks by itself only once"
            assert "changed by another program" in plain(app)
            assert path.read_text() == theirs
        else:
            await pressed(pilot, "escape", "ctrl+q", "end", "up", "enter")
            assert app._exit
    if way in ("later", "leave"):
        kept = rescue(session)
        assert kept is not None
        assert dumps(load(kept)) == dumps(session.harness)
        assert path.read_text() == theirs
        close_project(session)
        # The next session says that there is something to be had.
        again = open_project(path)
        again.begin()
        assert any("are kept as a backup" in said for said in notices(again))
        assert notices(again) == ()
        close_project(again)
    else:
        assert session.unsaved == ""
        close_project(session)


async def test_a_file_that_was_removed_is_written_again_only_when_asked(work: Path) -> None:
    path = work / "tug.toml"
    session = new_project(path, tug())
    app = LoomApp(session)
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot)
        path.rename(work / "away.toml")
        await pressed(pilot, "c")
        assert "tug.toml was removed or moved" in plain(app)
        await pressed(pilot, "escape")
        assert not path.exists()
        await pressed(pilot, "f12", "enter")
        assert lamps(path) == [lamp.name for lamp in session.harness.lamps]
        assert lamps(work / "away.toml") == ["stern"]
        close_project(session)


async def test_a_backup_is_put_back_as_a_step(work: Path) -> None:
    path = work / "tug.toml"
    close_project(new_project(path, tug()))
    session = open_project(path)  # takes the first backup
    app = LoomApp(session, room="setup")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot)
        add(session, "anchor")
        tags = {record.tag for record in session.harness.ledger}
        await pressed(pilot, "b")
        assert "1 backup, the newest first" in plain(app)
        await pressed(pilot, "enter")
        assert "1 lamp, 0 walked, 0 tags; now 2 lamps, 0 walked, 0 tags" in plain(app)
        await pressed(pilot, "down", "enter")
        assert lamps(path) == ["stern", "anchor"]
        await pressed(pilot, "b", "enter", "enter")
        assert lamps(path) == ["stern"]
        assert "u brings back" in plain(app)
        assert lamps(backups(path)[0].path) == ["stern", "anchor"]
        assert tags <= {record.tag for record in session.harness.ledger}
        await pressed(pilot, "u")
        assert lamps(path) == ["stern", "anchor"]
        # One that is damaged is said; the project stays.
        backups(path)[0].path.write_text("x =")
        await pressed(pilot, "b", "enter")
        assert "can't be read" in plain(app) or "line 1" in plain(app)
        assert lamps(path) == ["stern", "anchor"]
        close_project(session)


def test_backups_as_a_plain_command(work: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["backups", "tug.toml"]) == 1
    close_project(new_project("tug.toml", tug()))
    session = open_project("tug.toml")
    session.begin()
    add(session, "anchor")
    assert main(["backups", "tug.toml", "--restore", "1"]) == 2  # it is open
    assert "held by" in capsys.readouterr().err
    close_project(session)
    assert main(["backups", "tug.toml", "--restore", "2"]) == 2
    assert main(["backups", "tug.toml"]) == 0
    assert capsys.readouterr().out.splitlines()[0].split()[0] == "1"
    (work / "tug.toml").write_bytes(b"\xff damaged")
    assert main(["backups", "tug.toml", "--restore", "1"]) == 0
    assert lamps(work / "tug.toml") == ["stern"]
    assert backups("tug.toml")[0].path.read_bytes() == b"\xff damaged"
    (work / "tug.toml").unlink()
    assert main(["backups", "tug.toml", "--restore", "2"]) == 0
    assert lamps(work / "tug.toml") == ["stern"]


def test_a_folder_without_locks_is_said_once_and_works(work: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_locks(self: object) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    close_project(new_project("tug.toml", tug()))
    monkeypatch.setattr(filelock.FileLock, "_acquire", no_locks)
    session = open_project("tug.toml")
    session.begin()
    (said,) = notices(session)
    assert "can't hold a lock: no locks available" in said
    assert "nobody else has this project open" in said
    assert session.read_only == ""
    add(session, "anchor")
    assert lamps(work / "tug.toml") == ["stern", "anchor"]
    # What the missing lock let through is noticed by the file itself.
    other = open_project("tug.toml")
    other.begin()
    add(other, "theirs")
    add(session, "mine")
    assert session.conflict
    assert lamps(work / "tug.toml") == ["stern", "anchor", "theirs"]


CHILD = """
import os, sys
from pathlib import Path
import platformdirs
home = Path(sys.argv[1])
for kind in ("config", "state", "data"):
    setattr(platformdirs, f"user_{kind}_path", lambda *args, place=home / kind, **kwargs: place)
from harness_tui.projects import notices, open_project, rescue
from model.editing import add_lamp, new_harness
from harness_tui.projects import close_project, new_project
if os.geteuid() == 0 and "--somebody" in sys.argv:
    first = new_project(home / f"first{os.getpid()}.toml", new_harness("First", "FST"))
    first.apply(lambda h: add_lamp(h, "first"), "add")
    close_project(first)
    os.setgid(65534)
    os.setuid(65534)
session = open_project("tug.toml")
session.begin()
print("READONLY", session.read_only)
print("NOTICES", *notices(session))
"""


def child(script: str, work: Path, *words: str, **options: object) -> str:
    done = subprocess.run(
        [sys.executable, "-c", CHILD + script, str(work.parent), *words],
        cwd=work,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        timeout=60,
        **options,  # type: ignore[call-overload]
    )
    assert done.returncode == 0, done.stderr
    return str(done.stdout)


@pytest.mark.skipif(os.name != "posix", reason="limits and kills of POSIX")
def test_a_disk_that_is_really_full_and_a_session_that_is_killed(work: Path) -> None:
    close_project(new_project("tug.toml", tug()))
    size = (work / "tug.toml").stat().st_size

    def small_files() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + 300, size + 300))

    grow = """
while not session.unsaved:
    session.apply(lambda h: add_lamp(h, f"lamp {len(h.lamps)}"), "add")
    known = len(session.harness.lamps) - bool(session.unsaved)
print("SAID", session.unsaved)
print("KNOWN", known)
try:
    print("KEPT", rescue(session))
except Exception as error:
    print("LOST", error)
os._exit(0)
"""
    said = child(grow, work, preexec_fn=small_files)
    assert "was not saved: files may not grow so large here" in said
    assert "LOST" in said, "no file can grow here, so that it can be kept nowhere: it says so"
    known = int(said.partition("KNOWN ")[2].split()[0])
    assert len(lamps(work / "tug.toml")) == known > 1
    # That session ended without letting go: the next says so once.
    session = open_project("tug.toml")
    session.begin()
    (notice,) = notices(session)
    assert "ended without closing" in notice
    assert not session.read_only
    close_project(session)


def _tiny_disk(folder: Path) -> bool:
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "loomtag-test", str(folder)],
        capture_output=True,
        check=False,
    )
    return done.returncode == 0


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="needs to mount a small disk")
def test_a_small_disk_that_fills_up(work: Path) -> None:
    disk = work / "disk"
    disk.mkdir()
    if not _tiny_disk(disk):
        pytest.skip("this machine lets nobody mount")
    session = new_project(disk / "tug.toml", tug())
    try:
        while not session.unsaved and len(session.harness.lamps) < 3000:
            add(session, f"lamp {len(session.harness.lamps)}")
        assert "the disk is full" in session.unsaved
        assert len(lamps(disk / "tug.toml")) == len(session.harness.lamps) - 1
        kept = rescue(session)
        assert kept is not None
        assert dumps(load(kept)) == dumps(session.harness)
        for left in disk.glob(".*.tmp"):
            raise AssertionError(left)
    finally:
        close_project(session)
        subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_folder_and_a_file_that_may_not_be_written(work: Path) -> None:
    close_project(new_project("tug.toml", tug()))
    step = """
try:
    session.apply(lambda h: add_lamp(h, "anchor"), "add")
except Exception as error:
    print("REFUSED", error)
print("SAID", session.unsaved)
"""
    if os.geteuid() == 0:
        # The superuser may write everywhere: become somebody else once all is read that is needed.
        for folder in (work, *work.parents[:2]):
            folder.chmod(0o777)
        for folder in work.parents[2:-2]:
            folder.chmod(folder.stat().st_mode | 0o011)
    before = (work / "tug.toml").read_bytes()
    (work / "tug.toml").chmod(0o444)
    said = child(step, work, "--somebody")
    assert "READONLY is write-protected" in said
    assert "REFUSED this project: is write-protected. Allow writing to it, or save a copy" in said
    (work / "tug.toml").chmod(0o666)
    work.chmod(0o555)
    try:
        said = child(step, work, "--somebody")
    finally:
        work.chmod(0o777)
    assert "READONLY is in a folder where you may not write" in said
    assert "REFUSED this project: is in a folder where you may not write" in said
    assert "Allow writing there, or save a copy to work in (s in Setup) in another folder." in said
    assert (work / "tug.toml").read_bytes() == before


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="needs to mount a small disk")
def test_a_disk_that_is_read_only(work: Path) -> None:
    disk = work / "disk"
    disk.mkdir()
    if not _tiny_disk(disk):
        pytest.skip("this machine lets nobody mount")

    close_project(new_project(disk / "tug.toml", tug()))
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    session = open_project(disk / "tug.toml")
    try:
        session.begin()
        assert session.read_only == "is on a read-only disk"
        with pytest.raises(Conflict, match="Make it writable"):
            add(session, "mast")
        copy = go_on_in(session, work / "copy.toml")
        add(session, "mast")
        assert lamps(copy) == ["stern", "mast"]
        assert lamps(disk / "tug.toml") == ["stern"]
    finally:
        close_project(session)
        subprocess.run(["umount", str(disk)], check=True)


class TestSettings:
    async def test_are_changed_in_setup_and_hold_at_once(self, work: Path, tmp_path: Path) -> None:
        file = tmp_path / "config" / "settings.toml"
        app = LoomApp(Session(tug()), room="setup")
        async with app.run_test(size=(80, 24)) as pilot:
            app.room.go_to("program")  # type: ignore[union-attr]
            await pressed(pilot)
            assert "settings.toml" in "".join(screen_text(app).split())
            await pressed(pilot, "enter")
            await typed(pilot, "mud", "enter")
            assert "is not known" in plain(app)
            await typed(pilot, "ansi-light", "enter")
            assert app.theme == "ansi-light"
            await typed(pilot, "letter", "enter")
            await typed(pilot, "inch", "enter")
            await typed(pilot, "0.2", "enter")
            assert "1.4 to 6 mm" in plain(app)
            await typed(pilot, "2.5 mm", "enter")
            await typed(pilot, "no", "enter")
            await typed(pilot, "k", "enter")
            assert "can't be typed here" in plain(app)
            await pressed(pilot, "escape", "escape")
            found = read_preferences(file)
            assert (found.theme, found.paper, found.sound, found.faults) == (
                "ansi-light",
                "Letter",
                False,
                (),
            )
            assert (found.units, found.label_text_mm) == ("inch", 2.5)
            assert "ansi-light; Letter; inch; labels 2.5 mm; no sound" in screen_text(app)
            await pressed(pilot, "8")
            assert "Letter" in screen_text(app)
            assert dumps(app.session.harness) == dumps(tug())

    @pytest.mark.parametrize(
        ("before", "after"),
        [
            ("", 'theme = "ansi-light"\n'),
            ('# mine\ntheme="dracula" # old\nsound = false', '# mine\ntheme = "ansi-light"\nsound = false\n'),
            ('# x\n[keys]\n"undo" = "k"\n', '# x\ntheme = "ansi-light"\n[keys]\n"undo" = "k"\n'),
            (
                'paper = "Letter"\n[keys]\ntheme = "k"\n',
                'paper = "Letter"\ntheme = "ansi-light"\n[keys]\ntheme = "k"\n',
            ),
        ],
    )
    def test_one_line_changes_and_the_rest_stays(self, tmp_path: Path, before: str, after: str) -> None:
        from harness_tui.preferences import change_setting

        file = tmp_path / "settings.toml"
        file.write_text(before)
        assert change_setting("theme", "ansi-light", file).theme == "ansi-light"
        assert file.read_text() == after

    def test_what_cannot_be_changed_is_left_alone(self, tmp_path: Path) -> None:
        from harness_tui.preferences import change_setting
        from model.errors import BadValue, StoreError

        file = tmp_path / "settings.toml"
        for text in ('theme = """\nansi-dark"""\n', "theme = ", '"theme" = "dracula"\n'):
            file.write_text(text)
            with pytest.raises(StoreError):
                change_setting("theme", "ansi-light", file)
            assert file.read_text() == text
        for name, value in (
            *(("paper", "A5"), ("sound", "loud"), ("theme", "mud"), ("units", "yard")),
            *(("label_text_mm", 0.1), ("label_text_mm", "2.5"), ("label_text_mm", float("nan"))),
        ):
            with pytest.raises(BadValue):
                change_setting(name, value, file)

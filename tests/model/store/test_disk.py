"""Files as wholes: every way they can fail is said, and what was there before stays."""

from __future__ import annotations

import errno
import os
import signal
import stat
import subprocess
import sys
from pathlib import Path

import attrs
import pytest

from model.editing import add_lamp, new_harness
from model.errors import ChangedOnDisk, Faults, LoomError, StoreError
from model.store import ABSENT, dumps, load, open_file, read_text, save, write_text
from model.store import disk as disk_module
from tests.model.store.samples import SMALL, as_plain, full_harness

POSIX = pytest.mark.skipif(os.name == "nt", reason="POSIX permissions and links")

ROOT = Path(__file__).parents[3]


def message(error: type[LoomError], path: Path) -> str:
    with pytest.raises(error) as caught:
        load(path)
    assert caught.value.remedy
    return caught.value.message()


def test_saved_and_loaded(tmp_path: Path) -> None:
    path = tmp_path / "gritter.toml"
    harness = full_harness()
    stamp = save(harness, path)
    loaded = open_file(path)
    assert as_plain(loaded.harness) == as_plain(harness)
    assert (loaded.stamp, loaded.schema) == (stamp, 1)
    assert path.read_bytes() == dumps(harness).encode()
    assert [entry.name for entry in tmp_path.iterdir()] == ["gritter.toml"]


def test_missing_file(tmp_path: Path) -> None:
    assert "lh.toml: does not exist" in message(StoreError, tmp_path / "lh.toml")


def test_missing_folder(tmp_path: Path) -> None:
    assert "does not exist" in message(StoreError, tmp_path / "gone" / "lh.toml")


def test_folder_instead_of_a_file(tmp_path: Path) -> None:
    assert "is a folder" in message(StoreError, tmp_path)


def test_name_with_a_zero_byte() -> None:
    assert "can't be opened" in message(StoreError, Path("a\0b"))


@POSIX
def test_dangling_link(tmp_path: Path) -> None:
    (tmp_path / "lh.toml").symlink_to(tmp_path / "gone.toml")
    assert "link to a file that is not there" in message(StoreError, tmp_path / "lh.toml")


@POSIX
def test_pipe_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "lh.toml")
    assert "is no ordinary file" in message(StoreError, tmp_path / "lh.toml")


def test_too_large(tmp_path: Path) -> None:
    path = tmp_path / "lh.toml"
    with open(path, "wb") as file:
        file.truncate(disk_module.LARGEST_BYTES + 1)
    assert "is 20 MB large" in message(StoreError, path)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "has no schema number"),
        (b"schema = 1\n\0", "lh.toml line 2: holds zero bytes"),
        (b"schema = 1\nname = '\xff'", "lh.toml line 2: is not UTF-8: byte 0xff"),
        (SMALL.encode("utf-16"), "is not UTF-8"),
        (SMALL.encode("utf-16-le"), "holds zero bytes"),
        (SMALL.encode()[:-30], "can't be read"),
        (bytes(range(256)) * 40, "holds zero bytes"),
    ],
)
def test_bytes_that_are_no_project(tmp_path: Path, data: bytes, said: str) -> None:
    path = tmp_path / "lh.toml"
    path.write_bytes(data)
    assert said in message(StoreError, path) or data.startswith(b"\xff\xfe")
    assert path.read_bytes() == data


def test_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "lh.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.encode())
    assert load(path).name == "Lighthouse"


def test_faults_are_named_by_the_file(tmp_path: Path) -> None:
    path = tmp_path / "my lh.toml"
    path.write_text(SMALL.replace("cells = 6", "cells = 6.5"))
    assert "my lh.toml line 9, supply cells" in message(Faults, path)


def test_a_newer_file_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "lh.toml"
    path.write_text(SMALL.replace("schema = 1", "schema = 7"))
    before = path.read_bytes(), path.stat().st_mtime_ns
    assert "schema 7, written by a newer version" in message(StoreError, path)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


@pytest.mark.parametrize(
    ("data", "text"),
    [
        ("n\u00e4me".encode(), "n\u00e4me"),
        (b"\xef\xbb\xbfname", "name"),
        ("n\u00e4me".encode("utf-16"), "n\u00e4me"),
    ],
)
def test_text_files_from_elsewhere(tmp_path: Path, data: bytes, text: str) -> None:
    path = tmp_path / "lamps.csv"
    path.write_bytes(data)
    assert read_text(path) == text


def test_a_text_of_another_code_page_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "lamps.csv"
    path.write_bytes(b"name\nT\xfcr\n")
    with pytest.raises(StoreError, match=r"lamps\.csv line 2: is not UTF-8: byte 0xfc"):
        read_text(path)


# --- writing ------------------------------------------------------------------------------------------------


def test_new_file_may_not_exist(tmp_path: Path) -> None:
    path = tmp_path / "lh.toml"
    save(new_harness("A", "AA"), path, stamp=ABSENT)
    with pytest.raises(ChangedOnDisk, match="exists already"):
        save(new_harness("B", "BB"), path, stamp=ABSENT)
    assert load(path).name == "A"


def test_change_by_another_is_not_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "lh.toml"
    stamp = save(new_harness("A", "AA"), path)
    save(new_harness("B", "BB"), path)
    with pytest.raises(ChangedOnDisk, match="changed by another program"):
        save(new_harness("C", "CC"), path, stamp=stamp)
    assert load(path).name == "B"


def test_removed_meanwhile_is_said_once_asked(tmp_path: Path) -> None:
    path = tmp_path / "lh.toml"
    stamp = save(new_harness("A", "AA"), path)
    path.unlink()
    with pytest.raises(ChangedOnDisk, match="removed or moved"):
        save(new_harness("C", "CC"), path, stamp=stamp)
    assert not path.exists()


def test_touching_is_no_change(tmp_path: Path) -> None:
    path = tmp_path / "lh.toml"
    stamp = save(new_harness("A", "AA"), path)
    os.utime(path, (1, 1))
    assert save(new_harness("B", "BB"), path, stamp=stamp) != stamp
    assert load(path).name == "B"


def test_stamps_follow_each_other(tmp_path: Path) -> None:
    path = tmp_path / "lh.toml"
    harness = new_harness("A", "AA")
    stamp = save(harness, path, stamp=ABSENT)
    for number in range(5):
        harness = add_lamp(harness, f"lamp {number}")
        stamp = save(harness, path, stamp=stamp)
    assert len(load(path).lamps) == 5


@POSIX
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o755])
def test_permissions_stay(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "lh.toml"
    save(new_harness("A", "AA"), path)
    path.chmod(mode)
    save(new_harness("B", "BB"), path)
    assert stat.S_IMODE(path.stat().st_mode) == mode


@POSIX
def test_new_file_follows_the_umask(tmp_path: Path) -> None:
    old = os.umask(0o027)
    try:
        save(new_harness("A", "AA"), tmp_path / "lh.toml")
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "lh.toml").stat().st_mode) == 0o640


@POSIX
def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    target = tmp_path / "real" / "lh.toml"
    link = tmp_path / "lh.toml"
    stamp = save(new_harness("A", "AA"), target)
    link.symlink_to(target)
    save(new_harness("B", "BB"), link, stamp=stamp)
    assert link.is_symlink()
    assert load(target).name == "B"
    assert [entry.name for entry in (tmp_path / "real").iterdir()] == ["lh.toml"]


@POSIX
def test_write_protected_file(tmp_path: Path) -> None:
    path = tmp_path / "lh.toml"
    save(new_harness("A", "AA"), path)
    path.chmod(0o444)
    with pytest.raises(StoreError, match="is write-protected"):
        save(new_harness("B", "BB"), path)
    assert load(path).name == "A"


@pytest.mark.parametrize("make", [lambda path: path, lambda path: path / "no" / "lh.toml"])
def test_no_place_for_the_file(tmp_path: Path, make: object) -> None:
    with pytest.raises(StoreError, match=r"is a folder|folder .* does not exist"):
        save(new_harness("A", "AA"), make(tmp_path))  # type: ignore[operator]
    assert list(tmp_path.iterdir()) == []


def test_folder_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("")
    with pytest.raises(StoreError, match="was not saved"):
        save(new_harness("A", "AA"), tmp_path / "a" / "lh.toml")


def test_name_too_long(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="was not saved"):
        save(new_harness("A", "AA"), tmp_path / ("x" * 300 + ".toml"))


@pytest.mark.parametrize("step", ["open", "fsync", "chmod", "replace"])
@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EROFS, "the disk is read-only"),
        (errno.EACCES, "you may not write in folder"),
        (errno.EIO, "input/output error"),
    ],
)
def test_each_step_of_writing_may_fail(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, number: int, said: str
) -> None:
    """Whatever the system refuses, the old file is whole, nothing lies about, and the message says why."""
    path = tmp_path / "lh.toml"
    stamp = save(new_harness("A", "AA"), path)
    real = getattr(os, step)

    def refuse(*args: object, **kwargs: object) -> object:
        if step != "open" or str(args[0]).endswith(".tmp"):
            raise OSError(number, os.strerror(number))
        return real(*args, **kwargs)

    with monkeypatch.context() as patched:
        patched.setattr(os, step, refuse)
        with pytest.raises(StoreError) as caught:
            save(new_harness("B", "BB"), path, stamp=stamp)
    assert f"was not saved: {said}" in caught.value.message().lower()
    assert caught.value.remedy
    assert [entry.name for entry in tmp_path.iterdir()] == ["lh.toml"]
    assert open_file(path).stamp == stamp


def test_a_folder_that_can_not_be_synced_is_no_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.fsync
    calls = []

    def refuse_second(handle: int) -> None:
        calls.append(handle)
        if len(calls) > 1:
            raise OSError(errno.EINVAL, "no")
        real(handle)

    monkeypatch.setattr(os, "fsync", refuse_second)
    save(new_harness("A", "AA"), tmp_path / "lh.toml")
    assert load(tmp_path / "lh.toml").name == "A"


def in_another_process(code: str, *args: object) -> subprocess.CompletedProcess[str]:
    command = [
        sys.executable,
        "-c",
        f"import sys; sys.path.insert(0, {str(ROOT)!r})\n{code}",
        *map(str, args),
    ]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)


@pytest.mark.skipif(not hasattr(signal, "SIGXFSZ"), reason="no limit on file sizes here")
def test_a_really_full_disk(tmp_path: Path) -> None:
    """The system itself stops the write half way: the limit on file sizes stands in for a full disk."""
    path = tmp_path / "lh.toml"
    save(new_harness("A", "AA"), path)
    before = path.read_bytes()
    code = """
import resource
from model.editing import add_lamp
from model.errors import StoreError
from model.store import load, save
harness = load(sys.argv[1])
for number in range(100):
    harness = add_lamp(harness, f"lamp {number}")
resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
try:
    save(harness, sys.argv[1])
except StoreError as error:
    print(error)
"""
    done = in_another_process(code, path)
    assert "was not saved: files may not grow so large here" in done.stdout, done.stderr
    assert path.read_bytes() == before
    assert [entry.name for entry in tmp_path.iterdir()] == ["lh.toml"]


@POSIX
def test_a_really_read_only_folder_and_an_unreadable_file(tmp_path: Path) -> None:
    """As an ordinary user; a superuser may write everywhere, so the test steps down where it runs as one."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    path = folder / "lh.toml"
    save(new_harness("A", "AA"), path)
    secret = folder / "secret.toml"
    save(new_harness("A", "AA"), secret)
    secret.chmod(0)
    code = """
import os
from model.errors import StoreError
from model.store import load, save, lock
# Everything is loaded before stepping down: the interpreter's own files may be the superuser's alone.
harness = load(sys.argv[1])
lock(sys.argv[1] + ".warm").release()
if os.getuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
works = (
    lambda: save(harness, sys.argv[1]),
    lambda: save(harness, sys.argv[1] + ".2"),
    lambda: load(sys.argv[2]),
)
for work in works:
    try:
        work()
        print("done")
    except StoreError as error:
        print(error)
print(lock(sys.argv[1]).weak)
"""
    path.chmod(0o666)
    folder.chmod(0o555)
    for above in (tmp_path, *tmp_path.parents[:2]):
        above.chmod(above.stat().st_mode | 0o055)
    try:
        done = in_another_process(code, path, secret)
    finally:
        folder.chmod(0o755)
    told = done.stdout.splitlines()
    assert len(told) == 4, done.stderr
    assert "was not saved: you may not write in folder" in told[0]
    assert "was not saved: you may not write in folder" in told[1]
    assert "may not be read by you" in told[2]
    assert "can't hold a lock: permission denied" in told[3]


def test_a_half_character_is_no_traceback(tmp_path: Path) -> None:
    """Half of a surrogate pair can't be written; it must not cost the file."""
    path = tmp_path / "lh.toml"
    save(new_harness("A", "AA"), path)
    harness = new_harness("B", "BB")
    broken = attrs.evolve(harness, progress=attrs.evolve(harness.progress, skipped=("\ud800",)))
    with pytest.raises(StoreError, match="character that can't be written"):
        save(broken, path)
    assert load(path).name == "A"


def test_write_text_is_exact(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    write_text(path, "a\r\nb\n\u00e4")
    assert path.read_bytes() == "a\r\nb\n\u00e4".encode()

"""Opening and making projects: the file, its lock, its backups, and the session over it."""

from __future__ import annotations

import contextlib
import os
import re
import unicodedata
import weakref
from pathlib import Path
from typing import TYPE_CHECKING

import attrs

from harness_tui.preferences import demo_folder, read_state, remember_project
from harness_tui.session import Session
from model import store
from model.errors import Held, NotThere, StoreError
from model.harness import Harness
from model.values import shown

if TYPE_CHECKING:
    from model.store import Lock, Stamp

SUFFIX = ".toml"


@attrs.define(kw_only=True, eq=False)
class ProjectFile:
    """The file behind a session. Saving checks that nobody else wrote to it meanwhile."""

    path: Path
    stamp: Stamp
    held: Lock | None = None

    def claim(self) -> str:
        """Take hold of the file and back it up; why it can only be read, or ""."""
        import atexit

        remember_project(self.path)
        try:
            self.held = store.lock(self.path)
        except Held as error:
            return error.found
        if not os.access(self.path, os.W_OK):
            self.release()
            return "the file is write-protected"
        atexit.register(self.release)
        # A home without room for a backup is no reason not to work.
        with contextlib.suppress(StoreError):
            store.back_up(self.path)
        return ""

    def save(self, harness: Harness) -> None:
        """Write the harness, whole or not at all. Raises StoreError, ChangedOnDisk among them."""
        self.stamp = store.save(harness, self.path, stamp=self.stamp)

    def release(self) -> None:
        """Let another session have the file."""
        if self.held is not None:
            self.held.release()
            self.held = None


def open_project(path: str | os.PathLike[str]) -> Session:
    """A session over a project file; for reading only where another session holds it, or it is protected.

    It takes hold of the file, with a dated backup, when it begins. Raises StoreError or Faults where the
    file can't be read.
    """
    path = _full(path)
    loaded = store.open_file(path)
    file = ProjectFile(path=path, stamp=loaded.stamp)
    session = Session(loaded.harness, path, save=file.save, claim=file.claim)
    _FILES[session] = file
    return session


def new_project(path: str | os.PathLike[str], harness: Harness) -> Session:
    """Write a new project file and open a session over it. Raises ChangedOnDisk where the file exists."""
    path = _full(path)
    stamp = store.save(harness, path, stamp=store.ABSENT)
    file = ProjectFile(path=path, stamp=stamp)
    session = Session(harness, path, save=file.save, claim=file.claim)
    _FILES[session] = file
    session.begin()
    return session


_FILES: weakref.WeakKeyDictionary[Session, ProjectFile] = weakref.WeakKeyDictionary()


def close_project(session: Session) -> None:
    """Let go of a session's file, so that another may have it."""
    file = _FILES.pop(session, None)
    if file is not None:
        file.release()


def open_demo(name: str, *, fresh: bool = False) -> Session:
    """A session over the person's own copy of a demo; it is kept, and made anew where `fresh`.

    Raises NotThere for an unknown demo.
    """
    from harness_tui.examples import names, text

    if name not in names():
        raise NotThere(f"demo {shown(name)}", "does not exist", remedy=f"There are {', '.join(names())}.")
    path = demo_folder() / f"{name}{SUFFIX}"
    if path.exists() and not fresh:
        return open_project(path)
    harness = store.loads(text(name), f"{name}{SUFFIX}")
    if path.exists():
        with store.lock(path):
            store.back_up(path)
            store.save(harness, path)
        return open_project(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            shown(str(path.parent), 200),
            f"can't be made: {error.strerror}",
            remedy="Check that your home folder can be written.",
        ) from None
    return new_project(path, harness)


def recent_projects() -> tuple[Path, ...]:
    """The projects opened lately that are still there, the last opened first."""
    paths = [Path(one) for one in read_state().recent]
    return tuple(path for path in paths if path.is_file())


def save_copy(session: Session, path: str | os.PathLike[str]) -> Path:
    """Write the session's harness to another file and return its path; the session goes on with its own.

    Raises ChangedOnDisk where the file exists.
    """
    path = _full(path)
    store.save(session.harness, path, stamp=store.ABSENT)
    return path


def file_name(name: str) -> str:
    """A file name for a project of that name: lower case, plain letters, "winter-gritter.toml"."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = "-".join(re.findall(r"[a-z0-9]+", plain))[:60].strip("-")
    return f"{stem or 'model'}{SUFFIX}"


def free_path(path: Path) -> Path:
    """`path`, or the next with a number behind its stem that does not exist yet."""
    if not path.exists():
        return path
    paths = (path.with_name(f"{path.stem}-{number}{path.suffix}") for number in range(2, 10_000))
    return next(one for one in paths if not one.exists())


def free_copy_name(path: Path | None, harness: Harness) -> str:
    """A file beside `path` to save a copy in."""
    path = path or Path(file_name(harness.name))
    return str(free_path(path.with_name(f"{path.stem}-copy{path.suffix or SUFFIX}")))


def _full(path: str | os.PathLike[str]) -> Path:
    """The path with the home folder written out."""
    plain = Path(path)
    try:
        return plain.expanduser()
    except RuntimeError:
        return plain

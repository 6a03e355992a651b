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
from model.editing import put_back
from model.errors import Held, LoomError, NotThere, StoreError
from model.harness import Harness
from model.store.disk import read_bytes, stamp_of
from model.values import shown

if TYPE_CHECKING:
    from model.store import Backup, Lock, Stamp

SUFFIX = ".toml"


@attrs.define(kw_only=True, eq=False)
class ProjectFile:
    """The file behind a session. Saving checks that nobody else wrote to it meanwhile."""

    path: Path
    stamp: Stamp
    held: Lock | None = None
    notices: list[str] = attrs.field(factory=list)
    """What is to be said once of how the file was found."""

    def claim(self) -> LoomError | None:
        """Take hold of the file and back it up; why it can only be read, or None."""
        import atexit

        remember_project(self.path)
        try:
            self.held = store.lock(self.path)
        except Held as error:
            return StoreError(error.subject, error.found, remedy=f"Close the other session, or {_COPY}.")
        refusal = _no_writing(self.path)
        if refusal is not None:
            self.release()
            return refusal
        self._notice(self.held)
        atexit.register(self.release)
        # A home without room for a backup is no reason not to work.
        with contextlib.suppress(StoreError):
            store.back_up(self.path)
        return None

    def _notice(self, held: Lock) -> None:
        if held.weak:
            self.notices.append(f"{held.weak}. See that nobody else has this project open at the same time.")
        if held.left_by is not None:
            self.notices.append(
                f"The last session ({held.left_by.words}) ended without closing. "
                "Every step it accepted is here."
            )
        newest = next(iter(store.backups(self.path)), None)
        # Said until the next backup stands before it; one that is in the file by now is no news.
        if newest is not None and newest.unsaved and _digest(newest.path) != self.stamp:
            self.notices.append(
                f"Steps that could not be saved on {local_time(newest)} are kept as a backup (b in Setup)."
            )

    def save(self, harness: Harness) -> None:
        """Write the harness, whole or not at all. Raises StoreError, ChangedOnDisk among them."""
        self.stamp = store.save(harness, self.path, stamp=self.stamp)

    def release(self) -> None:
        """Let another session have the file."""
        if self.held is not None:
            self.held.release()
            self.held = None


_COPY = "save a copy to work in (s in Setup)"


def _no_writing(path: Path) -> StoreError | None:
    """Why a file can't be written where it is, each cause with its own way out; None where it can."""
    target = Path(os.path.realpath(path))
    name, folder = shown(str(path), 200), shown(str(target.parent), 200)
    if hasattr(os, "statvfs"):
        with contextlib.suppress(OSError):
            if os.statvfs(target.parent).f_flag & os.ST_RDONLY:
                return StoreError(
                    name, "is on a read-only disk", remedy=f"Make it writable, or {_COPY} on another."
                )
    if not os.access(target, os.W_OK):
        return StoreError(name, "is write-protected", remedy=f"Allow writing to it, or {_COPY}.")
    # A file is written beside itself first, to be whole at every moment.
    if os.name == "posix" and not os.access(target.parent, os.W_OK | os.X_OK):
        return StoreError(
            name,
            f"is in a folder where you may not write, {folder}",
            remedy=f"Allow writing there, or {_COPY} in another folder.",
        )
    return None


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


def notices(session: Session) -> tuple[str, ...]:
    """What is to be said once of how a session found its file; asked again there is nothing."""
    file = _FILES.get(session)
    if file is None:
        return ()
    said, file.notices = tuple(file.notices), []
    return said


# --- what could not be saved ---


def take_theirs(session: Session) -> None:
    """Go on with the file as another program left it. What stood here is kept as a backup, and is one undo
    away.

    Raises StoreError or Faults where the file can't be read, or the backup not written; then nothing
    has changed.
    """
    file = _file(session)
    loaded = store.open_file(file.path)
    store.back_up_unsaved(file.path, store.dumps(session.harness))
    file.stamp = loaded.stamp
    session.put_back(loaded.harness, "take the file as another program left it")


def keep_mine(session: Session) -> None:
    """Write over what another program left in the file, which is kept as a backup; or write a file that is
    gone anew.

    Raises StoreError where theirs can't be backed up; then nothing is written.
    """
    file = _file(session)
    if os.path.lexists(file.path):
        store.back_up(file.path)
        file.stamp = stamp_of(read_bytes(file.path))
    else:
        file.stamp = store.ABSENT
    session.retry_save()


def go_on_in(session: Session, path: str | os.PathLike[str]) -> Path:
    """Write the project to another file, which must not exist, and go on there; returns its path. Raises
    StoreError.
    """
    file = _file(session)
    path = _full(path)
    stamp = store.save(session.harness, path, stamp=store.ABSENT)
    file.release()
    file.path, file.stamp = path, stamp
    session.path = path
    session.refused(file.claim())
    session.retry_save()
    return path


def rescue(session: Session) -> Path | None:
    """Keep what could not be saved, as the program ends; where it is kept, None if all is in the file.

    Raises StoreError where it can't be kept anywhere.
    """
    session.retry_save()
    if not session.unsaved:
        return None
    import tempfile

    path = session.path or Path(file_name(session.harness.name))
    with contextlib.suppress(StoreError):
        kept = store.back_up_unsaved(path, store.dumps(session.harness))
        return kept.path if kept is not None else store.backups(path)[0].path
    return save_copy(session, free_path(Path(tempfile.gettempdir()) / f"{path.stem}-unsaved{SUFFIX}"))


def _file(session: Session) -> ProjectFile:
    file = _FILES.get(session)
    if file is None:
        raise StoreError("this project", "has no file", remedy="Save a copy of it (s in Setup).")
    return file


def _digest(path: Path) -> Stamp | None:
    with contextlib.suppress(StoreError):
        return stamp_of(read_bytes(path))
    return None


# --- backups ---


def local_time(backup: Backup) -> str:
    """When a backup was taken, by the clock on the wall: "2026-03-03 14:05"."""
    return f"{backup.taken.astimezone():%Y-%m-%d %H:%M}"


def backup_words(backup: Backup) -> str:
    """When a backup was taken and how large it is, in one line."""
    unsaved = "  steps that could not be saved" if backup.unsaved else ""
    return f"{local_time(backup)}  {backup.size_bytes / 1000:7.1f} kB{unsaved}"


def restore_backup(session: Session, backup: Backup) -> Harness:
    """Put a backup in the place of the project, as a step that can be undone; returns what the backup
    holds.

    What stands in the file is backed up first. Raises StoreError or Faults where the backup can't be
    read, and Conflict on a project open for reading; then nothing has changed.
    """
    text = store.read_text(backup.path)
    harness = store.loads(text, backup.path.name)
    if session.path is not None and not session.read_only and session.path.exists():
        store.back_up(session.path)
    session.put_back(harness, f"restore the backup of {local_time(backup)}")
    return harness


def restore_from_outside(path: str | os.PathLike[str], backup: Backup) -> None:
    """Put a backup in the place of a project file that is not open here, even one that is damaged or gone.

    What stands there is backed up first, and tags it has given stay in the ledger where it can be read.
    Raises Held where a session has it open, StoreError or Faults where the backup can't be read; then
    nothing has changed.
    """
    path = _full(path)
    with store.lock(path):
        harness = store.loads(store.read_text(backup.path), backup.path.name)
        if os.path.lexists(path):
            store.back_up(path)
        with contextlib.suppress(LoomError):  # a damaged file has no ledger to ask
            harness = put_back(harness, store.load(path), made=True)
        store.save(harness, path)


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

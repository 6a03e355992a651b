"""One project, one session: a lock beside the file, which the system lets go of when a session dies.

Beside the lock stands a small file that says who holds it. It is only talk: the lock alone decides.
"""

from __future__ import annotations

import contextlib
import getpass
import json
import os
import platform
import re
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

import attrs

from model.errors import Held
from model.values import shown

if TYPE_CHECKING:
    from filelock import BaseFileLock

_LARGEST_NOTE = 4000


@attrs.frozen(kw_only=True)
class Holder:
    """The session that holds a project, as it said itself. What is unknown is "" or 0."""

    host: str = ""
    user: str = ""
    pid: int = 0
    started: str = ""

    @property
    def words(self) -> str:
        """Who it is, for a message."""
        if not self.pid:
            return "another session"
        who = f"{self.user} on {self.host}" if self.user else self.host
        return f"{who}, process {self.pid}"


class Lock:
    """A project held by this session until `release`, or the end of a `with`.

    `left_by` is the holder of a session that died without letting go, or None. `weak` says why the project
    could not really be locked (a read-only folder, a network disk without locks); empty where it is.
    """

    def __init__(self, lock: BaseFileLock | None, note: Path, left_by: Holder | None, weak: str) -> None:
        self._lock = lock
        self._note = note
        self.left_by = left_by
        self.weak = weak

    def release(self) -> None:
        """Let go of the project; doing so twice does no harm."""
        if self._lock is None:
            return
        with contextlib.suppress(OSError):
            self._note.unlink()
        self._lock.release()
        self._lock = None

    def __enter__(self) -> Lock:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.release()


def lock(path: str | os.PathLike[str]) -> Lock:
    """Take a project for this session, without waiting; raises Held where another session has it.

    Never fails for want of a lock: where the folder can't have one, the answer's `weak` says so.
    """
    # Loaded here: it takes longer than all the rest of this package.
    from filelock import FileLock, Timeout

    target = Path(os.path.realpath(path))
    place = target.with_name(f".{target.name[:200]}.lock")
    note = target.with_name(f".{target.name[:200]}.lock.json")
    held = FileLock(place, timeout=0, thread_local=False)
    try:
        held.acquire()
    except Timeout:
        holder = _read_note(note)
        since = f", since {holder.started}" if holder.started else ""
        raise Held(
            shown(os.fspath(path), 200),
            f"is open in {holder.words}{since}" if not holder.pid else f"is held by {holder.words}{since}",
            holder=holder.words,
            since=holder.started,
            remedy="Close it there, or open it here for reading only.",
        ) from None
    except (OSError, NotImplementedError) as error:
        reason = getattr(error, "strerror", None) or "no locks here"
        return Lock(
            None, note, None, f"{shown(str(target.parent), 200)} can't hold a lock: {str(reason).lower()}"
        )
    left_by = _read_note(note) if note.exists() else None
    _write_note(note)
    _sweep(target)
    return Lock(held, note, left_by, "")


def _write_note(note: Path) -> None:
    holder = Holder(
        host=platform.node(),
        user=_user(),
        pid=os.getpid(),
        started=datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC"),
    )
    with contextlib.suppress(OSError):
        note.write_text(json.dumps(attrs.asdict(holder)), encoding="utf-8")


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""


def _read_note(note: Path) -> Holder:
    """Who the note names; whatever is wrong with the note, a Holder all the same."""
    try:
        with open(note, "rb") as file:
            said: Any = json.loads(file.read(_LARGEST_NOTE))
    except (OSError, ValueError, RecursionError):
        return Holder()
    if not isinstance(said, dict):
        return Holder()
    texts = {
        key: shown(value, 60)
        for key in ("host", "user", "started")
        if isinstance(value := said.get(key), str)
    }
    pid = said.get("pid")
    return Holder(pid=pid if type(pid) is int and 0 < pid < 2**32 else 0, **texts)


def _sweep(target: Path) -> None:
    """Clear away what a session left that died while it wrote. Holding the lock, no other is writing."""
    left = re.compile(rf"\.{re.escape(target.name[:200])}\.\d+\.tmp")
    with contextlib.suppress(OSError), os.scandir(target.parent) as entries:
        for entry in entries:
            if left.fullmatch(entry.name):
                with contextlib.suppress(OSError):
                    os.unlink(entry.path)

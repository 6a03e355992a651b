"""Dated copies of project files in the person's state folder, thinned with age, and the way back.

A copy is named by the moment it was taken, in UTC: the names sort by age and no clock change mixes them up.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

import attrs

from model.errors import StoreError
from model.harness import Harness
from model.store.disk import Stamp, decoded, read_bytes, stamp_of, write_text
from model.store.reading import loads
from model.values import shown

KEEP_LAST = 10
KEEP_DAYS = 14

_MOMENT = "%Y%m%dT%H%M%S.%fZ"
_NAME = re.compile(r".*?(\.unsaved)?\.(\d{8}T\d{6}\.\d{6}Z)\.toml", re.DOTALL)


@attrs.frozen(kw_only=True)
class Backup:
    """One dated copy; `taken` is aware, in UTC. `unsaved`: it holds work that could not be written to the
    file.
    """

    path: Path
    taken: datetime
    size_bytes: int
    unsaved: bool = False


def backup_folder(path: str | os.PathLike[str]) -> Path:
    """Where the backups of a project file are kept. Links to one file share their backups."""
    import platformdirs

    place = hashlib.sha256(os.fsencode(os.path.realpath(path))).hexdigest()[:16]
    return platformdirs.user_state_path("loomtag", appauthor=False) / "backups" / place


def backups(path: str | os.PathLike[str]) -> tuple[Backup, ...]:
    """All backups of a project file, the newest first; empty where there is none."""
    found = []
    with contextlib.suppress(OSError), os.scandir(backup_folder(path)) as entries:
        for entry in entries:
            name = _NAME.fullmatch(entry.name)
            if name is None:
                continue
            with contextlib.suppress(OSError, ValueError):
                taken = datetime.strptime(name.group(2), _MOMENT).replace(tzinfo=UTC)
                found.append(
                    Backup(
                        path=Path(entry.path),
                        taken=taken,
                        size_bytes=entry.stat().st_size,
                        unsaved=name.group(1) is not None,
                    )
                )
    return tuple(sorted(found, key=lambda backup: backup.taken, reverse=True))


def back_up(path: str | os.PathLike[str], *, now: datetime | None = None) -> Backup | None:
    """Take a dated copy of a project file as it is on disk, and thin the older ones.

    Returns None where the newest copy holds the same already. Raises StoreError where the file can't be
    read or the copy not written.
    """
    return _keep(path, read_bytes(path), now)


def back_up_unsaved(path: str | os.PathLike[str], text: str, *, now: datetime | None = None) -> Backup | None:
    """Keep a project's text that could not be written to its file among its backups, and thin the older ones.

    Returns None where the newest copy holds the same already. Raises StoreError where it can't be written.
    """
    return _keep(path, text.encode("utf-8", "surrogateescape"), now, mark=".unsaved")


def _keep(path: str | os.PathLike[str], data: bytes, now: datetime | None, mark: str = "") -> Backup | None:
    older = backups(path)
    if older:
        with contextlib.suppress(StoreError):
            if stamp_of(read_bytes(older[0].path)) == stamp_of(data):
                return None
    now = (now or datetime.now(UTC)).astimezone(UTC)
    folder = backup_folder(path)
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise StoreError(
            shown(str(folder), 200),
            f"can't be made for backups: {error.strerror}",
            remedy="Check that your home folder can be written.",
        ) from None
    copy = folder / f"{Path(path).stem[:100]}{mark}.{now.strftime(_MOMENT)}.toml"
    # Bytes that are no text are copied too: a damaged file is the person's all the same.
    write_text(copy, data.decode("utf-8", "surrogateescape"), errors="surrogateescape")
    taken = Backup(path=copy, taken=now, size_bytes=len(data), unsaved=bool(mark))
    _thin((taken, *older), now)
    return taken


def _thin(copies: Iterable[Backup], now: datetime) -> None:
    by_time = {copy.taken: copy for copy in copies}
    for moment in by_time.keys() - kept(by_time, now):
        with contextlib.suppress(OSError):
            by_time[moment].path.unlink()


def kept(moments: Iterable[datetime], now: datetime) -> frozenset[datetime]:
    """Which moments keep their copy: the last ten, the last of each day for 14 days and of each month."""
    newest_first = sorted(moments, reverse=True)
    keep = set(newest_first[:KEEP_LAST])
    days: set[object] = set()
    months: set[object] = set()
    for moment in newest_first:
        if (now - moment).days < KEEP_DAYS and moment.date() not in days:
            days.add(moment.date())
            keep.add(moment)
        month = (moment.year, moment.month)
        if month not in months:
            months.add(month)
            keep.add(moment)
    return frozenset(keep)


def restore(
    backup: Backup | str | os.PathLike[str], path: str | os.PathLike[str], *, now: datetime | None = None
) -> tuple[Harness, Stamp]:
    """Put a backup in the place of a project file; what stands there is backed up first.

    Returns the harness and the stamp to save it with. Raises StoreError or Faults where the backup itself
    can't be read; the project file is then not touched.
    """
    source = backup.path if isinstance(backup, Backup) else Path(backup)
    # Read before backing up: thinning may let go of the very copy that is wanted.
    text = decoded(read_bytes(source), shown(source.name, 80))
    harness = loads(text, shown(source.name, 80))
    if os.path.lexists(path):
        back_up(path, now=now)
    return harness, write_text(path, text)

"""Files as wholes: read with every way it can fail said plainly, written whole or not at all.

Nothing is written over what another program wrote meanwhile.
"""

from __future__ import annotations

import codecs
import contextlib
import errno
import hashlib
import os
import stat
from pathlib import Path

import attrs

from model.errors import ChangedOnDisk, StoreError
from model.values import shown

RESTORE = "restore a backup (loomtag backups FILE, or b in Setup)"
"""How a person comes to the backups: the way for a file that can't be opened, and for one that can."""

LARGEST_BYTES = 20_000_000
"""Largest file that is read: some ten thousand lamps with all their history."""


@attrs.frozen(kw_only=True)
class Stamp:
    """What a file held when it was last read or written here; an empty digest stands for no file."""

    digest: str


ABSENT = Stamp(digest="")
"""The stamp of a file that must not exist yet."""


def stamp_of(data: bytes) -> Stamp:
    """The stamp of a file with these bytes."""
    return Stamp(digest=hashlib.blake2b(data, digest_size=16).hexdigest())


def read_bytes(path: str | os.PathLike[str]) -> bytes:
    """The bytes of a file of a size that can be a project; raises StoreError that says why not."""
    name = shown(os.fspath(path), 200)
    try:
        # Not blocking: a named pipe has no end to wait for.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except (OSError, ValueError) as error:
        raise _cant_open(name, path, error) from None
    try:
        about = os.fstat(handle)
        if stat.S_ISDIR(about.st_mode):
            raise StoreError(name, "is a folder", remedy="Name the project file in it.")
        if not stat.S_ISREG(about.st_mode):
            raise StoreError(
                name, "is no ordinary file", remedy="Name a file that can be read from its start."
            )
        if about.st_size > LARGEST_BYTES:
            raise StoreError(
                name,
                f"is {about.st_size / 1e6:.0f} MB large",
                limit=f"{LARGEST_BYTES / 1e6:.0f} MB",
                remedy="This is not a project file.",
            )
        with open(handle, "rb", closefd=False) as file:
            return file.read(LARGEST_BYTES + 1)
    except OSError as error:
        found = f"can't be read: {_reason(error)}"
        raise StoreError(name, found, remedy=f"Try again, or {RESTORE}.") from None
    finally:
        os.close(handle)


def read_text(path: str | os.PathLike[str]) -> str:
    """The text of a file that a person made elsewhere, as a lamp list: UTF-8, or UTF-16 with its mark.

    Raises StoreError.
    """
    data = read_bytes(path)
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        with contextlib.suppress(UnicodeDecodeError):
            return data.decode("utf-16")
    return decoded(data, shown(Path(path).name, 80))


def _cant_open(name: str, path: str | os.PathLike[str], error: OSError | ValueError) -> StoreError:
    if isinstance(error, FileNotFoundError):
        remedy = "Check the name, or start a project with: loomtag new FILE"
        if os.path.islink(path):
            return StoreError(name, "is a link to a file that is not there", remedy=remedy)
        return StoreError(name, "does not exist", remedy=remedy)
    if isinstance(error, IsADirectoryError) or os.path.isdir(path):
        return StoreError(name, "is a folder", remedy="Name the project file in it.")
    if isinstance(error, PermissionError):
        return StoreError(
            name, "may not be read by you", remedy="Change its permissions, or copy it to your own folder."
        )
    return StoreError(name, f"can't be opened: {_reason(error)}", remedy="Check the name.")


def _reason(error: OSError | ValueError) -> str:
    text = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return shown(text[:1].lower() + text[1:], 100)


def decoded(data: bytes, source: str) -> str:
    """Bytes as text: UTF-8, a byte order mark allowed. Raises StoreError."""
    if b"\0" in data:
        line = data[: data.index(b"\0")].count(b"\n") + 1
        raise StoreError(
            f"{source} line {line}",
            "holds zero bytes",
            remedy=f"It is no text, or was damaged: {RESTORE}.",
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise StoreError(f"{source} line {line}", f"is not UTF-8: byte {data[error.start]:#04x}",
                         remedy=f"Save it as UTF-8 text, or {RESTORE}.") from None  # fmt: skip


# --- writing ------------------------------------------------------------------------------------------------


def write_text(
    path: str | os.PathLike[str], text: str, *, stamp: Stamp | None = None, errors: str = "strict"
) -> Stamp:
    """Write a text file whole or not at all and return its stamp.

    With a stamp, raises ChangedOnDisk where the file holds something else than when it was stamped
    (ABSENT: where it exists). Raises StoreError where it can't be written; what was there is unharmed.
    """
    name = shown(os.fspath(path), 200)
    target = Path(os.path.realpath(path))
    try:
        data = text.encode(errors=errors)
    except UnicodeEncodeError:
        raise StoreError(
            name, "would hold a character that can't be written", remedy="Take it out of the last input."
        ) from None
    if os.path.isdir(target):
        raise StoreError(name, "is a folder", remedy="Name a file in it.")
    check_stamp(path, stamp)
    mode = _mode(name, target)
    try:
        _replace(target, data, mode)
    except OSError as error:
        raise _cant_write(name, target, error) from None
    return stamp_of(data)


def check_stamp(path: str | os.PathLike[str], stamp: Stamp | None) -> None:
    """Raises ChangedOnDisk where the file no longer holds what `stamp` says."""
    if stamp is None:
        return
    name = shown(os.fspath(path), 200)
    if not os.path.exists(path):
        if stamp != ABSENT:
            raise ChangedOnDisk(
                name,
                "was removed or moved meanwhile",
                remedy="Save a copy under another name.",
            )
        return
    if stamp == ABSENT:
        raise ChangedOnDisk(name, "exists already", remedy="Open it, or choose another name.")
    if stamp_of(read_bytes(path)) != stamp:
        raise ChangedOnDisk(
            name,
            "was changed by another program meanwhile",
            remedy="Save a copy under another name, or open the file again without your last step.",
        )


def _mode(name: str, target: Path) -> int:
    """The permissions the new file gets: those of the old one, else what the umask leaves."""
    try:
        about = target.stat()
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask
    except OSError as error:
        raise _cant_write(name, target, error) from None
    # Replacing would get round a write protection that the person set on purpose.
    if not about.st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH) or not os.access(target, os.W_OK):
        raise StoreError(
            name, "is write-protected", remedy="Allow writing to it, or save under another name."
        )
    return stat.S_IMODE(about.st_mode)


def temporary_name(target: Path) -> Path:
    """The file that is written before it takes the place of `target`; beside it, to be on the same disk."""
    return target.with_name(f".{target.name[:200]}.{os.getpid()}.tmp")


def _replace(target: Path, data: bytes, mode: int) -> None:
    temporary = temporary_name(target)
    flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    try:
        handle = os.open(temporary, flags, 0o600)
        with open(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(handle)
        os.chmod(temporary, mode)
        os.replace(temporary, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise
    _sync_folder(target.parent)


def _sync_folder(folder: Path) -> None:
    """Put the new name on the disk too. Some systems can't; the file itself is whole all the same."""
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _cant_write(name: str, target: Path, error: OSError) -> StoreError:
    folder = shown(str(target.parent), 200)
    other = "Save it in another folder."
    found, remedy = {
        errno.ENOSPC: ("the disk is full", "Make room and save again."),
        errno.EDQUOT: ("your share of the disk is used up", "Make room and save again."),
        errno.EFBIG: ("files may not grow so large here", other),
        errno.EROFS: ("the disk is read-only", other),
        errno.EACCES: (f"you may not write in folder {folder}", f"Allow writing there. {other}"),
        errno.EPERM: (f"you may not write in folder {folder}", f"Allow writing there. {other}"),
        errno.ENAMETOOLONG: ("its name is too long", "Choose a shorter name."),
        errno.ENOENT: (f"folder {folder} does not exist", f"Make the folder. {other}"),
        errno.ENOTDIR: (f"{folder} is no folder", other),
    }.get(error.errno or 0, (_reason(error), other))
    return StoreError(name, f"was not saved: {found}", remedy=remedy)

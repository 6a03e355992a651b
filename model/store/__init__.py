"""Project files: read, write whole or not at all, lock, back up. The only file I/O of the core."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from model.store.copies import Backup, back_up, back_up_unsaved, backups, restore
    from model.store.disk import ABSENT, Stamp, read_text, write_text
    from model.store.locking import Holder, Lock, lock
    from model.store.project import Loaded, load, open_file, save
    from model.store.reading import loads
    from model.store.shape import SCHEMA
    from model.store.writing import dumps

__all__ = [
    "ABSENT",
    "SCHEMA",
    "Backup",
    "Holder",
    "Loaded",
    "Lock",
    "Stamp",
    "back_up",
    "back_up_unsaved",
    "backups",
    "dumps",
    "load",
    "loads",
    "lock",
    "open_file",
    "read_text",
    "restore",
    "save",
    "write_text",
]

_HOME = {
    "Backup": "copies",
    "back_up": "copies",
    "back_up_unsaved": "copies",
    "backups": "copies",
    "restore": "copies",
    "ABSENT": "disk",
    "Stamp": "disk",
    "read_text": "disk",
    "write_text": "disk",
    "Holder": "locking",
    "Lock": "locking",
    "lock": "locking",
    "Loaded": "project",
    "load": "project",
    "open_file": "project",
    "save": "project",
    "loads": "reading",
    "SCHEMA": "shape",
    "dumps": "writing",
}
"""The part that holds each name; no part has the name of something in it."""


def __getattr__(name: str) -> Any:
    """The part that holds `name`, read when it is first asked for: opening needs no lock or backup yet."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)

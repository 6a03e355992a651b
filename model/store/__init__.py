"""Project files: read, write whole or not at all, lock, back up. The only file I/O of the core."""

from __future__ import annotations

from model.store.backups import Backup, back_up, backups, restore
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

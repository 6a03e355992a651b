"""Project files: a harness read from and written to its file."""

from __future__ import annotations

import os
from pathlib import Path

import attrs

from model.harness import Harness
from model.store.copies import back_up
from model.store.disk import Stamp, decoded, read_bytes, stamp_of, write_text
from model.store.reading import parsed, structured
from model.store.shape import SCHEMA
from model.store.writing import dumps
from model.values import shown


@attrs.frozen(kw_only=True)
class Loaded:
    """A harness as read from a file, the stamp to save it with, and the schema the file was of."""

    harness: Harness
    stamp: Stamp
    schema: int


def load(path: str | os.PathLike[str]) -> Harness:
    """The harness in a file. Raises StoreError, or Faults with all faults of the file."""
    return open_file(path).harness


def open_file(path: str | os.PathLike[str]) -> Loaded:
    """The harness in a file with its stamp. Raises StoreError, or Faults with all faults of the file.

    A file of an older schema is backed up before it is given out in the form of this version; the file
    itself changes with the next save. One of a newer schema is refused and not touched.
    """
    data = read_bytes(path)
    source = shown(Path(path).name, 80)
    text = decoded(data, source)
    tables, schema = parsed(text, source)
    harness = structured(tables, text, source)
    if schema < SCHEMA:
        back_up(path)
    return Loaded(harness=harness, stamp=stamp_of(data), schema=schema)


def save(harness: Harness, path: str | os.PathLike[str], *, stamp: Stamp | None = None) -> Stamp:
    """Write a harness to its file, whole or not at all, and return the new stamp.

    With a stamp, raises ChangedOnDisk where the file holds something else than when it was stamped
    (ABSENT: where it exists). Raises StoreError where it can't be written; what was there is unharmed.
    """
    return write_text(path, dumps(harness), stamp=stamp)

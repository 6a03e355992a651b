"""The stock that comes with the program, and the person's own beside it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from harness_tui.preferences import stock_folder
from model.errors import Faults, LoomError
from model.labels.stock import Stock, stocks_with


def all_stocks() -> Mapping[str, Stock]:
    """All stock that can be used, by name; read again only where a file of the person's own has changed."""
    return _read(*_as_it_stands())[0]


def stock_faults() -> str:
    """What is wrong with the person's own files, all of it; "" where nothing is."""
    faults = _read(*_as_it_stands())[1]
    if not faults:
        return ""
    return Faults(
        "your label stock", faults, remedy=f"Mend or remove the files in {stock_folder()}."
    ).message()


Stamp = tuple[tuple[str, int, int], ...]


def _as_it_stands() -> tuple[Path, Stamp]:
    folder = stock_folder()
    try:
        files = [(path.name, path.stat()) for path in sorted(folder.glob("*.toml"))]
    except OSError:
        return folder, ()  # reading it says what is wrong
    return folder, tuple((name, found.st_mtime_ns, found.st_size) for name, found in files)


@lru_cache(maxsize=4)
def _read(folder: Path, stamp: Stamp) -> tuple[Mapping[str, Stock], tuple[LoomError, ...]]:
    return stocks_with(folder)

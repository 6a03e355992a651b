"""The package's own names, which are only read from its parts when asked for."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import model.store

ROOT = Path(__file__).parents[3]

CODE = f"""
import sys; sys.path.insert(0, {str(ROOT)!r})
import types
import model.store.project, model.store.copies, model.store.locking, model.store.writing
import model.store as store
print([name for name in store.__all__ if isinstance(getattr(store, name), types.ModuleType)])
"""


def test_every_name_is_there_and_is_no_module() -> None:
    """In an interpreter of its own: a part read before may stand in the way of a name like its own."""
    done = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_unknown_names_are_refused() -> None:
    with pytest.raises(AttributeError, match="no_such"):
        _ = model.store.no_such  # type: ignore[attr-defined]

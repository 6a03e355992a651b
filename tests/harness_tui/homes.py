"""A home folder of its own for a test, so that nothing of the person's is read or written."""

from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest


def own_home(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Put the person's configuration, state and data under `folder`, and work there."""
    for kind in ("config", "state", "data"):
        place = folder / kind
        monkeypatch.setattr(platformdirs, f"user_{kind}_path", lambda *args, place=place, **kwargs: place)
    work = folder / "work"
    work.mkdir(parents=True)
    monkeypatch.chdir(work)
    return work

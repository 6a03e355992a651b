"""The demo projects: a lorry to go on with, a boat that is planned, a lighthouse to learn on."""

from __future__ import annotations

from importlib.resources import files

from model.errors import NotThere
from model.values import shown

_NAMES = ("gritter", "tug", "lighthouse")


def names() -> tuple[str, ...]:
    """The names of the demos, in the order they are offered."""
    return _NAMES


def text(name: str) -> str:
    """The project file of a demo, as `model.store.loads` reads it. Raises NotThere for an unknown name."""
    if name not in _NAMES:
        raise NotThere(f"demo {shown(name)}", "does not exist", remedy=f"There are {', '.join(_NAMES)}.")
    return files(__name__).joinpath(f"{name}.toml").read_text(encoding="utf-8")

"""What belongs to the person and not to a project: settings they write, and what the program remembers.

settings.toml in the person's configuration folder is theirs, and is only read here:

    theme = "ansi-light"
    [keys]
    "walk.skip" = "k"
    "go.find" = "7,f8,ctrl+f"

state.toml in their state folder is the program's: projects opened lately, whether the cautions were read.
"""

from __future__ import annotations

import contextlib
import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

import attrs

from model.errors import BadValue, LoomError, StoreError
from model.store.disk import decoded, read_bytes, write_text
from model.values import shown

NAME = "loomtag"
MOST_RECENT = 9
USUAL_THEME = "ansi-dark"


def settings_file() -> Path:
    """The file of the person's own settings; it need not exist."""
    import platformdirs

    return platformdirs.user_config_path(NAME, appauthor=False) / "settings.toml"


def state_file() -> Path:
    """The file of what the program remembers."""
    import platformdirs

    return platformdirs.user_state_path(NAME, appauthor=False) / "state.toml"


def demo_folder() -> Path:
    """Where the private copies of the demo projects are."""
    import platformdirs

    return platformdirs.user_data_path(NAME, appauthor=False) / "demos"


@attrs.frozen(kw_only=True)
class Preferences:
    """The person's settings as far as they can stand; `faults` says what of the file can't.

    `keys` maps ids of bindings to keys, several with commas; harness_tui.keymap checks them.
    """

    theme: str = USUAL_THEME
    keys: Mapping[str, str] = MappingProxyType({})
    faults: tuple[LoomError, ...] = ()


@attrs.frozen(kw_only=True)
class State:
    """What the program remembers: paths of projects, last opened first, and if the cautions were read."""

    recent: tuple[str, ...] = ()
    cautions_seen: bool = False


def read_preferences(path: Path | None = None) -> Preferences:
    """The settings in a file (default: the person's own). Never raises: what is wrong stands in `faults`."""
    path = path or settings_file()
    if not path.exists():
        return Preferences()
    try:
        table = _table(path)
    except LoomError as error:
        return Preferences(faults=(error,))
    faults: list[LoomError] = []
    theme = table.pop("theme", USUAL_THEME)
    if theme != USUAL_THEME and theme not in _themes():
        limit = ", ".join(_themes())
        faults.append(BadValue(f"{path.name}: theme", f"{shown(repr(theme))} is not known", limit=limit))
        theme = USUAL_THEME
    keys = table.pop("keys", {})
    if not isinstance(keys, dict):
        faults.append(BadValue(f"{path.name}: keys", "is no table", remedy="Write it as [keys]."))
        keys = {}
    wrong = [name for name, value in keys.items() if not isinstance(value, str)]
    for name in wrong:
        faults.append(
            BadValue(f"{path.name}: keys: {shown(name)}", "is no text", limit='such as "k" or "k,ctrl+k"')
        )
    for name in table:
        faults.append(BadValue(f"{path.name}: {shown(name)}", "is not known", limit="theme, keys"))
    kept = {name: value for name, value in keys.items() if name not in wrong}
    return Preferences(theme=theme, keys=MappingProxyType(kept), faults=tuple(faults))


def _themes() -> tuple[str, ...]:
    # Read only where another theme is asked for.
    from textual.theme import BUILTIN_THEMES

    return tuple(BUILTIN_THEMES)


def _table(path: Path) -> dict[str, Any]:
    text = decoded(read_bytes(path), path.name)
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise StoreError(
            str(path), f"can't be read: {error}", remedy="Mend the line, or remove the file."
        ) from None


def read_state(path: Path | None = None) -> State:
    """What is remembered; a missing or damaged file is an empty memory."""
    try:
        table = _table(path or state_file())
    except LoomError:
        return State()
    recent = table.get("recent", [])
    paths = [one for one in recent if isinstance(one, str)] if isinstance(recent, list) else []
    return State(recent=tuple(paths[:MOST_RECENT]), cautions_seen=table.get("cautions_seen") is True)


def _write(state: State, path: Path | None) -> None:
    import tomli_w

    path = path or state_file()
    table = {"cautions_seen": state.cautions_seen, "recent": list(state.recent)}
    # Forgetting a recent file harms nobody: a full disk or a locked home must not stop the work.
    with contextlib.suppress(LoomError, OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_text(path, tomli_w.dumps(table))


def remember_project(project: Path, path: Path | None = None) -> None:
    """Put a project on top of those opened lately."""
    state = read_state(path)
    here = str(project.resolve())
    recent = (here, *(one for one in state.recent if one != here))[:MOST_RECENT]
    if recent != state.recent:
        _write(attrs.evolve(state, recent=recent), path)


def remember_cautions(path: Path | None = None) -> None:
    """Remember that the cautions were read."""
    _write(attrs.evolve(read_state(path), cautions_seen=True), path)

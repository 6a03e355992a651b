"""What belongs to the person and not to a project: settings they write, and what the program remembers.

settings.toml in the person's configuration folder is theirs; Setup changes single lines of it and keeps
the rest:

    theme = "ansi-light"
    paper = "Letter"
    units = "inch"
    label_text_mm = 2.5
    sound = false
    [keys]
    "walk.skip" = "k"
    "go.find" = "7,f8,ctrl+f"

state.toml in their state folder is the program's: projects opened lately, whether the cautions were read,
how true each printer prints, what was chosen last for printing.

Stock of their own, one TOML file each, lies in the folder `stock` beside settings.toml.
"""

from __future__ import annotations

import contextlib
import json
import re
import sys
import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, cast

import attrs

from model import lengths
from model.errors import BadValue, LoomError, StoreError
from model.lengths import UNITS, Unit
from model.standards.legibility import DEFAULT_CAP_MM, FLOOR_CAP_MM
from model.store.disk import decoded, read_bytes, write_text
from model.toml_text import said, tables
from model.values import shown, text_fault

NAME = "loomtag"
MOST_RECENT = 9
USUAL_THEME = "ansi-dark"

RULER_MOST_MM = 300.0
STRETCH_MOST = 0.1
"""No printer that prints at 100 % is more than a tenth off."""
USUAL_PAPER = "A4"
PAPER_SIZES = ("A4", "Letter")
LABEL_TEXT_MM = (FLOOR_CAP_MM, 6.0)
"""Least and most height of the capitals on labels: what is still read at 300 mm, and what labels hold."""
USUAL: Mapping[str, Any] = MappingProxyType(
    {
        "theme": USUAL_THEME,
        "paper": USUAL_PAPER,
        "units": "mm",
        "label_text_mm": DEFAULT_CAP_MM,
        "sound": True,
    }
)
"""Every setting beside the keys, with what it is where the file says nothing."""


def settings_file() -> Path:
    """The file of the person's own settings; it need not exist."""
    import platformdirs

    return platformdirs.user_config_path(NAME, appauthor=False) / "settings.toml"


def state_file() -> Path:
    """The file of what the program remembers."""
    import platformdirs

    return platformdirs.user_state_path(NAME, appauthor=False) / "state.toml"


def stock_folder() -> Path:
    """The folder of the person's own label stock; it need not exist."""
    return settings_file().parent / "stock"


def demo_folder() -> Path:
    """Where the private copies of the demo projects are."""
    import platformdirs

    return platformdirs.user_data_path(NAME, appauthor=False) / "demos"


@attrs.frozen(kw_only=True)
class Preferences:
    """The person's settings as far as they can stand; `faults` says what of the file can't.

    `paper` is the size papers begin with, `units` in what lengths are written and read, `label_text_mm` the
    height of capitals on labels where there is room, `sound` whether the terminal's bell may ring.
    `keys` maps ids of bindings to keys, several with commas; harness_tui.keymap checks them.
    """

    theme: str = USUAL_THEME
    paper: str = USUAL_PAPER
    units: Unit = "mm"
    label_text_mm: float = DEFAULT_CAP_MM
    sound: bool = True
    keys: Mapping[str, str] = MappingProxyType({})
    faults: tuple[LoomError, ...] = ()


@attrs.frozen(kw_only=True)
class Stretch:
    """By how much a printer's lengths are stretched to come out true, across (x) and down (y).

    `page_x` and `page_y` are the factors its rulers were last printed with, `ruler_x` and `ruler_y` their
    lengths in mm.
    """

    x: float = 1.0
    y: float = 1.0
    page_x: float = 1.0
    page_y: float = 1.0
    ruler_x: float = 150.0
    ruler_y: float = 200.0


@attrs.frozen(kw_only=True)
class State:
    """What the program remembers: paths of projects, last opened first, and if the cautions were read.

    `printers` are those whose rulers were printed, by name; `choices` what was chosen last for printing.
    """

    recent: tuple[str, ...] = ()
    cautions_seen: bool = False
    printers: Mapping[str, Stretch] = MappingProxyType({})
    choices: Mapping[str, str] = MappingProxyType({})


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
    plain = {name: table.pop(name, usual) for name, usual in USUAL.items()}
    for name, value in plain.items():
        fault = _unfit(name, value)
        if fault is not None:
            faults.append(BadValue(f"{path.name}: {name}", fault.found, limit=fault.limit))
            plain[name] = USUAL[name]
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
        faults.append(
            BadValue(f"{path.name}: {shown(name)}", "is not known", limit=", ".join((*USUAL, "keys")))
        )
    kept = {name: value for name, value in keys.items() if name not in wrong}
    return Preferences(**plain, keys=MappingProxyType(kept), faults=tuple(faults))


def themes() -> tuple[str, ...]:
    """The names of the themes there are."""
    # Read only where another theme is asked for.
    from textual.theme import BUILTIN_THEMES

    return tuple(BUILTIN_THEMES)


def _unfit(name: str, value: object) -> BadValue | None:
    """What is wrong with the value of a setting."""
    if value == USUAL[name] and type(value) is type(USUAL[name]):
        return None
    if name == "sound":
        return None if isinstance(value, bool) else BadValue(name, f"{said(value)} is not true or false")
    if name == "label_text_mm":
        least, most = LABEL_TEXT_MM
        if type(value) in (int, float) and least <= cast(float, value) <= most:
            return None
        return BadValue(name, f"{said(value)} is no height", limit=f"{least:g} to {most:g} mm")
    known: tuple[str, ...] = themes() if name == "theme" else {"paper": PAPER_SIZES, "units": UNITS}[name]
    if value in known:
        return None
    return BadValue(name, f"{said(value)} is not known", limit=", ".join(known))


def take_effect(preferences: Preferences) -> None:
    """Let the settings hold that are of no screen: the unit of lengths, the height of print on labels."""
    lengths.write_in(preferences.units)
    if preferences.label_text_mm != DEFAULT_CAP_MM or "model.labels.layout" in sys.modules:
        # Not read for nothing: the first screen comes up without it.
        from model.labels.layout import print_capitals

        print_capitals(preferences.label_text_mm)


def change_setting(name: str, value: str | bool | float, path: Path | None = None) -> Preferences:
    """Write one setting into the person's file, every other line as it was, and return what the file holds
    now.

    Raises BadValue for what can't stand, StoreError where the file is damaged or can't be written.
    """
    fault = _unfit(name, value)
    if fault is not None:
        raise fault
    path = path or settings_file()
    text = decoded(read_bytes(path), path.name) if path.exists() else ""
    line = f"{name} = {json.dumps(value)}"
    written = _with_line(text, name, line)
    before = _table(path) if path.exists() else {}
    try:
        understood = tomllib.loads(written) == {**before, name: value}
    except tomllib.TOMLDecodeError:
        understood = False
    if not understood:  # written in a way that a line can't be put into
        raise StoreError(
            str(path), f"has {name} in a form that can't be changed here", remedy=f"Write in it: {line}"
        )
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            str(path.parent),
            f"can't be made: {error.strerror}",
            remedy="Check that your home folder can be written.",
        ) from None
    write_text(path, written)
    return read_preferences(path)


def _with_line(text: str, name: str, line: str) -> str:
    """The text with the line of a setting in the place of its old one, or before the first table."""
    lines = text.splitlines()
    head = next((place for place, one in enumerate(lines) if one.lstrip().startswith("[")), len(lines))
    own = re.compile(rf"\s*{name}\s*=")
    place = next((place for place in range(head) if own.match(lines[place])), None)
    if place is None:
        lines.insert(head, line)
    else:
        lines[place] = line
    return "\n".join(lines) + "\n"


def _table(path: Path) -> dict[str, Any]:
    text = decoded(read_bytes(path), path.name)
    try:
        return tables(text)
    except ValueError as error:  # tomllib's own among them
        raise StoreError(
            str(path), f"can't be read: {shown(str(error), 120)}", remedy="Mend the line, or remove the file."
        ) from None


def read_state(path: Path | None = None) -> State:
    """What is remembered; a missing or damaged file is an empty memory."""
    try:
        table = _table(path or state_file())
    except LoomError:
        return State()
    recent = table.get("recent", [])
    paths = [one for one in recent if isinstance(one, str)] if isinstance(recent, list) else []
    choices = table.get("choices", {})
    chosen = choices.items() if isinstance(choices, dict) else ()
    return State(
        recent=tuple(paths[:MOST_RECENT]),
        cautions_seen=table.get("cautions_seen") is True,
        printers=MappingProxyType(_printers(table.get("printers"))),
        choices=MappingProxyType({key: one for key, one in chosen if isinstance(one, str)}),
    )


def _printers(table: Any) -> dict[str, Stretch]:
    found = {}
    for name, values in table.items() if isinstance(table, dict) else ():
        if text_fault(name) or not name.strip() or not isinstance(values, dict):
            continue
        numbers = {key: values.get(key, 1.0) for key in ("x", "y", "page_x", "page_y")}
        lengths = {key: values.get(key, getattr(Stretch(), key)) for key in ("ruler_x", "ruler_y")}
        if all(
            isinstance(one, float) and 1 - STRETCH_MOST <= one <= 1 + STRETCH_MOST for one in numbers.values()
        ) and all(isinstance(one, float) and 0 < one <= RULER_MOST_MM for one in lengths.values()):
            found[name] = Stretch(**numbers, **lengths)
    return found


def _write(state: State, path: Path | None) -> None:
    import tomli_w

    path = path or state_file()
    table = {
        "cautions_seen": state.cautions_seen,
        "recent": list(state.recent),
        "choices": dict(state.choices),
        "printers": {name: attrs.asdict(one) for name, one in state.printers.items()},
    }
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


def remember_printer(name: str, stretch: Stretch, path: Path | None = None) -> None:
    """Remember how true a printer prints."""
    state = read_state(path)
    _write(attrs.evolve(state, printers={**state.printers, name: stretch}), path)


def remember_choice(key: str, choice: str, path: Path | None = None) -> None:
    """Remember what was chosen last; "" forgets it."""
    state = read_state(path)
    choices = {**state.choices, key: choice}
    if not choice:
        del choices[key]
    if choices != dict(state.choices):
        _write(attrs.evolve(state, choices=choices), path)

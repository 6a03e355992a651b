"""The group of Setup that belongs to the person and not to the project: look, paper, units, sound, and where
the file is.
"""

from __future__ import annotations

from pathlib import Path

from harness_tui.preferences import LABEL_TEXT_MM, PAPER_SIZES, USUAL, Preferences, themes
from harness_tui.screens.setup_group import Group
from harness_tui.widgets.form import Field
from model.errors import BadValue
from model.harness import Harness
from model.lengths import UNITS
from model.values import counted, parse_number, shown

PROGRAM = "program"

_YES_NO = {True: "yes", False: "no"}


def program_group(preferences: Preferences, path: Path) -> Group:
    """The group with the settings as they are; `path` is their file. Its edit is none of the harness."""

    def fields(harness: Harness) -> list[Field]:
        keys = ", ".join(preferences.keys) or "the usual"
        return [
            Field(
                key="theme",
                label="theme",
                text=preferences.theme,
                choices=_themes(),
                help="the two ansi ones keep the colours of your terminal",
            ),
            Field(
                key="paper", label="paper", text=preferences.paper, choices=PAPER_SIZES, help="of the papers"
            ),
            Field(
                key="units",
                label="units",
                text=preferences.units,
                choices=UNITS,
                help="of wire and legs; a unit typed behind a number counts, as 24 cm or 9 1/2 in",
            ),
            Field(
                key="label_text_mm",
                label="label text mm",
                text=f"{preferences.label_text_mm:g}",
                help=f"height of capitals on labels where there is room, {LABEL_TEXT_MM[0]:g} to "
                f"{LABEL_TEXT_MM[1]:g} mm; the tag is larger",
            ),
            Field(
                key="sound",
                label="sound",
                text=_YES_NO[preferences.sound],
                choices=("yes", "no"),
                help="whether the terminal's bell may ring",
            ),
            Field(
                key="keys", label="keys", text=keys, help=f"changed in the file, under [keys]: {_shown(path)}"
            ),
        ]

    def summary(harness: Harness) -> str:
        own = len(preferences.keys)
        keys = f"{counted(own, 'key')} of your own" if own else "the usual keys"
        sound = "sound" if preferences.sound else "no sound"
        labels = f"labels {preferences.label_text_mm:g} mm"
        return f"{preferences.theme}; {preferences.paper}; {preferences.units}; {labels}; {sound}; {keys}"

    return Group(
        key=PROGRAM,
        title="program",
        words=f"Yours, for every project. Kept in {_shown(path)}",
        summary=summary,
        fields=fields,
        edit=lambda harness, key, text: lambda h: h,
    )


def _themes() -> tuple[str, ...]:
    """The two that keep the terminal's colours first."""
    return tuple(sorted(themes(), key=lambda name: not name.startswith("ansi-")))


def typed_setting(key: str, text: str) -> str | bool | float:
    """The value that a typed field means. Raises BadValue."""
    if key == "keys":
        raise BadValue("keys", "can't be typed here", remedy="Write them in the settings file, under [keys].")
    if key == "sound":
        if text not in ("yes", "no"):
            raise BadValue("sound", shown(repr(text)), limit="yes or no")
        return text == "yes"
    if key == "label_text_mm":
        value = parse_number(text, "label text", "mm")
        return float(USUAL[key]) if value is None else value
    return text


def _shown(path: Path) -> str:
    text, home = str(path), str(Path.home())
    return shown("~" + text[len(home) :] if text.startswith(home + "/") else text, 200)

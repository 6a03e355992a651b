"""Starting a project: a few answers in a person's words, and the harness they make."""

from __future__ import annotations

import re
import unicodedata

import attrs

from model import editing
from model.errors import BadValue
from model.harness import REGULATED, Harness, Supply, Switched
from model.standards.cells import CHEMISTRIES
from model.standards.colours import OUTPUT_COLOURS
from model.values import parse_number, shown

USUAL_SUPPLIES = (
    "NiMH 6 cells",
    "NiMH 7 cells",
    "NiMH 8 cells",
    "LiPo 2 cells",
    "LiPo 3 cells",
    "LiFePO4 2 cells",
    "lead-acid 3 cells",
    "lead-acid 6 cells",
    "alkaline 4 cells",
    "regulated 5 V",
    "regulated 12 V",
)
"""Supplies often met in models; any other may be typed in the same words."""


@attrs.frozen(kw_only=True)
class StartAnswers:
    """The answers of the guided start, each with what most models have.

    `blocks` holds the number of outputs of each block of the controller.
    """

    name: str = "My model"
    code: str = "MY1"
    supply: Supply = attrs.field(factory=Supply)
    blocks: tuple[int, ...] = (6,)
    switched: Switched = Switched.NEGATIVE
    plus_colour: str = "RD"
    minus_colour: str = "BK"
    colour_per_output: bool = False


def start(answers: StartAnswers) -> Harness:
    """A new harness from the answers, each block with one common pin. Raises what a bad answer raises."""
    harness = Harness(name=answers.name, code=answers.code)
    for outputs in answers.blocks:
        harness = editing.add_block(harness, outputs=outputs, commons=1)
    harness = editing.set_supply(harness, answers.supply)
    harness = editing.set_switched(harness, answers.switched)
    harness = editing.set_settings(
        harness, plus_colour=answers.plus_colour, minus_colour=answers.minus_colour
    )
    return colour_outputs(harness) if answers.colour_per_output else harness


def suggest_code(name: str) -> str:
    """Three letters or digits for a project of that name: its first sign and the consonants after it."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().upper()
    signs = re.sub(r"[^A-Z0-9]", "", plain)
    code = (signs[:1] + re.sub(r"[AEIOU]", "", signs[1:]))[:3]
    return code if len(code) == 3 else (signs + "001")[:3] if signs else "P01"


def supply_text(supply: Supply) -> str:
    """A supply as `parse_supply` reads it: "NiMH 6 cells", "regulated 5 V"."""
    if supply.chemistry == REGULATED:
        return f"{REGULATED} {supply.nominal_v:g} V"
    return f"{supply.chemistry} {supply.cells} cells"


_FILLING = re.compile(r"\b(?:cells?|packs?|batter(?:y|ies)|of)\b")


def parse_supply(typed: str) -> Supply:
    """A supply from words in any order: "NiMH 6 cells", "3 LiPo cells", "LiPo 2S", "12 V". BadValue says what
    fits.
    """
    low = " ".join(typed.lower().split())
    found = re.fullmatch(r"(?:regulated )?(\d+(?:[.,]\d+)?) ?v|regulated (\d+(?:[.,]\d+)?)", low)
    if found:
        volts = parse_number(found.group(1) or found.group(2), "supply: volts", "V")
        return Supply(chemistry=REGULATED, nominal_v=volts)
    low = " ".join(_FILLING.sub(" ", low).split())
    names = {re.sub(r"[^a-z0-9]", "", name.lower()): name for name in CHEMISTRIES}
    for pattern in (r"(.+?) ?(\d+)(?: ?s| ?cells?)?", r"(\d+)(?: ?s| ?cells?)? ?(.+)", r"(.+)"):
        found = re.fullmatch(pattern, low)
        parts = [part for part in (found.groups() if found else ()) if part]
        words = [name for part in parts if (name := names.get(re.sub(r"[^a-z0-9]", "", part)))]
        if words and found:
            counts = [int(part) for part in parts if part.isdigit()]
            return Supply(chemistry=words[0], cells=counts[0] if counts else Supply().cells)
    raise BadValue(
        "supply",
        f"{shown(typed)} is not known",
        limit=f"{', '.join(CHEMISTRIES)} and how many cells, or volts",
        remedy="For example  NiMH 6 cells  or  12 V.",
    )


def parse_blocks(typed: str) -> tuple[int, ...]:
    """Outputs of each block: "6", "6+6", "2 x 6". BadValue outside 1 to 99 outputs in all."""
    low = typed.lower().strip()
    times = re.fullmatch(r"(\d{1,2}) ?[x*\u00d7] ?(\d{1,2})", low)
    if times:
        blocks = (int(times.group(2)),) * int(times.group(1))
    elif re.fullmatch(r"\d{1,2}(?: ?[+,] ?\d{1,2}| \d{1,2})*", low):
        blocks = tuple(int(part) for part in re.findall(r"\d+", low))
    else:
        raise BadValue("outputs", f"{shown(typed)} is not a number", limit="such as 6, or 6+6 for two blocks")
    if not blocks or min(blocks) < 1 or sum(blocks) > 99 or len(blocks) > 26:
        raise BadValue("outputs", shown(typed), limit="1 to 99 in all, at most 26 blocks")
    return blocks


def colour_outputs(harness: Harness) -> Harness:
    """Give the switched wires a colour per output: outputs without a colour get the next that none has.

    The common's colour is left out, so that it stays the common's alone. With more outputs than colours the
    last ones keep the colour of their polarity.
    """
    common = harness.settings.colour(harness.controller.common_polarity)
    taken = {output.colour for _, output in harness.controller.outputs()} | {common}
    free = [colour for colour in OUTPUT_COLOURS if colour not in taken]
    for _, output in harness.controller.outputs():
        if output.colour is None and free:
            harness = editing.edit_output(harness, output.number, colour=free.pop(0))
    return editing.set_settings(harness, colour_per_output=True)


def polarity_words(switched: Switched) -> str:
    """Which side is switched, and what the other then is: "negative switched, common positive"."""
    common = "positive" if switched is Switched.NEGATIVE else "negative"
    return f"{switched} switched, common {common}"

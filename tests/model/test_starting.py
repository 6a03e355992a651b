"""The guided start: answers in words, and the harness they make."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model import editing
from model.errors import BadValue
from model.harness import PROJECT_CODE, Supply, Switched
from model.integrity import broken_references
from model.starting import (
    USUAL_SUPPLIES,
    StartAnswers,
    colour_outputs,
    parse_blocks,
    parse_supply,
    polarity_words,
    start,
    suggest_code,
    supply_text,
)


@pytest.mark.parametrize(
    ("typed", "chemistry", "cells", "nominal_v"),
    [
        ("NiMH 6 cells", "NiMH", 6, None),
        ("6 nimh", "NiMH", 6, None),
        ("nimh", "NiMH", 6, None),
        ("LiPo 2S", "LiPo", 2, None),
        ("lipo2s", "LiPo", 2, None),
        ("2s LiPo", "LiPo", 2, None),
        ("  lead acid   6 ", "lead-acid", 6, None),
        ("LiFePO4 2 cells", "LiFePO4", 2, None),
        ("LiFePO4", "LiFePO4", 6, None),
        ("3 LiPo cells", "LiPo", 3, None),
        ("3-cell LiPo", "LiPo", 3, None),
        ("6 cells of NiMH", "NiMH", 6, None),
        ("LiPo cells 3", "LiPo", 3, None),
        ("NiMH battery, 7 cells", "NiMH", 7, None),
        ("li-ion 1 cell", "Li-ion", 1, None),
        ("12 V", "regulated", None, 12.0),
        ("5v", "regulated", None, 5.0),
        ("regulated 4,5 V", "regulated", None, 4.5),
        ("regulated 9", "regulated", None, 9.0),
    ],
)
def test_supplies_in_words(typed: str, chemistry: str, cells: int | None, nominal_v: float | None) -> None:
    supply = parse_supply(typed)
    assert (supply.chemistry, supply.nominal_v) == (chemistry, nominal_v)
    if cells is not None:
        assert supply.cells == cells


@pytest.mark.parametrize(
    "typed", ["", "battery", "6", "NiMH six", "NiMH 0", "NiMH 99", "0 V", "900 V", "-5 V", "x" * 500]
)
def test_supplies_that_are_none(typed: str) -> None:
    with pytest.raises(BadValue):
        parse_supply(typed)


@pytest.mark.parametrize("text", USUAL_SUPPLIES)
def test_what_is_offered_reads_back_as_itself(text: str) -> None:
    assert supply_text(parse_supply(text)) == text


@pytest.mark.parametrize(
    ("typed", "blocks"),
    [
        ("6", (6,)),
        ("6+6", (6, 6)),
        ("6 + 4", (6, 4)),
        ("2 x 6", (6, 6)),
        ("2x6", (6, 6)),
        ("6, 6", (6, 6)),
        ("99", (99,)),
    ],
)
def test_outputs_of_blocks(typed: str, blocks: tuple[int, ...]) -> None:
    assert parse_blocks(typed) == blocks


@pytest.mark.parametrize(
    "typed", ["", "0", "six", "6+", "+6", "100", "99+1", "0 x 6", "6 x 0", "-6", "6.5", "27 x 1"]
)
def test_outputs_that_are_none(typed: str) -> None:
    with pytest.raises(BadValue):
        parse_blocks(typed)


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("Gritter", "GRT"),
        ("Tug", "TUG"),
        ("Lighthouse", "LGH"),
        ("\u00dcbersee", "UBR"),
        ("a", "A00"),
        ("\u65e5\u672c", "P01"),
    ],
)
def test_codes_from_names(name: str, code: str) -> None:
    assert suggest_code(name) == code


@given(st.text())
def test_every_name_gets_a_code_that_can_stand(name: str) -> None:
    assert PROJECT_CODE.fullmatch(suggest_code(name))


def test_the_harness_of_the_answers() -> None:
    answers = StartAnswers(
        name="Harbour tug",
        code="TUG",
        supply=Supply(chemistry="lead-acid", cells=6),
        blocks=(6, 4),
        switched=Switched.POSITIVE,
        colour_per_output=True,
    )
    harness = start(answers)
    assert broken_references(harness) == ()
    assert (harness.name, harness.code, harness.supply.cells) == ("Harbour tug", "TUG", 6)
    assert [(block.name, len(block.outputs), len(block.commons)) for block in harness.controller.blocks] == [
        ("A", 6, 1),
        ("B", 4, 1),
    ]
    assert harness.controller.switched is Switched.POSITIVE
    assert harness.settings.colour_per_output


class TestColours:
    def test_each_output_gets_its_own_and_never_the_commons(self) -> None:
        harness = start(StartAnswers(blocks=(6,), plus_colour="YE", colour_per_output=True))
        colours = [output.colour for _, output in harness.controller.outputs()]
        assert len(set(colours)) == 6
        assert None not in colours
        assert "YE" not in colours  # negative is switched: yellow is the common's

    def test_those_chosen_stay(self) -> None:
        harness = editing.edit_output(start(StartAnswers()), 3, colour="YE")
        colours = [output.colour for _, output in colour_outputs(harness).controller.outputs()]
        assert colours[2] == "YE"
        assert colours.count("YE") == 1

    def test_more_outputs_than_colours_leave_the_last_without(self) -> None:
        harness = start(StartAnswers(blocks=(20,), colour_per_output=True))
        colours = [output.colour for _, output in harness.controller.outputs()]
        given = [colour for colour in colours if colour]
        assert len(given) == len(set(given))
        assert colours[-1] is None


def test_which_side_in_words() -> None:
    assert polarity_words(Switched.NEGATIVE) == "negative switched, common positive"
    assert re.search("common negative", polarity_words(Switched.POSITIVE))

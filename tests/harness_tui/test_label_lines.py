"""What is said beside the picture of a label."""

from __future__ import annotations

import pytest

from harness_tui.widgets.label_lines import notes, said_lines
from model.labels.batch import Label, LabelState, laid_out
from model.labels.stock import packaged_stocks
from tests.model.labels.label_cases import label


def labelled(name: str, dpi: int, **changes: object) -> Label:
    text = label(**changes)
    layout = laid_out(packaged_stocks()[name].at(dpi), text)
    return Label(text=text, layout=layout, state=LabelState.NEW)


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (labelled("sleeve-1.6", 300), "A sleeve carries no code: shrinking squeezes it"),
        (labelled("strips-a4", 600), "too low for a code"),
        (labelled("wrap-38x38", 300), "Round 1.2 mm a code would bend out of sight"),
        (labelled("flag-12", 180), "code with modules of 2 dots"),
        (labelled("wrap-25x38", 300), 'no room for "Ind FL"'),
    ],
)
def test_what_is_less_than_wished_is_said_without_being_a_fault(one: Label, said: str) -> None:
    assert one.problems == ()
    lines = [line.plain for line in said_lines(one, 200, (), 2)]
    assert said in lines[-1]


def test_nothing_is_said_of_a_label_that_has_all() -> None:
    assert notes(labelled("flag-12", 300)) == []


def test_faults_come_before_mere_notes() -> None:
    one = labelled("sleeve-1.6", 300, wire_od_mm=3.0)
    lines = [line.plain for line in said_lines(one, 200, (), 2)]
    assert any("3 mm thick" in line for line in lines)
    assert not any("carries no code" in line for line in lines)

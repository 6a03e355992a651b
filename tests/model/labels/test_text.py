"""What a label says: values that are refused, the code's text, file names."""

from __future__ import annotations

import pytest

from model.errors import BadValue
from model.labels.qr_sizes import ALPHANUMERIC, version_for
from model.labels.text import LabelText, file_name
from tests.model.labels.label_cases import label


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "GRT-K7L-L"),
        ({"end": "C"}, "GRT-K7L-C"),
        ({"project": ""}, "K7L-L"),
        ({"kind": "joint", "tag": "J3", "end": ""}, "GRT-J3"),
        ({"tag": "K7L9", "project": "A2"}, "A2-K7L9-L"),
    ],
)
def test_code_says_project_tag_and_end(changes: dict[str, str], said: str) -> None:
    assert label(**changes).qr_text() == said


def test_code_of_any_wire_fits_version_1_at_level_h() -> None:
    longest = label(project="GRT", tag="K7L9", end="C").qr_text()
    assert len(longest) == 10
    assert set(longest) <= ALPHANUMERIC
    assert version_for(longest, "H") == 1


@pytest.mark.parametrize(
    "changes",
    [
        {"project": "GRTX"}, {"project": "gr"}, {"project": "G/"}, {"project": None},
        {"tag": ""}, {"tag": "k7l"}, {"tag": "K7L\n"}, {"tag": "-K7"}, {"tag": "ABCDEFGHIJKLM"}, {"tag": 7},
        {"end": "X"}, {"kind": "cable"}, {"polarity": "plus"}, {"colour_code": "red"},
        {"wire_od_mm": 0}, {"wire_od_mm": float("nan")}, {"wire_od_mm": float("inf")}, {"wire_od_mm": True},
        {"lines": ("one line",)}, {"lines": ((),)}, {"lines": ((3,),)}, {"lines": [("a",)]},
        {"lines": (("x" * 121,),)}, {"lines": (("a",),) * 25},
    ],
)  # fmt: skip
def test_refuses(changes: dict[str, object]) -> None:
    with pytest.raises(BadValue):
        label(**changes)


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({}, "GRT-K7L-L.png"),
        ({"tag": "J1/2", "end": ""}, "GRT-J1_2.png"),
        ({"tag": "A..", "end": ""}, "GRT-A_.png"),
    ],
)
def test_file_name_says_tag_and_end_and_stays_in_its_folder(changes: dict[str, str], name: str) -> None:
    assert file_name(label(**changes)) == name


def test_a_label_is_known_by_tag_and_end() -> None:
    assert label().name == "K7L-L"
    assert LabelText(project="GRT", tag="J3", kind="joint").name == "J3"

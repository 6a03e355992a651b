"""What has to be said before somebody solders: nothing of it may get lost."""

from __future__ import annotations

import pytest

from model.cautions import CAUTIONS


@pytest.mark.parametrize(
    ("about", "words"),
    [
        ("battery", "Disconnect it before you touch the wiring"),
        ("fuse", "positive lead, close to the battery"),
        ("lithium", "Never short a pack"),
        ("soldering", "keep out of the fumes"),
        ("soldering", "hot iron away from cells"),
        ("soldering", "Leaded solder: wash your hands after it, no food near it"),
        ("hot air", "shield the model"),
        ("bright LEDs", "Do not look into them"),
        ("bright LEDs", "never straight on a battery"),
        ("voltage", "Mains belongs to licensed people and local codes"),
        ("controller", "come before this program"),
        ("scale models", "not for the lights of real vehicles or vessels, nor for navigation"),
    ],
)
def test_it_is_said(about: str, words: str) -> None:
    (said,) = (caution.words for caution in CAUTIONS if caution.about == about)
    assert words in said


def test_each_stands_once() -> None:
    names = [caution.about for caution in CAUTIONS]
    assert len(names) == len(set(names))

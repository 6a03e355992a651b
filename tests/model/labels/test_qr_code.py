"""Modules of codes against another encoder, choice of mask against the plain reading of the standard."""

from __future__ import annotations

import pytest
import segno
from hypothesis import given, settings
from hypothesis import strategies as st

from model.labels import qr_code
from model.labels.qr_sizes import ALPHANUMERIC, CAPACITY, LEVELS, Level, fit, version_for


def _ends_on_a_byte(content: str) -> bool:
    """Mode, count, characters and terminator fill whole bytes: then the other encoder adds a zero byte."""
    bits = 4 + 9 + 11 * (len(content) // 2) + 6 * (len(content) % 2) + 4
    return bits % 8 == 0


contents = st.text(st.sampled_from(sorted(ALPHANUMERIC)), min_size=1, max_size=38).filter(
    lambda text: not text.isdigit() and not _ends_on_a_byte(text)
)


def _theirs(content: str, version: int, level: Level, mask: int) -> list[list[bool]]:
    code = segno.make_qr(
        content, version=version, error=level, mode="alphanumeric", boost_error=False, mask=mask
    )
    return [[bool(module) for module in row] for row in code.matrix]


def _plain_penalty(rows: list[list[bool]]) -> int:
    """ISO/IEC 18004, 7.8.3, module by module."""
    side = len(rows)
    points = 0
    for line in (*rows, *map(list, zip(*rows, strict=True))):
        run = 0
        for place, module in enumerate(line):
            run = run + 1 if place and module == line[place - 1] else 1
            points += 3 if run == 5 else 1 if run > 5 else 0
        text = "".join("1" if module else "0" for module in line)
        for place in range(side - 6):
            if text[place : place + 7] == "1011101" and (
                (place >= 4 and text[place - 4 : place] == "0000") or text[place + 7 : place + 11] == "0000"
            ):
                points += 40
    for row in range(side - 1):
        for column in range(side - 1):
            square = {*rows[row][column : column + 2], *rows[row + 1][column : column + 2]}
            points += 3 * (len(square) == 1)
    share = 100 * sum(map(sum, rows)) / side**2
    return points + 10 * int(abs(share - 50) / 5 + 1e-9)


@settings(max_examples=60, deadline=None)
@given(contents, st.sampled_from(LEVELS))
def test_modules_and_mask(content: str, level: Level) -> None:
    version = version_for(content, level)
    if version is None or version > 2:
        return
    ours = [list(row) for row in qr_code.matrix(content, version, level)]
    by_mask = [_theirs(content, version, level, mask) for mask in range(8)]
    assert ours in by_mask
    assert _plain_penalty(ours) == min(_plain_penalty(rows) for rows in by_mask)


@pytest.mark.parametrize("level", LEVELS)
def test_capacities_are_those_of_another_encoder(level: Level) -> None:
    for version, room in enumerate(CAPACITY[level], 1):
        for length, fits in ((room, True), (room + 1, False)):
            made = segno.make_qr("A" * length, error=level, mode="alphanumeric", boost_error=False)
            assert (made.version == version) is fits or (fits and made.version < version)
            assert version_for("A" * length, level) == (made.version if made.version <= 4 else None)


@pytest.mark.parametrize("content", ["grt-k7l-c", "GRT_K7L", "Ä", "A" * 200])
def test_what_is_not_alphanumeric_or_too_long_has_no_version(content: str) -> None:
    assert version_for(content, "H") is None
    assert fit(content, 10_000, 1, 4) is None


@pytest.mark.parametrize(
    ("content", "room", "found"),
    [
        ("GRT-K7L-C", 116, (1, "H", 4)),
        ("GRT-K7L-C", 115, (1, "H", 3)),
        ("GRT-K7L-C", 400, (1, "H", 4)),
        ("GRT-K7L-C", 57, None),
        ("GRT-RD-28AWG-02", 66, (2, "H", 2)),
        ("GRT-RD-28AWG-02", 65, (1, "Q", 2)),
    ],
)
def test_fit_takes_the_best_level_then_the_largest_module(
    content: str, room: int, found: tuple[int, str, int] | None
) -> None:
    size = fit(content, room, 2, 4)
    assert (size and (size.version, size.level, size.dots)) == found

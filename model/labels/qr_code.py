"""The modules of a QR code, with the mask the standard asks for chosen quickly.

The encoder does the coding with one mask. Another mask only turns modules over that do not depend on
the content, so the other seven codes follow by exclusive or, and the penalties of ISO/IEC 18004 (7.8.3)
are counted on whole codes at a time, each packed into one integer.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from model.labels.qr_sizes import Level

MASKS = 8
_DIGITS = b"01" + bytes(254)  # from the bytes 0 and 1 to digits


def rows(content: str, version: int, level: Level) -> tuple[int, ...]:
    """Each row of modules as a number whose bit 0 is the leftmost module, 1 for dark; without quiet zone.

    Alphanumeric; the content has to fit (see `qr_sizes`).
    """
    side = 17 + 4 * version
    modules = _encoded(content, version, level, 0)
    across, down = _packed(modules), _packed(zip(*modules, strict=True))
    flips = _flips(version, level)
    best = min(range(MASKS), key=lambda mask: penalty(across ^ flips[mask][0], down ^ flips[mask][1], side))
    code = across ^ flips[best][0]
    lane = (1 << side) - 1
    return tuple(code >> row * (side + 1) & lane for row in range(side))


def matrix(content: str, version: int, level: Level) -> tuple[tuple[bool, ...], ...]:
    """The same, module by module."""
    side = 17 + 4 * version
    return tuple(
        tuple(bool(row >> column & 1) for column in range(side)) for row in rows(content, version, level)
    )


def penalty(across: int, down: int, side: int) -> int:
    """Points of a code, the fewer the better, from its rows and its columns, each packed by `_packed`.

    Runs of five and more: 3 and 1 for each further module. Squares of two by two: 3. A finder's
    1:1:3:1:1 with four light modules at a side: 40. Each 5 % that the dark share is off from half: 10.
    """
    points = 0
    lane = side + 1
    for lines in (across, down):
        same = ~(lines ^ lines >> 1) & _inside(side, side - 1)
        fives = same & same >> 1 & same >> 2 & same >> 3
        points += fives.bit_count() + 2 * (fives & ~(fives << 1)).bit_count()
        light = ~lines
        finder = lines & light >> 1 & lines >> 2 & lines >> 3 & lines >> 4 & light >> 5 & lines >> 6
        before = finder & light << 1 & light << 2 & light << 3 & light << 4 & ~_inside(side, 4)
        after = finder & light >> 7 & light >> 8 & light >> 9 & light >> 10
        points += 40 * ((before & _inside(side, side - 6)) | (after & _inside(side, side - 10))).bit_count()
    same = ~(across ^ across >> 1) & _inside(side, side - 1)
    level = ~(across ^ across >> lane)
    squares = same & same >> lane & level & ((1 << lane * (side - 1)) - 1)
    points += 3 * squares.bit_count()
    dark = across.bit_count() * 20
    return points + 10 * (abs(dark - 10 * side * side) // (side * side))


@lru_cache(maxsize=64)
def _inside(side: int, count: int) -> int:
    """Ones in the first `count` places of every lane."""
    lane = side + 1
    ones = (1 << count) - 1
    return sum(ones << row * lane for row in range(side))


def _packed(lines: Iterable[Sequence[bool]]) -> int:
    """Lines one after another, each in a lane a bit wider than it, so that none runs over; bit 0 is first."""
    value = 0
    for number, line in enumerate(lines):
        bits = bytes(line[::-1]).translate(_DIGITS)
        value |= int(bits, 2) << number * (len(line) + 1)
    return value


def _encoded(content: str, version: int, level: Level, mask: int) -> list[list[bool]]:
    from qrcode import constants, main, util

    levels = {
        "L": constants.ERROR_CORRECT_L,
        "M": constants.ERROR_CORRECT_M,
        "Q": constants.ERROR_CORRECT_Q,
        "H": constants.ERROR_CORRECT_H,
    }
    code = main.QRCode(
        version=version, error_correction=levels[level], box_size=1, border=0, mask_pattern=mask
    )
    code.add_data(util.QRData(content, mode=util.MODE_ALPHA_NUM), optimize=0)
    code.make(fit=False)
    return [list(map(bool, row)) for row in code.modules]


@lru_cache(maxsize=16)
def _flips(version: int, level: Level) -> tuple[tuple[int, int], ...]:
    """For each mask the modules it turns over against mask 0, format bits included: (rows, columns)."""
    codes = [_encoded("0", version, level, mask) for mask in range(MASKS)]
    packed = [(_packed(code), _packed(zip(*code, strict=True))) for code in codes]
    return tuple((across ^ packed[0][0], down ^ packed[0][1]) for across, down in packed)

"""QR codes: which version and level hold a text, and how large a module comes out on a printer.

Capacities of ISO/IEC 18004 for the alphanumeric set; dots per module are whole, so that no module
is wider than another.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

import attrs

Level = Literal["L", "M", "Q", "H"]

LEVELS: tuple[Level, ...] = ("H", "Q", "M", "L")
"""Best first: 30, 25, 15 and 7 percent of the codewords can be mended."""

RECOVERY_PCT: Mapping[Level, int] = MappingProxyType({"H": 30, "Q": 25, "M": 15, "L": 7})

ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")

CAPACITY: Mapping[Level, tuple[int, ...]] = MappingProxyType(
    {"L": (25, 47, 77, 114), "M": (20, 38, 61, 90), "Q": (16, 29, 47, 67), "H": (10, 20, 35, 50)}
)
"""Alphanumeric characters that versions 1 to 4 hold."""

QUIET_MODULES = 4


@attrs.frozen(kw_only=True)
class QrSize:
    """A code as it can be printed: `dots` is the side of a module in whole printer dots."""

    version: int
    level: Level
    dots: int

    @property
    def side_dots(self) -> int:
        """Side of the modules."""
        return (17 + 4 * self.version) * self.dots

    @property
    def quiet_dots(self) -> int:
        """Width of the quiet zone."""
        return QUIET_MODULES * self.dots

    @property
    def full_dots(self) -> int:
        """Side with the quiet zone."""
        return self.side_dots + 2 * self.quiet_dots


def version_for(content: str, level: Level) -> int | None:
    """The smallest of versions 1 to 4 that holds `content` at `level`; None for more or other characters."""
    if not set(content) <= ALPHANUMERIC:
        return None
    return next((index for index, room in enumerate(CAPACITY[level], 1) if len(content) <= room), None)


def fit(content: str, room_dots: int, least_dots: int, good_dots: int) -> QrSize | None:
    """The best code that fits a square of `room_dots`, quiet zone included; None where none does.

    The highest level whose modules reach `least_dots` is taken, then modules of `good_dots` or, where
    those are too large, the largest that fit.
    """
    for level in LEVELS:
        version = version_for(content, level)
        if version is None:
            continue
        dots = min(good_dots, room_dots // (17 + 4 * version + 2 * QUIET_MODULES))
        if dots >= least_dots:
            return QrSize(version=version, level=level, dots=dots)
    return None


def roomier(size: QrSize, room_dots: int, side_dots: int) -> QrSize:
    """The code as version 4 with modules as large, if that fits; of level H only, else `size`.

    `room_dots` is the square for it with its quiet zone, `side_dots` for its modules. The more codewords, the
    smaller the share of them that a stain touches beside those it covers: a square of 15 % that is clear of
    the finders leaves version 1 readable at a quarter of the places, version 4 at nearly all. Versions 2 and
    3 lie between, but a stain on their alignment pattern stops some readers.
    """
    larger = attrs.evolve(size, version=len(CAPACITY["H"]))
    fits = larger.full_dots <= room_dots and larger.side_dots <= side_dots
    return larger if size.level == "H" and fits else size

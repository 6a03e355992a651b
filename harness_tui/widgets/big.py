"""Text three rows high, for what has to be read from arm's length: the tag of the wire in hand.

Each sign is drawn on six rows of five dots and shown in half blocks, two rows a line. Zero is slashed.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

_DRAWN = """
2      3      4      5      6      7      8      9      A      C      E      F
.###.  ####.  ...#.  #####  .###.  #####  .###.  .###.  ..#..  .###.  #####  #####
#...#  ....#  ..##.  #....  #....  ....#  #...#  #...#  .#.#.  #...#  #....  #....
...#.  .###.  .#.#.  ####.  ####.  ...#.  .###.  #...#  #...#  #....  ####.  ####.
..#..  ....#  #..#.  ....#  #...#  ..#..  #...#  .####  #####  #....  #....  #....
.#...  #...#  #####  #...#  #...#  ..#..  #...#  ....#  #...#  #...#  #....  #....
#####  .###.  ...#.  .###.  .###.  ..#..  .###.  .###.  #...#  .###.  #####  #....

H      J      K      L      M      N      P      R      T      X      Y      ?
#...#  ..###  #...#  #....  #...#  #...#  ####.  ####.  #####  #...#  #...#  .###.
#...#  ...#.  #..#.  #....  ##.##  ##..#  #...#  #...#  ..#..  .#.#.  #...#  #...#
#####  ...#.  ###..  #....  #.#.#  #.#.#  #...#  #...#  ..#..  ..#..  .#.#.  ...#.
#...#  ...#.  #.#..  #....  #.#.#  #.#.#  ####.  ####.  ..#..  ..#..  ..#..  ..#..
#...#  #..#.  #..#.  #....  #...#  #..##  #....  #..#.  ..#..  .#.#.  ..#..  .....
#...#  .##..  #...#  #####  #...#  #...#  #....  #...#  ..#..  #...#  ..#..  ..#..

0      1
.###.  ..#..
#..##  .##..
#.#.#  ..#..
#.#.#  ..#..
##..#  ..#..
.###.  .###.
"""

_BLOCKS = {("#", "#"): "\u2588", ("#", "."): "\u2580", (".", "#"): "\u2584", (".", "."): " "}


def _glyphs() -> Mapping[str, tuple[str, str, str]]:
    found: dict[str, tuple[str, str, str]] = {}
    for group in _DRAWN.strip().split("\n\n"):
        names, *rows = (line.split() for line in group.splitlines())
        for place, name in enumerate(names):
            dots = [row[place] for row in rows]
            lines = [
                "".join(_BLOCKS[pair] for pair in zip(upper, lower, strict=True))
                for upper, lower in zip(dots[::2], dots[1::2], strict=True)
            ]
            found[name] = (lines[0], lines[1], lines[2])
    return MappingProxyType(found)


GLYPHS = _glyphs()
"""Three lines of five columns for each sign that can be drawn."""

HEIGHT = 3


def big(text: str) -> list[str]:
    """`text` in three lines of equal width, six columns a sign and a column less at the end.

    Where a sign of it can't be drawn, the text stands as it is on the middle line.
    """
    if not text or any(sign not in GLYPHS for sign in text):
        return [" " * len(text), text, " " * len(text)]
    return [" ".join(GLYPHS[sign][row] for sign in text) for row in range(HEIGHT)]

"""The board: the loom laid flat at its true size, to be built on a board over the printed pages.

Every leg is a straight line as long as it is, with the loop of a moving joint in it; every lamp stands
as far from its waypoint as it was measured. Which way a leg points says nothing of the model: it is
where there is room. What is cut longer than that (slack, spare, the service loop) hangs out at the ends.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs

from model.harness import Harness
from model.papers.board_lines import CONTROLLER_MM, Lines, Stretch, spur_mm
from model.papers.board_pages import Tile, pages_for
from model.papers.board_words import board_words
from model.papers.figure import Figure, Item, Stroke, around, shifted
from model.papers.loom import Node, grow
from model.papers.table import Table

LARGEST_MM = 20_000.0
"""A longer loom is not laid out: nobody has such a board."""

MARGIN_MM = 3.0

LEG_COLUMNS = ("from", "to", "length mm", "loop mm", "on the board mm", "plug", "plug from mm", "wires")
LAMP_COLUMNS = ("lamp", "at", "from it mm")


@attrs.frozen(kw_only=True)
class Board:
    """The figure at 1:1, the stretches in it, the pages it is cut into, and what could not be laid out, with
    the reason.
    """

    figure: Figure
    stretches: tuple[Stretch, ...]
    missing: tuple[str, ...]
    tiles: tuple[Tile, ...] = ()


def board(harness: Harness, windows: Sequence[tuple[float, float]] = ()) -> Board:
    """The loom laid out; the same harness gives the same board.

    `windows` are the sizes in mm (across, down) that a page may have: that which takes the fewest pages
    is chosen, and words are put where the cuts do not go through them. Without any it is one piece.
    """
    loom = grow(harness)
    missing = []
    lines: Lines | None = None
    if loom.reach_mm > LARGEST_MM:
        missing.append(
            f"The board is left out: the loom reaches {loom.reach_mm / 1000:g} m, "
            f"and a board at most {LARGEST_MM / 1000:g} m."
        )
    else:
        lines = Lines(harness, loom)
    for root in loom.roots[1:]:
        names = ", ".join(node.point.name for node in root.everything())
        missing.append(f"Not connected to the controller and not on the board: {names}.")
    spots = [] if lines is None else [*lines.at.values(), *(end for _, end in lines.lamp_ends)]
    if lines is not None:
        x, y = lines.at[loom.roots[0].nodes[0].point.id]
        spots += [(x - CONTROLLER_MM[0], y + side * CONTROLLER_MM[1] / 2) for side in (-1, 1)]
    straight = [] if lines is None else [(one.start, one.end) for one in lines.stretches]
    choices: list[tuple[int, tuple[Item, ...], tuple[Tile, ...]]] = []
    for window in windows or (None,):
        pages = None if window is None or lines is None else pages_for(straight, spots, *window)
        items = () if lines is None else (*lines.items, *board_words(lines, pages))
        tiles = () if pages is None else pages.tiles(items)
        choices.append((_cut(items, tiles), items, tiles))
    _, items, tiles = min(choices, key=lambda choice: (len(choice[2]), choice[0]))
    left, top, right, bottom = around(items)
    dx, dy = MARGIN_MM - left, MARGIN_MM - top
    figure = Figure(
        title=f"{harness.name}: the loom at 1 : 1",
        about="Every leg as long as it is. Slack, spare and the service loop hang out at the ends.",
        width_mm=right - left + 2 * MARGIN_MM,
        height_mm=bottom - top + 2 * MARGIN_MM,
        items=shifted(items, dx, dy),
    )
    stretches = tuple(
        attrs.evolve(
            one, start=(one.start[0] + dx, one.start[1] + dy), end=(one.end[0] + dx, one.end[1] + dy)
        )
        for one in (lines.stretches if lines is not None else ())
    )
    return Board(
        figure=figure,
        stretches=stretches,
        missing=tuple(missing),
        tiles=tuple(attrs.evolve(tile, x_mm=tile.x_mm + dx, y_mm=tile.y_mm + dy) for tile in tiles),
    )


def _cut(items: Sequence[Item], tiles: Sequence[Tile]) -> int:
    """How many words, patches and signs are whole on no page."""
    return sum(
        not isinstance(item, Stroke) and not any(tile.holds(item.extent) for tile in tiles) for item in items
    )


def board_tables(harness: Harness) -> tuple[Table, Table]:
    """The lengths of the board as figures, to check it with a ruler."""
    names = {point.id: point.name for point in harness.waypoints}
    rows = []
    for node in _nodes(harness):
        leg = node.leg
        if leg is None or node.parent is None:
            continue
        plug_mm = None if node.plug_at_mm is None else node.far_mm - node.plug_at_mm
        rows.append(
            (
                names[node.parent.point.id],
                node.point.name,
                f"{leg.length_mm:g}",
                "" if leg.loop_mm is None else f"{leg.loop_mm:g}",
                f"{node.step_mm:g}",
                leg.plug,
                "" if plug_mm is None else f"{plug_mm:g}",
                str(node.wires),
            )
        )
    lamps = tuple(
        (lamp.name, names.get(lamp.at or "", ""), f"{spur_mm(lamp):g}")
        for lamp in harness.lamps
        if lamp.at is not None or lamp.measured_mm is not None
    )
    legs = Table(
        title="Legs; the plug is measured from the second place", columns=LEG_COLUMNS, rows=tuple(rows)
    )
    return legs, Table(title="Lamps", columns=LAMP_COLUMNS, rows=lamps)


def _nodes(harness: Harness) -> Iterator[Node]:
    for root in grow(harness).roots:
        yield from root.everything()

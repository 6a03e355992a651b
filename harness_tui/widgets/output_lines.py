"""Outputs and common pins as rows, in words, and as a panel of their lamps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from textual.content import Content

from harness_tui.widgets.columns import fitted
from harness_tui.widgets.lines import clip
from harness_tui.widgets.table import Cell
from harness_tui.widgets.wire_paint import wire_chip
from model.electrics.outputs import CommonLoad, Loads, OutputLoad, output_loads, pack_lasts_h
from model.electrics.supply import full_words, on_full, source_word, volts
from model.harness import Block, Delivers, Harness, Output
from model.routing.wires import wire_colour
from model.routing.words import colour_words

Line = OutputLoad | CommonLoad | Block
"""What a row stands for; a block only where it holds nothing."""

COLUMNS = ("out", "pin", "function", "gives", "wire", "lamps", " full", "limit", " left")
LEAST = (3, 4, 17, 6, 4, 11, 5, 5, 5)
SHARE = (0, 0, 1, 0, 0, 2, 0, 0, 0)
_FIGURES_FROM = 6


def lines_of(harness: Harness) -> Iterator[tuple[str, Line]]:
    """Every row with its key, block by block: outputs by number, commons as block and pin."""
    loads = output_loads(harness)
    for block in harness.controller.blocks:
        yield from ((str(one.output.number), one) for one in loads.outputs if one.block is block)
        yield from ((one.ref, one) for one in loads.commons if one.block is block)
        if not block.outputs and not block.commons:
            yield f"block {block.name}", block


def line_name(line: OutputLoad | CommonLoad) -> str:
    """As in "output 5" or "common pin A7"."""
    if isinstance(line, OutputLoad):
        return f"output {line.output.number}"
    return f"common pin {line.block.name}{line.common.pin}"


def line_cells(harness: Harness, line: Line, widths: Sequence[int], *, marked: bool) -> list[Cell]:
    """The row of a line; `marked` where the checks have found something on it."""
    if isinstance(line, Block):
        return _row(("", line.name, "empty block", *[""] * 6), widths)
    lamps = f"{len(line.lamps)} {line.lamps[0].name}" if line.lamps else ""
    head = _head(line)
    figures = (f"{line.full_ma:.0f}", f"{line.limit_ma:.0f}", f"{line.margin_ma:.0f}")
    cells = _row((*head, "", lamps, *figures), widths)
    cells[4] = wire_chip(_colour(harness, line))
    if line.margin_ma < 0:
        hot = [Content.styled(str(cell), "$text-error bold") for cell in cells[_FIGURES_FROM:]]
        cells[_FIGURES_FROM:] = hot
    elif line.over_at_worst:
        cells[-1] = Content.styled(str(cells[-1]), "$text-warning")
    if marked:
        cells[2] = Content.styled("! ", "$text-warning") + Content(fitted(head[2], widths[2] - 2))
    return cells


def _head(line: OutputLoad | CommonLoad) -> tuple[str, str, str, str]:
    """Number, pin, function and what it gives."""
    if isinstance(line, CommonLoad):
        return "", f"{line.block.name}{line.common.pin}", "common", ""
    output = line.output
    return f"{output.number:>3}", f"{line.block.name}{output.pin}", output.function, _gives(output)


def _row(texts: Sequence[str], widths: Sequence[int]) -> list[Cell]:
    pairs = enumerate(zip(texts, widths, strict=True))
    return [fitted(text, width, right=place >= _FIGURES_FROM) for place, (text, width) in pairs]


def _gives(output: Output) -> str:
    if output.delivers is Delivers.REGULATED:
        return f"{output.delivers_v:g} V"
    return f"{output.delivers_ma:g} mA" if output.delivers is Delivers.CURRENT else "supply"


def _colour(harness: Harness, line: OutputLoad | CommonLoad) -> str:
    controller = harness.controller
    if isinstance(line, OutputLoad):
        return wire_colour(harness, line.output.number, controller.switched_polarity, None)
    return harness.settings.colour(controller.common_polarity)


def total_words(harness: Harness, loads: Loads) -> str:
    """The whole draw, how long the pack lasts, and what has no output or no common pin yet."""
    full_v = volts(harness.supply).full_v
    words = f"all on, {full_words(harness.supply)}: {loads.total_ma:.0f} mA"
    if source_word(harness.supply) == "battery":
        words += f" at {full_v:.1f} V"
    hours = pack_lasts_h(harness)
    if hours is not None:
        words += f", {harness.supply.capacity_mah:g} mAh last {hours:.1f} h"
    if loads.homeless:
        count = len(loads.homeless)
        words += f"; {count} lamp{' has' if count == 1 else 's have'} no output"
    if loads.unplanned_ma:
        words += f"; {loads.unplanned_ma:.0f} mA on no common pin yet"
    return words


def sum_line(line: OutputLoad | CommonLoad, width: int) -> Content:
    """Its lamps as a sum that can be added up again, its limit, and what is left.

    Where it passes the limit with all parts at the worst that they may be, that sum stands beside the usual.
    """
    if not line.lamps:
        return Content(f"no lamps on it, limit {line.limit_ma:g} mA")
    left = f"{line.margin_ma:.1f} left" if line.margin_ma >= 0 else f"{-line.margin_ma:.1f} mA TOO MUCH"
    end = f" = {line.full_ma:.1f} of {line.limit_ma:g} mA, {left}"
    worst = f"; at worst {line.worst_ma:.1f} mA" if line.worst_ma > line.limit_ma else ""
    if line.over_at_worst:
        worst += f", {line.worst_ma - line.limit_ma:.1f} TOO MUCH"
    width -= len(worst)
    addends = " + ".join(f"{lamp.name} {lamp.full_ma:.1f}" for lamp in line.lamps)
    if len(addends) + len(end) > width:
        # Where the names have no room the sum still has: so many of each current, the largest first.
        count = Counter(f"{lamp.full_ma:.1f}" for lamp in line.lamps)
        many = sorted(count.items(), key=lambda one: -float(one[0]))
        addends = " + ".join(f"{times} x {ma}" if times > 1 else ma for ma, times in many)
    summed = Content(clip(addends, width - len(end)))
    summed += Content.styled(end, "$text-error bold" if line.margin_ma < 0 else "")
    return summed + Content.styled(worst, "$text-warning")


def line_panel(harness: Harness, line: Line | None) -> Iterator[Content]:
    """The lamps with their currents, a line each, for a panel of 35 columns."""
    if not isinstance(line, (OutputLoad, CommonLoad)):
        return
    function = line.output.function if isinstance(line, OutputLoad) else ""
    yield Content.styled(clip(f"{line_name(line)} {function}", 35), "bold")
    for lamp in line.lamps:
        yield Content(f"{fitted(lamp.name, 25)} {lamp.full_ma:>6.1f} mA")
    yield Content.styled(f"{fitted(f'sum {on_full(harness.supply)}', 25)} {line.full_ma:>6.1f} mA", "bold")
    if line.worst_ma > line.limit_ma:
        at_worst = f"{fitted('with parts at their worst', 25)} {line.worst_ma:>6.1f} mA"
        yield Content.styled(at_worst, "$text-warning")
    code = _colour(harness, line)
    yield Content("wires ") + wire_chip(code) + Content(f" {colour_words(code)}")

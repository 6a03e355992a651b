"""The plan as a picture of text: every leg a line, as long as it is, from the controller on the left.

A waypoint stands as far to the right as it is from the controller by the shortest way, to one scale. What
meets at it is written in the right half: its wires towards the controller, its joints with the tags of their
trunks, its lamps.
"""

from __future__ import annotations

import unicodedata

import attrs

from model import lengths
from model.harness import Harness
from model.routing.tree import Branch, plug_from_mm, waypoint_tree
from model.routing.wires import origin_name

WIDTH_LEAST = 40
MANY_WIRES = 4
"""From so many wires on a leg is drawn double."""

TICK_LEAST = 8
"""Columns between two figures of the scale, at the least."""


@attrs.frozen(kw_only=True)
class Signs:
    """What the picture is drawn with."""

    controller: str = "\u25a0"
    joint: str = "\u25c6"
    lamps: str = "\u25cb"
    bare: str = "\u2022"
    plug: str = "\u25a3"
    empty: str = "\u00b7"
    wire: str = "\u2500"
    many: str = "\u2550"
    moving: str = "~"
    rail: str = "\u2502"
    branch: str = "\u251c"
    last: str = "\u2514"
    tick: str = "\u2534"
    cut: str = "\u2026"


DRAWN = Signs()

PLAIN = Signs(
    controller="C", joint="@", lamps="o", bare="+", plug="#", empty=".", wire="-", many="=",
    rail="|", branch="|", last="`", tick="'", cut="~",
)  # fmt: skip
"""For a terminal that has only ASCII."""


def picture(harness: Harness, width: int = 80, *, signs: Signs = DRAWN) -> tuple[str, ...]:
    """The picture in lines of at most `width` columns (40 or more); tags are there once the harness is
    settled.

    A scale comes first, a legend last. Legs shorter than a column are drawn one column long. Legs that are
    on no shortest way, and waypoints that are not connected, are listed below the picture.
    """
    return tuple(_Drawing(harness, max(width, WIDTH_LEAST), signs).lines())


class _Drawing:
    def __init__(self, harness: Harness, width: int, signs: Signs) -> None:
        self.harness = harness
        self.signs = signs
        self.branches = waypoint_tree(harness)
        self.connected = [branch for branch in self.branches if branch.connected and not branch.second]
        self.far_mm = max((branch.distance_mm or 0.0 for branch in self.connected), default=0.0)
        self.area = width // 2
        self.words = width - self.area - 1
        self.width = width
        self.tags = {record.wire: record.tag for record in harness.ledger if record.live}
        self.joints = {joint.id: joint for joint in harness.joints}

    def column(self, distance_mm: float) -> int:
        """The column of a distance from the controller."""
        return round(distance_mm / self.far_mm * (self.area - 1)) if self.far_mm else 0

    def lines(self) -> list[str]:
        lines = self._scale()
        above: list[int] = []  # the columns of the waypoints from the controller to the one before
        for place, branch in enumerate(self.connected):
            above = above[: len(branch.rails)]
            following = self.connected[place + 1] if place + 1 < len(self.connected) else None
            below = following is not None and len(following.rails) > len(branch.rails)
            column = self.column(branch.distance_mm or 0.0)
            if above:
                column = min(max(column, above[-1] + 1), self.area - 1)
            lines += self._waypoint(branch, column, above, below)
            above.append(column)
        return [line.rstrip() for line in (*lines, *self._others(), self._legend())]

    def _scale(self) -> list[str]:
        """Figures in the unit chosen over a line with a tick for each."""
        if not self.far_mm:
            return []
        sizes = (one * 10**power for power in range(10) for one in (1, 2, 5))
        one_mm = 1.0 if lengths.unit() == "mm" else lengths.MM_PER_INCH
        step = next(size for size in sizes if self.column(size * one_mm) >= TICK_LEAST)
        figures, ticks = [" "] * self.width, [self.signs.wire] * self.area
        for place in range(int(self.far_mm / one_mm / step + 1e-9) + 1):
            column = self.column(place * step * one_mm)
            text = f"{place * step:g}"
            figures[column : column + len(text)] = text
            ticks[column] = self.signs.tick
        end = max(place for place, sign in enumerate(figures) if sign != " ") + 1
        figures[end + 1 : end + 3] = lengths.unit()
        return ["".join(figures[: self.width]), "".join(ticks)]

    def _waypoint(self, branch: Branch, column: int, above: list[int], below: bool) -> list[str]:
        signs = self.signs
        first, rest = self._rails(branch, above), self._rails(branch, above)
        if above:
            first[above[-1]] = signs.branch if branch.rails[-1] else signs.last
            rest[above[-1]] = signs.rail if branch.rails[-1] else " "
            self._leg(branch, first, above[-1], column)
        first[column] = self._mark(branch, above)
        if below:
            rest[column] = signs.rail
        texts = self._texts(branch, above)
        return ["".join(first if place == 0 else rest) + " " + text for place, text in enumerate(texts)]

    def _rails(self, branch: Branch, above: list[int]) -> list[str]:
        row = [" "] * self.area
        for column, more in zip(above, branch.rails, strict=True):
            if more:
                row[column] = self.signs.rail
        return row

    def _leg(self, branch: Branch, row: list[str], begin: int, end: int) -> None:
        """The leg from the waypoint before, with a plug where it is."""
        leg, signs = branch.leg, self.signs
        assert leg is not None
        assert branch.parent is not None
        if leg.loop_mm is not None:
            sign = signs.moving
        elif not branch.wires:
            sign = signs.empty
        else:
            sign = signs.many if branch.wires >= MANY_WIRES else signs.wire
        row[begin + 1 : end] = [sign] * (end - begin - 1)
        if leg.plug and end - begin > 1:
            share = plug_from_mm(leg, branch.parent.id) / leg.length_mm if leg.length_mm else 0.0
            row[begin + 1 + min(round(share * (end - begin - 1)), end - begin - 2)] = signs.plug

    def _mark(self, branch: Branch, above: list[int]) -> str:
        if not above:
            return self.signs.controller
        return self.signs.joint if branch.joints else self.signs.lamps if branch.lamps else self.signs.bare

    def _texts(self, branch: Branch, above: list[int]) -> list[str]:
        """What is written beside a waypoint: its name and figures, then its joints, in as many lines as they
        need.
        """
        notes = []
        if above:
            notes.append(_count(branch.wires, "wire"))
        if branch.leg is not None and branch.leg.plug:
            notes.append(branch.leg.plug)
        if branch.lamps:
            notes.append(_count(len(branch.lamps), "lamp"))
        if not branch.point.reachable:
            notes.append("closed")
        notes += [self._joint(joint) for joint in branch.joints]
        room = self.words - sum(_cells(note) + 2 for note in notes[:2])
        name = _clipped(branch.point.name, max(room, 10), self.signs.cut)
        lines = [name]
        for note in notes:
            if _cells(lines[-1]) + 2 + _cells(note) <= self.words:
                lines[-1] += f"  {note}"
            else:
                lines.append(f"  {note}")
        return lines

    def _joint(self, joint_id: str) -> str:
        """ "J1 H4E" with the tag of the trunk, and the trunk's gauge where it is its own."""
        joint = self.joints[joint_id]
        tag = self.tags.get(origin_name(joint_id, self.harness.polarity_of(joint)), "")
        return " ".join(word for word in (joint_id, tag, joint.gauge or "") if word)

    def _others(self) -> list[str]:
        lines = []
        for branch in self.branches:
            if branch.second and branch.connected and branch.leg is not None and branch.parent is not None:
                far = lengths.text(branch.leg.length_mm)
                text = f"also {branch.point.name} to {branch.parent.name}, {far}"
                text += f", {_count(branch.wires, 'wire')}" if branch.wires else ", not used"
                lines.append(text)
        cut_off = [
            branch.point.name for branch in self.branches if not branch.connected and not branch.second
        ]
        if cut_off:
            lines.append(f"not connected: {', '.join(cut_off)}")
        return [_clipped(line, self.width, self.signs.cut) for line in lines]

    def _legend(self) -> str:
        signs = self.signs
        parts = [f"{signs.joint} joint", f"{signs.lamps} lamps"]
        legs = [branch.leg for branch in self.connected if branch.leg is not None]
        if any(leg.loop_mm is not None for leg in legs):
            parts.append(f"{signs.moving * 2} moves")
        if any(leg.plug for leg in legs):
            parts.append(f"{signs.plug} plug")
        if any(branch.wires >= MANY_WIRES for branch in self.connected):
            parts.append(f"{signs.many * 2} {MANY_WIRES} wires or more")
        if any(branch.leg is not None and not branch.wires for branch in self.connected):
            parts.append(f"{signs.empty * 2} no wire")
        return _clipped("  ".join(parts), self.width, signs.cut)


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _cells(text: str) -> int:
    """Columns a text takes in a terminal: wide signs two, combining ones none (Unicode annex 11)."""
    return sum(
        0
        if unicodedata.combining(sign) or sign in "\u200d\ufe0f"
        else 2
        if unicodedata.east_asian_width(sign) in "WF"
        else 1
        for sign in text
    )


def _clipped(text: str, width: int, mark: str) -> str:
    if _cells(text) <= width:
        return text
    kept, used = "", _cells(mark)
    for sign in text:
        used += _cells(sign)
        if used > width:
            break
        kept += sign
    return kept.rstrip() + mark

"""What a picture says beside a lamp, a joint or a waypoint: tags in the order of the way, each with
where it ends.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from model.harness import Harness, Lamp, Polarity
from model.papers.figure import DIM, INK, Chip, Item, Words, shifted
from model.papers.type_metrics import CAP_EM
from model.routing.wires import End, EndKind, Wire, derive, origin_name
from model.values import counted


@attrs.frozen(kw_only=True)
class Line:
    """Items side by side about the middle line y = 0 from x = 0 on, and how wide they are."""

    items: tuple[Item, ...]
    width_mm: float

    def at(self, x_mm: float, y_mm: float) -> tuple[Item, ...]:
        """The items with their middle line at y, from x on."""
        return shifted(self.items, x_mm, y_mm)


class LineMaker:
    """Sets words and chips one behind the other."""

    def __init__(self, size_mm: float, small_mm: float) -> None:
        self.size_mm = size_mm
        self.small_mm = small_mm
        self.items: list[Item] = []
        self.at_mm = 0.0

    def say(
        self,
        text: str,
        *,
        ink: str = INK,
        small: bool = False,
        bold: bool = False,
        mono: bool = False,
        tag: str = "",
        gap: float = 0.4,
    ) -> LineMaker:
        """Words, then `gap` of the text's size."""
        size = self.small_mm if small else self.size_mm
        words = Words(
            x_mm=self.at_mm,
            y_mm=base(0.0, size),
            text=text,
            ink=ink,
            size_mm=size,
            bold=bold,
            mono=mono,
            tag=tag,
        )
        self.items.append(words)
        self.at_mm += words.width_mm + gap * self.size_mm
        return self

    def chip(self, code: str) -> LineMaker:
        """A wire's colour with its code."""
        chip = Chip(x_mm=self.at_mm, y_mm=0.0, code=code, size_mm=0.8 * self.size_mm)
        self.items.append(chip)
        self.at_mm += chip.width_mm + 0.25 * self.size_mm
        return self

    def line(self) -> Line:
        """What was set."""
        width = max((item.extent[2] for item in self.items), default=0.0)
        return Line(items=tuple(self.items), width_mm=width)


class Lettering:
    """The words of one harness at one size."""

    def __init__(self, harness: Harness, size_mm: float = 2.45, small_mm: float = 2.1) -> None:
        self.harness = harness
        self.size_mm = size_mm
        self.small_mm = small_mm
        self.plan = derive(harness)
        self.tags = {key: record.tag for key, record in harness.ledger.live().items()}
        self.chains: dict[str, list[Wire]] = {}
        for wire in self.plan.wires:
            self.chains.setdefault(wire.origin, []).append(wire)

    def maker(self) -> LineMaker:
        """An empty line."""
        return LineMaker(self.size_mm, self.small_mm)

    def chain(self, item_id: str, polarity: Polarity) -> Sequence[Wire]:
        """The wires of a lamp or joint up to its joint or pin; none before it is walked."""
        return self.chains.get(origin_name(item_id, polarity), ())

    def _chain(self, maker: LineMaker, sign: str, wires: Sequence[Wire]) -> None:
        if not wires:
            return
        if sign:
            maker.say(sign, bold=True, gap=0.15)
        maker.chip(wires[0].colour)
        for wire in wires:
            tag = self.tags.get(wire.key, "")
            maker.say(tag, mono=True, bold=True, tag=tag, gap=0.15)
            maker.say(short_end(wire.controller_end), ink=DIM, small=True, gap=0.45)

    def lamp_wires(self, lamp: Lamp) -> Line:
        """The tags of both chains of a lamp, plus then minus; or that it has none yet."""
        maker = self.maker()
        if lamp.run is None:
            output = f"output {lamp.output}" if lamp.output is not None else "no output"
            return maker.say(f"not walked yet, {output}", ink=DIM, small=True).line()
        for polarity in (Polarity.PLUS, Polarity.MINUS):
            self._chain(maker, polarity.value, self.chain(lamp.id, polarity))
        return maker.line()

    def joint(self, joint_id: str, room_mm: float) -> Line:
        """A joint: the tags that meet in it as far as there is room, and the trunk that goes on."""
        polarity = self.harness.polarity_of(self.harness.joint(joint_id))
        trunk = self.maker()
        self._chain(trunk, polarity.value, self.chain(joint_id, polarity))
        maker = self.maker().say(joint_id, bold=True)
        into = [self.tags.get(wire.key, "") for wire in self.plan.into_joint.get(joint_id, ())]
        room_mm -= trunk.line().width_mm + maker.at_mm + 4 * self.size_mm
        each = 2.4 * self.size_mm
        fits = len(into) if len(into) * each <= room_mm else max(int(room_mm / each) - 1, 0)
        for tag in into[:fits]:
            maker.say(tag, mono=True, tag=tag)
        if fits < len(into):
            rest = f"and {len(into) - fits} more" if fits else counted(len(into), "wire")
            maker.say(rest, ink=DIM, small=True)
        maker.say("go on as", ink=DIM, small=True)
        self._chain(maker, polarity.value, self.chain(joint_id, polarity))
        return maker.line()


def base(y_mm: float, size_mm: float) -> float:
    """The base line of capitals whose middle is at y."""
    return y_mm + CAP_EM * size_mm / 2


def short_end(end: End) -> str:
    """Where a wire ends, as short as can be: "J3", "P1.4", "A5" or "no pin"."""
    if end.kind is EndKind.PIN:
        return end.ref.replace(".", "") or "no pin"
    return end.ref

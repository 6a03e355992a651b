"""What each output and each common pin has to carry with every lamp on and the battery full.

A wired lamp counts with its current in the network (model.electrics.network), any other with that of its
data sheet (model.electrics.lamps). All current of the outputs comes back through the common pins: which
one, the wires say.
"""

from __future__ import annotations

from collections.abc import Callable

import attrs

from model.electrics.lamps import all_lamps
from model.electrics.network import Wired, usual_case, worst_case
from model.electrics.parts import worst_case_ma
from model.errors import NotSolved
from model.harness import Block, CommonPin, Delivers, Harness, Lamp, Output
from model.memo import ELECTRICS, of_parts
from model.routing.wires import EndKind, derive
from model.standards.fuses import LOAD_FACTOR, fuse_for


@attrs.frozen(kw_only=True)
class LampShare:
    """What one lamp draws on a full battery, in mA: usually, and at the worst that its parts may be."""

    lamp_id: str
    name: str
    full_ma: float
    worst_ma: float


@attrs.frozen(kw_only=True)
class _Load:
    """The lamps on an output or a common pin, walked or not, in the order of the list."""

    block: Block
    lamps: tuple[LampShare, ...]

    @property
    def full_ma(self) -> float:
        """All its lamps together."""
        return sum(lamp.full_ma for lamp in self.lamps)

    @property
    def worst_ma(self) -> float:
        """All its lamps together, each of the lowest forward voltage, its resistor as low as it may be."""
        return sum(lamp.worst_ma for lamp in self.lamps)

    @property
    def limit_ma(self) -> float:
        """The most it may carry."""
        raise NotImplementedError

    @property
    def margin_ma(self) -> float:
        """What is left of its limit; below 0 it is overloaded."""
        return self.limit_ma - self.full_ma

    @property
    def over_at_worst(self) -> bool:
        """Whether it carries no more than its limit as a rule, but may where its parts are at their worst."""
        return self.full_ma <= self.limit_ma < self.worst_ma


@attrs.frozen(kw_only=True)
class OutputLoad(_Load):
    """One output, its block, and the lamps on it, walked or not, in the order of the list."""

    output: Output

    @property
    def worst_ma(self) -> float:
        """As for any, but an output that limits the current gives no more than that."""
        held_ma = self.output.delivers_ma if self.output.delivers is Delivers.CURRENT else None
        return super().worst_ma if held_ma is None else min(super().worst_ma, max(held_ma, self.full_ma))

    @property
    def limit_ma(self) -> float:
        """The most it may deliver."""
        return self.output.limit_ma


@attrs.frozen(kw_only=True)
class CommonLoad(_Load):
    """One common pin, its block, and the lamps whose common wire ends on it, by way of joints or not."""

    common: CommonPin

    @property
    def limit_ma(self) -> float:
        """The most it may carry back."""
        return self.common.limit_ma

    @property
    def ref(self) -> str:
        """Block and pin, as in "A.7"."""
        return f"{self.block.name}.{self.common.pin}"


@attrs.frozen(kw_only=True)
class Loads:
    """Every output and common pin in the order of the blocks.

    `homeless` are lamps without an output, `unplanned` those with one whose common wire has no pin yet.
    """

    outputs: tuple[OutputLoad, ...]
    commons: tuple[CommonLoad, ...]
    homeless: tuple[LampShare, ...]
    unplanned: tuple[LampShare, ...]

    @property
    def total_ma(self) -> float:
        """All outputs together: what the battery gives and the commons take back, in mA."""
        return sum(load.full_ma for load in self.outputs)

    @property
    def worst_ma(self) -> float:
        """The same with every part as bad as it may be."""
        return sum(load.worst_ma for load in self.outputs)

    @property
    def fuse_ma(self) -> float | None:
        """The rating of the fuse for the battery lead; None where nothing flows, or more than any holds.

        It holds the usual sum with its margin, and the worst one.
        """
        return fuse_for(max(self.total_ma, self.worst_ma / LOAD_FACTOR)) if self.worst_ma > 0 else None

    @property
    def unplanned_ma(self) -> float:
        """What is still to be shared out among the common pins, in mA."""
        return sum(lamp.full_ma for lamp in self.unplanned)


@of_parts(*ELECTRICS)
def output_loads(harness: Harness) -> Loads:
    """The load of every output and every common pin: all lamps on, full battery."""
    wired = solved(harness, worst_case)
    held = wired.lamp_ma if wired is not None else {}
    shares = {lamp.id: _share(harness, lamp, held.get(lamp.id)) for lamp in harness.lamps}
    by_output: dict[int | None, list[LampShare]] = {}
    for lamp in harness.lamps:
        by_output.setdefault(lamp.output, []).append(shares[lamp.id])
    outputs = tuple(
        OutputLoad(block=block, output=output, lamps=tuple(by_output.get(output.number, ())))
        for block, output in harness.controller.outputs()
    )
    # A lamp without an output draws nothing yet, wherever its common wire goes.
    lit = {lamp.lamp_id for load in outputs for lamp in load.lamps}
    by_pin: dict[str, dict[str, LampShare]] = {}
    for wire in derive(harness).wires:
        to_pin = wire.controller_end.kind is EndKind.PIN
        if to_pin and wire.polarity is harness.controller.common_polarity:
            ends = by_pin.setdefault(wire.controller_end.ref, {})
            ends.update((lamp_id, shares[lamp_id]) for lamp_id in wire.lamps if lamp_id in lit)
    commons = tuple(
        CommonLoad(
            block=block, common=common, lamps=tuple(by_pin.get(f"{block.name}.{common.pin}", {}).values())
        )
        for block, common in harness.controller.commons()
    )
    unplanned = lit - {lamp.lamp_id for common in commons for lamp in common.lamps}
    return Loads(
        outputs=outputs,
        commons=commons,
        homeless=tuple(by_output.get(None, ())),
        unplanned=tuple(lamp for lamp_id, lamp in shares.items() if lamp_id in unplanned),
    )


def _share(harness: Harness, lamp: Lamp, wired_ma: float | None) -> LampShare:
    """What a lamp draws: as wired, else by its data sheet; at the worst by its data sheet without wires."""
    one = all_lamps(harness)[lamp.id]
    full_ma = one.current.full_ma if wired_ma is None else wired_ma
    worst_ma = max(full_ma, worst_case_ma(harness, lamp, one))
    return LampShare(lamp_id=lamp.id, name=lamp.name, full_ma=full_ma, worst_ma=worst_ma)


def output_sums_ma(harness: Harness) -> dict[int, float]:
    """What each output carries on a full battery with all its lamps, wired yet or not, in mA, by number."""
    return {load.output.number: load.full_ma for load in output_loads(harness).outputs}


def solved(harness: Harness, case: Callable[[Harness], Wired]) -> Wired | None:
    """`worst_case` or `usual_case`, or None where it has no solution.

    A finding says why; the figures of the data sheets are what is left.
    """
    try:
        return case(harness)
    except NotSolved:
        return None


def nominal_draw_ma(harness: Harness) -> float:
    """What all lamps with an output draw at nominal volts.

    As they are wired; those not wired yet, by the data sheet.
    """
    wired = solved(harness, usual_case)
    held = wired.lamp_ma if wired is not None else {}
    figures = all_lamps(harness)
    numbers = {output.number for _, output in harness.controller.outputs()}
    return sum(
        held.get(lamp.id, figures[lamp.id].current.nominal_ma)
        for lamp in harness.lamps
        if lamp.output in numbers
    )


def pack_lasts_h(harness: Harness) -> float | None:
    """Hours the supply's capacity lasts with all lamps on at nominal volts; None where it is not known."""
    draw_ma = nominal_draw_ma(harness)
    if harness.supply.capacity_mah is None or draw_ma < 1e-6:
        return None
    return harness.supply.capacity_mah / draw_ma

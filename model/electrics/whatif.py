"""What would change: two harnesses side by side, before a change of supply or series is accepted."""

from __future__ import annotations

import attrs

from model.electrics.lamps import LampElectrics, Verdict, all_lamps
from model.electrics.outputs import output_sums_ma
from model.electrics.resistor import ResistorChoice
from model.electrics.supply import Volts, volts
from model.harness import Harness, Lamp, Polarity
from model.routing.made import live_records
from model.tags import LAMP_STEP


@attrs.frozen(kw_only=True)
class LampChange:
    """One lamp before and after; one of them is None where the lamp is only in the other harness.

    `soldered`: its resistor is in the model already and stays.
    """

    lamp: Lamp
    before: LampElectrics | None
    after: LampElectrics | None
    soldered: bool = False

    @property
    def other_resistor(self) -> bool:
        """Whether another resistor must be fitted, or one where there was none."""
        return _resistor(self.before) != _resistor(self.after)

    @property
    def worse(self) -> bool:
        """Whether it was right and no longer is."""
        return (
            self.before is not None
            and self.before.verdict is Verdict.RIGHT
            and self.after is not None
            and self.after.verdict is not Verdict.RIGHT
        )

    @property
    def better(self) -> bool:
        """Whether it becomes right."""
        return (
            self.after is not None
            and self.after.verdict is Verdict.RIGHT
            and self.before is not None
            and self.before.verdict is not Verdict.RIGHT
        )


@attrs.frozen(kw_only=True)
class OutputChange:
    """The sum of one output on a full battery, before and after, in mA; None where it does not exist.

    `limit_ma` is what it may carry after the change.
    """

    number: int
    before_ma: float | None
    after_ma: float | None
    limit_ma: float | None = None

    @property
    def over(self) -> bool:
        """Whether it carries more than it may, after the change."""
        return self.after_ma is not None and self.limit_ma is not None and self.after_ma > self.limit_ma


@attrs.frozen(kw_only=True)
class Comparison:
    """What changes from one harness to another; lamps and outputs that stay as they are do not stand here."""

    volts_before: Volts
    volts_after: Volts
    lamps: tuple[LampChange, ...]
    outputs: tuple[OutputChange, ...]
    total_before_ma: float
    total_after_ma: float

    @property
    def same(self) -> bool:
        """Whether nothing changes at all."""
        return not self.lamps and not self.outputs and self.volts_before == self.volts_after


def compare(before: Harness, after: Harness) -> Comparison:
    """The electrics of `before` beside those of `after`: lamp by lamp, output by output, and the sum."""
    old, new = all_lamps(before), all_lamps(after)
    lamps = {lamp.id: lamp for lamp in (*before.lamps, *after.lamps)}
    old_sums, new_sums = output_sums_ma(before), output_sums_ma(after)
    limits = {output.number: output.limit_ma for _, output in after.controller.outputs()}
    return Comparison(
        volts_before=volts(before.supply),
        volts_after=volts(after.supply),
        lamps=tuple(
            LampChange(
                lamp=lamp, before=old.get(lamp_id), after=new.get(lamp_id), soldered=_soldered(after, lamp)
            )
            for lamp_id, lamp in lamps.items()
            if old.get(lamp_id) != new.get(lamp_id)
        ),
        outputs=tuple(
            OutputChange(
                number=number,
                before_ma=old_sums.get(number),
                after_ma=new_sums.get(number),
                limit_ma=limits.get(number),
            )
            for number in sorted(old_sums.keys() | new_sums.keys())
            if not _alike(old_sums.get(number), new_sums.get(number))
        ),
        total_before_ma=sum(old_sums.values()),
        total_after_ma=sum(new_sums.values()),
    )


def _soldered(harness: Harness, lamp: Lamp) -> bool:
    """Whether the bench has soldered the lamp's own resistor: with its plus wire's lamp end."""
    record = live_records(harness).get(f"{lamp.id}{Polarity.PLUS}")
    return lamp.resistor_ohm is not None and record is not None and LAMP_STEP in record.steps


def _resistor(one: LampElectrics | None) -> float | None:
    return one.choice.ohm if one is not None and isinstance(one.choice, ResistorChoice) else None


def _alike(before_ma: float | None, after_ma: float | None) -> bool:
    if before_ma is None or after_ma is None:
        return before_ma is after_ma
    return abs(before_ma - after_ma) < 1e-6  # mA: what is left of the iteration

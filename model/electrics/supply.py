"""What a supply gives: flat, nominal and full, and what comes out of an output."""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from model.harness import REGULATED, Delivers, Output, Supply
from model.standards.cells import cell


@attrs.frozen(kw_only=True)
class Volts:
    """Three voltages, in V, never falling from flat to full."""

    flat_v: float
    nominal_v: float
    full_v: float

    def __iter__(self) -> Iterator[float]:
        """Flat, nominal, full."""
        return iter((self.flat_v, self.nominal_v, self.full_v))

    @property
    def on_full(self) -> str:
        """Where the current is highest: "on a full battery", or "at 5 V" where the volts never change."""
        return "on a full battery" if self.full_v > self.flat_v else f"at {self.full_v:g} V"

    def __str__(self) -> str:
        """As in "6.0 / 7.2 / 8.7 V"."""
        return " / ".join(f"{volts:.1f}" for volts in self) + " V"


def source_word(supply: Supply) -> str:
    """What gives the volts: "battery", or "supply" where it is regulated."""
    return "supply" if supply.chemistry == REGULATED else "battery"


def full_words(supply: Supply) -> str:
    """The highest volts: "full battery", or "at 5 V" where the supply is regulated."""
    return f"at {volts(supply).full_v:g} V" if supply.chemistry == REGULATED else "full battery"


def on_full(supply: Supply) -> str:
    """At which volts, in a sentence: "on a full battery" or "at 5 V"."""
    return full_words(supply) if supply.chemistry == REGULATED else "on a full battery"


def volts(supply: Supply) -> Volts:
    """Volts of the supply: what was typed, else cells times the chemistry's figure.

    A typed nominal voltage outside the chemistry's span carries the untyped end with it. BadValue
    for an unknown chemistry.
    """
    if supply.chemistry == REGULATED:
        assert supply.nominal_v is not None  # the value itself refuses anything else
        flat, nominal, full = supply.flat_v, supply.nominal_v, supply.full_v
        return _ordered(flat, nominal, full, nominal, nominal, nominal)
    one = cell(supply.chemistry)
    return _ordered(
        supply.flat_v,
        supply.nominal_v,
        supply.full_v,
        round(supply.cells * one.flat_v, 6),  # 6 * 1.2 is 7.199999999999999 in doubles
        round(supply.cells * one.nominal_v, 6),
        round(supply.cells * one.full_v, 6),
    )


def output_volts(supply: Supply, output: Output | None) -> Volts:
    """Volts between an output that is on and the common; those of the supply where there is no output.

    A regulated output is taken to hold its voltage on any battery: the safe side for a resistor.
    """
    if output is not None and output.delivers is Delivers.REGULATED:
        assert output.delivers_v is not None
        return Volts(flat_v=output.delivers_v, nominal_v=output.delivers_v, full_v=output.delivers_v)
    return volts(supply)


def _ordered(
    flat: float | None,
    nominal: float | None,
    full: float | None,
    usual_flat: float,
    usual_nominal: float,
    usual_full: float,
) -> Volts:
    """Typed figures as they are; usual ones moved as far as the order needs."""
    if nominal is None:
        nominal = max(usual_nominal, flat or 0.0)
        nominal = min(nominal, full) if full is not None else nominal
    return Volts(
        flat_v=min(usual_flat, nominal) if flat is None else flat,
        nominal_v=nominal,
        full_v=max(usual_full, nominal) if full is None else full,
    )

"""Thin copper wire: diameter, area, resistance, guidance current and typical outside diameter.

AWG sizes follow the geometric rule of ASTM B258 (2018): 36 AWG is 0.005 in and 0000 AWG is
0.46 in, with equal ratios between. Resistance is that of annealed copper of 100 % IACS,
1.7241e-8 ohm m at 20 C with 0.00393 per kelvin (IEC 60028, 1925; from memory). Sizes are
taken as nominal and solid: strands of a size often measure a few per cent more copper.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from types import MappingProxyType

import attrs

from model.errors import BadValue

RESISTIVITY_OHM_MM2_PER_KM = 17.241  # IEC 60028, 100 % IACS at 20 C (from memory)
TEMPERATURE_COEFFICIENT_PER_K = 0.00393  # IEC 60028, at 20 C (from memory)
REFERENCE_TEMPERATURE_C = 20.0
CIRCULAR_MIL_MM2 = math.pi / 4 * 0.0254**2
CIRCULAR_MILS_PER_A = 700  # the bundled-wire rule of AWG handbooks
DEFAULT_GAUGE = "28 AWG"

CABLE_MM2 = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0)
"""Cross sections of flexible cable (IEC 60228 class 5, from memory); the wires of a model are far thinner."""

THINNEST_AWG = 36
THICKEST_AWG = 20


@attrs.frozen(kw_only=True)
class Gauge:
    """One wire size. `ohm_per_km` is at 20 C; `od_mm` is over typical insulation."""

    name: str
    area_mm2: float
    diameter_mm: float
    ohm_per_km: float
    current_ma: float
    od_mm: float
    note: str = ""


def awg_diameter_mm(number: int) -> float:
    """Bare diameter of an AWG size in mm (ASTM B258); 0000 AWG is -3."""
    return float(0.127 * 92 ** ((36 - number) / 39))


def temperature_factor(temperature_c: float) -> float:
    """Resistance at `temperature_c` as a multiple of that at 20 C (IEC 60028, from memory).

    BadValue outside -100..250 C, where the straight line no longer describes copper.
    """
    if not -100 <= temperature_c <= 250:
        raise BadValue(
            "wire temperature",
            f"{temperature_c:g} C",
            limit="-100 to 250 C",
            remedy="Enter the temperature inside the model, usually 20 to 60 C.",
        )
    return 1 + TEMPERATURE_COEFFICIENT_PER_K * (temperature_c - REFERENCE_TEMPERATURE_C)


# Strand bundle over solid diameter, from published charts of 7-strand wire (0.38/0.321 mm at 28 AWG).
_STRANDED = 1.18
_SEMI_RIGID_WALL_MM = 0.2286  # 9 mil semi-rigid PVC, 30 to 16 AWG, UL 758 style pages
_THIN_WALL_MM = 0.1524  # 6 mil PTFE (MIL-DTL-16878, from memory)


def _gauge(name: str, area_mm2: float, od_mm: float, note: str) -> Gauge:
    return Gauge(
        name=name,
        area_mm2=area_mm2,
        diameter_mm=math.sqrt(4 * area_mm2 / math.pi),
        ohm_per_km=RESISTIVITY_OHM_MM2_PER_KM / area_mm2,
        current_ma=1000 * area_mm2 / (CIRCULAR_MILS_PER_A * CIRCULAR_MIL_MM2),
        od_mm=od_mm,
        note=note,
    )


def _awg(number: int) -> Gauge:
    diameter_mm = awg_diameter_mm(number)
    if number == 36:
        od_mm, note = 0.14, "enamelled, single build (NEMA MW 1000, from memory)"
    elif number > 30:
        od_mm, note = diameter_mm * _STRANDED + 2 * _THIN_WALL_MM, "thin PTFE wall, computed"
    else:
        od_mm, note = diameter_mm * _STRANDED + 2 * _SEMI_RIGID_WALL_MM, "semi-rigid PVC, computed"
    return _gauge(f"{number} AWG", math.pi / 4 * diameter_mm**2, od_mm, note)


def _metric() -> Iterable[Gauge]:
    # Outside diameters: 0.05 and 0.08 mm2 from a published thin-wire table, the others common
    # practice for PVC hook-up wire, no source.
    for area_mm2, od_mm in ((0.05, 0.60), (0.08, 0.78), (0.14, 1.10), (0.25, 1.35), (0.5, 1.80)):
        yield _gauge(f"{area_mm2:g} mm2", area_mm2, od_mm, "hook-up wire")


GAUGES: Mapping[str, Gauge] = MappingProxyType(
    {
        gauge.name: gauge
        for gauge in sorted(
            [*(_awg(number) for number in range(THICKEST_AWG, THINNEST_AWG + 1)), *_metric()],
            key=lambda gauge: gauge.area_mm2,
        )
    }
)
"""Every known gauge by name, thinnest first."""


def gauge(name: str) -> Gauge:
    """The gauge of this name. BadValue names the nearest known one."""
    found = GAUGES.get(name)
    if found is not None:
        return found
    raise BadValue(
        f"wire gauge {name!r}",
        "is not in the table",
        limit="36 to 20 AWG, or 0.05 to 0.5 mm2",
        remedy=f'Take "{_nearest(name).name}".',
    )


def thicker(gauge: Gauge) -> tuple[Gauge, ...]:
    """All gauges with more copper than this one, thinnest first."""
    return tuple(other for other in GAUGES.values() if other.area_mm2 > gauge.area_mm2 * (1 + 1e-9))


def for_current(current_ma: float, *, like: Gauge) -> Gauge | None:
    """The thinnest gauge that carries the current by the guidance of 700 circular mil per A, or None.

    Of the family of `like`: AWG or square millimetres.
    """
    unit = like.name.split()[-1]
    return next(
        (one for one in GAUGES.values() if one.name.endswith(unit) and one.current_ma >= current_ma), None
    )


def copper_for(current_ma: float) -> float | None:
    """The least usual cross section in mm2 for the current, by 700 circular mil per A; None above 6 mm2."""
    needed_mm2 = current_ma / 1000 * CIRCULAR_MILS_PER_A * CIRCULAR_MIL_MM2
    return next((area_mm2 for area_mm2 in CABLE_MM2 if area_mm2 >= needed_mm2), None)


def resistance_ohm(gauge: Gauge, length_mm: float, temperature_c: float = REFERENCE_TEMPERATURE_C) -> float:
    """Ohm of one conductor, one way."""
    return gauge.ohm_per_km * length_mm * 1e-6 * temperature_factor(temperature_c)


def _nearest(text: str) -> Gauge:
    """The gauge a mistyped name most likely meant: by number and unit, else the default."""
    digits = "".join(char if char.isdigit() or char in ".,-" else " " for char in text).replace(",", ".")
    number = None
    for word in digits.split():
        try:
            number = float(word)
            break
        except ValueError:
            continue
    if number is None or not math.isfinite(number):
        return GAUGES[DEFAULT_GAUGE]
    metric = "mm" in text.lower() or ("awg" not in text.lower() and 0 < number < 3)
    if metric:
        area_mm2 = max(number, 1e-6)
        return min(
            (gauge for gauge in GAUGES.values() if gauge.name.endswith("mm2")),
            key=lambda gauge: abs(math.log(gauge.area_mm2 / area_mm2)),
        )
    return GAUGES[f"{min(max(round(number), THICKEST_AWG), THINNEST_AWG)} AWG"]

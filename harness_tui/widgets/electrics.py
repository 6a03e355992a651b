"""The electrics of one lamp in two lines, as Lamps and Walk show them."""

from __future__ import annotations

from textual.content import Content

from harness_tui.widgets.lines import clip
from model.electrics.lamps import LampElectrics, Verdict
from model.harness import Build, Harness, Lamp

_STYLES = {Verdict.RIGHT: "", Verdict.OVER: "$text-error bold"}


def lamp_lines(harness: Harness, lamp: Lamp, electrics: LampElectrics, width: int) -> list[Content]:
    """The resistor or the verdict, and the current full, nominal and flat; each at most `width` columns."""
    style = _STYLES.get(electrics.verdict, "$text-warning")
    head = "" if electrics.verdict is Verdict.RIGHT else f"{electrics.verdict.value}: "
    name = "resistor " if lamp.build is Build.BARE and electrics.choice is not None else ""
    first = Content.styled(clip(f"{name}{head}{electrics.text}", width), style)
    current = electrics.current
    second = (
        f"full {current.full_ma:.1f} mA   nominal {current.nominal_ma:.1f} mA   flat {current.flat_ma:.1f} mA"
        f" ({current.flat_pct:.0f} % as bright)"
    )
    return [first, Content.styled(clip(second, width), "dim")]

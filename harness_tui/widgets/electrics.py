"""The electrics of one lamp in a few lines, as Lamps and Walk show them."""

from __future__ import annotations

from textual.content import Content

from harness_tui.widgets.lines import clip
from model.electrics.diode import lowest_volts
from model.electrics.lamps import LampElectrics, Verdict
from model.electrics.resistor import ResistorChoice
from model.harness import Build, Lamp

_STYLES = {Verdict.RIGHT: "", Verdict.OVER: "$text-error bold"}


def lamp_lines(lamp: Lamp, electrics: LampElectrics, width: int) -> list[Content]:
    """Resistor or verdict; current flat, nominal and full; the proof. Each at most `width` columns."""
    current = electrics.current
    wired = lamp.build is Build.WIRED
    cases = (
        ("flat", current.flat_ma, electrics.percent_flat),
        ("nominal", current.nominal_ma, electrics.percent),
        ("full", current.full_ma, electrics.percent_full),
    )
    parts = [f"{name} {ma:.1f} mA" + (f" {percent:.0f} %" if wired else "") for name, ma, percent in cases]
    second = "   ".join(parts) + ("" if wired else f"   flat {current.flat_pct:.0f} % as bright")
    lines = [_first(lamp, electrics, width), Content.styled(clip(second, width), "dim")]
    proof = proof_words(lamp, electrics)
    return [*lines, Content.styled(clip(proof, width), "dim")] if proof else lines


def brief_lines(lamp: Lamp, electrics: LampElectrics, width: int) -> list[Content]:
    """The same without the proof, in one line where that has room."""
    current = electrics.current
    figures = f"flat {current.flat_ma:.1f}  nominal {current.nominal_ma:.1f}  full {current.full_ma:.1f} mA"
    choice = electrics.choice
    if isinstance(choice, ResistorChoice) and electrics.verdict is Verdict.RIGHT and not choice.raised:
        first = Content(clip(choice.words, width))
    else:
        first = _first(lamp, electrics, width)
    gap = width - first.cell_length - len(figures)
    if gap >= 2:
        return [first + Content(" " * gap) + Content.styled(figures, "dim")]
    return [first, Content.styled(clip(figures, width), "dim")]


def _first(lamp: Lamp, electrics: LampElectrics, width: int) -> Content:
    head = "" if electrics.verdict is Verdict.RIGHT else f"{electrics.verdict.value}: "
    name = "resistor " if lamp.build is Build.BARE and electrics.choice is not None else ""
    style = _STYLES.get(electrics.verdict, "$text-warning")
    return Content.styled(clip(f"{name}{head}{electrics.text}", width), style)


def proof_words(lamp: Lamp, electrics: LampElectrics) -> str:
    """How the worst case comes out and what size stands it; of a ready-wired lamp, what is inside."""
    choice, led = electrics.choice, electrics.led
    if isinstance(choice, ResistorChoice):
        part = f"{choice.part.name}, {choice.part.body}" if choice.part else "no size stands that"
        return (
            f"worst {choice.worst_ma:.1f} of {choice.max_ma:g} mA ({electrics.supply.full_v:.1f} V, "
            f"LED {lowest_volts(led, led.max_ma):.2g} V, -{choice.tolerance_pct:g} %)   "
            f"{choice.power_mw:.0f} mW: {part}"
        )
    if lamp.build is Build.WIRED and electrics.series_ohm:
        said = "assumed" if lamp.rated_ma is None else "as typed"
        front = f" and {lamp.resistor_ohm:g} in front" if lamp.resistor_ohm else ""
        inside_ohm = electrics.series_ohm - (lamp.resistor_ohm or 0.0)
        rated = f"{electrics.wanted_ma:g} mA ({said}) at {lamp.rated_v:g} V"
        return f"{inside_ohm:.0f} ohm inside{front}, by {rated}"
    return ""

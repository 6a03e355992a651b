"""Each electric rule: a harness that breaks it, and one that does not."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model import editing
from model.editing import Merge, RunChoice, accept_run
from model.electrics import findings, wiring_findings
from model.electrics.findings import electrics_findings
from model.electrics.lamps import Verdict, all_lamps
from model.electrics.outputs import output_sums_ma
from model.errors import NotSolved
from model.findings import Finding, Severity
from model.harness import Build, Delivers, Harness, Supply
from model.routing.allot import settle
from model.standards.cells import CHEMISTRIES
from model.standards.leds import LED_COLOURS
from tests.strategies import harnesses

EMPTY = editing.new_harness("Test", "TST")


def with_lamps(count: int = 1, start: Harness = EMPTY, **figures: object) -> Harness:
    for number in range(count):
        start = editing.add_lamp(start, f"lamp {number + 1}", **{"output": 1, "colour": "amber", **figures})
    return start


def walked(harness: Harness, length_mm: float = 300, *, merge: bool = False) -> Harness:
    """All lamps at the far end of one leg, each with its own wires or with all plus wires merged there."""
    harness = editing.add_waypoint(harness, "far end")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=length_mm)
    for place, one in enumerate(harness.lamps):
        harness = editing.edit_lamp(harness, one.id, at="W2")
        join = None
        if merge and place == 1:
            join = Merge(at="W2", gather=(harness.lamps[0].id,))
        elif merge and place > 1:
            join = Merge(at="W2", into="J1")
        harness = settle(accept_run(harness, one.id, RunChoice(way=("W2", "W1"), plus=join, minus=None)))
    return harness


def found(harness: Harness, rule: str) -> list[Finding]:
    return [finding for finding in electrics_findings(harness) if finding.rule == rule]


def on(supply: Supply) -> Callable[[Harness], Harness]:
    return lambda harness: editing.set_supply(harness, supply)


FIVE = Supply(chemistry="regulated", nominal_v=5.0)
LOW = Supply(chemistry="regulated", nominal_v=3.3)
TWENTY_FOUR = Supply(chemistry="lead-acid", cells=12)
THIRTY = Supply(chemistry="regulated", nominal_v=30.0)

CASES = [
    # rule, broken, sound, words of what was found, words of the mend
    (
        "headroom",
        with_lamps(start=on(LOW)(EMPTY), colour="blue"),
        with_lamps(colour="blue"),
        "0.10 V",
        "more cells",
    ),
    (
        "over-current",
        with_lamps(build=Build.WIRED, rated_v=6.0),
        with_lamps(build=Build.WIRED, rated_v=9.0),
        "made for 6 V: 169 %",
        "Put 150R in series, or take a lamp made for 7.2 to 10.6 V.",
    ),
    (
        "over-current",
        with_lamps(resistor_ohm=100.0),
        with_lamps(resistor_ohm=560.0),
        "72 mA where 25 mA is the most",
        "Fit 560R green blue brown gold.",
    ),
    (
        "wanted current",
        with_lamps(current_ma=21.0, size="5 mm"),
        with_lamps(current_ma=21.0, size="5 mm", max_ma=30.0),
        "is to get 21 mA",
        "data sheet",
    ),
    (
        "wanted current",
        with_lamps(current_ma=61.0, size="5050"),
        with_lamps(current_ma=60.0, size="5050"),
        "is to get 61 mA",
        "want less",
    ),
    (
        "under-current",
        with_lamps(build=Build.WIRED, rated_v=12.0),
        with_lamps(build=Build.WIRED, rated_v=9.0),
        "made for 12 V: 52 %",
        "Take a lamp made for 7.2 to 10.6 V.",
    ),
    (
        "under-current",
        with_lamps(resistor_ohm=2200.0),
        with_lamps(resistor_ohm=680.0),
        "23 % of the wanted 10 mA",
        "Fit 560R green blue brown gold.",
    ),
    (
        "over-current",  # (8.7 - 2.1) / (9 - 2.1) of 20 mA are 19.1; 6.6 V / 18 mA - 345 ohm are 22
        with_lamps(build=Build.WIRED, rated_v=9.0, max_ma=18.0),
        with_lamps(build=Build.WIRED, rated_v=9.0, max_ma=18.0, resistor_ohm=22.0),
        "19.1 mA on a full battery where 18 mA is the most",
        "Put 22R in series, or take a lamp made for 9.5 to 10.6 V.",
    ),
    (
        "under-current",
        with_lamps(build=Build.WIRED, rated_v=6.0, resistor_ohm=470.0),
        with_lamps(build=Build.WIRED, rated_v=6.0, resistor_ohm=150.0),
        "made for 6 V: 38 %",
        "Put 150R in front of it instead.",
    ),
    (
        "under-current",
        with_lamps(build=Build.WIRED, rated_v=9.0, resistor_ohm=330.0),
        with_lamps(build=Build.WIRED, rated_v=9.0),
        "made for 9 V: 38 %",
        "Leave out the resistor in front of it.",
    ),
    (
        "under-current",
        with_lamps(start=on(LOW)(EMPTY), build=Build.WIRED, rated_v=6.0, colour="UV"),
        with_lamps(start=on(FIVE)(EMPTY), build=Build.WIRED, rated_v=6.0, colour="UV"),
        "made for 6 V: 0 %",
        "Give it more or steadier volts",
    ),
    (
        "under-current",
        with_lamps(size="5 mm", colour="white", current_ma=40.0, max_ma=35.0),
        with_lamps(size="5 mm", colour="white", current_ma=35.0, max_ma=35.0),
        "of the wanted 40 mA",
        "Want no more than its limit of 35 mA.",
    ),
    (
        "resistor power",  # in front of a ready-wired lamp: (22.8 V / 1140 ohm)^2 * 1000 ohm are 400 mW
        with_lamps(
            start=on(TWENTY_FOUR)(EMPTY), build=Build.WIRED, rated_v=6.0, colour="white", resistor_ohm=1000.0
        ),
        with_lamps(build=Build.WIRED, rated_v=6.0, resistor_ohm=150.0),
        "1K takes 333 mW",
        "Take a 1 W part",
    ),
    (
        "output kind",
        editing.edit_output(
            with_lamps(build=Build.WIRED, rated_v=9.0), 1, delivers=Delivers.CURRENT, delivers_ma=15.0
        ),
        editing.edit_output(with_lamps(), 1, delivers=Delivers.CURRENT, delivers_ma=15.0),
        "limits the current itself",
        "bare LED",
    ),
    (
        "shared resistor",
        with_lamps(start=with_lamps(), resistor_ohm=0.0),
        with_lamps(2),
        "sharing that of lamp 1",
        "Fit 560R green blue brown gold.",
    ),
    ("shared resistor", with_lamps(resistor_ohm=0.0), with_lamps(), "has no resistor of its own", "Fit 560R"),
    (
        "series chain",
        with_lamps(vf_v=4.2),
        with_lamps(vf_v=2.3),
        "4.2 V are 2 LEDs in series",
        "side by side",
    ),
    (
        "resistor power",
        with_lamps(start=on(THIRTY)(EMPTY), current_ma=20.0),
        with_lamps(start=on(FIVE)(EMPTY), current_ma=20.0),
        "mW at worst",
        "Take a 2 W part",
    ),
    (
        "resistor power",
        editing.set_settings(with_lamps(start=on(THIRTY)(EMPTY), current_ma=20.0), resistor_body="chip"),
        editing.set_settings(with_lamps(current_ma=20.0), resistor_body="chip"),
        "554 mW at worst",
        "share the power",
    ),
    (
        "under-current",
        editing.set_settings(with_lamps(), drawer_ohm=(470.0, 1000.0, 4700.0)),
        editing.set_settings(with_lamps(), drawer_ohm=(470.0, 680.0)),
        "1K brown black red gold, 5.1 mA, 51 % of the wanted 10 mA",
        "The drawer holds nothing nearer. Buy 560R green blue brown gold.",
    ),
    (
        "headroom",
        editing.set_settings(with_lamps(), drawer_ohm=(470.0,)),
        editing.set_settings(with_lamps(), drawer_ohm=(470.0, 560.0)),
        "the largest value at hand is 470 ohm, 510 ohm are needed",
        "Buy 560R.",
    ),
    (
        "over-current",
        editing.set_settings(with_lamps(build=Build.WIRED, rated_v=6.0), drawer_ohm=(100.0, 220.0)),
        with_lamps(build=Build.WIRED, rated_v=6.0, resistor_ohm=220.0),
        "made for 6 V: 169 %",
        "Put 220R in series",
    ),
    (
        "under-current",
        editing.edit_output(
            with_lamps(start=with_lamps(), colour="white"), 1, delivers=Delivers.CURRENT, delivers_ma=20.0
        ),
        editing.edit_output(with_lamps(2), 1, delivers=Delivers.CURRENT, delivers_ma=20.0),
        "dark: lamp 1 needs fewer volts",
        "an output of its own",
    ),
    (
        "uneven",
        editing.set_settings(
            walked(with_lamps(start=with_lamps(), resistor_ohm=620.0)), visible_difference_pct=5.0
        ),
        walked(with_lamps(start=with_lamps(), resistor_ohm=620.0)),
        "less than lamp 1",
        "the same resistor",
    ),
    (
        "output limit",
        editing.edit_output(with_lamps(6), 1, limit_ma=60.0),
        editing.edit_output(with_lamps(6), 1, limit_ma=80.0),
        "71 mA with its 6 lamps",
        "another output",
    ),
    (
        "output limit",  # 6 lamps of 11.8 mA; at worst (8.7 V - 1.9 V) / (0.95 * 560 ohm) are 12.8
        editing.edit_output(with_lamps(6), 1, limit_ma=74.0),
        editing.edit_output(with_lamps(6), 1, limit_ma=77.0),
        "71 mA with its 6 lamps on a full battery, but 77 mA with LEDs and resistors at the low end",
        "another output",
    ),
    (
        "common limit",
        editing.edit_common(walked(with_lamps(6)), "A", "7", limit_ma=74.0),
        editing.edit_common(walked(with_lamps(6)), "A", "7", limit_ma=77.0),
        "but 77 mA with LEDs and resistors at the low end",
        "more pins",
    ),
    (
        "step-up",  # six cells of 1.2 V, 1.0 V flat
        editing.edit_output(with_lamps(), 1, delivers=Delivers.REGULATED, delivers_v=6.5),
        editing.edit_output(with_lamps(), 1, delivers=Delivers.REGULATED, delivers_v=6.0),
        "is to give 6.5 V; the supply gives 7.2 V, flat 6.0 V",
        "needs a step-up",
    ),
    (
        "step-up",
        editing.edit_output(with_lamps(), 1, delivers=Delivers.REGULATED, delivers_v=12.0),
        editing.edit_output(with_lamps(output=2), 1, delivers=Delivers.REGULATED, delivers_v=12.0),
        "is to give 12 V",
        "needs a step-up",
    ),
    (
        "shared current",
        editing.edit_output(with_lamps(3), 1, delivers=Delivers.CURRENT, delivers_ma=30.0),
        editing.edit_output(with_lamps(1), 1, delivers=Delivers.CURRENT, delivers_ma=20.0),
        "3 lamps share its 30 mA; when one opens, the other 2 get 15.0 mA each, and the last",
        "set the output to 25 mA or less",
    ),
    (
        "shared current",
        editing.edit_output(with_lamps(2), 1, delivers=Delivers.CURRENT, delivers_ma=20.0),
        editing.edit_output(with_lamps(2), 2, delivers=Delivers.CURRENT, delivers_ma=20.0),
        "2 lamps share its 20 mA; when one opens, the other gets 20.0 mA",
        "None is over its limit then",
    ),
    (
        "common limit",
        editing.edit_common(walked(with_lamps(3)), "A", "7", limit_ma=30.0),
        editing.edit_common(walked(with_lamps(3)), "A", "7", limit_ma=40.0),
        "mA come back",
        "more pins",
    ),
    (
        "common limit",
        editing.edit_common(with_lamps(3), "A", "7", limit_ma=30.0),
        editing.edit_common(with_lamps(3), "A", "7", limit_ma=40.0),
        "mA come back",
        "more pins",
    ),
    (
        "wire current",
        editing.set_joint(walked(with_lamps(4), merge=True), "J1", gauge="36 AWG"),
        walked(with_lamps(4), merge=True),
        "47 mA through 36 AWG",
        "Take 34 AWG",
    ),
    (
        "voltage drop",
        walked(editing.set_settings(with_lamps(current_ma=20.0), gauge="36 AWG"), 30_000),
        walked(with_lamps(), 30_000),
        "V are lost on its wires",
        "thicker wire",
    ),
    (
        "uneven",
        walked(with_lamps(start=with_lamps(), resistor_ohm=820.0)),
        walked(with_lamps(2)),
        "less than lamp 1",
        "the same resistor",
    ),
    ("fuse", with_lamps(2), EMPTY, "up to 24 mA", "0.1 A fuse"),
]


@pytest.mark.parametrize(("rule", "broken", "sound", "words", "mend"), CASES)
def test_rule(rule: str, broken: Harness, sound: Harness, words: str, mend: str) -> None:
    faults = found(broken, rule)
    assert faults
    assert any(words in fault.found for fault in faults), faults
    assert any(mend in fault.remedy for fault in faults), faults
    assert all(fault.subject and fault.place for fault in faults)
    assert found(sound, rule) == []


def test_every_rule_has_its_case() -> None:
    quiet = {wiring_findings.not_solved}
    assert len({case[0] for case in CASES}) == len(set(findings.RULES) - quiet)


@pytest.mark.parametrize(
    ("supply_v", "current_ma", "severity"),
    [
        (15.0, 8.0, None),  # 1K8, 92 mW
        (18.0, 10.0, Severity.NOTE),  # 1K8, 140 mW: over half of a quarter watt
        (24.0, 20.0, Severity.WARNING),  # 1K2, 400 mW: over a quarter watt
        (60.0, 20.0, Severity.DANGER),  # 3K3, 1016 mW: over half of 2 W, the largest there is
    ],
)
def test_how_hot_a_resistor_gets(supply_v: float, current_ma: float, severity: Severity | None) -> None:
    supply = Supply(chemistry="regulated", nominal_v=supply_v)
    harness = with_lamps(start=on(supply)(EMPTY), current_ma=current_ma)
    assert [fault.severity for fault in found(harness, "resistor power")] == ([severity] if severity else [])


@pytest.mark.parametrize(
    ("lamps", "fuse", "lead"),
    [(10, "0.16 A", "24 AWG"), (100, "1.6 A", "0.75 mm2"), (165, "2.5 A", "1 mm2"), (500, "10 A", "4 mm2")],
)
def test_the_lead_carries_the_rating_of_its_fuse(lamps: int, fuse: str, lead: str) -> None:
    """By 700 circular mil, 0.355 mm2, for each ampere of the fuse. 11.8 mA a lamp."""
    (fault,) = found(with_lamps(lamps), "fuse")
    assert f"Put a {fuse} fuse" in fault.remedy
    assert f"the lead wants {lead} or" in fault.remedy


@given(
    st.sampled_from([Supply(chemistry=kind, cells=n) for kind in CHEMISTRIES for n in (1, 2, 4, 6)]),
    st.sampled_from(list(LED_COLOURS)),
    st.floats(2, 40),
    st.none() | st.floats(5, 30),
)
def test_the_lamp_to_take_is_right(supply: Supply, colour: str, rated_v: float, max_ma: float | None) -> None:
    """Whoever buys for either end of the volts that the mend names has nothing to mend any more."""
    start = on(supply)(EMPTY)
    harness = with_lamps(start=start, build=Build.WIRED, rated_v=rated_v, colour=colour, max_ma=max_ma)
    mends = [found.remedy for found in electrics_findings(harness) if found.rule.endswith("-current")]
    named = [made for mend in mends if (made := re.search(r"made for (.+) V", mend))]
    for volts in (float(end) for made in named for end in made[1].split(" to ")):
        bought = editing.edit_lamp(harness, "L1", rated_v=volts)
        assert all_lamps(bought)["L1"].verdict is Verdict.RIGHT


@pytest.mark.parametrize(
    ("limit_ma", "severity"), [(60.0, Severity.DANGER), (74.0, Severity.WARNING), (77.0, None)]
)
def test_a_limit_that_only_the_worst_parts_break_is_a_warning(
    limit_ma: float, severity: Severity | None
) -> None:
    harness = editing.edit_output(with_lamps(6), 1, limit_ma=limit_ma)
    assert [fault.severity for fault in found(harness, "output limit")] == ([severity] if severity else [])


@pytest.mark.parametrize(
    ("delivers", "severity"),
    [
        ({"delivers": Delivers.REGULATED, "delivers_v": 6.5}, Severity.NOTE),
        ({"delivers": Delivers.REGULATED, "delivers_v": 7.5}, Severity.WARNING),
        ({"delivers": Delivers.CURRENT, "delivers_ma": 25.0}, Severity.NOTE),
        ({"delivers": Delivers.CURRENT, "delivers_ma": 26.0}, Severity.WARNING),
    ],
)
def test_how_bad_it_is_what_an_output_gives(delivers: dict[str, object], severity: Severity) -> None:
    harness = editing.edit_output(with_lamps(2), 1, **delivers)
    faults = found(harness, "step-up") + found(harness, "shared current")
    assert [fault.severity for fault in faults] == [severity]


@pytest.mark.parametrize(
    "kind", [{"vf_v": 3.4}, {"vf_high_v": 1.95}, {"build": Build.WIRED, "rated_v": 9.0, "rated_ma": 10.0}]
)
def test_lamps_of_other_figures_are_not_expected_to_shine_alike(kind: dict[str, object]) -> None:
    """By their data sheets they are not of one kind, so nobody is told to even them out."""
    start = with_lamps(build=kind.get("build", Build.BARE), rated_v=9.0, rated_ma=None, resistor_ohm=560.0)
    harness = walked(with_lamps(start=start, resistor_ohm=560.0, **kind))
    assert found(editing.set_settings(harness, visible_difference_pct=1.0), "uneven") == []


def test_what_can_burn_is_a_danger() -> None:
    dangers = {
        finding.rule
        for case in CASES
        for finding in electrics_findings(case[1])
        if finding.severity is Severity.DANGER
    }
    assert dangers == {"over-current", "shared resistor", "output limit", "common limit", "resistor power"}


def test_far_lamps_are_dimmer_on_thin_wire() -> None:
    harness = editing.set_settings(with_lamps(2, build=Build.WIRED, rated_v=9.0), gauge="36 AWG")
    harness = walked(harness, 100)
    harness = editing.edit_lamp(harness, "L2", spur_mm=60_000)
    harness = settle(accept_run(harness, "L2", RunChoice(way=("W2", "W1"), plus=None, minus=None)))
    (fault,) = found(harness, "uneven")
    assert fault.subject == "lamp 2"
    assert fault.remedy == "Take thicker wire to lamp 2, or merge it nearer to the controller."


def test_sums_count_lamps_that_are_not_wired_yet() -> None:
    loose = output_sums_ma(with_lamps(2))
    assert loose[1] == pytest.approx(2 * 1000 * (8.7 - 2.1) / 560)
    half = output_sums_ma(with_lamps(start=walked(with_lamps())))
    assert half[1] == pytest.approx(loose[1], rel=0.05)
    assert half[2] == 0


def test_a_lamp_that_gets_brighter_in_the_network_is_reckoned_so() -> None:
    """The fuse and the limits go by what flows as wired, which is a little more than the data-sheet sum."""
    harness = walked(with_lamps())
    assert output_sums_ma(harness)[1] > all_lamps(harness)["L1"].current.full_ma


def test_no_working_point_is_one_finding_and_no_crash(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(harness: Harness) -> None:
        raise NotSolved("lamp L1", "does not settle", limit="80 steps", remedy="Look there.")

    monkeypatch.setattr(wiring_findings, "worst_case", fail)
    monkeypatch.setattr(wiring_findings, "usual_case", fail)
    (fault,) = found(walked(with_lamps()), "not solved")
    assert fault.subject == "lamp L1"
    assert found(walked(with_lamps()), "fuse")


@given(harnesses(lamps=(0, 15), points=(1, 6), walked=0.7))
@settings(deadline=None, max_examples=40)
def test_findings_name_what_is_there(harness: Harness) -> None:
    lamps = {lamp.id for lamp in harness.lamps}
    outputs = {str(output.number) for _, output in harness.controller.outputs()}
    figures = all_lamps(harness)
    rules = electrics_findings(harness)
    for finding in rules:
        assert finding.remedy
        assert finding.ref in lamps | outputs | {""} or finding.rule == "common limit"
    over = {finding.ref for finding in rules if finding.rule == "over-current"}
    assert over == {lamp_id for lamp_id, one in figures.items() if one.verdict is Verdict.OVER}

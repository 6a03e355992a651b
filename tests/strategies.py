"""Random harnesses, as hypothesis strategies and from a plain seed.

`harnesses()` is for properties; `harness_from_seed(7)` for loops over a fixed number of models and for
benchmarks. Both use one builder that only makes the edits a person could make, each followed by `settle`.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from hypothesis import strategies as st

from model import editing
from model.editing import Merge, RunChoice, accept_run
from model.errors import LoomError
from model.harness import Build, Delivers, Hand, Harness, Polarity, Supply, Switched
from model.integrity import broken_references
from model.routing.allot import settle
from model.routing.offers import best_offer, merge_offers, way_choices
from model.standards.functions import FUNCTIONS
from model.standards.leds import LED_COLOURS, LED_SIZES
from model.tags import TagScheme

DAY = "2026-03-03"

BENCH_STEPS = ("cut", "sleeve", "strip", "lamp", "join", "shrink", "test")

NASTY_NAMES = (
    "[/]",
    "[red]Head[/red] lamp",
    "=1+1",
    "<b>lamp</b> & more",
    "../../etc",
    "\U0001f6a8 beacon",
    "\u05de\u05e0\u05d5\u05e8\u05d4",
    "e\u0301clairage",
    "\u30e9\u30f3\u30d7",
    "'quoted' \"twice\"",
    "a,b;c",
    "x" * 60,
)
"""Names that are allowed and that something careless would stumble over."""

_SUPPLIES = (
    Supply(chemistry="NiMH", cells=6),
    Supply(chemistry="lead-acid", cells=6),
    Supply(chemistry="regulated", nominal_v=5.0),
    Supply(chemistry="NiMH", cells=8, capacity_mah=3000),
)
_GAPS_MM = (0.0, 12.5, 40.0, 80.0, 120.0, 210.0, 333.3, 600.0)


def random_harness(
    rng: Random,
    *,
    lamps: tuple[int, int] = (1, 10),
    points: tuple[int, int] = (1, 7),
    walked: float = 0.9,
    merges: float = 0.7,
    plugs: bool = True,
    world: bool = False,
    later_edits: int = 0,
    nasty: float = 0.1,
) -> Harness:
    """A settled harness of `lamps` lamps (from, to) on `points` waypoints beside the controller's.

    `walked` is the share of lamps whose run is accepted, `merges` the chance that a wire takes a merge where
    one is offered. `world`: some labels are printed and some bench steps done. `later_edits` edits of any
    kind follow.
    """
    harness = editing.new_harness(_name(rng, "model", 1, nasty), rng.choice(("GRT", "T2", "A1B")))
    harness = _equipped(harness, rng)
    harness = _with_ways(harness, rng, rng.randint(*points), plugs, nasty)
    for number in range(rng.randint(*lamps)):
        harness = _with_lamp(harness, rng, number, nasty)
    harness = walk(harness, rng, walked=walked, merges=merges)
    if world:
        harness = happened(harness, rng)
    for _ in range(later_edits):
        harness = random_edit(harness, rng)
    return harness


def harness_from_seed(seed: int, **sizes: object) -> Harness:
    """The same harness for the same seed; `sizes` as for `random_harness`."""
    return random_harness(Random(seed), **sizes)  # type: ignore[arg-type]


@st.composite
def harnesses(draw: st.DrawFn, **sizes: object) -> Harness:
    """Settled, walked harnesses with plugs, moving joints and merges; `sizes` as for `random_harness`."""
    rng = draw(st.randoms(use_true_random=False))
    return random_harness(rng, **sizes)  # type: ignore[arg-type]


def names(*, empty: bool = False) -> st.SearchStrategy[str]:
    """Texts that a harness accepts as a name."""
    letters = st.characters(blacklist_categories=("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"))
    texts = st.text(letters, min_size=0 if empty else 1, max_size=60)
    return st.sampled_from(NASTY_NAMES) | (texts if empty else texts.filter(str.strip))


def _name(rng: Random, kind: str, number: int, nasty: float) -> str:
    return rng.choice(NASTY_NAMES) if rng.random() < nasty else f"{kind} {number}"


def _equipped(harness: Harness, rng: Random) -> Harness:
    harness = editing.set_supply(harness, rng.choice(_SUPPLIES))
    harness = editing.set_switched(harness, rng.choice(tuple(Switched)))
    for _ in range(rng.randint(0, 2)):
        harness = editing.add_block(harness, outputs=rng.randint(1, 6), commons=rng.randint(1, 2))
    if rng.random() < 0.2:
        harness = editing.edit_output(harness, 1, delivers=Delivers.CURRENT, delivers_ma=20.0)
    if rng.random() < 0.3:
        colours = ("BU", "GN", "YE", "WH", "VT", "OG")
        for _, output in harness.controller.outputs():
            harness = editing.edit_output(harness, output.number, colour=rng.choice(colours))
        harness = editing.set_settings(harness, colour_per_output=True)
    scheme = TagScheme.NUMBER if rng.random() < 0.1 else TagScheme.CODE
    return editing.set_settings(
        harness,
        tag_scheme=scheme,
        joint_max_wires=rng.choice((3, 4, 4, 6)),
        joint_cost_mm=rng.choice((0.0, 40.0, 150.0)),
        slack_pct=rng.choice((0.0, 10.0, 12.5)),
        round_mm=rng.choice((1.0, 5.0, 10.0)),
    )


def _with_ways(harness: Harness, rng: Random, count: int, plugs: bool, nasty: float) -> Harness:
    ids = [harness.controller.at]
    plug = 0
    for number in range(count):
        harness = editing.add_waypoint(
            harness, _name(rng, "point", number, nasty), reachable=rng.random() < 0.85
        )
        ids.append(harness.waypoints[-1].id)
        ends = [(ids[-1], rng.choice(ids[:-1]))]
        if rng.random() < 0.3:
            ends.append((ids[-1], rng.choice(ids[:-1])))
        for one, other in ends:
            if harness.find_leg(one, other) is not None:
                continue
            a, b = (one, other) if rng.random() < 0.5 else (other, one)
            length_mm = rng.choice(_GAPS_MM)
            harness = editing.set_leg(
                harness,
                a,
                b,
                length_mm=length_mm,
                loop_mm=rng.choice((0.0, 30.0, 45.5)) if rng.random() < 0.2 else None,
                hole_mm=rng.choice((3.0, 6.0)) if rng.random() < 0.3 else None,
            )
            if plugs and rng.random() < 0.25:
                plug += 1
                plug_mm = rng.choice((0.0, length_mm / 3, length_mm))
                harness = editing.set_leg(harness, a, b, plug=f"P{plug}", plug_mm=plug_mm)
    return harness


def _with_lamp(harness: Harness, rng: Random, number: int, nasty: float) -> Harness:
    outputs = [output.number for _, output in harness.controller.outputs()]
    wired = rng.random() < 0.25
    by_string = rng.random() < 0.1
    return editing.add_lamp(
        harness,
        _name(rng, "lamp", number + 1, nasty),
        function=rng.choice(tuple(FUNCTIONS)),
        place=rng.choice(("", "cab", "hopper")),
        hand=rng.choice(tuple(Hand)),
        colour=rng.choice(tuple(LED_COLOURS)),
        size=rng.choice(tuple(LED_SIZES)),
        build=Build.WIRED if wired else Build.BARE,
        rated_v=rng.choice((6.0, 9.0, 12.0)) if wired else None,
        lead_mm=rng.choice((0.0, 150.0, 900.0)) if wired else 0.0,
        output=rng.choice(outputs) if rng.random() < 0.95 else None,
        at=None if by_string else rng.choice(harness.waypoints).id,
        spur_mm=rng.choice((0.0, 10.0, 33.3)),
        measured_mm=rng.choice((120.0, 456.7)) if by_string else None,
    )


def walk(
    harness: Harness,
    rng: Random | None = None,
    *,
    walked: float = 1.0,
    merges: float = 1.0,
    order: bool = False,
) -> Harness:
    """Walk the lamps that have no run yet; without `rng` all of them with the best offers, as Enter does.

    `order`: lamp after lamp as listed, else (with `rng`) shuffled.
    """
    waiting = [lamp.id for lamp in harness.lamps if lamp.run is None]
    if rng is not None and not order:
        rng.shuffle(waiting)
    for lamp_id in waiting:
        if rng is not None and rng.random() >= walked:
            continue
        choices = way_choices(harness, lamp_id)
        if not choices:
            continue
        way = choices[0] if rng is None or rng.random() < 0.7 else rng.choice(choices)
        picked = {polarity: _picked(harness, rng, lamp_id, way, polarity, merges) for polarity in Polarity}
        choice = RunChoice(way=way, plus=picked[Polarity.PLUS], minus=picked[Polarity.MINUS])
        harness = settle(accept_run(harness, lamp_id, choice))
    return harness


def _picked(
    harness: Harness,
    rng: Random | None,
    lamp_id: str,
    way: tuple[str, ...],
    polarity: Polarity,
    merges: float,
) -> Merge | None:
    offers = merge_offers(harness, lamp_id, way, polarity)
    if rng is None or rng.random() < 0.3:
        return offers[best_offer(harness, offers)].merge
    return rng.choice(offers).merge if rng.random() < merges else None


def happened(harness: Harness, rng: Random, share: float = 0.4) -> Harness:
    """Print some labels and do some bench steps, in the order of the bench."""
    for record in harness.ledger:
        if not record.live or rng.random() >= share:
            continue
        ends = rng.choice(("L", "C", "LC"))
        harness = editing.mark_printed(harness, [(record.tag, end) for end in ends], DAY)
        for step in BENCH_STEPS[: rng.randint(0, len(BENCH_STEPS))]:
            harness = editing.do_step(harness, record.tag, step, DAY)
    return settle(harness)


def random_edit(harness: Harness, rng: Random) -> Harness:
    """One edit of any kind, settled; where the edit is refused, the harness as it was."""
    edit = rng.choice(EDITS)
    try:
        return settle(edit(harness, rng))
    except LoomError:
        return harness


def _lamp_id(harness: Harness, rng: Random) -> str:
    return rng.choice(harness.lamps).id if harness.lamps else "L1"


def _point_id(harness: Harness, rng: Random) -> str:
    return rng.choice(harness.waypoints).id


def _output_number(harness: Harness, rng: Random) -> int:
    numbers = [output.number for _, output in harness.controller.outputs()]
    return rng.choice(numbers) if numbers else 1


def _other_output(harness: Harness, rng: Random) -> Harness:
    output = _output_number(harness, rng) if rng.random() < 0.9 else None
    return editing.edit_lamp(harness, _lamp_id(harness, rng), output=output)


def _other_place(harness: Harness, rng: Random) -> Harness:
    return editing.edit_lamp(harness, _lamp_id(harness, rng), at=_point_id(harness, rng))


def _measured(harness: Harness, rng: Random) -> Harness:
    return editing.edit_lamp(harness, _lamp_id(harness, rng), measured_mm=rng.choice((None, 200.0, 345.6)))


def _renamed(harness: Harness, rng: Random) -> Harness:
    return editing.edit_lamp(
        harness, _lamp_id(harness, rng), name=_name(rng, "renamed", rng.randint(1, 99), 0.5)
    )


def _removed(harness: Harness, rng: Random) -> Harness:
    return editing.remove_lamp(harness, _lamp_id(harness, rng))


def _copied(harness: Harness, rng: Random) -> Harness:
    return editing.copy_lamp(harness, _lamp_id(harness, rng))


def _mirrored(harness: Harness, rng: Random) -> Harness:
    return editing.mirror_lamp(harness, _lamp_id(harness, rng))


def _moved(harness: Harness, rng: Random) -> Harness:
    return editing.move_lamp(harness, _lamp_id(harness, rng), rng.randint(-3, 3))


def _dropped(harness: Harness, rng: Random) -> Harness:
    return editing.drop_run(harness, _lamp_id(harness, rng))


def _skipped(harness: Harness, rng: Random) -> Harness:
    return editing.skip_lamp(harness, _lamp_id(harness, rng))


def _walked_again(harness: Harness, rng: Random) -> Harness:
    lamp_id = _lamp_id(harness, rng)
    choices = way_choices(harness, lamp_id)
    if not choices:
        return harness
    way = rng.choice(choices)
    plus, minus = (_picked(harness, rng, lamp_id, way, polarity, 0.7) for polarity in Polarity)
    keep = tuple(polarity for polarity in Polarity if rng.random() < 0.2)
    return accept_run(harness, lamp_id, RunChoice(way=way, keep=keep, plus=plus, minus=minus))


def _walked_on(harness: Harness, rng: Random) -> Harness:
    return walk(harness, rng, walked=0.5)


def _no_leg(harness: Harness, rng: Random) -> Harness:
    if not harness.legs:
        return harness
    leg = rng.choice(harness.legs)
    return editing.remove_leg(harness, leg.a, leg.b)


def _other_leg(harness: Harness, rng: Random) -> Harness:
    return editing.set_leg(
        harness, _point_id(harness, rng), _point_id(harness, rng), length_mm=rng.choice(_GAPS_MM)
    )


def _plug_on_off(harness: Harness, rng: Random) -> Harness:
    if not harness.legs:
        return harness
    leg = rng.choice(harness.legs)
    plug = "" if leg.plug else f"P{rng.randint(1, 4)}"
    return editing.set_leg(harness, leg.a, leg.b, plug=plug, plug_mm=leg.length_mm / 2)


def _new_point(harness: Harness, rng: Random) -> Harness:
    harness = editing.add_waypoint(harness, _name(rng, "extra", rng.randint(1, 99), 0.2))
    return editing.set_leg(
        harness, harness.waypoints[-1].id, harness.waypoints[0].id, length_mm=rng.choice(_GAPS_MM)
    )


def _no_point(harness: Harness, rng: Random) -> Harness:
    return editing.remove_waypoint(harness, _point_id(harness, rng))


def _controller_moved(harness: Harness, rng: Random) -> Harness:
    return editing.set_controller(harness, at=_point_id(harness, rng))


def _other_side_switched(harness: Harness, rng: Random) -> Harness:
    return editing.set_switched(harness, rng.choice(tuple(Switched)))


def _renumbered(harness: Harness, rng: Random) -> Harness:
    return editing.edit_output(harness, _output_number(harness, rng), number=rng.randint(1, 30))


def _repinned(harness: Harness, rng: Random) -> Harness:
    return editing.edit_output(harness, _output_number(harness, rng), pin=str(rng.randint(1, 30)))


def _no_output(harness: Harness, rng: Random) -> Harness:
    return editing.remove_output(harness, _output_number(harness, rng))


def _more_outputs(harness: Harness, rng: Random) -> Harness:
    return editing.add_block(harness, outputs=rng.randint(0, 3), commons=rng.randint(0, 2))


def _no_block(harness: Harness, rng: Random) -> Harness:
    return editing.remove_block(harness, rng.choice("ABC"))


def _block_renamed(harness: Harness, rng: Random) -> Harness:
    return editing.rename_block(harness, rng.choice("ABC"), rng.choice("ABCX"))


def _no_common(harness: Harness, rng: Random) -> Harness:
    commons = list(harness.controller.commons())
    if not commons:
        return harness
    block, common = rng.choice(commons)
    return editing.remove_common(harness, block.name, common.pin)


def _common_renamed(harness: Harness, rng: Random) -> Harness:
    commons = list(harness.controller.commons())
    if not commons:
        return harness
    block, common = rng.choice(commons)
    return editing.edit_common(harness, block.name, common.pin, pin=str(rng.randint(1, 30)))


def _printed_or_made(harness: Harness, rng: Random) -> Harness:
    return happened(harness, rng, share=0.2)


EDITS: tuple[Callable[[Harness, Random], Harness], ...] = (
    _other_output,
    _other_place,
    _measured,
    _renamed,
    _removed,
    _copied,
    _mirrored,
    _moved,
    _dropped,
    _skipped,
    _walked_again,
    _walked_on,
    _no_leg,
    _other_leg,
    _plug_on_off,
    _new_point,
    _no_point,
    _controller_moved,
    _other_side_switched,
    _renumbered,
    _repinned,
    _no_output,
    _more_outputs,
    _no_block,
    _block_renamed,
    _no_common,
    _common_renamed,
    _printed_or_made,
)
"""Edits of every kind, each (harness, rng) -> harness before `settle`; each may raise LoomError."""


def assert_whole(harness: Harness) -> None:
    """Fail with the broken references of a harness, if any."""
    faults = broken_references(harness)
    assert not faults, "\n".join(fault.message() for fault in faults)

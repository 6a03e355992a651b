"""The parts list to order from: what the whole model takes, less what is fitted already and what is on
hand.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping

import attrs

from model import lengths
from model.bench import StepKind
from model.electrics.outputs import output_loads
from model.electrics.parts import resistors_needed
from model.electrics.supply import source_word
from model.harness import Build, Harness, Lamp, Polarity
from model.labels.batch import LabelState, each_label, label_group
from model.labels.stock import Stock, packaged_stocks
from model.labels.wire_room import lamp_sleeve, lamp_sleeve_mm
from model.papers.table import Table
from model.routing.bundles import joint_fit
from model.routing.cutting import cutting_plan
from model.routing.made import live_records
from model.routing.wires import EndKind, Wire, derive, origin_name
from model.routing.words import colour_words
from model.values import counted

PART_COLUMNS = ("kind", "what", "marks", "in all", "fitted", "on hand", "buy", "unit", "note")
"""What is on hand is not counted twice: "buy" is what is then still missing."""


@attrs.frozen(kw_only=True)
class Part:
    """One line of the list; numbers in `unit`. `on_hand` None: that is not kept count of."""

    kind: str
    what: str
    needed: float
    unit: str = "pieces"
    marks: str = ""
    fitted: float = 0.0
    on_hand: float | None = None
    buy: float
    note: str = ""


def part_table(harness: Harness, stocks: Mapping[str, Stock] | None = None) -> Table:
    """The parts list as a table; `stocks` as in `parts`."""
    rows = tuple(
        (
            part.kind,
            part.what,
            part.marks,
            f"{part.needed:g}",
            f"{part.fitted:g}" if part.fitted else "",
            "" if part.on_hand is None else f"{part.on_hand:g}",
            f"{part.buy:g}",
            part.unit,
            part.note,
        )
        for part in parts(harness, stocks)
    )
    return Table(title="Parts", columns=PART_COLUMNS, rows=rows)


def parts(harness: Harness, stocks: Mapping[str, Stock] | None = None) -> tuple[Part, ...]:
    """Lamps, resistors, wire, sleeves, plugs with contacts, label stock, the fuse.

    `stocks` are the label stocks there are, by name; None for those that come with the program.
    """
    return (
        *_lamps(harness),
        *_resistors(harness),
        *_wire(harness),
        *_sleeves(harness),
        *_plugs(harness),
        *_labels(harness, packaged_stocks() if stocks is None else stocks),
        *_fuse(harness),
    )


def _fitted_lamps(harness: Harness) -> frozenset[str]:
    """The lamps that have a wire soldered to them, or whose own lead was cut."""
    live = harness.ledger.live()
    done = set()
    for lamp in harness.lamps:
        for polarity in Polarity:
            record = live.get(origin_name(lamp.id, polarity))
            if record is not None and {StepKind.LAMP.value, StepKind.JOIN.value} & set(record.steps):
                done.add(lamp.id)
    return frozenset(done)


def lamp_kind(lamp: Lamp) -> str:
    """ "LED amber 3 mm", or "lamp white 3 mm, ready-wired for 6 V"."""
    if lamp.build is Build.WIRED:
        return f"lamp {lamp.colour} {lamp.size}, ready-wired for {lamp.rated_v:g} V"
    return f"LED {lamp.colour} {lamp.size}"


def _lamps(harness: Harness) -> Iterator[Part]:
    fitted = _fitted_lamps(harness)
    kinds: dict[str, list[Lamp]] = {}
    for lamp in harness.lamps:
        kinds.setdefault(lamp_kind(lamp), []).append(lamp)
    for kind, lamps in sorted(kinds.items()):
        done = sum(lamp.id in fitted for lamp in lamps)
        yield Part(kind="lamp", what=kind, needed=len(lamps), fitted=done, buy=len(lamps) - done)


def _resistors(harness: Harness) -> Iterator[Part]:
    fitted = _fitted_lamps(harness)
    done_names = Counter(lamp.name for lamp in harness.lamps if lamp.id in fitted)
    drawer = harness.settings.drawer_ohm
    for need in resistors_needed(harness):
        done = sum(min(count, done_names[name]) for name, count in Counter(need.lamps).items())
        in_drawer = any(math.isclose(need.ohm, ohm) for ohm in drawer)
        size = need.part.name if need.part is not None else "no size is large enough"
        yield Part(
            kind="resistor",
            what=f"{need.letter_code} {need.tolerance_pct:g} % {size}",
            marks=need.marks,
            needed=need.pieces,
            fitted=done,
            buy=0 if in_drawer else need.pieces - done,
            note="in the drawer" if in_drawer else "",
        )


def _wire(harness: Harness) -> Iterator[Part]:
    """What the cut list says; in metres."""
    live = harness.ledger.live()
    needed: defaultdict[tuple[str, str], float] = defaultdict(float)
    cut: defaultdict[tuple[str, str], float] = defaultdict(float)
    for wire in derive(harness).wires:
        record = live.get(wire.key)
        length = wire.spool_mm
        if wire.own_lead:
            continue
        if record is not None and (StepKind.CUT.value in record.steps or record.cut_mm is not None):
            length = record.cut_mm if record.cut_mm is not None else length
            cut[wire.colour, wire.gauge] += length
        needed[wire.colour, wire.gauge] += length
    groups = {(group.colour, group.gauge): group for group in cutting_plan(harness).groups}
    for pair in needed:
        colour, size = pair
        group = groups.get(pair)
        on_hand = sum(one.left_mm for one in harness.spools if (one.colour, one.gauge) == pair)
        buy_mm = group.buy * group.sold_mm if group is not None else 0.0
        note = f"{group.buy} of {group.sold_mm / 1000:g} m" if group is not None and group.buy else ""
        yield Part(
            kind="wire",
            what=f"{colour_words(colour)} {size}",
            marks=colour,
            needed=_metres(needed[pair]),
            fitted=_metres(cut[pair]),
            on_hand=_metres(on_hand),
            buy=_metres(buy_mm),
            unit="m",
            note=note,
        )


def _metres(mm: float) -> float:
    """Up to the next centimetre."""
    return math.ceil(mm / 10 - 1e-6) / 100


def _is_done(harness: Harness, wire: Wire, step: StepKind) -> bool:
    record = live_records(harness).get(wire.key)
    return record is not None and step.value in record.steps


def _sleeves(harness: Harness) -> Iterator[Part]:
    """Plain sleeve over joints and at the lamps, by size, in metres; sleeves that carry tags are label
    stock.
    """
    plan = derive(harness)
    pieces: dict[str, list[tuple[float, str, bool]]] = {}
    for joint in harness.joints:
        fit = joint_fit(harness, joint.id)
        trunk = plan.trunk.get(joint.id)
        done = trunk is not None and _is_done(harness, trunk, StepKind.SLEEVE)
        name = fit.sleeve.name if fit.sleeve else "size to try"
        pieces.setdefault(name, []).append((fit.sleeve_mm, "joints", done))
    for wire in plan.wires:
        found = lamp_sleeve(harness, wire)
        if found is None:
            continue
        sleeve, covers = found
        length = lamp_sleeve_mm(covers)
        done = _is_done(harness, wire, StepKind.SLEEVE)
        pieces.setdefault(sleeve.name if sleeve else "size to try", []).append((length, covers, done))
    for name, cuts in sorted(pieces.items(), key=lambda pair: _size(pair[0])):
        total, done_mm = sum(cut[0] for cut in cuts), sum(cut[0] for cut in cuts if cut[2])
        kinds = Counter((covers, length) for length, covers, _ in cuts)
        note = ", ".join(
            f"{count} x {lengths.text(length)} over {covers}" for (covers, length), count in kinds.items()
        )
        needed, fitted = _metres(total), _metres(done_mm)
        yield Part(
            kind="sleeve",
            what=f"heat-shrink {name}",
            needed=needed,
            fitted=fitted,
            buy=_metres(total - done_mm),
            unit="m",
            note=note,
        )


def _size(name: str) -> tuple[float, str]:
    number = name.partition(" ")[0]
    return (float(number) if number.replace(".", "").isdigit() else math.inf), name


def _plugs(harness: Harness) -> Iterator[Part]:
    plan = derive(harness)
    for plug in dict.fromkeys(leg.plug for leg in harness.legs if leg.plug):
        pairs = plan.at_plug(plug)
        numbers = [
            int(number) for one, _ in pairs if (number := one.controller_end.ref.rpartition(".")[2]).isdigit()
        ]
        ways = max([len(pairs), *numbers])
        joined = sum(_is_done(harness, one, StepKind.JOIN) for one, _ in pairs)
        joined += sum(_is_done(harness, other, StepKind.LAMP) for _, other in pairs)
        begun = 1 if joined else 0
        yield Part(
            kind="plug",
            what=f"plug and socket {plug}, {ways} contacts or more",
            needed=1,
            fitted=begun,
            buy=1 - begun,
            unit="pairs",
        )
        yield Part(
            kind="contact",
            what=f"crimp contacts of {plug}, both halves",
            needed=2 * len(pairs),
            fitted=joined,
            buy=2 * len(pairs) - joined,
        )
    pins: dict[str, list[Wire]] = {}
    for wire in plan.wires:
        if wire.controller_end.kind is EndKind.PIN and wire.controller_end.ref:
            pins.setdefault(wire.controller_end.ref, []).append(wire)
    if pins:
        done = sum(any(_is_done(harness, wire, StepKind.JOIN) for wire in wires) for wires in pins.values())
        yield Part(
            kind="contact",
            what=f"crimp contacts of {harness.controller.name}",
            needed=len(pins),
            fitted=done,
            buy=len(pins) - done,
        )


def _labels(harness: Harness, stocks: Mapping[str, Stock]) -> Iterator[Part]:
    """The labels of every wire: printed sleeves where they grip it and it has room for them, as the bench has
    it, else flags.
    """
    settings = harness.settings
    chosen = {"sleeve": settings.sleeve_stock, "flag": settings.flag_stock}
    chosen = {group: name if name in stocks else "" for group, name in chosen.items()}
    by_group: dict[str, list[Wire]] = {}
    for wire in derive(harness).wires:
        by_group.setdefault(label_group(harness, stocks, chosen["sleeve"], wire), []).append(wire)
    wanted: dict[Stock, list[bool]] = {}
    along_mm: dict[Stock, float] = {}
    for group, wires in by_group.items():
        for label in each_label(harness, stocks, chosen[group], group, wires):
            stock, is_printed = label.layout.stock, label.state is not LabelState.NEW
            wanted.setdefault(stock, []).append(is_printed)
            if stock.sheet is None and not is_printed:
                long_mm = label.layout.length_mm if stock.medium == "tape" else stock.height_mm
                along_mm[stock] = along_mm.get(stock, 0.0) + stock.gap_mm + long_mm
    for stock, printed in wanted.items():
        done = sum(printed)
        left = len(printed) - done
        note = ""
        if stock.sheet is not None and left:
            sheets = math.ceil(left / stock.sheet.places)
            note = f"{counted(sheets, 'sheet')} of {stock.sheet.places}"
        elif left:
            note = f"about {along_mm[stock] / 1000:.1f} m"
        yield Part(
            kind="label",
            what=stock.title,
            needed=len(printed),
            fitted=done,
            buy=left,
            unit="labels",
            note=note,
        )


def _fuse(harness: Harness) -> Iterable[Part]:
    rating_ma = output_loads(harness).fuse_ma
    if rating_ma is None:
        return ()
    what = f"{rating_ma / 1000:g} A with holder"
    note = f"in the positive {source_word(harness.supply)} lead"
    return (Part(kind="fuse", what=what, needed=1, buy=1, note=note),)

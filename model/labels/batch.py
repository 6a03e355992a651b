"""Labels on their stock: which are printed, which are no longer true, which fit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from functools import lru_cache

import attrs

from model.errors import NotThere
from model.findings import Finding, Severity
from model.harness import Harness
from model.labels.content import ENDS, said, wire_label
from model.labels.items import Layout
from model.labels.layout import Rules, chosen_rules, fitting_stocks, label_finding, lay_out
from model.labels.stock import Stock, StockKind, of_kind, sleeve_stock_for, stock_named
from model.labels.text import LabelText
from model.labels.wire_room import Marking, WireRoom, wire_room
from model.routing.made import live_records
from model.routing.sleeves import tag_sleeve
from model.routing.wires import Wire, derive
from model.standards.wire import gauge
from model.tags import TagRecord

DEFAULT_FLAG = "flag-12"
"""The flag taken where none was chosen: the least width that holds a code of level H."""

_EPS = 1e-6

GROUPS: Mapping[str, tuple[StockKind, ...]] = {
    "sleeve": ("sleeve", "strip"),
    "flag": ("flag", "wrap", "plate"),
}
"""What is slid on before the joint is made, and what goes on afterwards."""


UNUSABLE = frozenset(("label-tag", "label-wire"))
"""Rules of problems that leave a label of no use."""


class LabelState(StrEnum):
    """What is known of one label in the world. UNKNOWN: of bench cards, soon thrown away, it is not kept."""

    NEW = "not printed"
    PRINTED = "printed"
    CHANGED = "changed"
    UNKNOWN = "-"


@attrs.frozen(kw_only=True)
class Label:
    """One label on its stock. `day` is when it was printed last, "" if never.

    `text` is all it should say; on a sleeve with little room `layout` leaves the other end out. `wires` are
    those it marks: one at its end, all of a joint or plug, none of a spool. `serves` are the labels of both
    ends where one sleeve stands for them.
    """

    wires: tuple[Wire, ...] = ()
    text: LabelText
    layout: Layout
    state: LabelState
    day: str = ""
    serves: tuple[LabelText, ...] = ()

    @property
    def texts(self) -> tuple[LabelText, ...]:
        """The text of each end that it marks."""
        return self.serves or (self.text,)

    @property
    def key(self) -> str:
        """Tag and end, as "K7L-L", or what stands for the tag on other labels."""
        return self.text.name

    @property
    def lamps(self) -> tuple[str, ...]:
        """The ids of the lamps whose runs it belongs to, each once."""
        return tuple(dict.fromkeys(lamp for wire in self.wires for lamp in wire.lamps))

    @property
    def left_out(self) -> int:
        """How many lines are left out for want of room without being a problem."""
        return len(self.text.lines) - len(self.layout.text.lines)

    @property
    def problems(self) -> tuple[Finding, ...]:
        """What does not fit, the worst first, without mere notes."""
        grave = filter(_is_grave, self.layout.problems)
        return tuple(sorted(grave, key=lambda problem: (problem.rule not in UNUSABLE, -problem.severity)))

    @property
    def printable(self) -> bool:
        """Whether it can be printed at all: its tag has room on it, and it has room on its wire."""
        return all(problem.rule not in UNUSABLE for problem in self.layout.problems)


def stock_group(stock: Stock) -> str:
    """ "sleeve" for what is slid on, "flag" for what goes on afterwards."""
    return "sleeve" if stock.kind in GROUPS["sleeve"] else "flag"


def stocks_for(stocks: Mapping[str, Stock], group: str) -> tuple[Stock, ...]:
    """The stock of a group that wires can be marked with, by kind and name. Cards are not among them."""
    wanted = (stock for kind in GROUPS[group] for stock in of_kind(stocks, kind))
    return tuple(stock for stock in wanted if stock.kind != "plate")


def stock_for(stocks: Mapping[str, Stock], chosen: str, group: str, od_mm: float) -> Stock:
    """The stock for a wire of this diameter: the one chosen by name, else what suits the wire.

    Without a choice a sleeve goes by the diameter; where no sleeve grips so thin a wire, the thinnest is
    taken, and its layout says that it does not fit. Raises NotThere for a name that is not in `stocks`.
    """
    if chosen:
        return stock_named(stocks, chosen)
    if group == "flag":
        return stock_named(stocks, DEFAULT_FLAG if DEFAULT_FLAG in stocks else "flag")
    found = sleeve_stock_for(stocks, od_mm) or min(
        of_kind(stocks, "sleeve"), key=lambda stock: stock.od_range_mm[0], default=None
    )
    if found is None:
        raise NotThere("label stock", "holds no sleeve", remedy="Choose a flag.")
    return found


def label_group(harness: Harness, stocks: Mapping[str, Stock], chosen: str, wire: Wire) -> str:
    """ "sleeve" for a wire that a sleeve grips and that has room for one of the stock chosen, else "flag"."""
    if tag_sleeve(wire) is None:
        return "flag"
    stock = stock_for(stocks, chosen, "sleeve", gauge(wire.gauge).od_mm)
    record = live_records(harness).get(wire.key)
    return "flag" if wire_room(harness, wire, record).marking(stock) is Marking.NONE else "sleeve"


def wire_batch(
    harness: Harness,
    stocks: Mapping[str, Stock],
    chosen: str,
    group: str,
    wires: Iterable[Wire] | None = None,
    dpi: int | None = None,
) -> tuple[Label, ...]:
    """Every label of `wires` (all of them if None) laid out, lamp end then controller end.

    `chosen` names the stock, "" takes what suits each wire; `dpi` another resolution than the stock's usual.
    """
    return tuple(each_label(harness, stocks, chosen, group, wires, dpi))


def each_label(
    harness: Harness,
    stocks: Mapping[str, Stock],
    chosen: str,
    group: str,
    wires: Iterable[Wire] | None = None,
    dpi: int | None = None,
) -> Iterator[Label]:
    """As `wire_batch`, one after the other, as laying out many takes a moment."""
    live = live_records(harness)
    for wire in derive(harness).wires if wires is None else wires:
        record = live.get(wire.key)
        if record is None:
            continue
        stock = stock_for(stocks, chosen, group, gauge(wire.gauge).od_mm)
        stock = stock if dpi is None else stock.at(dpi)
        texts = [wire_label(harness, wire, record.tag, end) for end in ENDS]
        states = [label_state(record, text, stock_group(stock)) for text in texts]
        if stock_group(stock) == "sleeve":
            room = wire_room(harness, wire, record)
            marking = room.marking(stock)
            if marking is Marking.ONE:
                state, day = min(states, key=lambda known: (_STATES.index(known[0]), known[1]))
                text = attrs.evolve(texts[0], end="", goes_to="", lines=())
                layout = _for_both_ends(stock, text, room)
                one = Label(wires=(wire,), text=text, layout=layout, state=state, day=day)
                yield attrs.evolve(one, serves=tuple(texts))
                continue
            layouts = _on_wire(stock, texts, room, marking)
        else:
            layouts = [laid_out(stock, text) for text in texts]
        for text, layout, (state, day) in zip(texts, layouts, states, strict=True):
            yield Label(wires=(wire,), text=text, layout=layout, state=state, day=day)


_STATES = (LabelState.CHANGED, LabelState.NEW, LabelState.PRINTED)
"""Of the two ends of a wire with one sleeve the worse state counts."""


def _on_wire(stock: Stock, texts: Sequence[LabelText], room: WireRoom, marking: Marking) -> list[Layout]:
    """The sleeves of both ends, each shortened where they don't lie on the wire together."""
    whole = [laid_out(stock, text) for text in texts]
    if marking is Marking.NONE:
        return [_without_room(layout, room) for layout in whole]
    if sum(layout.length_mm for layout in whole) <= room.left_mm + _EPS:
        return whole
    return [_short(stock, text, room.left_mm / 2) for text in texts]


def _short(stock: Stock, text: LabelText, most_mm: float) -> Layout:
    """The most that a sleeve of at most that length says.

    That is where its end goes, else the tag with all signs, else with that of its end, else the tag alone.
    """
    most_mm = max(stock.length_mm, min(stock.length_max_mm, float(math.floor(most_mm + _EPS))))
    cut = attrs.evolve(stock, length_max_mm=most_mm)
    named, alone = attrs.evolve(text, lines=text.lines[:1]), attrs.evolve(text, lines=())
    unsigned = attrs.evolve(alone, polarity="", colour_code="")
    bare = attrs.evolve(unsigned, end="", goes_to="")
    for said_on in (named, alone, unsigned, bare):
        found = laid_out(cut, said_on)
        if not any(map(_is_grave, found.problems)):
            break
    # Pages are put together by stock, whatever is cut off it, and labels known by what they are of.
    return attrs.evolve(found, stock=stock, text=named if said_on is named else alone)


def _is_grave(problem: Finding) -> bool:
    return problem.severity > Severity.NOTE


def _for_both_ends(stock: Stock, text: LabelText, room: WireRoom) -> Layout:
    """The tag alone on the one sleeve that a short wire has room for."""
    layout = _short(stock, text, room.left_mm)
    found = f"one sleeve for both ends: the wire has room for {room.left_mm:.0f} mm of them"
    note = label_finding(layout.text, "label-one", found, _taken(room), "Flags mark each end.", Severity.NOTE)
    return attrs.evolve(layout, problems=(*layout.problems, note))


def _without_room(layout: Layout, room: WireRoom) -> Layout:
    found = (
        "no room on the wire for a tag sleeve" if room.left_mm >= 0 else "no room on the wire for its sleeves"
    )
    problem = label_finding(
        layout.text, "label-wire", found, _taken(room), "Take flags for this wire.", Severity.WARNING
    )
    return attrs.evolve(layout, problems=(problem, *layout.problems))


def _taken(room: WireRoom) -> str:
    """ "24 mm of insulation, 19 mm of it for the joint sleeve of J3"."""
    plain = "".join(f", {mm:.0f} mm for the {words}" for words, mm in room.plain)
    return f"{room.insulated_mm:.0f} mm of insulation{plain}"


def laid_out(stock: Stock, text: LabelText) -> Layout:
    """The label laid out. A sleeve says where its end goes, and where the other end is if there is room."""
    return _laid_out(stock, text, chosen_rules())


@lru_cache(maxsize=8192)
def _laid_out(stock: Stock, text: LabelText, rules: Rules) -> Layout:
    whole = lay_out(stock, text, rules)
    if stock_group(stock) == "flag":
        return whole
    rules_broken = {problem.rule for problem in whole.problems}
    if "label-tag" in rules_broken and text.colour_code:
        # A code with a descender, as TQ, takes the height of its tag; the wire shows its colour itself.
        plain = _laid_out(stock, attrs.evolve(text, colour_code=""), rules)
        if all(problem.rule != "label-tag" for problem in plain.problems):
            return attrs.evolve(plain, text=attrs.evolve(plain.text, colour_code=text.colour_code))
    if "label-line" not in rules_broken:
        return whole
    short = lay_out(stock, attrs.evolve(text, lines=text.lines[:1]), rules)
    return whole if any(problem.rule == "label-line" for problem in short.problems) else short


def label_state(record: TagRecord, text: LabelText, group: str = "") -> tuple[LabelState, str]:
    """Whether the label of an end is printed and still true, and the day it was printed.

    With a `group` of stock ("sleeve" or "flag") only what was printed on that counts.
    """
    last = record.print_on(text.end, group) if group else record.last_print(text.end)
    if last is None:
        return LabelState.NEW, ""
    changed = last.said and last.said != said(text)
    return (LabelState.CHANGED if changed else LabelState.PRINTED), last.day


def other_stocks(stocks: Mapping[str, Stock], label: Label) -> tuple[Stock, ...]:
    """The stock on which the label of a wire that has problems would have none, of its own group first."""
    own = stock_group(label.layout.stock)
    groups: tuple[str, ...] = (own, "flag" if own == "sleeve" else "sleeve")
    if any(problem.rule == "label-wire" for problem in label.layout.problems):
        groups = ("flag",)
    return tuple(stock for group in groups for stock in fitting_stocks(stocks_for(stocks, group), label.text))


def marks(labels: Iterable[Label]) -> dict[tuple[str, str], str]:
    """For `editing.mark_printed`: tag and end of each label of a wire, with a mark of what it says."""
    return {(text.tag, text.end): said(text) for label in labels for text in label.texts}


def one_face(layout: Layout) -> Layout:
    """A flag as one sees it when it is folded: one of its two faces. Other labels as they are."""
    folds = [item.box[0] for item in layout.items if getattr(item, "style", "") == "fold"]
    if not folds:
        return layout
    edge = min(folds)
    items = tuple(item for item in layout.items if item.box[2] <= edge)
    return attrs.evolve(layout, length_mm=edge, items=items)

"""Labels on their stock: which are printed, which are no longer true, which fit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from enum import StrEnum
from functools import lru_cache

import attrs

from model.errors import NotThere
from model.findings import Finding, Severity
from model.harness import Harness
from model.labels.content import ENDS, said, wire_label
from model.labels.items import Layout
from model.labels.layout import Rules, chosen_rules, fitting_stocks, lay_out
from model.labels.stock import Stock, StockKind, of_kind, sleeve_stock_for, stock_named
from model.labels.text import LabelText
from model.routing.wires import Wire, derive
from model.tags import TagRecord

DEFAULT_FLAG = "flag-12"
"""The flag taken where none was chosen: the least width that holds a code of level H."""

GROUPS: Mapping[str, tuple[StockKind, ...]] = {
    "sleeve": ("sleeve", "strip"),
    "flag": ("flag", "wrap", "plate"),
}
"""What is slid on before the joint is made, and what goes on afterwards."""


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
    those it marks: one at its end, all of a joint or plug, none of a spool.
    """

    wires: tuple[Wire, ...] = ()
    text: LabelText
    layout: Layout
    state: LabelState
    day: str = ""

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
        grave = (problem for problem in self.layout.problems if problem.severity > Severity.NOTE)
        return tuple(sorted(grave, key=lambda problem: (problem.rule != "label-tag", -problem.severity)))

    @property
    def printable(self) -> bool:
        """Whether it can be printed at all: its tag has room."""
        return all(problem.rule != "label-tag" for problem in self.layout.problems)


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
    live = harness.ledger.live()
    for wire in derive(harness).wires if wires is None else wires:
        record = live.get(wire.key)
        if record is None:
            continue
        for end in ENDS:
            text = wire_label(harness, wire, record.tag, end)
            stock = stock_for(stocks, chosen, group, text.wire_od_mm)
            state, day = label_state(record, text)
            layout = laid_out(stock if dpi is None else stock.at(dpi), text)
            yield Label(wires=(wire,), text=text, layout=layout, state=state, day=day)


def laid_out(stock: Stock, text: LabelText) -> Layout:
    """The label laid out. A sleeve says where its end goes, and where the other end is if there is room."""
    return _laid_out(stock, text, chosen_rules())


@lru_cache(maxsize=8192)
def _laid_out(stock: Stock, text: LabelText, rules: Rules) -> Layout:
    whole = lay_out(stock, text, rules)
    if stock_group(stock) == "flag" or all(problem.rule != "label-line" for problem in whole.problems):
        return whole
    short = lay_out(stock, attrs.evolve(text, lines=text.lines[:1]), rules)
    return whole if any(problem.rule == "label-line" for problem in short.problems) else short


def label_state(record: TagRecord, text: LabelText) -> tuple[LabelState, str]:
    """Whether the label of an end is printed and still true, and the day it was printed."""
    at_lamp = text.end == "L"
    day = record.printed_lamp if at_lamp else record.printed_controller
    mark = record.said_lamp if at_lamp else record.said_controller
    if not day:
        return LabelState.NEW, ""
    return (LabelState.CHANGED if mark and mark != said(text) else LabelState.PRINTED), day


def other_stocks(stocks: Mapping[str, Stock], label: Label) -> tuple[Stock, ...]:
    """The stock on which the label of a wire that has problems would have none, of its own group first."""
    own = stock_group(label.layout.stock)
    groups = (own, "flag" if own == "sleeve" else "sleeve")
    return tuple(stock for group in groups for stock in fitting_stocks(stocks_for(stocks, group), label.text))


def marks(labels: Iterable[Label]) -> dict[tuple[str, str], str]:
    """For `editing.mark_printed`: tag and end of each label of a wire, with a mark of what it says."""
    return {(label.text.tag, label.text.end): said(label.text) for label in labels}


def one_face(layout: Layout) -> Layout:
    """A flag as one sees it when it is folded: one of its two faces. Other labels as they are."""
    folds = [item.box[0] for item in layout.items if getattr(item, "style", "") == "fold"]
    if not folds:
        return layout
    edge = min(folds)
    items = tuple(item for item in layout.items if item.box[2] <= edge)
    return attrs.evolve(layout, length_mm=edge, items=items)

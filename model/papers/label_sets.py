"""What labels can be printed: of wires, joints, plugs and spools, and bench cards; and which of them."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping
from enum import StrEnum
from types import MappingProxyType

from model import editing
from model.bench import bench_order, step_kinds
from model.harness import Harness, Printed
from model.labels.batch import (
    DEFAULT_FLAG,
    GROUPS,
    Label,
    LabelState,
    each_label,
    laid_out,
    marks,
    stock_group,
    stocks_for,
)
from model.labels.batch import other_stocks as other_wire_stocks
from model.labels.content import joint_labels, plug_labels, plugs, said, spool_labels
from model.labels.layout import fitting_stocks
from model.labels.stock import Stock, StockKind, stock_named
from model.labels.text import LINES_MAX, LabelText
from model.papers.bench_cards import WireCard, wire_cards
from model.routing.wires import Wire, derive
from model.standards.wire import gauge

CARD_COLUMNS = 56
"""Characters in a line of a bench card; as many stand beside its code at the least height."""


class What(StrEnum):
    """What the labels are of."""

    WIRES = "wires"
    JOINTS = "joints"
    PLUGS = "plugs"
    SPOOLS = "spools"
    CARDS = "cards"


class Which(StrEnum):
    """Which of the labels: UNMADE are those of which a wire is not made at the bench yet."""

    ALL = "all"
    NEW = "not printed"
    CHANGED = "changed"
    UNMADE = "not made"
    TROUBLE = "with problems"


KINDS: Mapping[What, tuple[StockKind, ...]] = MappingProxyType(
    {
        What.JOINTS: ("flag", "wrap", "plate"),
        What.PLUGS: ("flag", "wrap", "plate"),
        What.SPOOLS: ("plate", "flag"),
        What.CARDS: ("plate",),
    }
)
"""The kinds of stock for all but wires, which have sleeves or flags."""

USUAL: Mapping[What, str] = MappingProxyType(
    {
        What.JOINTS: DEFAULT_FLAG,
        What.PLUGS: DEFAULT_FLAG,
        What.SPOOLS: "plate-50x25",
        What.CARDS: "cards-a4",
    }
)
"""The stock taken where none was chosen."""


def labels_of(
    harness: Harness,
    what: What,
    stocks: Mapping[str, Stock],
    chosen: str = "",
    group: str = "flag",
    dpi: int | None = None,
) -> Iterator[Label]:
    """The labels laid out one after the other, in the order of the work.

    `chosen` names the stock, "" takes the usual; `group` ("sleeve" or "flag") counts for wires only. `dpi` is
    another resolution than the stock's usual. Raises NotThere for a stock that does not exist.
    """
    if what is What.WIRES:
        yield from each_label(harness, stocks, chosen, group, bench_order(harness), dpi)
        return
    stock = stock_named(stocks, chosen or USUAL[what])
    stock = stock if dpi is None else stock.at(dpi)
    for text, wires in _TEXTS[what](harness):
        state, day = _state(harness, text)
        yield Label(wires=wires, text=text, layout=laid_out(stock, text), state=state, day=day)


Texts = Iterator[tuple[LabelText, tuple[Wire, ...]]]


def _joints(harness: Harness) -> Texts:
    plan = derive(harness)
    for text in joint_labels(harness):
        yield text, plan.at_joint(text.tag)


def _plugs(harness: Harness) -> Texts:
    for text, (_, _, wires) in zip(plug_labels(harness), plugs(harness), strict=True):
        yield text, wires


def _spools(harness: Harness) -> Texts:
    return ((text, ()) for text in spool_labels(harness))


def _cards(harness: Harness) -> Texts:
    wires = bench_order(harness)
    for wire, card in zip(wires, wire_cards(harness), strict=True):
        if card.tag:
            yield card_label(harness, card, wire), (wire,)


_TEXTS: Mapping[What, Callable[[Harness], Texts]] = {
    What.JOINTS: _joints,
    What.PLUGS: _plugs,
    What.SPOOLS: _spools,
    What.CARDS: _cards,
}


def card_label(harness: Harness, card: WireCard, wire: Wire) -> LabelText:
    """The card of one wire: where it goes, then its steps with a box to tick, in as many lines as needed."""
    head = [f"wire {card.number}: {card.lamp_end} to {card.controller_end}"]
    steps = [f"[{'x' if done else ' '}] {words}" for words, done in card.steps]
    rows = [row for text in head for row in textwrap.wrap(text, CARD_COLUMNS)]
    rows += [row for text in steps for row in textwrap.wrap(text, CARD_COLUMNS)]
    if len(rows) > LINES_MAX:
        rows[LINES_MAX - 1 :] = ["... goes on at the Bench"]
    return LabelText(
        kind="card",
        project=harness.code,
        tag=card.tag,
        lines=tuple((row,) for row in rows),
        colour_code=wire.colour,
        polarity="+" if wire.polarity.value == "+" else "-",
        wire_od_mm=gauge(wire.gauge).od_mm,
    )


def _state(harness: Harness, text: LabelText) -> tuple[LabelState, str]:
    if text.kind == "card":
        return LabelState.UNKNOWN, ""
    for one in harness.printed:
        if (one.kind, one.name) == (text.kind, text.tag):
            return (LabelState.PRINTED if one.said == said(text) else LabelState.CHANGED), one.day
    return LabelState.NEW, ""


def mark(harness: Harness, labels: Iterable[Label], day: str) -> Harness:
    """Remember that these labels were printed on `day`, with "" that they were not. Cards are not kept."""
    labels = tuple(labels)
    for group in GROUPS:
        wires = [one for one in labels if one.text.kind == "wire" and stock_group(one.layout.stock) == group]
        if wires:
            said_now = marks(wires)
            harness = editing.mark_printed(harness, said_now, day, said=said_now if day else None, on=group)
    others = [
        Printed(kind=label.text.kind, name=label.text.tag, day=day or "-", said=said(label.text))
        for label in labels
        if label.text.kind not in ("wire", "card")
    ]
    return editing.mark_other_printed(harness, others, forget=not day) if others else harness


def mark_as_in(harness: Harness, labels: Iterable[Label], earlier: Harness) -> Harness:
    """Take it that these labels were last printed as `earlier` has it: a print that came to nothing does not
    take away the mark of one before it.
    """
    printed = {(one.kind, one.name): one for one in earlier.printed}
    for label in labels:
        record = earlier.ledger.find(label.text.tag) if label.text.kind == "wire" else None
        before = printed.get((label.text.kind, label.text.tag))
        if before is not None:
            harness = editing.mark_other_printed(harness, [before])
        elif record is None:
            harness = mark(harness, [label], "")
        else:
            for text in label.texts:
                harness = editing.print_as_in(harness, record, text.end)
    return harness


def select(
    harness: Harness, labels: Iterable[Label], which: Which = Which.ALL, lamp_id: str = ""
) -> tuple[Label, ...]:
    """Those of the labels that are wanted; with `lamp_id` only those of that lamp's run."""
    live = harness.ledger.live()

    def made(wire: Wire) -> bool:
        record = live.get(wire.key)
        return record is not None and all(kind in record.steps for kind in step_kinds(wire))

    tests: Mapping[Which, Callable[[Label], bool]] = {
        Which.ALL: lambda label: True,
        Which.NEW: lambda label: label.state is LabelState.NEW,
        Which.CHANGED: lambda label: label.state is LabelState.CHANGED,
        Which.UNMADE: lambda label: not label.wires or not all(map(made, label.wires)),
        Which.TROUBLE: lambda label: bool(label.problems),
    }
    found = (label for label in labels if not lamp_id or lamp_id in label.lamps)
    return tuple(filter(tests[which], found))


def stocks_that_take(stocks: Mapping[str, Stock], what: What, group: str = "flag") -> tuple[Stock, ...]:
    """The stock these labels can be printed on, by kind and name."""
    if what is What.WIRES:
        return stocks_for(stocks, group)
    kinds = KINDS[what]
    found = [stock for stock in stocks.values() if stock.kind in kinds]
    return tuple(sorted(found, key=lambda stock: (kinds.index(stock.kind), stock.name)))


def better_stocks(stocks: Mapping[str, Stock], what: What, label: Label) -> tuple[Stock, ...]:
    """The stock on which a label that has problems would have none."""
    if what is What.WIRES:
        return other_wire_stocks(stocks, label)
    return fitting_stocks(stocks_that_take(stocks, what), label.text)

"""Every paper there is: what it is for, its text, and its tables for a spreadsheet."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import attrs

from model.harness import Harness
from model.labels.stock import Stock
from model.papers.bench_cards import bench_tables
from model.papers.board import board_tables
from model.papers.cautions import cautions_text
from model.papers.cut_list import cut_tables, cut_text
from model.papers.electrics_table import electrics_tables
from model.papers.output_map import output_map
from model.papers.parts import part_table
from model.papers.plan_table import plan_tables, plan_text
from model.papers.record import record_tables
from model.papers.table import Table, as_csv, as_text
from model.papers.wire_list import tag_table, wire_table
from model.routing.picture import picture

Tables = Callable[[Harness], tuple[Table, ...]]


@attrs.frozen(kw_only=True)
class Paper:
    """One paper. `key` names its files.

    `tables` is None for one of text alone. `words` gives the text where it is more than the tables.
    """

    key: str
    title: str
    about: str
    tables: Tables | None = None
    words: Callable[[Harness], str] | None = None

    def text(self, harness: Harness) -> str:
        """The whole paper in plain text, for a terminal or a printer."""
        head = f"{self.title} of {harness.name} ({harness.code})\n\n"
        if self.words is not None:
            return head + self.words(harness)
        return head + "\n".join(map(as_text, self.tables(harness) if self.tables else ()))

    def csv(self, harness: Harness) -> str | None:
        """Its tables as CSV, safe for a spreadsheet; None for a paper without tables."""
        return None if self.tables is None else as_csv(self.tables(harness))


_PAPERS: tuple[Paper, ...] = (
    Paper(
        key="output-map",
        title="Output map",
        about="set the controller up from it",
        tables=output_map,
    ),
    Paper(
        key="wire-list",
        title="Wire list",
        about="every wire: tag, ends, colour, length, state",
        tables=lambda harness: (wire_table(harness),),
    ),
    Paper(
        key="cut-list",
        title="Cut list",
        about="what to cut from which spool, what to buy",
        tables=cut_tables,
        words=cut_text,
    ),
    Paper(
        key="parts-list",
        title="Parts list",
        about="what to order: lamps, resistors, wire, sleeves, plugs, labels",
        tables=lambda harness: (part_table(harness),),
    ),
    Paper(
        key="electrics",
        title="Electrics",
        about="resistors with bands, currents, sums, the fuse",
        tables=electrics_tables,
    ),
    Paper(
        key="plan",
        title="Merge plan",
        about="three plans side by side, merges, bundles",
        tables=plan_tables,
        words=plan_text,
    ),
    Paper(
        key="drawing",
        title="Drawing",
        about="the loom along its spine, to scale",
        words=lambda harness: "\n".join([*picture(harness, 100), ""]),
    ),
    Paper(
        key="board",
        title="Board",
        about="the loom at 1 : 1 over several pages, to build it flat",
        tables=board_tables,
    ),
    Paper(
        key="bench-cards",
        title="Bench cards",
        about="every wire step by step, and every joint",
        tables=bench_tables,
    ),
    Paper(
        key="test-record",
        title="Test record",
        about="what a meter should show, with lines to fill in",
        tables=record_tables,
    ),
    Paper(
        key="tags",
        title="Tag list",
        about="every tag ever given, retired ones with the reason",
        tables=lambda harness: (tag_table(harness),),
    ),
    Paper(
        key="cautions",
        title="Cautions",
        about="to hang up over the bench",
        words=lambda harness: cautions_text(),
    ),
)


def papers(stocks: Mapping[str, Stock] | None = None) -> tuple[Paper, ...]:
    """All papers in the order they are needed. `stocks` are the label stocks that the parts list chooses
    from; None for those that come with the program.
    """
    return tuple(
        attrs.evolve(paper, tables=lambda harness: (part_table(harness, stocks),))
        if paper.key == "parts-list"
        else paper
        for paper in _PAPERS
    )


PAPERS = papers()
"""All papers, with the label stocks that come with the program."""

"""One table of how long things take, beside their baselines, and how each grows from 30 to 3,000 lamps.

Run as `python -m tests.bench.table`; names as words behind it choose rows (start keys open save labels
plan network find trace). Each figure and its baseline are of the same run. "growth" is the exponent of
the number of lamps between the smallest and the largest size: 1 grows with the lamps, 2 with their
square.
"""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import attrs

from harness_tui.examples import text as example
from model.harness import Harness
from model.store import dumps, open_file, save
from model.tracing.behaviour import Sight
from model.tracing.find import find
from model.tracing.proposing import next_test
from model.tracing.trace import begin, see, see_rest, suspects
from tests.bench import test_label_speed as label_speed
from tests.bench import test_network as network_speed
from tests.bench.in_a_terminal import cautions_read
from tests.bench.test_key_speed import FIRST_LAMP, first_screen, keys_felt
from tests.bench.test_start import BARE, LOOMTAG, until_seen
from tests.bench.test_store_speed import as_if_opened, best_ms, walked
from tests.large_models import large_model

SIZES = (30, 300, 3000)
MOST_S = 60.0
"""A row's larger sizes are left out once one of its figures took so long."""


@attrs.frozen(kw_only=True)
class Figure:
    """One cell: milliseconds, and those of the baseline where it has one."""

    ms: float
    baseline_ms: float | None = None


@attrs.frozen(kw_only=True)
class Line:
    """One line of the table: its figures by lamps, and what the baseline is."""

    name: str
    what: str
    baseline: str
    limit: str
    figures: dict[int, Figure]


def timed_ms(work: Callable[[], object], times: int = 3) -> float:
    """Milliseconds of the fastest of a few runs."""
    return best_ms(times, work)


def by_size(measure: Callable[[int], Figure], sizes: tuple[int, ...] = SIZES) -> dict[int, Figure]:
    """The figures of the sizes, smallest first, until one takes too long."""
    figures: dict[int, Figure] = {}
    for size in sizes:
        begun = time.perf_counter()
        figures[size] = measure(size)
        if time.perf_counter() - begun > MOST_S:
            break
    return figures


# --- the rows -----------------------------------------------------------------------------------------------


def start(folder: Path) -> Iterator[Line]:
    cautions_read(folder)
    (folder / "lighthouse.toml").write_text(example("lighthouse"), "utf-8")
    runs = [(until_seen(BARE, b"Porch", folder), until_seen(LOOMTAG, b"Porch", folder)) for _ in range(9)]
    bare, ours = (sorted(run[who][0] for run in runs)[len(runs) // 2] for who in (0, 1))
    figure = Figure(ms=1000 * ours, baseline_ms=1000 * bare)
    yield Line(
        name="start", what="to the first screen", baseline="bare app", limit="1.6", figures={3: figure}
    )


def keys(folder: Path) -> Iterator[Line]:
    felt = {lamps: keys_felt(lamps, folder) for lamps in (30, 300, 1000, 3000)}
    yield Line(
        name="keys",
        what="key to the moved cursor",
        baseline="bare table",
        limit="1.5",
        figures={lamps: Figure(ms=one.first_ms, baseline_ms=one.bare_ms) for lamps, one in felt.items()},
    )
    yield Line(
        name="",
        what="key to the last byte drawn",
        baseline="bare table",
        limit="",
        figures={lamps: Figure(ms=one.all_ms, baseline_ms=one.bare_ms) for lamps, one in felt.items()},
    )


def opening(folder: Path) -> Iterator[Line]:
    def reading(lamps: int) -> Figure:
        path = folder / f"{lamps}.toml"
        save(walked(lamps), path)
        text = path.read_text("utf-8")
        return Figure(ms=timed_ms(lambda: open_file(path)), baseline_ms=timed_ms(lambda: tomllib.loads(text)))

    yield Line(name="open", what="read the file", baseline="tomllib", limit="", figures=by_size(reading))
    cautions_read(folder)
    save(walked(3), folder / "3.toml")

    def past_start(lamps: int) -> Figure:
        save(walked(lamps), folder / f"{lamps}.toml")
        took = dict.fromkeys(("3.toml", f"{lamps}.toml"), math.inf)
        for _ in range(5):
            for name in took:
                took[name] = min(took[name], first_screen(name, FIRST_LAMP, folder)[0])
        few, many = took.values()
        return Figure(ms=1000 * (many - few))

    yield Line(
        name="",
        what="to the first screen, past the start",
        baseline="",
        limit="500 ms at 1,000",
        figures=by_size(past_start, (300, 1000, 3000)),
    )


def saving(folder: Path) -> Iterator[Line]:
    def one(lamps: int, *, first: bool) -> Figure:
        path = folder / f"save{lamps}.toml"
        harness = walked(lamps)
        stamp = save(harness, path)
        tables = tomllib.loads(dumps(harness))
        import tomli_w

        baseline = timed_ms(lambda: tomli_w.dumps(tables))
        if first:
            fresh = [as_if_opened(harness) for _ in range(3)]
            return Figure(ms=timed_ms(lambda: save(fresh.pop(), path, stamp=stamp)), baseline_ms=baseline)
        changed = attrs.evolve(harness, lamps=(*harness.lamps[:-1], attrs.evolve(harness.lamps[-1])))
        return Figure(ms=timed_ms(lambda: save(changed, path, stamp=stamp), 5), baseline_ms=baseline)

    sizes = (30, 300, 1000, 3000)
    yield Line(
        name="save",
        what="the first step",
        baseline="tomli_w",
        limit="50 ms at 1,000",
        figures=by_size(lambda lamps: one(lamps, first=True), sizes),
    )
    yield Line(
        name="",
        what="each later step",
        baseline="tomli_w",
        limit="50 ms at 1,000",
        figures=by_size(lambda lamps: one(lamps, first=False), sizes),
    )


def labels(folder: Path) -> Iterator[Line]:
    def process_ms(script: str, count: int, *words: str) -> float:
        done = subprocess.run(
            [sys.executable, "-c", script + label_speed.REPORT, str(folder), str(count), *words],
            capture_output=True,
            text=True,
            check=True,
        )
        return 1000 * float(json.loads(done.stdout)[0])

    def sheet(count: int) -> Figure:
        return Figure(
            ms=min(process_ms(label_speed.OURS, count, "flags-a4") for _ in range(2)),
            baseline_ms=process_ms(label_speed.PLAIN, count),
        )

    yield Line(
        name="labels",
        what="so many, cold, into one PDF",
        baseline="one by one, PNG",
        limit="0.5 at 400",
        figures=by_size(sheet),
    )


def plan(folder: Path) -> Iterator[Line]:
    import networkx as nx
    from networkx.algorithms.approximation import steiner_tree as approximate

    from model.routing.graph import leg_length_mm
    from model.routing.merge_plan import best_plan

    def model(lamps: int) -> Harness:
        return large_model(lamps, min(max(lamps // 4, 6), 99), 40, 1)

    def planned(lamps: int) -> Figure:
        harness = model(lamps)
        graph = nx.Graph()
        for leg in harness.legs:
            graph.add_edge(leg.a, leg.b, weight=leg_length_mm(leg))
        nets: dict[int, set[str]] = {}
        for lamp in harness.lamps:
            nets.setdefault(lamp.output or 0, {"W1"}).add(lamp.at or "W1")
        nets[0] = set().union(*nets.values())  # the common reaches them all

        def trees() -> None:
            for ends in nets.values():
                approximate(graph, sorted(ends), method="mehlhorn")

        begun = time.perf_counter()
        best_plan(harness)  # remembered from then on: once
        return Figure(ms=1000 * (time.perf_counter() - begun), baseline_ms=timed_ms(trees))

    yield Line(
        name="plan",
        what="the best merges",
        baseline="networkx trees of all nets",
        limit="5 s at 300",
        figures=by_size(planned),
    )


def network(folder: Path) -> Iterator[Line]:
    def solved(lamps: int) -> Figure:
        circuit = network_speed.network(lamps, max(lamps // 25, 6))
        ours = timed_ms(lambda: network_speed.solve(circuit))
        if lamps > 300:  # takes minutes
            return Figure(ms=ours)
        _, baseline_s = network_speed.beside(network_speed.loop_equations(circuit), given=True, times=3)
        return Figure(ms=ours, baseline_ms=1000 * baseline_s)

    yield Line(
        name="network",
        what="all currents and volts",
        baseline="scipy root, reduced",
        limit="",
        figures=by_size(solved),
    )


def finding(folder: Path) -> Iterator[Line]:
    def found(lamps: int) -> Figure:
        harness = walked(lamps)
        tags = [record.tag for record in harness.ledger]
        tag = tags[len(tags) // 2]
        asked = f"{tag[0]}?{tag[2:]}"
        find(harness, tag)  # what is worked out once a harness
        pattern = re.compile(asked.replace("?", "."))

        def plain() -> None:
            assert tag in [one for one in tags if pattern.fullmatch(one)]

        return Figure(ms=timed_ms(lambda: find(harness, asked), 5), baseline_ms=timed_ms(plain, 5))

    yield Line(
        name="find",
        what="a tag with one illegible character",
        baseline="a pattern over all tags",
        limit="20 ms",
        figures=by_size(found),
    )


def tracing(folder: Path) -> Iterator[Line]:
    from model.electrics.network import circuit_of
    from model.electrics.solving import solve
    from tests.strategies import harness_from_seed

    def step(lamps: int) -> Figure:
        harness = harness_from_seed(4, lamps=(lamps, lamps), points=(12, 12), walked=1.0)
        dark = next(iter(begin(harness).simulator.outputs))
        circuit = circuit_of(harness)
        baseline = timed_ms(lambda: solve(circuit))
        begun = time.perf_counter()
        trace = see_rest(see(begin(harness), dark, Sight.DARK))
        suspects(trace)
        next_test(trace)
        return Figure(ms=1000 * (time.perf_counter() - begun), baseline_ms=baseline)

    yield Line(
        name="trace",
        what="one dark lamp: what is left, what to test",
        baseline="the network once",
        limit="300 ms at 60",
        figures=by_size(step, (30, 60, 300, 3000)),
    )


ROWS: dict[str, Callable[[Path], Iterator[Line]]] = {
    "start": start,
    "keys": keys,
    "open": opening,
    "save": saving,
    "labels": labels,
    "plan": plan,
    "network": network,
    "find": finding,
    "trace": tracing,
}


# --- the table ----------------------------------------------------------------------------------------------


def growth(figures: dict[int, Figure]) -> float | None:
    """The exponent with which the time grows with the lamps; None where there is one size, or nothing to
    compare.
    """
    least, most = min(figures), max(figures)
    if least == most or min(figures[least].ms, figures[most].ms) <= 0:
        return None
    return math.log(figures[most].ms / figures[least].ms) / math.log(most / least)


def duration(ms: float) -> str:
    """Milliseconds as text with three figures."""
    if ms >= 10_000:
        return f"{ms / 1000:.1f} s"
    return f"{ms:.3g} ms" if ms < 1000 else f"{ms:.0f} ms"


def rendered(line: Line) -> Iterator[str]:
    """A line of the table: a heading, then a row a size."""
    grows = growth(line.figures)
    tail = f"   growth {grows:.2f}" if grows is not None else ""
    beside = f"   beside {line.baseline}" if line.baseline else ""
    limit = f"   limit {line.limit}" if line.limit else ""
    yield f"{line.name or ' ':<8} {line.what}{beside}{limit}{tail}"
    for lamps, figure in line.figures.items():
        ratio = baseline = ""
        if figure.baseline_ms is not None:
            baseline, ratio = duration(figure.baseline_ms), f"{figure.ms / figure.baseline_ms:8.2f}"
        yield f"{lamps:>14} {duration(figure.ms):>12} {baseline:>12} {ratio}"


def main(names: list[str]) -> int:
    """Measure and print; returns the exit code."""
    unknown = [name for name in names if name not in ROWS]
    if unknown:
        print(f"no such rows: {', '.join(unknown)}; there are {' '.join(ROWS)}", file=sys.stderr)
        return 2
    print(f"{'lamps':>14} {'ours':>12} {'baseline':>12} {'ratio':>8}")
    with tempfile.TemporaryDirectory() as scratch:
        for name in names or ROWS:
            for line in ROWS[name](Path(scratch)):
                print("\n".join(rendered(line)), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

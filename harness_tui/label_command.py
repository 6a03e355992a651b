"""The plain command `loomtag labels`: into files or to a printer; stocks, and how true a printer prints."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from model.errors import BadValue, NotThere
from model.values import counted

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Mapping, Sequence

    from harness_tui.session import Session
    from model.findings import Finding
    from model.harness import Harness
    from model.labels.batch import Label
    from model.labels.stock import Stock

FINE, FOUND, UNUSABLE = 0, 1, 2

ONLY = ("new", "changed", "unmade")

SUITING = "sleeve"
"""Given for a stock's name: the sleeve that suits each wire."""

NAMED = 4
"""So many labels or stocks are named in a message, the others counted."""

WORDED = 3
"""So many different wordings of one kind of problem are given, the others counted."""


def _talk(text: str) -> None:
    print(text, file=sys.stderr)


def add_options(labels: argparse.ArgumentParser) -> None:
    """The options of the command."""
    add = labels.add_argument
    add("file", type=Path, nargs="?", help="the project file")
    add(
        "--stock",
        help="what to print on (see --list), or 'sleeve' for the sleeve that suits each wire; "
        "default: the project's, else the usual",
    )
    add(
        "--what",
        choices=("wires", "joints", "plugs", "spools", "cards"),
        default="wires",
        help="what the labels are of (default: wires)",
    )
    add("--out", type=Path, default=Path("labels"), help="folder to write to (default: labels)")
    add("--start", type=int, default=1, metavar="N", help="first free label of a part-used sheet")
    add("--copies", type=int, default=1, metavar="N", help="of each label (default: 1)")
    add(
        "--only",
        choices=ONLY,
        help="those not printed, printed but no longer true, or of a wire not made at the bench yet",
    )
    add("--run", dest="lamp", metavar="LAMP", help="only the labels of this lamp's run")
    add("--dpi", type=int, metavar="N", help="the printer's resolution (default: the stock's)")
    add(
        "--strip",
        type=float,
        metavar="MM",
        help="labels on tape or carrier together in strips of at most this length, each a page and a PNG",
    )
    add("--printer", metavar="NAME", help="stretch the labels as measured for this printer")
    add(
        "--send",
        action="store_true",
        help="print on the system's queue --printer names instead of writing files",
    )
    add("--draft", action="store_true", help="only to look at: the labels are not marked as printed")
    add("--list", action="store_true", help="list the stocks, your own included")
    add(
        "--printers", action="store_true", help="list the system's queues and the printers that were measured"
    )
    add(
        "--calibration",
        type=str.lower,
        metavar="a4|letter|STOCK",
        help="write or --send rulers, on paper or, for a printer that takes none, on a tape of --list",
    )
    add(
        "--measured",
        metavar="ACROSS,DOWN",
        help="what the rulers of --printer measure in mm, across and along the way it goes (the first may be "
        "left out: ,99.6); remembered from then on",
    )


def run(args: argparse.Namespace) -> int:
    """Run the command; returns its exit code."""
    if args.measured:
        return _measured(args)
    if args.printers:
        return _printers()
    from harness_tui.stocks import all_stocks, stock_faults

    stocks = all_stocks()
    faults = stock_faults()
    if faults:
        _talk(faults)
    if args.calibration:
        return _rulers(args, stocks)
    if args.list:
        for stock in stocks.values():
            print(f"{stock.name:<16} {stock.title}")
        return FOUND if faults else FINE
    if args.file is None:
        _talk("loomtag labels: which project? loomtag labels FILE --stock NAME --out DIR")
        return UNUSABLE
    code = _labels(args, stocks)
    return max(code, FOUND) if faults else code


def _labels(args: argparse.Namespace, stocks: Mapping[str, Stock]) -> int:
    from harness_tui.projects import close_project, open_project

    session = open_project(args.file)
    try:
        session.begin()
        return _labels_of(args, session, stocks)
    finally:
        close_project(session)


def _labels_of(args: argparse.Namespace, session: Session, stocks: Mapping[str, Stock]) -> int:
    """Print the labels asked for and remember that they are; returns the exit code."""
    from harness_tui.session import today
    from model.papers.label_sets import mark

    labels = _wanted(args, session.harness, stocks)
    if labels is None:
        return FOUND
    printable = [label for label in labels if label.printable]
    said = _print(args, session.harness, printable)
    problems = [problem for label in labels for problem in label.problems]
    for line in _problem_lines(labels, what=args.what, stocks=stocks):
        _talk(line)
    _talk(said)
    # From here on the labels may be on wires: their tags must not go to other ends unnoticed.
    if args.draft or session.read_only:
        reason = session.read_only or "a draft"
        _talk(f"Not marked as printed: {reason}. Before you use them, mark them on Labels (m).")
    else:
        session.apply(lambda now: mark(now, printable, today()), "labels printed")
        if session.unsaved:
            _talk(f"Not marked as printed: {session.unsaved}")
            return UNUSABLE
    return FOUND if problems else FINE


def _problem_lines(labels: Sequence[Label], *, what: str, stocks: Mapping[str, Stock]) -> Iterator[str]:
    """A line for each kind of thing that does not fit, with the labels it is true of; then the mere notes."""
    from model.papers.label_sets import What, better_stocks

    kinds: dict[tuple[bool, str, str], list[tuple[Label, Finding]]] = {}
    for label in labels:
        for problem in label.layout.problems:
            note = problem not in label.problems
            kinds.setdefault((note, problem.rule, problem.remedy), []).append((label, problem))
    for (note, _, remedy), those in sorted(kinds.items(), key=lambda pair: pair[0][0]):
        by_words: dict[str, list[str]] = {}
        for label, problem in those:
            words = problem.found + (f" ({problem.limit})" if problem.limit else "")
            by_words.setdefault(words, []).append(label.key)
        said = "; ".join(f"{_some(keys)}: {words}" for words, keys in list(by_words.items())[:WORDED])
        rest = sum(len(keys) for keys in list(by_words.values())[WORDED:])
        more = f"; the like on {rest} more" if rest else ""
        better = () if note else better_stocks(stocks, What(what), those[0][0])
        fits = f" The first fits on {', '.join(stock.name for stock in better[:NAMED])}." if better else ""
        yield f"{'note, ' if note else ''}label {said}{more}. {remedy}{fits}"


def _some(keys: Sequence[str]) -> str:
    more = f" and {len(keys) - NAMED} more" if len(keys) > NAMED else ""
    return ", ".join(keys[:NAMED]) + more


def _wanted(
    args: argparse.Namespace, harness: Harness, stocks: Mapping[str, Stock]
) -> Sequence[Label] | None:
    """The labels asked for; None, and said, where there are none."""
    from model.labels.batch import stock_group
    from model.labels.stock import stock_named
    from model.papers.label_sets import What, Which, labels_of, select

    what = What(args.what)
    settings = harness.settings
    chosen = args.stock or ""
    if what is What.WIRES:
        chosen = chosen or settings.flag_stock or settings.sleeve_stock
    if chosen == SUITING and what is What.WIRES:
        chosen, group = "", "sleeve"
    else:
        group = stock_group(stock_named(stocks, chosen)) if chosen else "flag"
    every = tuple(labels_of(harness, what, stocks, chosen, group, args.dpi))
    if not every:
        walk = "Walk the lamps first." if what is not What.SPOOLS else "Setup says which wire is on hand."
        reason = (
            "no run is accepted yet, so no wire has a tag" if what is What.WIRES else f"there are no {what}"
        )
        _talk(f"{args.file}: {reason}. {walk}")
        return None
    which = {"new": Which.NEW, "changed": Which.CHANGED, "unmade": Which.UNMADE, None: Which.ALL}[args.only]
    found = select(harness, every, which, _lamp(harness, args.lamp) if args.lamp else "")
    if not found:
        only = f" --only {args.only}" if args.only else ""
        of_run = f" --run {args.lamp}" if args.lamp else ""
        _talk(f"{args.file}: none of the {len(every)} labels is asked for by{only}{of_run}.")
        return None
    return found


def _lamp(harness: Harness, name: str) -> str:
    """The id of the lamp of that name, or whose name alone begins so."""
    low = name.strip().lower()
    named = [lamp for lamp in harness.lamps if lamp.name.lower() == low]
    begun = named or [lamp for lamp in harness.lamps if lamp.name.lower().startswith(low)]
    if len(begun) != 1:
        near = ", ".join(lamp.name for lamp in (begun or harness.lamps)[:6])
        found = "is the beginning of several" if begun else "is not there"
        raise NotThere(f"lamp {name}", found, remedy=f"There are {near}.")
    return begun[0].id


def _print(args: argparse.Namespace, harness: Harness, labels: Sequence[Label]) -> str:
    """Write or send them; returns what to say."""
    from harness_tui.printers import calibration_of, measured_printers, send_labels, stretch_words
    from harness_tui.printing import write_labels

    layouts = [label.layout for label in labels]
    start = args.start - 1
    if args.send:
        from model.values import counted

        sent = send_labels(
            layouts, _queue(args), harness.code, start=start, copies=args.copies, strip_mm=args.strip
        )
        for job in sent.jobs:
            print(job)
        return (
            f"{_counted(labels)}: {counted(sent.pages, 'page')} sent to {sent.queue}; "
            f"printer {stretch_words(sent.queue)}."
        )
    if args.printer and args.printer not in measured_printers():
        raise NotThere(
            f"printer {args.printer}",
            "was never measured",
            limit=", ".join(measured_printers()),
            remedy="Print its rulers: loomtag labels --calibration a4 --printer NAME --out DIR.",
        )
    calibration = calibration_of(args.printer) if args.printer else None
    written = write_labels(
        layouts, args.out, harness.code,
        start=start, copies=args.copies, strip_mm=args.strip, calibration=calibration,
    )  # fmt: skip
    for path in written.pdfs:
        print(path)
    in_strips = args.strip is not None and any(layout.stock.sheet is None for layout in layouts)
    each = "strip" if in_strips else "label"
    whose = f" on {args.printer}, for which it is stretched (the pictures are not)," if args.printer else ""
    which = "the PDF" if len(written.pdfs) == 1 else "each PDF on its stock"
    return (
        f"{_counted(labels)}. Print {which}{whose} at 100 %, without fitting it to the page. "
        f"A PNG of each {each} is beside it."
    )


def _counted(labels: Sequence[Label]) -> str:
    """ "12 labels: 10 on Flag, tape 12 mm, 180 dpi, about 0.8 m; 2 on ..." """
    by_stock: dict[Stock, list[Label]] = {}
    for label in labels:
        by_stock.setdefault(label.layout.stock, []).append(label)
    parts = []
    for stock, those in by_stock.items():
        count = f"{len(those)} " if len(by_stock) > 1 else ""
        length = ""
        if stock.medium == "tape":
            along_mm = sum(label.layout.length_mm + stock.gap_mm for label in those)
            length = f", about {along_mm / 1000:.1f} m"
        parts.append(f"{count}on {stock.title}, {stock.dpi} dpi{length}")
    return f"{counted(len(labels), 'label')} {'; '.join(parts)}"


def _queue(args: argparse.Namespace) -> str:
    from harness_tui.printers import queues

    known = queues()
    name: str = args.printer or ""
    if not name and len(known) == 1:
        return known[0]
    if name not in known:
        raise NotThere(
            f"printer {name}" if name else "printer",
            "is no queue of this system" if name else "is not said",
            limit=", ".join(known) or "there is none",
            remedy="Name it with --printer, or leave out --send for a PDF.",
        )
    return name


def _rulers(args: argparse.Namespace, stocks: Mapping[str, Stock]) -> int:
    from harness_tui.printers import checked_name, print_rulers, write_rulers
    from model.labels.sheets import tape_rulers
    from model.labels.stock import PAGES, stock_named

    pages = {name.lower(): name for name in PAGES}
    on: str | Stock
    if args.calibration in pages:
        on = pages[args.calibration]
        said = "Measure both rulers from end to end."
        example = "ACROSS,DOWN"
    else:
        tape = stock_named(stocks, args.calibration)
        on = tape if args.dpi is None else tape.at(args.dpi)
        short = tape_rulers(on).x_mm
        said = f"Measure the long ruler from end to end; the one across, only {short:g} mm, may be left out."
        example = ",ALONG"
    if args.send:
        name = _queue(args)
        print(print_rulers(name, on))
    else:
        name = checked_name(args.printer) if args.printer else ""
        print(write_rulers(name, on, args.out))
    _talk(
        f"Print it at 100 %, without fitting it to the page. {said} Then: "
        f"loomtag labels --printer {name or 'NAME'} --measured {example}"
    )
    return FINE


def _measured(args: argparse.Namespace) -> int:
    from harness_tui.printers import checked_name, remember_measures, stretch_words

    name = checked_name(args.printer or "")
    parts = [part.strip() for part in args.measured.split(",")]
    try:
        across, down = (float(part) if part else None for part in parts)
    except ValueError:
        raise BadValue("--measured", args.measured, limit="two lengths in mm, as 149.5,200.2") from None
    if across is None and down is None:
        raise BadValue("--measured", "neither length", limit="two lengths in mm, as 149.5,200.2")
    remember_measures(name, across, down)
    _talk(f"Labels for {name} are {stretch_words(name)} from now on.")
    return FINE


def _printers() -> int:
    from harness_tui.printers import measured_printers, queues, stretch_words

    known = queues()
    for name in dict.fromkeys((*known, *measured_printers())):
        print(f"{name:<24} {'queue' if name in known else 'by PDF':<8} {stretch_words(name)}")
    if not known:
        _talk("This system has no queue to print on: write PDFs.")
    return FINE

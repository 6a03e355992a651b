"""The plain command `loomtag labels`: into files or to a printer; stocks, and how true a printer prints."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from model.errors import BadValue, NotThere

if TYPE_CHECKING:
    import argparse
    from collections.abc import Mapping, Sequence

    from harness_tui.session import Session
    from model.harness import Harness
    from model.labels.batch import Label
    from model.labels.stock import Stock

FINE, FOUND, UNUSABLE = 0, 1, 2

ONLY = ("new", "changed", "unmade")


def _talk(text: str) -> None:
    print(text, file=sys.stderr)


def add_options(labels: argparse.ArgumentParser) -> None:
    """The options of the command."""
    add = labels.add_argument
    add("file", type=Path, nargs="?", help="the project file")
    add("--stock", help="what to print on (see --list); default: the project's, else the usual")
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
    add("--calibration", type=str.lower, choices=("a4", "letter"), help="write or --send a page of rulers")
    add(
        "--measured",
        metavar="ACROSS,DOWN",
        help="what the rulers of --printer measure in mm; remembered from then on",
    )


def run(args: argparse.Namespace) -> int:
    """Run the command; returns its exit code."""
    if args.measured:
        return _measured(args)
    if args.calibration:
        return _rulers(args)
    if args.printers:
        return _printers()
    from harness_tui.stocks import all_stocks, stock_faults

    stocks = all_stocks()
    faults = stock_faults()
    if faults:
        _talk(faults)
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
    for problem in problems:
        limit = f" ({problem.limit})" if problem.limit else ""
        _talk(f"{problem.subject}: {problem.found}{limit}. {problem.remedy}")
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
        sent = send_labels(layouts, _queue(args), harness.code, start=start, copies=args.copies)
        for job in sent.jobs:
            print(job)
        return f"{sent.pages} pages sent to {sent.queue}; printer {stretch_words(sent.queue)}."
    if args.printer and args.printer not in measured_printers():
        raise NotThere(
            f"printer {args.printer}",
            "was never measured",
            limit=", ".join(measured_printers()),
            remedy="Print its rulers: loomtag labels --calibration a4 --printer NAME --out DIR.",
        )
    calibration = calibration_of(args.printer) if args.printer else None
    written = write_labels(
        layouts, args.out, harness.code, start=start, copies=args.copies, calibration=calibration
    )
    for path in written.pdfs:
        print(path)
    stretched = f" on {args.printer}" if args.printer else ""
    return f"{written.pictures} labels. Print the PDF{stretched} at 100 %, without fitting it to the page."


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


def _rulers(args: argparse.Namespace) -> int:
    from harness_tui.printers import checked_name, print_rulers, write_rulers

    page = {"a4": "A4", "letter": "Letter"}[args.calibration]
    if args.send:
        name = _queue(args)
        print(print_rulers(name, page))
    else:
        name = checked_name(args.printer) if args.printer else ""
        print(write_rulers(name, page, args.out))
    _talk(
        "Print it at 100 %, without fitting it to the page, and measure both rulers from end to end. Then: "
        f"loomtag labels --printer {name or 'NAME'} --measured ACROSS,DOWN"
    )
    return FINE


def _measured(args: argparse.Namespace) -> int:
    from harness_tui.printers import checked_name, remember_measures, stretch_words

    name = checked_name(args.printer or "")
    parts = args.measured.split(",")
    try:
        across, down = map(float, parts)
    except ValueError:
        raise BadValue("--measured", args.measured, limit="two lengths in mm, as 149.5,200.2") from None
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

"""The command `loomtag`: opens the screens, and every look-up, check and export as a plain command.

Data goes to standard output, talk to standard error. Exit codes: 0 fine, 1 something was found
(findings, or nothing by that tag), 2 wrong usage or a file that can't be used.
"""

from __future__ import annotations

import gc
import io
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from harness_tui.label_command import add_options as add_label_options
from harness_tui.label_command import run as label_command
from model.errors import LoomError

if TYPE_CHECKING:
    import argparse

    from harness_tui.session import Session
    from model.harness import Harness

FINE, FOUND, UNUSABLE = 0, 1, 2

STOPPED = 130
"""After ctrl+c, as shells have it."""

PLAIN = "check, find, expect, trace, labels, papers, electrics, plan, cuts, import, export, backups"


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code. What the core refuses is said on standard error."""
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        if len(words) == 1 and Path(words[0]).is_file():
            return _open_file(
                Path(words[0])
            )  # the usual start, without the time it takes to read the commands
        parser, names = _parser()
        if words and not words[0].startswith("-") and words[0] not in names:
            words.insert(0, "open")
        args = parser.parse_args(words)
        _say_any_sign()
        from harness_tui.preferences import read_preferences, take_effect

        take_effect(read_preferences())
        code: int = args.run(args)
    except LoomError as error:
        _talk(error.message())
        return UNUSABLE
    except BrokenPipeError:
        # The reader of a pipe has gone (as `head` does): nothing is wrong, and nothing more can be said.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE
    except KeyboardInterrupt:
        _talk("\nStopped.")
        return STOPPED
    return code


def _say_any_sign() -> None:
    """A name may hold any sign; where the reader's encoding lacks one, its number is written instead."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _talk(text: str) -> None:
    print(text, file=sys.stderr)


def _parser() -> tuple[argparse.ArgumentParser, frozenset[str]]:
    import argparse

    parser = argparse.ArgumentParser(
        prog="loomtag",
        description="Plan, mark, build and later trace the lamp wiring of a scale model.",
        epilog="loomtag FILE opens a project; loomtag alone asks which. "
        "Exit codes: 0 fine, 1 findings, 2 wrong usage or file.",
    )
    parser.add_argument(
        "--version", dest="run", action="store_const", const=_show_version, help="print the version"
    )
    parser.set_defaults(run=_welcome)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    def command(name: str, run: Callable[[argparse.Namespace], int], help: str) -> argparse.ArgumentParser:
        added = commands.add_parser(name, help=help, description=help)
        added.set_defaults(run=run)
        return added

    def with_file(name: str, run: Callable[[argparse.Namespace], int], help: str) -> argparse.ArgumentParser:
        added = command(name, run, help)
        added.add_argument("file", type=Path, help="the project file")
        return added

    with_file("open", _open, "open a project in the terminal")
    new = with_file("new", _new, "make a new project file")
    new.add_argument("--name", help="what the model is called; asked for in a terminal")
    new.add_argument("--code", help="two or three letters or digits that stand on every label")
    demo = command("demo", _demo, "open a private copy of a demo project")
    demo.add_argument("name", nargs="?", default="gritter", help="gritter, tug or lighthouse")
    load = with_file("import", _import, "add the lamps of a CSV list to a project; all of them or none")
    load.add_argument("lamps", type=Path, help="the list; columns as `loomtag export` writes them")
    load.add_argument(
        "--create-waypoints", action="store_true", help="add waypoints the list names and the project lacks"
    )
    with_file("export", _export, "print the lamp list as CSV")
    with_file("check", _check, "print the findings, worst first")
    find = command("find", _find, "look up a tag (? for an illegible character), lamp, output, pin or place")
    find.add_argument("file", type=Path, help="the project file, or a folder to look into all projects of it")
    find.add_argument("asked", nargs="+", help="what to look up")
    expect = with_file("expect", _expect, "print what a meter should say along the way of a wire")
    expect.add_argument("tag", help="the wire's tag")
    expect.add_argument(
        "--battery", type=float, metavar="V", help="what the battery has now (default: its nominal volts)"
    )
    trace = with_file("trace", _trace, "print which faults explain what is seen, and what to test next")
    for sight in ("lit", "dim", "bright", "flickers", "dark", "wrong-output", "stays-on"):
        trace.add_argument(
            f"--{sight}", metavar="LAMP,LAMP", action="append", default=[], help=_SIGHT_HELP[sight]
        )
    trace.add_argument("--rest-lit", action="store_true", help="all lamps that are not named are lit")
    trace.add_argument(
        "--battery", type=float, metavar="V", help="what the battery has now (default: its nominal volts)"
    )
    add_label_options(
        command(
            "labels", label_command, "print labels of every wire's ends, joints, plugs, spools; bench cards"
        )
    )
    papers = with_file(
        "papers", _papers, "write every paper: one PDF, one HTML file for a phone, CSV of the tables"
    )
    papers.add_argument(
        "--out", type=Path, default=Path("papers"), help="folder to write to (default: papers)"
    )
    papers.add_argument(
        "--paper",
        type=str.lower,
        choices=("a4", "letter"),
        help="size of the pages (default: that of your settings, else a4)",
    )
    electrics = with_file("electrics", _electrics, "print every lamp's resistor and current")
    electrics.add_argument("--csv", action="store_true", help="as CSV for a spreadsheet")
    electrics.add_argument(
        "--on",
        metavar="N,N",
        help="only the lamps as wired, with just these outputs switched on (for example 1,5)",
    )
    copies = with_file("backups", _backups, "list the dated backups of a project, or put one back")
    copies.add_argument(
        "--restore",
        type=int,
        metavar="N",
        help="put back the backup of that number; what stands there is backed up first",
    )
    plan = with_file("plan", _plan, "print the merge plans side by side")
    plan.add_argument("--csv", action="store_true", help="as CSV for a spreadsheet")
    plan.add_argument("--image", type=Path, metavar="IMAGE", help="draw the loom instead: .png, .svg or .pdf")
    plan.add_argument(
        "--of", choices=tuple(_PLANS), default="standing", help="what to draw (default: as it stands)"
    )
    cuts = with_file("cuts", _cuts, "print the cut list")
    cuts.add_argument("--csv", action="store_true", help="as CSV for a spreadsheet")
    return parser, frozenset(commands.choices)


def _show_version(args: argparse.Namespace) -> int:
    from importlib.metadata import PackageNotFoundError, version

    try:
        number = version("loomtag")
    except PackageNotFoundError:
        number = "(not installed)"
    print(f"loomtag {number}")
    return FINE


# --- screens ------------------------------------------------------------------------------------------------


def _run_app(session: Session | None, new: Path | None = None) -> int:
    from harness_tui.pictures import Question

    question = Question()
    try:
        # The terminal answers while these are read.
        from harness_tui.app import LoomApp
        from harness_tui.preferences import read_preferences, read_state
        from harness_tui.projects import close_project, open_project
    finally:
        cell = question.answer()
    asked = ""
    while True:
        caution = not read_state().cautions_seen
        app = LoomApp(session, asked=asked, new=new, preferences=read_preferences(), caution=caution)
        try:
            app.picture_cell = cell
            app.run()
        finally:
            session = app.open_session
            lost = session is not None and not _rescued(session)
            if session is not None:
                close_project(session)
        if app.onward is None or lost:
            return UNUSABLE if app.return_code or lost else FINE
        session, asked, new = open_project(app.onward.path), app.onward.asked, None


def _rescued(session: Session) -> bool:
    """Keep what could not be saved and say where; False where there was something to keep."""
    if not session.unsaved:
        return True
    from harness_tui.projects import rescue

    try:
        kept = rescue(session)
    except LoomError as error:
        _talk(f"The last steps are lost: {error.message()}")
        return False
    if kept is not None:
        _talk(f"{session.unsaved}\nThe whole project with the last steps is kept in {kept}")
    return kept is None


def _no_terminal() -> bool:
    """Say so where there is no terminal to draw on; True if there is none."""
    if sys.stdin.isatty() and sys.stdout.isatty():
        return False
    _talk(
        f"loomtag: the screens need a terminal. Plain commands work without one: {PLAIN}. See loomtag --help."
    )
    return True


def _welcome(args: argparse.Namespace) -> int:
    return UNUSABLE if _no_terminal() else _run_app(None)


def _open(args: argparse.Namespace) -> int:
    return _open_file(args.file)


def _open_file(path: Path) -> int:
    from harness_tui.projects import open_project

    if _no_terminal():
        return UNUSABLE
    # Nothing made while starting is garbage: collecting would only look at all of it, again and again.
    gc.disable()
    return _run_app(open_project(path))


def _new(args: argparse.Namespace) -> int:
    from harness_tui.projects import close_project, new_project
    from model.editing import new_harness
    from model.errors import StoreError
    from model.starting import suggest_code

    if args.file.exists():
        raise StoreError(
            str(args.file), "exists already", remedy="Choose another name, or open it: loomtag FILE."
        )
    if args.name is None and sys.stdin.isatty() and sys.stdout.isatty():
        return _run_app(None, args.file)
    name = args.name or args.file.stem.replace("_", " ").replace("-", " ").strip().capitalize() or "New model"
    code = args.code.upper() if args.code else suggest_code(name)
    close_project(new_project(args.file, new_harness(name, code)))
    _talk(f"Made {args.file}: {name}, code {code}. Open it with: loomtag {args.file}")
    return FINE


def _demo(args: argparse.Namespace) -> int:
    from harness_tui.examples import names
    from harness_tui.projects import open_demo

    if args.name not in names():
        _talk(f"loomtag: there is no demo {args.name!r}. There are: {', '.join(names())}.")
        return UNUSABLE
    if _no_terminal():
        return UNUSABLE
    return _run_app(open_demo(args.name))


# --- plain commands -----------------------------------------------------------------------------------------


def _read(path: Path) -> Harness:
    from model.routing.allot import settle
    from model.store import load

    return settle(load(path))


def _import(args: argparse.Namespace) -> int:
    from harness_tui.projects import close_project, open_project
    from model.lamp_list import read_lamps
    from model.store import read_text
    from model.values import counted

    text = read_text(args.lamps)
    session = open_project(args.file)
    session.begin()
    if session.read_only:
        _talk(f"{args.file}: {session.read_only}")
        return UNUSABLE
    known = len(session.harness.lamps)
    try:
        session.apply(
            lambda harness: read_lamps(
                text, harness, args.lamps.name, create_waypoints=args.create_waypoints
            ),
            f"import {args.lamps.name}",
        )
    finally:
        close_project(session)
    if session.unsaved:
        _talk(session.unsaved)
        return UNUSABLE
    _talk(f"Added {counted(len(session.harness.lamps) - known, 'lamp')} to {args.file}.")
    return FINE


def _export(args: argparse.Namespace) -> int:
    from model.lamp_list import write_lamps

    sys.stdout.write(write_lamps(_read(args.file)))
    return FINE


def _check(args: argparse.Namespace) -> int:
    from model.checks import check

    findings = check(_read(args.file))
    for finding in findings:
        limit = f" ({finding.limit})" if finding.limit else ""
        print(
            f"{finding.severity.name.lower():<8} {finding.subject}: "
            f"{finding.found}{limit}. {finding.remedy}".rstrip()
        )
    worse = sum(finding.severity > 1 for finding in findings)
    if len(findings) == 1:
        _talk(f"1 finding, {'to mend' if worse else 'a note only'}.")
    else:
        _talk(f"{len(findings)} findings, {worse} of them to mend." if findings else "No findings.")
    return FOUND if worse else FINE


def _find(args: argparse.Namespace) -> int:
    from harness_tui.other_projects import elsewhere, search_folder
    from model.tracing.answer import find_text
    from model.tracing.find import find
    from model.values import shown

    asked = " ".join(args.asked)
    if args.file.is_dir():
        there = search_folder(args.file, asked)
        known = bool(there)
        if not known:
            _talk(f"No project in {args.file} knows '{shown(asked)}'.")
    else:
        found = find(_read(args.file), asked)
        known = bool(found.answers)
        print("\n".join(find_text(found)))
        there = elsewhere(found, args.file)
    for one in there:
        print(f"{shown(str(one.path), 200)} ({one.code}): {one.words}")
    return FINE if known else FOUND


def _expect(args: argparse.Namespace) -> int:
    from model.errors import NotThere
    from model.tracing.expect import expect, expect_text
    from model.tracing.find import FoundKind, find
    from model.values import shown

    harness = _read(args.file)
    found = find(harness, args.tag)
    if found.kind is FoundKind.CANDIDATES:
        likely = ", ".join(f"{one.answer.tag} ({one.reason})" for one in found.candidates)
        raise NotThere(f"tag {shown(args.tag)}", f"is none of {harness.code}", remedy=f"It may be {likely}.")
    tag = found.answer.tag if found.answer is not None else args.tag.upper()
    if found.reason:
        print(found.reason)
    print("\n".join(expect_text(expect(harness, tag, args.battery))))
    return FINE


_SIGHT_HELP = {
    "lit": "lamps (names, in quotes or not, tags, joints, output 5) that are as they should be",
    "dim": "lamps that are too dim",
    "bright": "lamps that are too bright",
    "flickers": "lamps that flicker",
    "dark": "lamps that are dark with every output",
    "wrong-output": "lamps that light with another output than theirs",
    "stays-on": "lamps that stay lit with all outputs off",
}


def _trace(args: argparse.Namespace) -> int:
    from model.tracing.behaviour import Sight
    from model.tracing.proposing import Standing, standing
    from model.tracing.trace import see_rest
    from model.tracing.trace_text import parted, trace_of, trace_text

    harness = _read(args.file)
    seen = []
    for sight in Sight:
        texts = getattr(args, sight.value.replace(" ", "_"))
        seen.append((sight, [name for text in texts for name in parted(harness, text)]))
    trace = trace_of(harness, seen, args.battery)
    if args.rest_lit:
        trace = see_rest(trace)
    print("\n".join(trace_text(trace)))
    return FINE if standing(trace) is Standing.NOTHING_ODD else FOUND


def _papers(args: argparse.Namespace) -> int:
    from harness_tui.preferences import read_preferences
    from harness_tui.printing import write_papers
    from harness_tui.session import today
    from harness_tui.stocks import all_stocks
    from model.papers.shelf import papers
    from model.values import counted

    harness = _read(args.file)
    page = args.paper.capitalize() if args.paper else read_preferences().paper
    written = write_papers(papers(all_stocks()), harness, args.out, page=page, day=today(), going=_progress)
    for path in written.files:
        print(path)
    _talk(f"{counted(len(written.files), 'file')}. Print the PDF at 100 %, without fitting it to the page.")
    return FINE


def _progress(done: int, total: int) -> bool:
    """One line on a terminal that counts up; nothing where standard error is a file."""
    if sys.stderr.isatty():
        print(f"\r{done} of {total}", end="\n" if done == total else "", file=sys.stderr, flush=True)
    return True


def _electrics(args: argparse.Namespace) -> int:
    from model.papers.electrics_table import electrics_tables, switched_on_tables
    from model.papers.table import as_csv, as_text

    harness = _read(args.file)
    if args.on is None:
        tables = electrics_tables(harness)
    else:
        numbers = [piece.strip() for piece in args.on.split(",") if piece.strip()]
        if not all(piece.isascii() and piece.isdigit() for piece in numbers):
            _talk(
                f"loomtag electrics: --on {args.on!r} are no outputs. "
                "Give their numbers, for example --on 1,5."
            )
            return UNUSABLE
        tables = switched_on_tables(harness, {int(piece) for piece in numbers})
    text = as_csv(tables) if args.csv else "\n".join(as_text(table, _columns()) for table in tables)
    sys.stdout.write(text)
    return FINE


def _backups(args: argparse.Namespace) -> int:
    from harness_tui.projects import backup_words, local_time, restore_from_outside
    from model.store import backups
    from model.values import counted

    known = backups(args.file)
    if args.restore is None:
        for number, backup in enumerate(known, 1):
            print(f"{number:>3}  {backup_words(backup)}")
        _talk(
            f"{counted(len(known), 'backup')} of {args.file}. Put one back: loomtag backups FILE --restore N"
            if known
            else f"There is no backup of {args.file}: one is taken each time it is opened."
        )
        return FINE if known else FOUND
    if not 1 <= args.restore <= len(known):
        _talk(f"loomtag backups: there is no backup {args.restore}, of {len(known)}.")
        return UNUSABLE
    backup = known[args.restore - 1]
    restore_from_outside(args.file, backup)
    _talk(f"{args.file} is as it was on {local_time(backup)}. What stood there is a backup now.")
    return FINE


_PLANS = {"standing": "", "best": "the best plan, not taken", "pairs": "each lamp its own pair, not taken"}
"""What an image can be of, and what its title then says."""


def _plan(args: argparse.Namespace) -> int:
    from model.papers.plan_table import plan_csv, plan_text
    from model.routing.plan_compare import compare

    harness = _read(args.file)
    if args.image is not None:
        return _plan_image(harness, args.image, args.of)
    compared = compare(harness, _bar())
    text = plan_csv(harness, compared) if args.csv else plan_text(harness, compared, _columns())
    sys.stdout.write(text)
    return FINE


def _columns() -> int | None:
    """How wide the terminal is that standard output goes to; None where it is a file or a pipe."""
    import shutil

    return max(shutil.get_terminal_size().columns, 40) if sys.stdout.isatty() else None


BAR_AFTER_S = 0.3
BAR_COLUMNS = 40


def _bar() -> Callable[[float], object]:
    """Shows a share of work that is done as a bar on standard error, once it has taken a while; nothing where
    that is a file.
    """
    import time

    begun = time.monotonic()
    drawn = -1

    def draw(share: float) -> None:
        nonlocal drawn
        now = round(share * BAR_COLUMNS)
        if now == drawn or not sys.stderr.isatty() or time.monotonic() - begun < BAR_AFTER_S:
            return
        drawn = now
        bar = "" if share >= 1 else f"working out the least wire  {'=' * now:.<{BAR_COLUMNS}} {share:4.0%}"
        print(f"\r\x1b[K{bar}", end="", file=sys.stderr, flush=True)

    return draw


def _plan_image(harness: Harness, path: Path, of: str) -> int:
    from harness_tui.printing import write_image
    from harness_tui.session import today
    from model.papers.figure_image import image_kind
    from model.routing.allot import settle
    from model.routing.merge_plan import apply, best_plan, own_pairs

    image_kind(path.name)  # refused before anything is worked out
    if of == "best":
        harness = settle(apply(harness, best_plan(harness, _bar())))
    elif of == "pairs":
        harness = settle(apply(harness, own_pairs(harness)))
    print(write_image(harness, path, note=_PLANS[of], day=today()))
    return FINE


def _cuts(args: argparse.Namespace) -> int:
    from model.papers.cut_list import cut_csv, cut_text

    harness = _read(args.file)
    sys.stdout.write(cut_csv(harness) if args.csv else cut_text(harness, width=_columns()))
    return FINE

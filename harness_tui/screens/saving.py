"""What could not be saved: the ways on, asked when the file is no longer ours, on request, and before
leaving.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import attrs

from harness_tui.projects import free_copy_name, go_on_in, keep_mine, take_theirs
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.ask_checked import AskChecked
from harness_tui.widgets.lines import clip
from model.errors import LoomError
from model.values import shown

if TYPE_CHECKING:
    from harness_tui.app import LoomApp


@attrs.frozen
class _Way:
    """One way on: its line, and what it does."""

    line: str
    act: Callable[[], None]


def ask_about_saving(app: LoomApp, *, leaving: bool = False) -> None:
    """Ask what becomes of the steps that are not on disk; with `leaving`, leaving all the same is among
    the ways.
    """
    session = app.session
    path = session.path
    if path is None or not session.unsaved:
        return
    name = shown(path.name, 40)
    beside = free_copy_name(path, session.harness)
    beside_name = shown(beside.rpartition("/")[2], 40)

    def done(act: Callable[[], object], words: str) -> Callable[[], None]:
        def run() -> None:
            try:
                act()
            except LoomError as error:
                app.say(error.message(), "error")
                return
            app.redraw()
            if session.unsaved:
                return
            if leaving:
                app.exit()
            # After what is said of every save that succeeds again.
            app.call_later(app.say, words)

        return run

    def elsewhere() -> None:
        def save(typed: str) -> None:
            if typed.strip():
                go_on_in(session, typed.strip())

        def told(typed: str | None) -> None:
            if typed and typed.strip():
                done(lambda: None, f"Saved in {typed.strip()}. You go on there.")()

        app.push_screen(
            AskChecked(
                "Save in which file, and go on there?",
                beside,
                check=save,
                more="It must not exist yet; perhaps on another disk.",
            ),
            told,
        )

    if session.conflict and path.exists():
        question = f"Another program changed {name}. Your last step is not in it."

        def over() -> None:
            sure = ("write over it; theirs is kept as a backup (b in Setup)", "no, not now")
            write = done(lambda: keep_mine(session), f"Yours is in {name} again; theirs is kept as a backup.")
            app.push_screen(
                Choose(f"Write over what another program put in {name}?", sure, 1),
                lambda place: write() if place == 0 else None,
            )

        both = done(
            lambda: go_on_in(session, beside),
            f"Saved in {beside}. You go on there; {name} is as they left it.",
        )
        theirs = done(
            lambda: take_theirs(session), "Theirs is taken. u brings yours back; it is kept as a backup too."
        )
        ways = [
            _Way(f"keep both: save yours as {beside_name} and go on there", both),
            _Way("keep yours: write over theirs", over),
            _Way("keep theirs: read the file again", theirs),
        ]
    elif session.conflict:
        question = f"{name} was removed or moved. Your last step is on no disk."
        ways = [
            _Way(
                "write it again, where it was", done(lambda: keep_mine(session), f"{name} is written again.")
            ),
            _Way("save it in another file and go on there", elsewhere),
        ]
    else:
        question = session.unsaved
        ways = [
            _Way("try again", done(session.retry_save, "Saved.")),
            _Way("save it in another file and go on there", elsewhere),
        ]
    if leaving:
        ways.append(_Way("leave; what is not saved is kept as a backup, if there is room", app.exit))
    later = "stay here" if leaving else "not now: nothing is written until you choose (S or F12 asks again)"
    lines = [clip(line, app.size.width - 4) for line in (*(way.line for way in ways), later)]

    def chosen(place: int | None) -> None:
        if place is not None and place < len(ways):
            ways[place].act()

    app.push_screen(Choose(question, lines), chosen)

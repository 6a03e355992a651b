"""The welcome: go on with a project, start one, open a file, or look at a demo."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Footer, OptionList, Static
from textual.widgets.option_list import Option

from harness_tui.preferences import read_state, remember_cautions
from harness_tui.projects import open_demo, open_project, recent_projects
from harness_tui.screens.room import Foot, styles_beside
from harness_tui.session import Session
from harness_tui.widgets.ask_checked import AskChecked
from harness_tui.widgets.lines import SayLine, clip
from model.errors import LoomError
from model.values import shown

if TYPE_CHECKING:
    from harness_tui.app import LoomApp

DEMO_WORDS = {
    "gritter": "a winter gritter lorry, about thirty lamps, tilting cab, hopper with a plug",
    "tug": "a harbour tug with navigation lights on a 12 V battery",
    "lighthouse": "three lamps, to learn on",
}


class WelcomeScreen(Screen[None]):
    """Lists what can be opened. With `start` it asks the questions of a new project for that file at once."""

    DEFAULT_CSS = styles_beside(__file__)

    BINDINGS: ClassVar = [
        Binding("n", "new", "new project", id="welcome.new"),
        Binding("o", "open", "open a file", id="welcome.open"),
        Binding("g", "guide", "guide", tooltip="five steps on a small demo", id="welcome.guide"),
        Binding("c", "cautions", "cautions", id="welcome.cautions"),
        Binding("q", "app.quit", "quit", id="welcome.quit"),
        Binding("question_mark", "help", "help", key_display="?", id="welcome.help"),
    ]
    WORD = "Welcome"
    HELP = (
        "Open what you worked on last with Enter, or begin. A new project asks a few questions, each with "
        "its answer filled in; all of it can be changed later. A demo opens as a copy of your own."
    )

    def __init__(self, start: Path | None = None) -> None:
        super().__init__()
        self.start = start
        self._choices: dict[str, Callable[[], None]] = {}

    def compose(self) -> ComposeResult:
        yield Static(
            Content.styled("loomtag", "bold $accent")
            + Content("   plan, mark, build and later trace the lamp wiring of a scale model"),
            id="title",
            markup=False,
        )
        yield OptionList(markup=False)
        with Foot():
            yield SayLine()
            yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        self._list()
        self.query_one(OptionList).focus()
        if not read_state().cautions_seen:
            self.action_cautions()
        elif self.start is not None:
            self.action_new()

    # --- the list ---

    def _list(self) -> None:
        from harness_tui.examples import names

        options = self.query_one(OptionList)
        options.clear_options()
        self._choices = {"new": self.action_new, "open": self.action_open}
        recent = recent_projects()
        if recent:
            options.add_option(_heading("go on with"))
        for place, path in enumerate(recent):
            self._add(f"recent{place}", _file_line(path, self.app.size.width - 8), partial(self._open, path))
        options.add_option(_heading("begin"))
        self._add("new", f"{'new project':<16}n   a few questions, each already answered", self.action_new)
        self._add("open", f"{'open a file':<16}o", self.action_open)
        self._add(
            "guide", f"{'guide':<16}g   five steps on the lighthouse, to a printed label", self.action_guide
        )
        options.add_option(_heading("look at a demo"))
        for name in names():
            line = f"{name:<16}{DEMO_WORDS.get(name, '')}"
            self._add(f"demo-{name}", clip(line, self.app.size.width - 8), partial(self._open_demo, name))
        # The likeliest is under the cursor: Enter goes on with the last project.
        options.highlighted = 1

    def _add(self, key: str, line: str, act: Callable[[], None]) -> None:
        self._choices[key] = act
        self.query_one(OptionList).add_option(Option(Content(f"  {line}"), id=key))

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        act = self._choices.get(event.option_id or "")
        if act is not None:
            act()

    # --- what can be done ---

    @property
    def _loom(self) -> LoomApp:
        return cast("LoomApp", self.app)

    def _enter(self, opening: Callable[[], Session]) -> None:
        try:
            session = opening()
        except LoomError as error:
            self.query_one(SayLine).say(error.message(), "error")
            return
        self._loom.enter(session)

    def _open(self, path: Path) -> None:
        self._enter(lambda: open_project(path))

    def _open_demo(self, name: str) -> None:
        self._enter(lambda: open_demo(name))

    def action_guide(self) -> None:
        """Open a fresh lighthouse with the guide over it."""
        from harness_tui.screens.guide import DEMO

        self._enter(lambda: open_demo(DEMO, fresh=True))
        if self._loom.open_session is not None:
            self._loom.call_after_refresh(self._loom.begin_guide)

    def action_new(self) -> None:
        """Ask the questions of a new project."""
        from harness_tui.screens.start import StartScreen

        def made(session: Session | None) -> None:
            if session is not None:
                self._loom.call_later(self._loom.enter, session)

        self.app.push_screen(StartScreen(self.start), made)

    def action_open(self) -> None:
        """Ask for a file and open it."""

        opened: list[Session] = []

        def read(typed: str) -> None:
            if typed.strip():
                opened.append(open_project(Path(typed.strip())))

        def told(typed: str | None) -> None:
            if opened:
                self._loom.enter(opened[0])

        here = sorted(path.name for path in Path.cwd().glob("*.toml"))[:200]
        found = (
            f"{len(here)} here: {', '.join(shown(name) for name in here[:4])}"
            if here
            else "none in this folder"
        )
        more = f"A project file, such as  gritter.toml  ({found})"
        self.app.push_screen(
            AskChecked(
                "Open which file?", check=read, more=clip(more, self.app.size.width - 4), choices=here
            ),
            told,
        )

    def action_help(self) -> None:
        """Say what can be done here."""
        from harness_tui.screens.help import HelpScreen

        self.app.push_screen(HelpScreen(self))

    def action_cautions(self) -> None:
        """Show the cautions."""
        from harness_tui.screens.cautions import CautionsScreen

        def closed(read: bool | None) -> None:
            if read:
                remember_cautions()
            if self.start is not None:
                self.action_new()

        self.app.push_screen(CautionsScreen(), closed)


def _heading(words: str) -> Option:
    return Option(Content.styled(words, "dim"), disabled=True)


def _file_line(path: Path, width: int) -> str:
    folder = str(path.parent)
    home = str(Path.home())
    if folder == home or folder.startswith(home + os.sep):
        folder = "~" + folder[len(home) :]
    return clip(f"{shown(path.stem, 24):<26}{shown(folder, 200)}", width)

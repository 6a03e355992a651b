"""The app: its eight screens, the keys that work everywhere, and the open session."""

from __future__ import annotations

import contextlib
import gc
import os
import signal
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

import attrs
from textual.app import SystemCommand
from textual.binding import Binding
from textual.filter import Monochrome, NoColor
from textual.screen import ModalScreen, Screen
from textual.timer import Timer

from harness_tui.doors import DOORS, SIDE_DOORS, SIDE_NAMES, maker
from harness_tui.pictures import Cell
from harness_tui.preferences import Preferences, take_effect
from harness_tui.screens.room import Foot, Room
from harness_tui.session import Session
from harness_tui.widgets.contrast import readable
from harness_tui.widgets.key_order import KeyOrder
from model.errors import LoomError
from model.harness import Harness

if TYPE_CHECKING:
    from harness_tui.screens.guide import Guide


@attrs.frozen(kw_only=True)
class Onward:
    """The project to open next, and what to ask for in its Find."""

    path: Path
    asked: str = ""


GUIDE_S = 0.25
"""How often the guide looks whether its step is done."""

DRAW_ANEW_S = 0.3
"""How long after the last change of the window's size all is drawn once more."""

RETRY_S = 5.0
"""How often a save that failed is tried again."""


def where_to_go_on(harness: Harness) -> str:
    """The screen where the person stopped: the bench once it was begun, a walk that is under way, else the
    lamps.
    """
    if harness.progress.bench:
        return "bench"
    begun = harness.progress.walk and any(lamp.run is not None for lamp in harness.lamps)
    return "walk" if begun and any(lamp.run is None for lamp in harness.lamps) else "lamps"


def _has_a_shell() -> bool:
    """Whether the parent is of the same terminal: only that one wakes a program that was suspended."""
    try:
        return os.getsid(os.getppid()) == os.getsid(0)
    except OSError:
        return False


LEAVE_WITHIN_S = 3.0
"""How long a program whose terminal is gone may take to leave; every accepted step is on disk before that."""


class LoomApp(KeyOrder):
    """loomtag with one project open, or at the welcome screen where `session` is None."""

    TITLE = "loomtag"
    picture_cell: Cell | None = None
    """A cell of the terminal, if it draws pictures, as `pictures.Question` found it before the start."""
    CSS_PATH = "app.tcss"
    SCREENS: ClassVar = {door.name: maker(door) for door in (*DOORS, *SIDE_DOORS)}
    BINDINGS: ClassVar = [
        *(
            Binding(
                f"{door.key},{door.field_key}",
                f"door('{door.name}')",
                door.word,
                show=False,
                id=f"go.{door.name}",
            )
            for door in DOORS
        ),
        Binding("slash", "find", "find", show=False, id="find"),
        Binding("exclamation_mark", "findings", "findings", show=False, id="findings"),
        Binding("u", "undo", "undo", show=False, id="undo"),
        Binding("U", "redo", "redo", show=False, id="redo"),
        Binding("question_mark", "help", "help", show=True, key_display="?", id="help"),
        # Before the question that is up, which hears no other key of the app.
        Binding("f1", "help", "help", show=False, priority=True, id="help.f1"),
        Binding("S,f12", "save", "save again", show=False, id="save"),
        Binding("G", "guide", "guide", show=False, id="guide"),
        Binding("escape", "room_before", "back", show=False, id="back"),
        Binding("ctrl+z", "suspend", "suspend", show=False, priority=True, id="suspend"),
        Binding("ctrl+q", "quit", "quit", show=False, priority=True, id="quit"),
    ]

    def __init__(
        self,
        session: Session | None = None,
        *,
        room: str = "",
        asked: str = "",
        new: Path | None = None,
        preferences: Preferences | None = None,
        caution: bool = False,
    ) -> None:
        """`room` is the first screen, `new` a file to ask the questions of a new project for. `asked` is
        looked up in Find at once.

        `preferences` are theme and keys; with `caution` the cautions are shown before anything else.
        """
        super().__init__()
        self._anew: Timer | None = None
        self._session = session
        self.first_room = "find" if asked else room
        self.asked = asked
        self.onward: Onward | None = None
        self.new = new
        self.preferences = preferences or Preferences()
        self.caution = caution
        self._trail: list[str] = []
        self._asked = False
        self.guide: Guide | None = None
        self._guide_timer: Timer | None = None
        if session is not None:
            session.told = self._save_told

    @property
    def session(self) -> Session:
        """The open project."""
        if self._session is None:
            raise RuntimeError("no project is open")
        return self._session

    @property
    def open_session(self) -> Session | None:
        """The open project, None at the welcome screen."""
        return self._session

    def on_mount(self) -> None:
        self._take_theme()
        take_effect(self.preferences)
        self._take_keys()
        self.app_resume_signal.subscribe(self, self._resumed)
        for name in ("SIGHUP", "SIGTERM"):
            if hasattr(signal, name) and os.name == "posix":
                # Each accepted step is on disk already: leaving tidily is all there is to do.
                self._loop_signal(getattr(signal, name))
        if self._session is None:
            from harness_tui.screens.welcome import WelcomeScreen

            self.push_screen(WelcomeScreen(self.new))
        else:
            self.enter(self._session)
            if self.caution:
                self._show_cautions()

    def get_css_variables(self) -> dict[str, str]:
        """Variables of the styles; accent, warnings and greyed print can be read on the theme's ground."""
        variables = super().get_css_variables()
        if not self.current_theme.ansi:
            variables["accent"] = readable(variables["text-accent"], variables["background"])
            for name in ("text-warning", "text-error"):
                variables[name] = readable(variables[name], variables["background"])
            variables["text-disabled"] = variables["text-muted"]  # what an empty line takes is to be read too
        return variables

    def _take_theme(self) -> None:
        """Take the person's theme, and with NO_COLOR no colour whatever the theme.

        The library settles on a filter before it knows the theme: with one that keeps the terminal's own
        colours it would turn both print and ground black.
        """
        self.theme = self.preferences.theme
        if self.no_color:
            kept = [one for one in self._filters if not isinstance(one, Monochrome | NoColor)]
            self._filters = [*kept, NoColor() if self.native_ansi_color else Monochrome()]

    def _take_keys(self) -> None:
        """Bind the person's own keys; what can't be bound is said once a screen is up."""
        faults = self.preferences.faults
        if self.preferences.keys:
            from harness_tui.keymap import checked_keys

            kept, wrong = checked_keys(self.preferences.keys)
            self.set_keymap(dict(kept))
            faults = (*faults, *wrong)
        if faults:
            self.call_after_refresh(self._say_faults, faults)

    def _say_faults(self, faults: tuple[LoomError, ...]) -> None:
        if self.room is not None:
            self.room.say("\n".join(fault.message() for fault in faults), "warning")

    def _show_cautions(self) -> None:
        from harness_tui.preferences import remember_cautions
        from harness_tui.screens.cautions import CautionsScreen

        def closed(read: bool | None) -> None:
            if read:
                remember_cautions()

        self.push_screen(CautionsScreen(), closed)

    def _loop_signal(self, number: int) -> None:
        import asyncio
        import threading

        loop = asyncio.get_running_loop()

        def leave(*_: object) -> None:
            loop.call_soon_threadsafe(self.exit, 0)
            # Keys that are still queued, as of a huge paste, must not hold the file of a window that is gone.
            last = threading.Timer(LEAVE_WITHIN_S, os._exit, (0,))
            last.daemon = True
            last.start()

        with contextlib.suppress(ValueError):  # not the main thread, as under some tests
            signal.signal(number, leave)

    def get_default_screen(self) -> Screen[object]:
        """The first screen of an open project stands at the bottom; an empty one in its place would cost a
        layout.
        """
        if self._session is None:
            return super().get_default_screen()
        return self.get_screen(self._first(self._session))

    def _first(self, session: Session) -> str:
        first = self.first_room or where_to_go_on(session.harness)
        if first != "lamps":
            session.begin()  # only the list of lamps can do without tags
        self._trail = [first]
        return first

    def enter(self, session: Session) -> None:
        """Open a project: go to the screen its state asks for."""
        self._session = session
        session.told = self._save_told
        if self.room is None:
            while len(self.screen_stack) > 1:
                self.pop_screen()
            self.push_screen(self._first(session))
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        gc.enable()  # the start runs without
        if self._session is None:
            return
        if self._session.begin():
            self.redraw()
        from harness_tui.projects import notices

        said = notices(self._session)
        if self._session.why_reading:
            said = (f"Only reading. {self._session.why_reading}", *said)
        if said and not self._session.unsaved:
            self.say("\n".join(said), "warning")
        self.set_interval(RETRY_S, self._retry_save)
        if self.asked:
            self.action_go("find", self.asked)

    def change_project(self, path: Path, asked: str = "") -> None:
        """Leave for another project, in which `asked` is looked up; not while a step is not on disk.

        The screens belong to one project: whoever runs the app opens the other in a new one.
        """
        if self._session is not None:
            self._session.retry_save()
            if self._session.unsaved:
                self.say(f"{self._session.unsaved} Save first: S or F12 asks what to do.", "error")
                return
        self.onward = Onward(path=path, asked=asked)
        self.exit()

    def change_setting(self, name: str, value: str | bool | float) -> None:
        """Write one of the person's settings and let it hold at once. Raises BadValue or StoreError."""
        from harness_tui.preferences import change_setting

        self.preferences = attrs.evolve(change_setting(name, value), faults=())
        self._take_theme()
        take_effect(self.preferences)

    def bell(self) -> None:
        """Ring, unless the person wants no sound."""
        if self.preferences.sound:
            super().bell()

    # --- the guide ---

    def begin_guide(self) -> None:
        """Show the guide from its first step that is not done yet."""
        from harness_tui.screens.guide import Guide

        if self.guide is None:
            self.guide = Guide()
        self.guide.closed = False
        self._guide_on()
        if self._guide_timer is None:
            self._guide_timer = self.set_interval(GUIDE_S, self._guide_on)

    def _guide_on(self) -> None:
        """Draw the guide on the screen that is up, or take it off."""
        room = self.room
        if room is None or self._session is None or not room.query(Foot):
            return  # a screen that comes up has no foot for a moment
        from harness_tui.screens.guide import GuideLine

        lines = room.query(GuideLine)
        if self.guide is None or self.guide.closed:
            lines.remove()
        elif not lines:
            room.query(Foot).first(Foot).mount(GuideLine(), before=0)
        else:
            self.guide.go_on(self)
            lines.first(GuideLine).tell(self.guide, self)

    def action_guide(self) -> None:
        """Show the guide, or close it."""
        if self._session is None:
            return
        if self.guide is None or self.guide.closed:
            self.begin_guide()
        else:
            self.guide.closed = True
            self._guide_on()
            self.say("The guide is closed; G brings it back.")

    # --- saving ---

    def say(self, text: str, kind: str = "") -> None:
        """Say something in the speaking line of the screen of the eight that is up."""
        if self.room is not None:
            self.room.say(text, kind)

    def redraw(self) -> None:
        """Draw the screen of the eight that is up anew."""
        if self.room is not None:
            self.room.redraw()

    def _save_told(self) -> None:
        # After what the screen itself says of the step.
        self.call_later(self._tell_save)

    def _tell_save(self) -> None:
        session, room = self._session, self.room
        if session is None or room is None:
            return
        room.tell_head()
        if not session.unsaved:
            self._asked = False
            room.say("Saved again: every step is on disk.")
            return
        more = "S or F12 asks what to do."
        if not session.conflict:
            more = "It is tried again by itself; S or F12 asks what else can be done."
        room.say(f"{session.unsaved} {more}", "error")
        if session.conflict and not self._asked and isinstance(self.screen, Room):
            self._asked = True
            self.action_save()

    def _retry_save(self) -> None:
        if self._session is not None and self._session.unsaved and not self._session.conflict:
            self._session.retry_save()

    def action_save(self) -> None:
        """Try to save what could not be saved, and ask for another way where that fails."""
        if self._session is None:
            return
        self._session.retry_save()
        if self._session.unsaved:
            from harness_tui.screens.saving import ask_about_saving

            ask_about_saving(self)
        else:
            self.say("Every step is on disk.")

    async def action_quit(self) -> None:
        """Leave; where a step could not be saved, ask first."""
        if self._session is not None:
            self._session.retry_save()
            if self._session.unsaved and self._session.path is not None and self.room is not None:
                from harness_tui.screens.saving import ask_about_saving

                ask_about_saving(self, leaving=True)
                return
        self.exit()

    # --- put aside and taken up again ---

    def action_suspend(self) -> None:
        """Go into the background, as other programs of a shell do; `fg` there comes back."""
        if os.name != "posix" or not _has_a_shell():
            self.say("There is no shell here to come back from.", "warning")
            return
        self.action_suspend_process()

    def on_resize(self) -> None:
        # Two sizes in quick succession can leave lines of the first standing.
        if self._anew is not None:
            self._anew.stop()
        self._anew = self.set_timer(DRAW_ANEW_S, self._draw_all)

    def _resumed(self, _: object = None) -> None:
        """Draw everything anew: the shell wrote over it, and not all of it would be drawn by itself."""
        self.call_after_refresh(self._draw_all)

    def _draw_all(self) -> None:
        if not self.screen_stack:
            return  # on the way out
        self.screen.refresh(layout=True)
        for widget in self.screen.query("*"):
            widget.refresh()

    @property
    def room(self) -> Room | None:
        """The screen of the eight that is up, None at the welcome screen."""
        return next((screen for screen in reversed(self.screen_stack) if isinstance(screen, Room)), None)

    def action_door(self, name: str) -> None:
        """Go to one of the screens by its own key. From a screen that was come to through another, as Trace,
        Escape leads back there; else it leads nowhere, so that one Escape too many does not make the next
        letters commands of another screen.
        """
        if not self._trail or self._trail[-1] not in SIDE_NAMES:
            self._trail[:] = self._trail[-1:] if self._trail[-1:] == [name] else []
        self.action_go(name)

    def action_go(self, name: str, ref: str = "") -> None:
        """Go to one of the screens from another; `ref` puts the cursor there, Escape leads back."""
        if self._session is None or self.room is None:
            return
        while self.screen_stack and not isinstance(self.screen, Room):
            self.pop_screen()
        if not self._trail or self._trail[-1] != name:
            self._trail.append(name)
            del self._trail[:-20]
            self._show(name)
        if ref:
            self.call_later(self._arrive, ref)

    def _arrive(self, ref: str) -> None:
        room = self.room
        if room is not None:
            # In the room's own queue: one that is gone to for the first time has its widgets by then.
            room.call_later(room.go_to, ref)

    def _show(self, name: str) -> None:
        """Bring one of the screens up. The first one stays at the bottom, the others take turns upon it."""
        bottom = self.screen_stack[0]
        if self.get_screen(name) is bottom:
            while self.screen is not bottom:
                self.pop_screen()
        elif self.screen is bottom:
            self.push_screen(name)
        else:
            self.switch_screen(name)

    def action_room_before(self) -> None:
        """One step back: to the screen before."""
        if len(self._trail) > 1:
            self._trail.pop()
            self._show(self._trail[-1])
        else:
            self.say("Escape ends here: 1 to 8 and 0 are the other screens, ctrl+q leaves.")

    def hears_commands(self) -> bool:
        """Whether letters are commands now, and no text."""
        return isinstance(self.screen, Room) and super().hears_commands()

    def scanned(self, text: str) -> bool:
        """Look up what a scanner sent while a list had the cursor; False if it was typed."""
        from harness_tui.widgets.scans import is_label_text

        if is_label_text(self.session.harness, text):
            self.action_go("find", text)
        elif text.upper() == text:
            self.say(
                f"{text} came in one go, as from a scanner, and is no label: nothing was done.", "warning"
            )
        else:
            return False
        return True

    def action_find(self) -> None:
        """Go to Find with an empty line to type in."""
        self.action_go("find", "ask")

    def action_findings(self) -> None:
        """List the findings."""
        if self._session is not None:
            from harness_tui.screens.findings import FindingsScreen

            self.push_screen(FindingsScreen())

    def action_help(self) -> None:
        """Explain the screen and the focused widget."""
        from harness_tui.screens.help import HelpScreen

        if isinstance(self.screen, HelpScreen):
            self.screen.action_close()
        elif isinstance(self.screen, Room | ModalScreen) or hasattr(self.screen, "HELP"):
            self.push_screen(HelpScreen(self.screen))

    def action_undo(self) -> None:
        """Go one edit back."""
        self._travel(lambda: self.session.undo(), "Undone", "Nothing to undo.")

    def action_redo(self) -> None:
        """Go one edit forward."""
        self._travel(lambda: self.session.redo(), "Done again", "Nothing to do again.")

    def _travel(self, step: Callable[[], str], said: str, nothing: str) -> None:
        room = self.room
        if self._session is None or room is None:
            return
        try:
            words = step()
        except LoomError as error:
            room.say(error.message(), "error")
            return
        room.redraw()
        room.say(f"{said}: {words}." if words else nothing)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """The palette: every screen and every action that works now."""
        from harness_tui.palette import commands

        return commands(self)

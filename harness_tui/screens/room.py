"""The base of the eight screens: head line, body, speaking line, keys; drawn anew when the harness
changes.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, cast

from textual.actions import parse
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import Screen
from textual.widgets import Footer

from harness_tui.session import Edit, Session
from harness_tui.widgets.lines import HeadLine, SayLine
from model.errors import LoomError

if TYPE_CHECKING:
    from harness_tui.app import LoomApp


def styles_beside(module_file: str) -> str:
    """The style sheet beside a screen's module, to be its default style.

    Textual parses a screen's default style once, when the screen is first gone to; a style sheet named by
    CSS_PATH would have it parse all others anew as well.
    """
    return Path(module_file).with_suffix(".tcss").read_text("utf-8")


class Foot(Vertical):
    """What stands at the bottom: the speaking line over the keys that work now."""

    DEFAULT_CSS = """
    Foot { dock: bottom; height: auto; }
    Foot Footer { dock: none; }
    Foot FooterKey { margin-right: 2; }
    """


class Room(Screen[None]):
    """One of the eight screens.

    A subclass gives `WORD` (its name in the head line), `compose_body`, and `show_harness`, which draws
    the session's harness and is called whenever the screen comes up or the harness has changed.
    """

    WORD = ""
    HELP = ""
    _usable: tuple[object, ...] = ()
    _to_draw: Callable[[], None] | None = None
    _left = False

    def compose(self) -> ComposeResult:
        yield HeadLine()
        yield from self.compose_body()
        with Foot():
            yield SayLine()
            yield Footer(compact=True, show_command_palette=False)

    def compose_body(self) -> ComposeResult:
        """The widgets between head and foot."""
        yield from ()

    def show_harness(self) -> None:
        """Draw the session's harness."""

    def where(self) -> str:
        """The screen's name and place for the head line, as "Walk 12 of 31"."""
        return self.WORD

    def go_to(self, ref: str) -> None:
        """Put the cursor on what `ref` names, as a finding asks."""

    @property
    def loom(self) -> LoomApp:
        """The app, by its own type."""
        return cast("LoomApp", self.app)

    @property
    def session(self) -> Session:
        """The open project."""
        return self.loom.session

    def on_screen_suspend(self) -> None:
        self._left = isinstance(self.app.screen, Room)

    def on_screen_resume(self) -> None:
        if self._left:
            # What was said before belongs to what was done then; a question over this screen is no leaving.
            self._left = False
            self.say("")
        self.redraw()

    def on_resize(self) -> None:
        if self.is_mounted and self.is_current:
            self.redraw()

    def redraw(self) -> None:
        """Draw the harness and the head line."""
        if not self.query(HeadLine):
            return
        self.show_harness()
        self.tell_head()

    def tell_head(self) -> None:
        """Draw the head line; findings not worked out yet follow once the screen is drawn."""
        known = self.session.findings_known
        self.query_one(HeadLine).tell(self.session, self.where(), self.session.findings if known else None)
        if not known:
            self.call_after_refresh(self._tell_findings)

    def _tell_findings(self) -> None:
        if self.is_attached:
            self.query_one(HeadLine).tell(self.session, self.where(), self.session.findings)

    def after_move(self, draw: Callable[[], None]) -> None:
        """Draw what belongs to the row under the cursor once the cursor itself is seen to have moved.

        Rows that a held key passes over meanwhile are left out.
        """
        if self._to_draw is None:
            self.call_after_refresh(self.draw_moved)
        self._to_draw = draw

    def draw_moved(self) -> None:
        """Draw what `after_move` has put off; before anything is done with what is drawn."""
        draw, self._to_draw = self._to_draw, None
        if draw is not None and self.is_attached:
            draw()

    def tell_keys(self) -> None:
        """Draw the keys in the foot anew where one of them can be used otherwise than before.

        The foot makes all its parts anew, which takes longer than all else that a key does.
        """
        bindings = [binding for binding in self.BINDINGS if isinstance(binding, Binding)]
        parsed = [parse(binding.action) for binding in bindings]
        usable = tuple(self.check_action(name, parameters) for _, name, parameters in parsed)
        if usable != self._usable:
            self._usable = usable
            self.refresh_bindings()

    def say(self, text: str, kind: str = "") -> None:
        """Say something in the speaking line."""
        self.query_one(SayLine).say(text, kind)

    def edit(self, edit: Edit, words: str) -> bool:
        """Make an edit and draw what came of it; what is wrong with it is said. True if it was made."""
        try:
            changed = self.session.apply(edit, words)
        except LoomError as error:
            self.say(error.message(), "error")
            return False
        if self.session.unsaved:
            self.say(self.session.unsaved, "error")
        elif changed:
            self.say("")
        self.redraw()
        return True

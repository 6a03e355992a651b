"""Keys that come faster than the screen follows: each is heard where the one before it has led to.

A terminal hands over what came in one piece as several keys at once: a name typed in one go with the key
that asks for it, or a tag read by a scanner. Left alone, keys that overtake the opening of a question or form
would be heard by the list below it, as commands.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Iterable, Sequence
from weakref import WeakSet

from textual import events, on
from textual.app import App
from textual.message import Message
from textual.screen import ModalScreen, Screen
from textual.timer import Timer
from textual.widget import Widget
from textual.widgets import Input

GAP_S = 0.03
"""Keys of a list that follow each other within this come from no hand: a held key repeats more slowly, and
scanners that work as keyboards need 10 to 20 ms a sign. Common practice, no source.
"""

GAP_WITHIN_S = 0.06
"""The same from the second key on, when it is sure that more than one comes."""

HELD_WITHIN_S = 0.15
"""The same key again within this is a held one: it repeats 10 to 30 times a second, and nobody has read yet
what the one before has brought. Common practice, no source.
"""

LONGEST = 24
"""Characters in what a scanner may send; the code of a label has at most 18."""

SHORTEST = 3
"""The shortest tag."""

ROUNDS = 4
"""So often a message goes up through all that a key may have set going: the key itself, what it submits, the
answer it gives to a question, the screen that is gone to.
"""

LOST_S = 2.0
"""Longer than this no key waits for one before it."""

OPEN_WITHIN_S = 0.5
"""Longer than this no key waits for a question to take the cursor."""

LOOK_AGAIN_S = 0.005

_BETWEEN = "-.+/"
"""Signs in the code of a label, though never the first."""

_MOVES = {"up", "down", "left", "right", "pageup", "pagedown", "home", "end", "tab", "shift+tab"}


class _Through(Message):
    """Follows a key up to the app."""

    def __init__(self, key: int, left: int) -> None:
        super().__init__()
        self.key = key
        self.left = left


class KeyOrder(App[int]):
    """An app that hears keys one after the other, and knows a scanner's burst from commands.

    A key waits until the one before it has done its work: a question that it opens is up and has the cursor.
    Letters and figures that a list hears are held back for `GAP_S`. Those that follow each other within it
    and end with Enter are handed to `scanned` as one text; all others are commands, in their order.
    """

    def __init__(self) -> None:
        super().__init__()
        self._waiting: deque[events.Key | events.Paste] = deque()
        self._commands = 0
        """How many of those that wait are known to be no burst."""
        self._number = 0
        self._under_way: tuple[_Through, Widget, float] | None = None
        self._look_again: Timer | None = None
        self._opening: tuple[Screen[object], float] | None = None
        self._heard: events.Key | None = None
        self.key_held = False
        """Whether the key that is heard now is the one before it, held down."""
        self._open: WeakSet[Screen[object]] = WeakSet()

    def hears_commands(self) -> bool:
        """Whether letters are commands now, and no text."""
        return not isinstance(self.screen, ModalScreen) and not isinstance(self.focused, Input)

    def scanned(self, text: str) -> bool:
        """Take what a scanner sent; False if it was no scanner's and is to be heard as keys."""
        return False

    async def on_event(self, event: events.Event) -> None:
        """Put keys and pasted texts in a row; all else goes its way."""
        if isinstance(event, events.Key | events.Paste) and not event.is_forwarded:
            self._waiting.append(event)
            await self._hear()
        else:
            await super().on_event(event)

    async def _hear(self) -> None:
        while self._waiting:
            wait_s = self._wait_s()
            if wait_s:
                if self._look_again is None:
                    self._look_again = self.set_timer(wait_s, self._again)
                return
            if not self._commands and self._taken_as_scanned():
                continue
            self._commands = max(self._commands - 1, 0)
            event = self._waiting.popleft()
            self._tell_held(event)
            target = self.focused or self.screen
            if isinstance(event, events.Paste) and self._pasted(event.text.strip()):
                self._follow(target)
                continue
            text = isinstance(event, events.Paste) or (event.is_printable and isinstance(target, Input))
            await super().on_event(event)
            if not text and not (isinstance(event, events.Key) and event.key in _MOVES):
                self._follow(target)

    def _tell_held(self, event: events.Key | events.Paste) -> None:
        before, self._heard = self._heard, event if isinstance(event, events.Key) else None
        same = before is not None and self._heard is not None and before.key == self._heard.key
        self.key_held = same and before is not None and event.time - before.time < HELD_WITHIN_S

    def _pasted(self, text: str) -> bool:
        """Whether a pasted text was a label's, in a list that has no line to put it in."""
        may_be = SHORTEST <= len(text) <= LONGEST and text.isascii() and text.isprintable()
        return may_be and self.hears_commands() and self.scanned(text)

    async def _again(self) -> None:
        self._look_again = None
        await self._hear()

    def _wait_s(self) -> float:
        """How long the first key has to wait at least; 0 if it can be heard now."""
        if not self._may_hear():
            return LOOK_AGAIN_S
        if self._commands or not self.hears_commands():
            return 0.0
        run = burst(self._waiting)
        if len(run) < len(self._waiting) or not run or len(run) > LONGEST or _held(run):
            return 0.0
        left = _gap_s(len(run)) - (time.monotonic() - run[-1].time)
        return max(left, 0.0)

    # --- one key after the other ---

    def _follow(self, target: Widget) -> None:
        self._number += 1
        self._send_through(target, _Through(self._number, ROUNDS), time.monotonic())

    @on(_Through)
    async def _came_through(self, event: _Through) -> None:
        event.stop()
        if self._under_way is None or self._under_way[0] is not event:
            return
        since, self._under_way = self._under_way[2], None
        if event.left > 1:
            self._send_through(self.focused or self.screen, _Through(event.key, event.left - 1), since)
        await self._hear()

    def _send_through(self, target: Widget, message: _Through, since: float) -> None:
        self._under_way = (message, target, since) if target.post_message(message) else None

    def _may_hear(self) -> bool:
        """Whether the key before has done its work."""
        now = time.monotonic()
        if self._under_way is not None:
            message, target, since = self._under_way
            if now - since > LOST_S:
                self._under_way = None
            elif target.is_attached:
                return False
            else:  # a question that is answered takes with it what was on its way through it
                self._send_through(self.focused or self.screen, _Through(message.key, message.left), since)
                return self._under_way is None
        return self._is_open(self.screen, now)

    def _is_open(self, screen: Screen[object], now: float) -> bool:
        """Whether a screen is up and, if it is a question, something in it has the cursor."""
        if screen in self._open:
            return True
        if self._opening is None or self._opening[0] is not screen:
            self._opening = (screen, now)
        asks = isinstance(screen, ModalScreen) and screen.focused is None
        is_up = screen.is_mounted and not (asks and screen.focus_chain)
        if is_up or now - self._opening[1] > OPEN_WITHIN_S:
            self._opening = None
            self._open.add(screen)
            return True
        return False

    # --- a scanner's burst ---

    def _taken_as_scanned(self) -> bool:
        """Whether what waits begins with a scanner's text, which is done with then; else it is commands."""
        if not self.hears_commands():
            return False
        run = burst(self._waiting)
        self._commands = len(run)
        end = self._waiting[len(run)] if len(run) < len(self._waiting) else None
        ended = isinstance(end, events.Key) and end.key == "enter"
        if end is None or not ended or len(run) < SHORTEST or end.time - run[-1].time > GAP_WITHIN_S:
            return False
        if not self.scanned("".join(key.character or "" for key in run)):
            return False
        for _ in range(len(run) + 1):
            self._waiting.popleft()
        self._commands = 0
        self._follow(self.focused or self.screen)
        return True


def _gap_s(so_many: int) -> float:
    return GAP_S if so_many < 2 else GAP_WITHIN_S


def burst(keys: Iterable[events.Key | events.Paste]) -> list[events.Key]:
    """The first keys, as far as they follow each other too fast for a hand and a label may hold them."""
    run: list[events.Key] = []
    for key in keys:
        if isinstance(key, events.Paste) or (run and key.time - run[-1].time > _gap_s(len(run))):
            break
        sign = key.character or ""
        if not (sign.isascii() and (sign.isalnum() or (sign in _BETWEEN and sign and run))):
            break
        run.append(key)
    return run


def _held(run: Sequence[events.Key]) -> bool:
    """Whether it is one key that is held down."""
    return len(run) >= 4 and len({key.character for key in run}) == 1

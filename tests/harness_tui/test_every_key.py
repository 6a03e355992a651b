"""On every screen: no key is dead or hidden by another, every action is in the palette, every screen is near,
and F1 explains whatever has the focus.

One app is walked through once: each screen is drawn a single time, and all that is to be said of it is asked
there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from textual.actions import parse
from textual.binding import ActiveBinding, Binding
from textual.dom import DOMNode
from textual.pilot import Pilot
from textual.screen import ModalScreen, Screen
from textual.widget import Widget
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.doors import DOORS, SIDE_DOORS
from harness_tui.preferences import remember_cautions
from harness_tui.projects import close_project, open_demo
from harness_tui.screens.help import HelpScreen, explained
from harness_tui.screens.room import Room
from harness_tui.widgets.form import FieldInput, Form
from model.routing.allot import settle
from tests.harness_tui.homes import own_home
from tests.harness_tui.pressing import pressed
from tests.harness_tui.screen_text import screen_text

ROOMS = (*DOORS, *SIDE_DOORS)

TAKEN_BY_THE_LIST = {"enter", "left", "right", "up", "down", "pageup", "pagedown", "space"}
"""A focused list or line hears these first; what its own action does then is the screen's (RowSelected)."""


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return own_home(tmp_path, monkeypatch)


def gritter() -> LoomApp:
    remember_cautions()
    session = open_demo("gritter")
    session.begin()
    return LoomApp(session)


async def shown(app: LoomApp, pilot: Pilot[int], name: str) -> Room:
    app.action_go(name)
    await pressed(pilot)
    await pilot.pause(0.02)
    assert app.room is not None
    return app.room


def single(bindings: object) -> Iterator[Binding]:
    """Bindings with one key each."""
    for binding in bindings:  # type: ignore[attr-defined]
        if isinstance(binding, Binding):
            yield from Binding.make_bindings([binding])


def answers(node: DOMNode, binding: Binding) -> bool:
    """Whether there is something that does the action."""
    target, name, _ = parse(binding.action)
    owner: object = node
    if target:
        owner = {"app": node.app, "screen": node.screen}[target]
    return hasattr(owner, f"action_{name}") or hasattr(owner, f"_action_{name}")


def unheard(room: Room, active: dict[str, ActiveBinding]) -> Iterator[str]:
    """Each key of the screen that does nothing, or something else, when it is pressed."""
    for binding in single(room.BINDINGS):
        _, name, parameters = parse(binding.action)
        if not room.check_action(name, parameters):
            continue
        heard = active.get(binding.key)
        if heard is None:
            yield f"{room.WORD}: {binding.key} ({binding.id}) is dead"
        elif heard.binding.id != binding.id and not (
            binding.key in TAKEN_BY_THE_LIST and heard.node is room.focused
        ):
            yield f"{room.WORD}: {binding.key} ({binding.id}) is hidden by {heard.node}"


def wrong_keys(app: LoomApp, room: Room) -> Iterator[str]:
    """What is wrong with the keys of a screen, and with those of the app on it."""
    active = app.screen.active_bindings
    yield from unheard(room, active)
    for binding in single(app.BINDINGS):
        heard = active.get(binding.key)
        mine = heard is not None and (heard.node is app or heard.node is room)
        if not mine and not isinstance(app.focused, Input):
            yield f"{room.WORD}: {binding.key} ({binding.id}) of the app is not heard"
    for node in (app, room, *room.query("*")):
        for binding in single(vars(type(node)).get("BINDINGS", ())):
            if not answers(node, binding):
                yield f"{type(node).__name__}: {binding.action} does nothing"
    own = [binding.key for binding in single(room.BINDINGS)]
    yield from (f"{room.WORD}: {key} is bound twice" for key in set(own) if own.count(key) > 1)


ALWAYS_OFFERED = {"Find a tag", "Findings", "Undo", "Redo", "Help", "Save again", "Guide", "Suspend", "Quit"}


def missing_in_the_palette(app: LoomApp, room: Room) -> Iterator[str]:
    """Each action that works now and can't be chosen by its name."""
    offered = {command.title for command in app.get_system_commands(app.screen)}
    for binding in room.BINDINGS:
        assert isinstance(binding, Binding)
        _, name, parameters = parse(binding.action)
        named = f"{room.WORD}: {binding.description}"
        if binding.description and room.check_action(name, parameters) and named not in offered:
            yield f"{named} is not offered"
    for title in ({one.word for one in DOORS} | ALWAYS_OFFERED) - offered:
        yield f"{room.WORD}: {title} is not offered"
    for side in SIDE_DOORS:
        if not any(title.startswith(side.word) for title in offered):
            yield f"{room.WORD}: {side.word} is not offered"


def far_away(app: LoomApp, room: Room) -> Iterator[str]:
    """Each of the nine whose key does not lead there from here, wherever the cursor is."""
    active = app.screen.active_bindings
    for door in DOORS:
        heard = active.get(door.field_key)
        if heard is None or heard.node is not app or heard.binding.action != f"door('{door.name}')":
            yield f"{room.WORD}: {door.field_key} does not lead to {door.word}"


def unexplained(app: LoomApp, room: Room) -> Iterator[str]:
    """Each widget that can have the focus and of which the help says nothing."""
    before = room.focused
    for widget in room.query("*"):
        if isinstance(widget, Widget) and widget.focusable and not isinstance(widget, FieldInput):
            room.set_focus(widget)
            words = explained(room.focused)
            if room.focused is not widget or not words or words not in help_text(room):
                yield f"{room.WORD}: {widget} is not explained"
    room.set_focus(before)


def help_text(of: Screen[object]) -> str:
    """What the help of a screen says now."""
    return "\n".join(line.plain for line in HelpScreen(of)._lines())


Asked = Callable[[LoomApp, Room], Iterator[str]]
ASKED: tuple[Asked, ...] = (wrong_keys, missing_in_the_palette, far_away, unexplained)


async def f1_shows(app: LoomApp, pilot: Pilot[int], words: str) -> None:
    """F1 brings the words up, and goes again."""
    assert words, (app.screen, app.focused)
    await pressed(pilot, "f1")
    assert isinstance(app.screen, HelpScreen)
    text = " ".join(screen_text(app).replace("\u2502", " ").split())
    assert " ".join(words.split())[:30] in text, words
    await pressed(pilot, "f1")
    assert not isinstance(app.screen, HelpScreen)


async def test_every_screen_hears_offers_and_explains(work: Path) -> None:
    app = gritter()
    wrong: list[str] = []
    async with app.run_test(size=(80, 24)) as pilot:
        for door in ROOMS:
            room = await shown(app, pilot, door.name)
            if door.name == "find":
                wrong += far_away(app, room)  # while a line is typed in, too
                await f1_shows(app, pilot, explained(app.focused))
                # Letters are text there: look once an answer has the cursor.
                line = app.focused
                assert isinstance(line, Input)
                line.value = "Beacon front"
                await pressed(pilot, "enter")
                if isinstance(app.focused, Input):
                    await pressed(pilot, "escape")
            for ask in ASKED:
                wrong += ask(app, room)
            for form in room.query(Form):
                if form.display and form.fields:
                    form.start()
                    await pressed(pilot)
                    field = app.focused
                    assert isinstance(field, FieldInput)
                    assert field.field.label in explained(field)
                    assert explained(field) in help_text(room)
                    wrong += far_away(app, room)
                    form.end()
        close_project(app.session)
    assert not wrong, "\n".join(wrong)


BEHIND = {"plans": "routes.plans", "spools": "routes.spools", "commissioning": "bench.commission"}
"""Screens beside the nine, and the binding that leads there from the one it begins with. Trace has to know of
what.
"""


def keys_to(app: LoomApp, binding_id: str) -> tuple[str, str]:
    """The key of the screen that has the binding, and the binding's own."""
    door = next(door for door in DOORS if binding_id.startswith(f"{door.name}."))
    room = app.get_screen(door.name)
    return door.field_key, next(one.key for one in single(room.BINDINGS) if one.id == binding_id)


QUESTIONS = (("lamps", "a"), ("setup", "b"), ("outputs", "l"), ("labels", "s"), ("walk", "o"))


async def test_the_keys_lead_where_they_say(work: Path) -> None:
    """From every screen each of the nine is one key away, as the test above finds; here they are pressed."""
    app = gritter()
    asked = 0
    async with app.run_test(size=(80, 24)) as pilot:
        way: dict[str, tuple[str, ...]] = {door.name: (door.field_key,) for door in DOORS}
        way |= {name: keys_to(app, binding_id) for name, binding_id in BEHIND.items()}
        for there, keys in sorted(way.items(), key=lambda one: (len(one[0]), one[0])):
            for key in keys:
                await pressed(pilot, key)
                await pilot.pause(0.02)
            assert app.room is not None
            assert app.room.WORD.lower() == there, keys
        # A question hears no other key of the app, but F1.
        for name, key in QUESTIONS:
            await shown(app, pilot, name)
            await pressed(pilot, key)
            if isinstance(app.screen, ModalScreen) and app.focused is not None:
                asked += 1
                await f1_shows(app, pilot, explained(app.focused))
                await pressed(pilot, "escape")
        assert asked >= 3
        # The palette opens, and what is chosen in it is done.
        await shown(app, pilot, "outputs")
        await pressed(pilot, "ctrl+p")
        for letter in "papers":
            await pilot.press(letter)
        await pilot.pause(0.5)
        await pressed(pilot, "enter")
        await pilot.pause(0.3)
        assert app.room is not None
        assert app.room.WORD == "Papers"
        close_project(app.session)


def test_the_demo_is_one_that_has_everything(work: Path) -> None:
    session = open_demo("gritter")
    harness = settle(session.harness)
    assert harness.lamps
    assert harness.legs
    assert any(lamp.run for lamp in harness.lamps)
    close_project(session)

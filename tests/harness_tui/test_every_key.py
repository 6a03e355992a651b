"""On every screen: no key is dead or hidden by another, every action is in the palette, every screen is near,
and F1 explains whatever has the focus.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.actions import parse
from textual.binding import ActiveBinding, Binding
from textual.dom import DOMNode
from textual.screen import ModalScreen, Screen
from textual.widget import Widget
from textual.widgets import Input

from harness_tui.app import DOORS, SIDE_DOORS, LoomApp
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


async def shown(app: LoomApp, pilot: object, name: str) -> Room:
    app.action_go(name)
    await pressed(pilot)  # type: ignore[arg-type]
    await pilot.pause(0.2)  # type: ignore[attr-defined]
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


async def test_no_key_is_dead_or_hidden(work: Path) -> None:
    app = gritter()
    wrong: list[str] = []
    async with app.run_test(size=(80, 24)) as pilot:
        for door in ROOMS:
            room = await shown(app, pilot, door.name)
            if door.name == "find":
                # While the line is typed in, letters are text: look once an answer has the cursor.
                for word in ("Beacon front", "enter", "escape"):
                    if isinstance(app.focused, Input) and word not in ("enter", "escape"):
                        app.focused.value = word
                    else:
                        await pressed(pilot, word)
            wrong += unheard(room, app.screen.active_bindings)
            for binding in single(app.BINDINGS):
                heard = app.screen.active_bindings.get(binding.key)
                mine = heard is not None and (heard.node is app or heard.node is room)
                if not mine and not isinstance(app.focused, Input):
                    wrong.append(f"{room.WORD}: {binding.key} ({binding.id}) of the app is not heard")
            for node in (app, room, *room.query("*")):
                for binding in single(vars(type(node)).get("BINDINGS", ())):
                    if not answers(node, binding):
                        wrong.append(f"{type(node).__name__}: {binding.action} does nothing")
            own = [binding.key for binding in single(room.BINDINGS)]
            wrong += [f"{room.WORD}: {key} is bound twice" for key in set(own) if own.count(key) > 1]
        close_project(app.session)
    assert not wrong, "\n".join(wrong)


async def test_every_action_is_in_the_palette(work: Path) -> None:
    app = gritter()
    async with app.run_test(size=(80, 24)) as pilot:
        for door in ROOMS:
            room = await shown(app, pilot, door.name)
            offered = {command.title for command in app.get_system_commands(app.screen)}
            for binding in room.BINDINGS:
                assert isinstance(binding, Binding)
                _, name, parameters = parse(binding.action)
                if binding.description and room.check_action(name, parameters):
                    assert f"{room.WORD}: {binding.description}" in offered, binding
            assert {one.word for one in DOORS} <= offered
            assert {
                "Find a tag",
                "Findings",
                "Undo",
                "Redo",
                "Help",
                "Save again",
                "Guide",
                "Quit",
            } <= offered
            for side in SIDE_DOORS:
                assert any(title.startswith(side.word) for title in offered), side.word
        # It opens, and what is chosen in it is done.
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


async def test_every_screen_is_two_keys_from_every_other(work: Path) -> None:
    app = gritter()
    way = {door.name: (door.field_key,) for door in DOORS}
    way |= {"plans": ("f3", "P"), "spools": ("f3", "s"), "commissioning": ("f6", "c")}
    async with app.run_test(size=(80, 24)) as pilot:
        for here in ROOMS:
            for there in ROOMS:
                if there.name == "trace" or there is here:
                    continue
                await shown(app, pilot, here.name)
                keys = keys_to(app, there.name)
                assert len(keys) <= 2, (here.name, there.name)
                await pressed(pilot, *keys)
                assert app.room is not None
                assert there.word == app.room.WORD, (here.name, there.name, keys)
        close_project(app.session)


def keys_to(app: LoomApp, name: str) -> tuple[str, ...]:
    """The keys that lead to a screen from any other, by the bindings as they are."""
    for door in DOORS:
        if door.name == name:
            return (door.field_key,)
    for door in DOORS:
        room = app.get_screen(door.name)
        for binding in single(room.BINDINGS):
            if name in LEADS_TO.get(binding.id or "", ()):
                return (door.field_key, binding.key)
    raise AssertionError(name)


LEADS_TO = {
    "routes.plans": ("plans",),
    "routes.spools": ("spools",),
    "bench.commission": ("commissioning",),
    "find.trace": ("trace",),
}


def focusable(screen: Screen[object]) -> Iterator[Widget]:
    for widget in screen.query("*"):
        if isinstance(widget, Widget) and widget.focusable:
            yield widget


async def test_f1_explains_every_widget_with_the_focus(work: Path) -> None:
    app = gritter()
    seen = 0
    async with app.run_test(size=(80, 24)) as pilot:

        async def help_of(words: str) -> None:
            nonlocal seen
            assert words, (app.screen, app.focused)
            await pressed(pilot, "f1")
            assert isinstance(app.screen, HelpScreen)
            text = " ".join(screen_text(app).replace("\u2502", " ").split())
            assert " ".join(words.split())[:30] in text, words
            await pressed(pilot, "f1")
            assert not isinstance(app.screen, HelpScreen)
            seen += 1

        for door in ROOMS:
            room = await shown(app, pilot, door.name)
            for widget in [*focusable(room)]:
                if not isinstance(widget, FieldInput):
                    widget.focus()
                    await pressed(pilot)
                    await help_of(explained(app.focused))
            for form in room.query(Form):
                if form.display and form.fields:
                    form.start()
                    await pressed(pilot)
                    field = app.focused
                    assert isinstance(field, FieldInput)
                    assert field.field.label in explained(field)
                    await help_of(explained(field))
                    await pressed(pilot, "escape")
        # Questions are explained too, though they hear no other key of the app.
        for name, key in (("lamps", "a"), ("setup", "b"), ("outputs", "l"), ("labels", "s"), ("walk", "o")):
            await shown(app, pilot, name)
            await pressed(pilot, key)
            if isinstance(app.screen, ModalScreen):
                if app.focused is not None:
                    await help_of(explained(app.focused))
                await pressed(pilot, "escape")
        close_project(app.session)
    assert seen > 20


def test_the_demo_is_one_that_has_everything(work: Path) -> None:
    session = open_demo("gritter")
    harness = settle(session.harness)
    assert harness.lamps
    assert harness.legs
    assert any(lamp.run for lamp in harness.lamps)
    close_project(session)

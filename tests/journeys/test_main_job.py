"""The main job by keys alone at 80x24: an empty project, lamps, routes, walk, labels, bench, a look-up."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from textual.pilot import Pilot
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.doors import DOORS
from harness_tui.projects import close_project, new_project, open_project
from model.editing import new_harness
from model.integrity import broken_references
from model.routing.wires import derive
from model.store import dumps, load
from tests.harness_tui.screen_text import screen_text

_NAMES = {" ": "space", ".": "full_stop", "-": "minus", "?": "question_mark", "/": "slash"}


class Person:
    """Somebody at the keyboard: presses keys, types texts, reads the screen."""

    def __init__(self, pilot: Pilot[object]) -> None:
        self.pilot = pilot

    async def press(self, *keys: str) -> None:
        """Press keys by their names, and wait until the screen has followed."""
        await self.pilot.press(*keys)
        await self.pilot.pause()

    async def type(self, text: str) -> None:
        """Type a text key by key."""
        await self.press(*(_NAMES.get(sign, sign) for sign in text))

    async def sees(self, *texts: str) -> str:
        """The screen, once all these texts stand on it; fails with the screen otherwise."""
        for _ in range(200):
            screen = screen_text(self.pilot.app)
            if all(text in screen for text in texts):
                return screen
            await self.pilot.pause(0.05)
        raise AssertionError(f"{texts} never came up:\n{screen_text(self.pilot.app)}")


@pytest.fixture(autouse=True)
def own_places(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The person's folders, empty."""
    for name in ("HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME"):
        place = tmp_path / name
        place.mkdir()
        monkeypatch.setenv(name, str(place))
    monkeypatch.chdir(tmp_path)
    return tmp_path


async def add_lamp(person: Person, name: str, waypoint: str, output: str) -> None:
    await person.press("a")
    await person.type(name)
    await person.press("enter")
    await person.sees("the named place it sits at")
    if waypoint:
        await person.type(waypoint)
    await person.press("enter", "enter")
    await person.type(output)
    await person.press("enter", "escape")


async def test_from_an_empty_project_to_labels_and_a_look_up(tmp_path: Path) -> None:
    path = tmp_path / "lorry.toml"
    session = new_project(path, new_harness("Lorry", "LRY"))
    app = LoomApp(session)
    async with app.run_test(size=(80, 24)) as pilot:
        person = Person(pilot)
        await person.sees("No lamps yet", "Press a")
        await add_lamp(person, "Headlamp left", "nose", "1")
        await person.press("m")
        await person.sees("Headlamp right")
        await add_lamp(person, "Tail lamp", "rear", "2")
        assert [lamp.output for lamp in load(path).lamps] == [1, 1, 2]  # on disk before the next key

        await person.press("2")
        await person.sees("not connected")
        for place, length in (("nose", "240"), ("rear", "310")):
            rows = [line for line in screen_text(app).splitlines() if line.strip()]
            assert any(place in line for line in rows)
            await person.press("home")
            for _ in range(6):
                if app.screen.query_one("ThingTable").here == next(  # type: ignore[attr-defined]
                    point.id for point in session.harness.waypoints if point.name == place
                ):
                    break
                await person.press("down")
            await person.press("l")
            await person.sees(f"A leg from {place}")
            await person.press("enter")
            await person.sees("Length of the leg")
            await person.type(length)
            await person.press("enter")
        assert {leg.length_mm for leg in session.harness.legs} == {240, 310}

        await person.press("4")
        await person.sees("Walk 1 of 3", "240 legs +24 slack +15 lamp +60 loop +6 strip = 345 mm")
        await person.press("enter")
        await person.sees("Walk 2 of 3", "at nose with Headlamp left         saves 255 mm for 1 joint   <")
        await person.press("enter")
        await person.sees("Walk 3 of 3")
        await person.press("escape")  # one step back, to look at the run before
        await person.sees("Walk 2 of 3", "as it stands")
        await person.press("n", "enter")
        await person.sees("Every lamp is walked")
        assert not broken_references(session.harness)

        await person.press("6")
        # Two wires are so short that one sleeve stands for both their ends; as flags there are two of each.
        await person.sees("Labels 14", "not printed")
        await person.press("k", "p")
        await person.sees("Print 16 labels")
        await person.press("enter")
        await person.sees("16 labels marked as printed")
        await person.press("escape")
        await person.sees("Marked as printed; u takes the mark off again")
        assert all(record.printed_lamp and record.printed_controller for record in load(path).ledger)

        await person.press("5")
        await person.sees("Bench 1 of 8")
        first = derive(session.harness).wires[0]
        tag = session.harness.ledger.live()[first.key].tag
        for _ in range(3):
            await person.press("space")
        assert session.harness.ledger.get(tag).steps == ("cut", "sleeve", "strip")

        await person.press("7")
        await person.type(f"{tag[0]}?{tag[2]}".lower())
        await person.press("enter")
        await person.sees(f"read as {tag}", "Headlamp left")
        close_project(session)

    # A year later: nothing was lost, and what is printed is what the file says.
    again = open_project(path)
    assert dumps(again.harness) == dumps(session.harness)
    close_project(again)
    pictures = sorted(tmp_path.glob("LRY-labels/*/*.png"))
    assert len(pictures) == 16
    live = {record.tag for record in again.harness.ledger if record.live}
    for picture in pictures:
        with Image.open(picture) as image:
            read = zxingcpp.read_barcodes(image.convert("L").resize((image.width * 4, image.height * 4)))
        assert {code.text for code in read} == {picture.stem}
        assert picture.stem.split("-")[1] in live


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
async def test_every_screen_is_at_most_two_keys_from_every_other(
    size: tuple[int, int], walked: Callable[[], LoomApp]
) -> None:
    app = walked()
    async with app.run_test(size=size) as pilot:
        person = Person(pilot)
        for door in DOORS:
            # In a field the function keys do what the figures do elsewhere.
            await person.press(door.field_key if isinstance(app.focused, Input) else door.key)
            screen = await person.sees(door.word)
            assert door.word in screen.splitlines()[0]
            assert len(screen.splitlines()) <= size[1]


@pytest.fixture
def walked() -> Callable[[], LoomApp]:
    """Makes an app over the lorry of the demos."""
    from harness_tui.examples import text
    from harness_tui.session import Session
    from model.store import loads

    return lambda: LoomApp(Session(loads(text("gritter"))), room="lamps")

"""The person's keys: known ids only, keys a terminal sends, no two things on one key."""

from __future__ import annotations

from collections import Counter

import pytest

from harness_tui.app import LoomApp
from harness_tui.doors import DOORS
from harness_tui.keymap import FORBIDDEN, Bound, checked_keys, known_bindings
from harness_tui.session import Session
from model.editing import new_harness
from tests.harness_tui.pressing import pressed
from tests.harness_tui.screen_text import screen_text

KNOWN = (
    Bound(id="undo", owner="LoomApp", keys=("u",), words="undo"),
    Bound(id="back", owner="LoomApp", keys=("escape",), words="back"),
    Bound(id="walk.skip", owner="WalkScreen", keys=("s",), words="skip"),
    Bound(id="walk.way", owner="WalkScreen", keys=("w",), words="way"),
    Bound(id="walk.back", owner="WalkScreen", keys=("escape",), words="back"),
    Bound(id="lamps.add", owner="LampsScreen", keys=("a",), words="add"),
)


@pytest.mark.parametrize(
    ("keys", "kept"),
    [
        ({}, {}),
        ({"walk.skip": "k"}, {"walk.skip": "k"}),
        ({"walk.skip": "K"}, {"walk.skip": "K"}),
        ({"walk.skip": "+"}, {"walk.skip": "plus"}),
        ({"walk.skip": "f5,ctrl+k, space"}, {"walk.skip": "f5,ctrl+k,space"}),
        ({"walk.skip": "a"}, {"walk.skip": "a"}),  # the a of another screen
        ({"walk.skip": "w", "walk.way": "s"}, {"walk.skip": "w", "walk.way": "s"}),  # changed over
        ({"walk.skip": "s"}, {"walk.skip": "s"}),  # as it was
    ],
)
def test_keys_that_can_stand(keys: dict[str, str], kept: dict[str, str]) -> None:
    found, faults = checked_keys(keys, KNOWN)
    assert (dict(found), faults) == (kept, ())


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({"walk.hop": "k"}, "is not known (walk.skip, walk.way, walk.back)"),
        ({"walk.skip": ""}, "is no key"),
        ({"walk.skip": "k,"}, "is no key"),
        ({"walk.skip": "banana"}, "is no key"),
        ({"walk.skip": "ctrl+banana"}, "is no key"),
        ({"walk.skip": "\x1b"}, "is no key"),
        ({"walk.skip": "w"}, "w is the key of walk.way"),
        ({"walk.skip": "u"}, "u is the key of undo"),
        ({"undo": "a"}, "a is the key of lamps.add"),
        ({"walk.skip": "w", "walk.way": "w"}, "w is the key of"),
        *(({"walk.skip": key}, "can't be told from another key") for key in FORBIDDEN),
    ],
)
def test_keys_that_cannot(keys: dict[str, str], message: str) -> None:
    found, faults = checked_keys(keys, KNOWN)
    assert message in faults[0].message()
    assert "walk.skip" not in found or "walk.way" in keys


def test_one_fault_leaves_the_rest() -> None:
    found, faults = checked_keys({"walk.skip": "k", "walk.hop": "j"}, KNOWN)
    assert dict(found) == {"walk.skip": "k"}
    assert len(faults) == 1


class TestAllBindings:
    def test_ids_are_told_apart_and_none_is_forbidden(self) -> None:
        known = known_bindings()
        assert {door.name for door in DOORS} <= {
            bound.id.removeprefix("go.") for bound in known if bound.id[:3] == "go."
        }
        doubled = [name for name, count in Counter(bound.id for bound in known).items() if count > 1]
        assert doubled == []
        forbidden = [(bound.id, key) for bound in known for key in bound.keys if key in FORBIDDEN]
        assert forbidden == []

    def test_no_screen_takes_a_key_of_the_app_but_escape(self) -> None:
        known = known_bindings()
        everywhere = {key: bound.id for bound in known if bound.owner == "LoomApp" for key in bound.keys}
        rooms = {f"{door.word}Screen" for door in DOORS}
        taken = [
            (bound.id, key, everywhere[key])
            for bound in known
            if bound.owner in rooms
            for key in bound.keys
            if key in everywhere and key != "escape"
        ]
        # Where labels are printed undo first takes the marks of the last print off, else it is the app's.
        assert sorted(taken) == [("find.undo", "u", "undo"), ("labels.undo", "u", "undo")]


async def test_a_mapped_key_works_and_shows() -> None:
    app = LoomApp(Session(new_harness("Tug", "TUG")), room="routes")
    keys, faults = checked_keys({"routes.add": "ctrl+k"})
    assert faults == ()
    async with app.run_test(size=(80, 24)) as pilot:
        app.set_keymap(dict(keys))
        await pressed(pilot, "a")
        assert "Name of the next place" not in screen_text(app)
        await pressed(pilot, "ctrl+k")
        assert "Name of the next place" in screen_text(app)

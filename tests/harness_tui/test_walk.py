"""Walk: letters of merges, what the common can carry, and questions that keep what was typed."""

from __future__ import annotations

import pytest
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.screens.walk import WalkScreen
from harness_tui.session import Session
from harness_tui.widgets.run_lines import (
    FEW_OFFERS,
    MOST_OFFERS,
    _sum_lines,
    load_lines,
    merge_lines,
    offer_words,
)
from model import editing
from model.harness import Harness, Polarity
from model.routing.allot import settle
from model.routing.offers import Merge, Offer
from model.routing.walk import LeadOffer, Proposal, propose, with_merge
from tests.harness_tui.pressing import pressed, typed
from tests.harness_tui.screen_text import screen_text


def star(lamps: int = 6, limit_ma: float = 500.0) -> Harness:
    """A controller at one end, a row of waypoints behind it, a lamp on each; common pins of a low limit."""
    harness = editing.new_harness("Row", "ROW")
    block = harness.controller.blocks[0]
    for common in block.commons:
        harness = editing.edit_common(harness, block.name, common.pin, limit_ma=limit_ma)
    before = harness.controller.at
    for number in range(1, lamps + 1):
        harness = editing.add_waypoint(harness, f"place {number}")
        point = harness.waypoints[-1].id
        harness = editing.set_leg(harness, before, point, length_mm=200)
        harness = editing.add_lamp(harness, f"Lamp {number}", at=point, output=1)
        before = point
    return settle(harness)


def walked(harness: Harness, count: int) -> Harness:
    """The first lamps walked with what is filled in."""
    for lamp in harness.lamps[:count]:
        harness = settle(propose(harness, lamp.id, MOST_OFFERS).accept(harness))
    return harness


def proposed(harness: Harness) -> Proposal:
    """The run of the first lamp that has none."""
    return propose(harness, next(lamp.id for lamp in harness.lamps if lamp.run is None), MOST_OFFERS)


def texts(lines: object) -> list[str]:
    return [line.plain for line in lines]  # type: ignore[attr-defined]


def test_a_merge_has_the_same_letter_in_any_window() -> None:
    harness = walked(star(), 5)
    proposal = proposed(harness)
    assert len(proposal.offers[harness.controller.common_polarity]) == MOST_OFFERS
    large = texts(merge_lines(harness, proposal, 90, MOST_OFFERS))
    small = texts(merge_lines(harness, proposal, 77, FEW_OFFERS))
    assert len(small) == 2 * FEW_OFFERS < len(large)

    def by_letter(lines: list[str]) -> dict[str, str]:
        return {line[10]: " ".join(line[13:].split())[:24] for line in lines}

    assert by_letter(small).items() <= by_letter(large).items()
    assert list(by_letter(large)) == list("abcdefghij")
    assert list(by_letter(small)) == list("abefgj")


def test_the_merge_that_is_taken_is_shown_in_a_small_window_too() -> None:
    harness = walked(star(), 5)
    proposal = proposed(harness)
    polarity = harness.controller.common_polarity
    proposal = with_merge(harness, proposal, polarity, 3)
    assert sum(" <" in line for line in texts(merge_lines(harness, proposal, 77, FEW_OFFERS))) == 2
    assert any("[d]" in line for line in texts(merge_lines(harness, proposal, 77, FEW_OFFERS)))


def test_the_wire_on_its_own_has_the_same_letter_always() -> None:
    for walked_before in (0, 1, 3, 5):
        harness = walked(star(), walked_before)
        proposal = proposed(harness)
        own = [
            line[10] for line in texts(merge_lines(harness, proposal, 90, MOST_OFFERS)) if "its own" in line
        ]
        assert own == ["e", "j"], walked_before
    # Also once it is what stands.
    lamp_id = proposal.lamp_id
    for polarity in Polarity:
        proposal = with_merge(harness, proposal, polarity, len(proposal.offers[polarity]) - 1)
    harness = settle(proposal.accept(harness))
    lines = texts(merge_lines(harness, propose(harness, lamp_id, MOST_OFFERS), 90, MOST_OFFERS))
    assert [line[10] for line in lines if "as it stands" in line] == ["e", "j"]


async def test_a_merge_that_is_not_shown_is_shown_before_it_is_taken() -> None:
    app = LoomApp(Session(walked(star(), 5)), room="walk")
    async with app.run_test(size=(80, 24)) as pilot:
        screen = app.screen
        assert isinstance(screen, WalkScreen)
        screen.go_to("L6")
        await pilot.pause()
        assert screen.proposal is not None
        taken = dict(screen.proposal.taken)
        assert "[c]" not in screen_text(app)
        await pressed(pilot, "c")
        assert dict(screen.proposal.taken) == taken
        assert "[c]" in screen_text(app)
        assert "c again takes that one" in screen_text(app)
        await pressed(pilot, "c")
        assert screen.proposal.taken[Polarity.PLUS] == 2


async def test_a_measured_length_is_proposed_at_once_and_a_wrong_one_questioned() -> None:
    app = LoomApp(Session(walked(star(2), 2)), room="walk")
    async with app.run_test(size=(80, 24)) as pilot:
        screen = app.screen
        assert isinstance(screen, WalkScreen)
        screen.go_to("L2")
        await pressed(pilot, "t")
        await typed(pilot, "420", "enter")
        assert screen.proposal is not None
        assert screen.proposal.way == ()
        said = " ".join(screen_text(app).split())
        assert "The measured run of 420 mm is proposed: Enter accepts it." in said
        assert "measured run of 420 mm, 400 mm by its legs" in said
        assert "420 measured +" in said
        assert app.session.harness.lamp("L2").run.way != (), "not accepted yet"  # type: ignore[union-attr]
        await pressed(pilot, "t")
        await typed(pilot, "42", "enter")
        assert "42 mm measured, but 400 mm by its legs" in " ".join(screen_text(app).split())
        await pressed(pilot, "enter")
        assert app.session.harness.lamp("L2").run.way == ()  # type: ignore[union-attr]


@pytest.mark.parametrize("width", [60, 77, 100])
def test_a_cut_length_can_be_added_up_in_any_window(width: int) -> None:
    sums = "150 legs +80 moving +20 slack +15 lamp +60 loop +8 strip +8 joint -5 own lead +4 up"
    lines = texts(_sum_lines("cut     + 5JX  ", sums, "340 mm", width))
    assert all(len(line) <= width for line in lines)
    whole = " ".join(line[15:].strip() for line in lines)
    assert whole == f"{sums} = 340 mm"


@pytest.mark.parametrize("room", [50, 62, 66, 90])
@pytest.mark.parametrize("retires", [("K7L",), ("K7L", "H4E"), ("K7L", "H4E", "9C9")])
def test_what_a_merge_retires_is_never_cut_off(room: int, retires: tuple[str, ...]) -> None:
    harness = star()
    offer = Offer(
        merge=Merge(at=harness.waypoints[1].id, gather=("L1",)),
        at=harness.waypoints[1].id,
        saves_mm=1540,
        joints=2,
        lamps=("L1",),
        retires=retires,
    )
    words = offer_words(harness, LeadOffer(offer=offer), room)
    assert len(words) <= room
    assert words.endswith("retires " + (", ".join(retires) if len(retires) < 3 else "3 tags"))


def test_more_than_a_common_pin_carries_is_said_before_it_is_accepted() -> None:
    roomy = walked(star(), 3)
    assert texts(load_lines(roomy, proposed(roomy), 77)) == []
    tight = walked(star(limit_ma=35), 3)
    proposal = proposed(tight)
    line = " ".join(texts(load_lines(tight, proposal, 77)))
    assert line.startswith("! common pin A")
    assert "of 35 mA" in line
    # One common pin: nothing that can be taken here helps.
    assert line.endswith("add a common pin in Outputs (3), key c.")
    two = editing.add_common(tight, tight.controller.blocks[0].name)
    pin = two.controller.blocks[0].commons[-1].pin
    two = settle(editing.edit_common(two, two.controller.blocks[0].name, pin, limit_ma=35))
    proposal = proposed(two)
    alone = len(proposal.offers[two.controller.common_polarity]) - 1
    said = " ".join(texts(load_lines(two, with_merge(two, proposal, two.controller.common_polarity, 0), 77)))
    assert "e does not" in said
    better = with_merge(two, proposal, two.controller.common_polarity, alone)
    assert texts(load_lines(two, better, 77)) == []


async def test_what_is_refused_stays_in_the_question() -> None:
    app = LoomApp(Session(star()), room="walk")
    async with app.run_test(size=(80, 24)) as pilot:
        for key, wrong, said, right in (
            ("o", "rot black", "ROT is no colour", "BU BK"),
            ("o", "BU", "two codes, plus then minus", "blue, black"),
            ("t", "3oo", "3oo is not a number", "300"),
            ("t", "-5", "measured", "300"),
        ):
            await pressed(pilot, key)
            await typed(pilot, wrong, "enter")
            assert isinstance(app.focused, Input), (key, wrong)
            assert app.focused.value == wrong
            assert said in " ".join(screen_text(app).split()), wrong
            await typed(pilot, right, "enter")
            assert isinstance(app.screen, WalkScreen)
        assert app.session.harness.lamps[0].measured_mm == 300
        assert app.screen.proposal is not None
        assert app.screen.proposal.wires(Polarity.PLUS)[0].colour == "BU"

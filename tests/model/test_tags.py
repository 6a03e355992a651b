"""Tags: what the code promises, shown for every tag there is, and the ledger."""

from __future__ import annotations

from itertools import combinations, product
from random import Random

import attrs
import pytest

from model.errors import BadValue, Conflict, NotThere
from model.tags import (
    ALPHABET,
    FOLDED,
    PRIME,
    TURNED,
    Event,
    Ledger,
    TagRecord,
    check_character,
    distance,
    is_issuable,
    is_valid,
    issuable,
    new_numbers,
    new_tags,
    recover,
    turned,
    weighted_sum,
)

ALL_THREE = tuple("".join(signs) for signs in product(ALPHABET, repeat=3))
VALID_THREE = tuple(tag for tag in ALL_THREE if is_valid(tag))
VALUE = dict(zip("23456789ACEFHJKLMNPRTXY", range(23), strict=True))


def sums_to_zero(tag: str) -> bool:
    """The rule written out anew: 1*d1 + 2*d2 + 3*d3 (+ 4*d4) divides by 23."""
    return sum((place + 1) * VALUE[tag[place]] for place in range(len(tag))) % 23 == 0


def single_changes(tag: str) -> list[str]:
    """Every tag that differs in exactly one place."""
    return [
        tag[:place] + sign + tag[place + 1 :]
        for place in range(len(tag))
        for sign in ALPHABET
        if sign != tag[place]
    ]


def swaps(tag: str) -> list[str]:
    """Every tag with two different characters changed over, neighbours or not."""
    swapped = []
    for one, other in combinations(range(len(tag)), 2):
        if tag[one] != tag[other]:
            signs = list(tag)
            signs[one], signs[other] = signs[other], signs[one]
            swapped.append("".join(signs))
    return swapped


# --- the code -------------------------------------------------------------------------------------


def test_alphabet_is_a_prime_number_of_signs_without_look_alikes():
    assert ALPHABET == "23456789ACEFHJKLMNPRTXY"
    assert PRIME == 23
    assert len(set(ALPHABET)) == 23
    assert not set(FOLDED) & set(ALPHABET)
    for sign, candidates in FOLDED.items():
        assert candidates, sign
        assert set(candidates) <= set(ALPHABET), sign


@pytest.mark.parametrize(
    ("data", "check"),
    [
        # K = 14, 7 = 5: 14 + 10 = 24, and 24 + 3c = 0 (mod 23) for c = 15 (24 + 45 = 69 = 3 * 23): L.
        ("K7", "L"),
        # 2 = 0, 2 = 0: c = 0.
        ("22", "2"),
        # 3 = 1, 2 = 0: 1 + 3c = 0 (mod 23) for c = 15 (1 + 45 = 46 = 2 * 23): L.
        ("32", "L"),
        # H = 12, 4 = 2: 12 + 4 = 16, and 16 + 3c = 0 for c = 10 (16 + 30 = 46): E.
        ("H4", "E"),
        # Four characters: A = 8, then 8 + 4c = 0 (mod 23) for c = 21 (8 + 84 = 92 = 4 * 23): X.
        ("A22", "X"),
    ],
)
def test_check_character_worked_by_hand(data: str, check: str):
    assert check_character(data) == check


def test_valid_is_exactly_the_right_sum_with_a_digit_and_a_letter():
    for tag in ALL_THREE:
        mixed = any(sign in "23456789" for sign in tag) and any(sign not in "23456789" for sign in tag)
        assert is_valid(tag) == (sums_to_zero(tag) and mixed), tag
        assert (weighted_sum(tag) == 0) == sums_to_zero(tag), tag


@pytest.mark.parametrize(
    "not_a_tag", ["", "K", "K7", "K7LL", "K7LLL", "k7l", "K-L", "K7\n", "K7O", " K7L", "222", "KKK"]
)
def test_what_is_no_tag(not_a_tag: str):
    assert not is_valid(not_a_tag)


def test_every_single_wrong_character_of_every_three_character_tag_is_caught():
    for tag in VALID_THREE:
        assert not [wrong for wrong in single_changes(tag) if is_valid(wrong)], tag


def test_every_swap_of_two_characters_of_every_three_character_tag_is_caught():
    for tag in VALID_THREE:
        assert not [wrong for wrong in swaps(tag) if is_valid(wrong)], tag


def test_every_single_change_and_swap_of_every_four_character_tag_is_caught():
    # The sum alone catches them; leaving digits and letters aside keeps this within a second or two.
    weights = (1, 2, 3, 4)
    for tag in issuable(4):
        values = [VALUE[sign] for sign in tag]
        assert sum(weight * value for weight, value in zip(weights, values, strict=True)) % 23 == 0
        for weight, value in zip(weights, values, strict=True):
            assert 0 not in {weight * (other - value) % 23 for other in range(23) if other != value}, tag
        for one, other in combinations(range(4), 2):
            moved = (weights[one] - weights[other]) * (values[other] - values[one])
            assert values[one] == values[other] or moved % 23 != 0, tag


@pytest.mark.parametrize("tag", issuable(4)[::97])
def test_sampled_four_character_tags_are_caught_by_is_valid_itself(tag: str):
    assert is_valid(tag)
    assert not [wrong for wrong in single_changes(tag) + swaps(tag) if is_valid(wrong)]


def test_any_one_illegible_character_is_recovered_exactly_for_every_three_character_tag():
    for tag in VALID_THREE:
        for place in range(3):
            assert recover(tag[:place] + "?" + tag[place + 1 :]) == (tag,)


@pytest.mark.parametrize("tag", issuable(4)[::97])
def test_any_one_illegible_character_is_recovered_exactly_for_four_characters(tag: str):
    for place in range(4):
        assert recover(tag[:place] + "?" + tag[place + 1 :]) == (tag,)


def test_recover_of_no_and_of_several_illegible_characters():
    assert recover("K7L") == ("K7L",)
    assert recover("K7M") == ()
    assert set(recover("K??")) == {tag for tag in VALID_THREE if tag[0] == "K"}
    assert set(recover("???")) == set(VALID_THREE)


@pytest.mark.parametrize("seen", ["", "?", "K?", "K7?LL", "O7?", "k7?", "K7 ", "K*L"])
def test_recover_of_what_is_no_tag_is_nothing(seen: str):
    assert recover(seen) == ()


# --- upside down ----------------------------------------------------------------------------------


def test_turning_twice_gives_the_sign_back():
    assert {sign: TURNED[TURNED[sign]] for sign in TURNED} == {sign: sign for sign in TURNED}


@pytest.mark.parametrize(
    ("tag", "reads"),
    [("689", "689"), ("X69", "69X"), ("HN7", "LNH"), ("E3L", "7E3"), ("K7L", None), ("2NX", "XN2")],
)
def test_how_a_tag_reads_upside_down(tag: str, reads: str | None):
    assert turned(tag) == reads


@pytest.mark.parametrize("length", [3, 4])
def test_no_issuable_tag_reads_as_a_valid_tag_upside_down(length: int):
    for tag in issuable(length):
        other = turned(tag)
        assert other is None or not is_valid(other), tag


def test_what_is_valid_and_not_issuable_is_so_because_of_turning_only():
    refused = set(VALID_THREE) - set(issuable(3))
    assert refused, "the rule would be untested if it never applied"
    for tag in refused:
        assert is_valid(turned(tag) or ""), tag
        assert not is_issuable(tag)
    assert set(issuable(3)) <= set(VALID_THREE)


def test_how_many_tags_there_are():
    # 23 * 23 = 529 sums of three; 360 hold a digit and a letter, 4 of those read as a tag upside down.
    assert (len(VALID_THREE), len(issuable(3))) == (360, 356)
    assert len(issuable(4)) == len(set(issuable(4)))
    assert len(issuable(4)) > 9000


# --- new tags -------------------------------------------------------------------------------------


def test_new_tags_are_issuable_different_and_repeatable():
    tags = new_tags((), 356)
    assert sorted(tags) == sorted(issuable(3))
    assert new_tags((), 20) == tags[:20]


def test_new_tags_step_to_four_characters_when_three_no_longer_do():
    taken = issuable(3)[:-3]
    tags = new_tags(taken, 10)
    assert [len(tag) for tag in tags] == [3] * 3 + [4] * 7
    assert not set(tags) & set(taken)
    assert all(is_issuable(tag) for tag in tags)
    assert len(set(tags)) == 10


@pytest.mark.parametrize("count", [1, 399, 400, 401, 450])
def test_many_four_character_tags(count: int):
    taken = issuable(3)
    tags = new_tags(taken, count)
    assert len(set(tags)) == count
    assert all(len(tag) == 4 and is_issuable(tag) for tag in tags)


def test_each_new_tag_is_as_unlike_the_others_as_any_free_one_could_be():
    tags = new_tags((), 30)
    for place in range(1, len(tags)):
        before = tags[:place]
        chosen = min(distance(tags[place], old) for old in before)
        best = max(min(distance(tag, old) for old in before) for tag in issuable(3) if tag not in before)
        assert chosen == best


@pytest.mark.parametrize("used", [0, 200])
def test_so_is_each_of_four_characters(used: int):
    """Held against a plain search through all of them."""
    taken = [*issuable(3), *Random(used).sample(issuable(4), used)]
    for tag in new_tags(taken, 2):
        nearest = {free: min(distance(free, old) for old in taken) for free in issuable(4)[::17]}
        assert min(distance(tag, old) for old in taken) >= max(nearest.values())
        taken.append(tag)


def test_what_no_tag_holds_is_no_hindrance():
    """A ledger from a damaged or strange file: the tags in it are kept clear of, whatever they are."""
    tags = new_tags(("0\u00e9\U0001f69a", "501", "A", ""), 5)
    assert all(is_issuable(tag) and len(tag) == 3 for tag in tags)


def test_first_tags_differ_in_two_places_at_least():
    for one, other in combinations(new_tags((), 40), 2):
        assert sum(a != b for a, b in zip(one, other, strict=True)) >= 2


def test_the_last_tag_can_be_had_and_none_after_it():
    everything = issuable(3) + issuable(4)
    assert new_tags(everything[:-1], 1) == everything[-1:]
    with pytest.raises(Conflict) as caught:
        new_tags(everything, 1)
    assert caught.value.remedy


def test_no_tags_wanted_gives_none():
    assert new_tags((), 0) == ()


@pytest.mark.parametrize(
    ("one", "other", "far"),
    [
        ("K7L", "K7L", 0.0),
        ("K7L", "R7L", 0.5),
        ("K7L", "37L", 1.0),
        ("68A", "86A", 1.0),
        ("K7L", "K7LL", 1.0),
    ],
)
def test_distance(one: str, other: str, far: float):
    assert distance(one, other) == distance(other, one) == far


@pytest.mark.parametrize(
    ("output", "taken", "count", "numbers"),
    [
        (5, (), 2, ("501", "502")),
        (None, (), 1, ("001",)),
        (12, ("1201",), 1, ("1202",)),
        (5, ("501", "503"), 2, ("502", "504")),
        (1, ("1001", "1101"), 1, ("101",)),
    ],
)
def test_plain_numbers(output: int | None, taken: tuple[str, ...], count: int, numbers: tuple[str, ...]):
    assert new_numbers(taken, output, count) == numbers


def test_plain_numbers_end_at_99_for_one_output():
    assert len(new_numbers((), 5, 99)) == 99
    with pytest.raises(Conflict):
        new_numbers((), 5, 100)


def test_plain_numbers_of_all_outputs_never_meet():
    numbers = [number for output in (None, *range(1, 100)) for number in new_numbers((), output, 99)]
    assert len(numbers) == len(set(numbers))
    assert max(map(len, numbers)) <= 4


# --- the ledger -----------------------------------------------------------------------------------


def record(tag: str, wire: str = "L1-", **fields: object) -> TagRecord:
    """A record with ends that nothing depends on, unless given."""
    return TagRecord(**{"tag": tag, "wire": wire, "lamp_end": "L1", "controller_end": "A.1", **fields})


@pytest.mark.parametrize(
    ("fields", "printed", "issued"),
    [
        ({}, False, False),
        ({"printed_lamp": "2026-03-03"}, True, True),
        ({"printed_controller": "2026-03-03"}, True, True),
        ({"steps": ("cut",)}, False, True),
        ({"events": (Event(day="2026-03-03", what="seen"),)}, False, False),
    ],
)
def test_issued_is_what_the_world_carries(fields: dict[str, object], printed: bool, issued: bool):
    assert (record("K7L", **fields).printed, record("K7L", **fields).issued) == (printed, issued)


def test_find_get_and_live():
    old = record("K7L", retired="its wire is no longer planned")
    new = record("H4E")
    ledger = Ledger(records=(old, new))
    assert ledger.find("K7L") is old
    assert ledger.get("H4E") is new
    assert ledger.find("9C9") is None
    assert ledger.live() == {"L1-": new}
    assert list(ledger) == [old, new]
    with pytest.raises(NotThere, match="9C9"):
        ledger.get("9C9")


def test_replace_keeps_the_order_and_appends_what_is_new():
    ledger = Ledger(records=(record("K7L"), record("H4E", "L2-")))
    changed = ledger.replace(record("9A8", "L3-"), record("K7L", meaning="now known"))
    assert [one.tag for one in changed] == ["K7L", "H4E", "9A8"]
    assert changed.get("K7L").meaning == "now known"
    assert ledger.get("K7L").meaning == "", "the old ledger stays as it was"


def test_with_past_keeps_what_only_the_other_knew_as_retired():
    past = Ledger(records=(record("K7L"),))
    later = Ledger(records=(record("K7L"), record("H4E", "L2-"), record("9A8", "L3-", retired="long gone")))
    undone = past.with_past(later)
    assert [one.tag for one in undone] == ["K7L", "H4E", "9A8"]
    assert undone.get("K7L").live
    assert not undone.get("H4E").live
    assert undone.get("9A8").retired == "long gone"


def test_with_past_does_not_undo_what_happened_in_the_world():
    seen = Event(day="2026-03-04", what="cut")
    past = Ledger(records=(record("K7L"),))
    later = Ledger(
        records=(record("K7L", printed_lamp="2026-03-03", printed_controller="2026-03-04", events=(seen,)),)
    )
    undone = past.with_past(later).get("K7L")
    assert (undone.printed_lamp, undone.printed_controller, undone.events) == (
        "2026-03-03",
        "2026-03-04",
        (seen,),
    )


def test_with_past_takes_back_what_was_written_into_a_history():
    cut, note = Event(day="2026-03-03", what="cut"), Event(day="2026-03-04", what="tested", note="dark")
    past = Ledger(records=(record("K7L", events=(cut,)),))
    later = Ledger(records=(record("K7L", events=(cut, note)),))
    assert past.with_past(later).get("K7L").events == (cut,)
    assert later.with_past(past).get("K7L").events == (cut, note), "done again"
    assert past.with_past(later, made=True).get("K7L").events == (cut, note), "a backup knows nothing of it"


def test_with_past_keeps_the_ends_a_printed_label_was_made_for():
    # The tag followed its wire from pin 1 to pin 2, then its label was printed; both edits are undone.
    past = Ledger(records=(record("K7L", meaning="to pin 1"),))
    later = Ledger(
        records=(record("K7L", controller_end="A.2", meaning="to pin 2", printed_lamp="2026-03-03"),)
    )
    undone = past.with_past(later).get("K7L")
    assert (undone.controller_end, undone.meaning) == ("A.2", "to pin 2")
    # The other way round the ends are the record's own already.
    assert later.with_past(past).get("K7L") == later.get("K7L")


def test_with_past_knows_what_the_last_print_said():
    # Printed, the lamp renamed, printed again: undone, the wire still carries the second label.
    past = Ledger(records=(record("K7L", printed_lamp="2026-03-03", said_lamp="first"),))
    later = Ledger(records=(record("K7L", printed_lamp="2026-03-04", said_lamp="second"),))
    undone = past.with_past(later).get("K7L")
    assert (undone.printed_lamp, undone.said_lamp) == ("2026-03-04", "second")


def test_with_past_undoes_steps_but_a_backup_does_not():
    past = Ledger(records=(record("K7L", meaning="to pin 1"),))
    cut = {"steps": ("cut",), "cut_mm": 170.0, "events": (Event(day="2026-03-03", what="cut"),)}
    later = Ledger(records=(record("K7L", controller_end="A.2", meaning="to pin 2", **cut),))
    undone = past.with_past(later).get("K7L")
    assert (undone.steps, undone.cut_mm, undone.meaning) == ((), None, "to pin 1")
    restored = past.with_past(later, made=True).get("K7L")
    assert (restored.steps, restored.cut_mm, restored.controller_end) == (("cut",), 170.0, "A.2")
    assert later.with_past(past, made=True).get("K7L") == later.get("K7L")


def test_with_past_twice_changes_nothing_more():
    past = Ledger(records=(record("K7L"),))
    later = Ledger(records=(record("K7L", printed_lamp="2026-03-03"), record("H4E", "L2-")))
    once = past.with_past(later)
    assert once.with_past(later) == once
    assert once.with_past(past) == once


@pytest.mark.parametrize(
    "fields",
    [
        {"tag": ""},
        {"tag": "K7LLL"},
        {"tag": 7},
        {"wire": "x" * 21},
        {"meaning": "a\nb"},
        {"cut_mm": float("inf")},
        {"cut_mm": -1.0},
        {"cut_mm": True},
        {"printed_lamp": "2026-03-03 12:00"},
        {"retired": "x" * 251},
    ],
)
def test_a_record_refuses(fields: dict[str, object]):
    with pytest.raises(BadValue):
        record(**{"tag": "K7L", **fields})


def test_records_are_frozen():
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        record("K7L").tag = "H4E"  # type: ignore[misc]

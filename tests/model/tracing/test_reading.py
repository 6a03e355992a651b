"""What a badly read tag may have been."""

from __future__ import annotations

from itertools import product

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model import editing
from model.harness import Harness
from model.tags import ALPHABET, FOLDED, Ledger, TagRecord, TagScheme, issuable, new_tags
from model.tracing.reading import FOLDED_DIGITS, by_tag, readings, slips


def with_tags(*tags: str, scheme: TagScheme = TagScheme.CODE) -> Harness:
    """A harness whose ledger holds these tags, of no wires."""
    harness = editing.set_settings(editing.new_harness("Lorry", "GRT"), tag_scheme=scheme)
    records = tuple(
        TagRecord(tag=tag, wire=f"L{place}-", lamp_end=f"L{place}", controller_end="A.1")
        for place, tag in enumerate(tags, 1)
    )
    return attrs.evolve(harness, ledger=Ledger(records=records))


FIVE_HUNDRED = new_tags((), 500)
MODEL = with_tags(*FIVE_HUNDRED)


def test_every_tag_of_500_wires_is_worked_out_with_any_one_character_illegible():
    for tag in FIVE_HUNDRED:
        for place in range(len(tag)):
            seen = f"{tag[:place]}?{tag[place + 1 :]}"
            assert [reading.record.tag for reading in readings(MODEL, seen)] == [tag]


def test_one_wrong_character_puts_the_true_tag_among_the_first_three():
    """All 500 tags, every place, every wrong character of the alphabet: not a sample."""
    total = first = among_three = 0
    for tag in FIVE_HUNDRED:
        for place, wrong in product(range(len(tag)), ALPHABET):
            if wrong == tag[place]:
                continue
            seen = f"{tag[:place]}{wrong}{tag[place + 1 :]}"
            found = [reading.record.tag for reading in slips(MODEL, seen)]
            total += 1
            first += found[0] == tag
            among_three += tag in found[:3]
    assert total == 22 * sum(map(len, FIVE_HUNDRED))
    assert among_three / total >= 0.95
    # A wrong character that looks like the right one goes before those that do not.
    assert first / total > 0.5


def test_upside_down_a_k_is_still_a_k():
    turned = {reading.record.tag: reading.reason for reading in slips(with_tags("K7L", "H4E"), "7LK")}
    assert turned["K7L"] == "7LK is K7L held upside down"


def test_a_wrong_character_is_never_taken_for_another_tag():
    for tag in FIVE_HUNDRED[:100]:
        for place, wrong in product(range(len(tag)), ALPHABET):
            if wrong != tag[place]:
                assert readings(MODEL, f"{tag[:place]}{wrong}{tag[place + 1 :]}") == []


@pytest.mark.parametrize(
    ("seen", "tag", "reason"),
    [
        ("K7?", "K7L", "the third character is L"),
        ("?7L", "K7L", "the first character is K"),
        ("K*L", "K7L", "the second character is 7"),
        ("K71", "K7L", "1 may be an L"),
        ("KIL", "K7L", "I may be a 7"),
        ("B2A", "82A", "B may be an 8"),
        ("B?A", "82A", "B may be an 8, the second character is 2"),
    ],
)
def test_what_can_be_read_only_in_one_way(seen: str, tag: str, reason: str):
    (reading,) = readings(with_tags("K7L", "H4E", "82A"), seen)
    assert (reading.record.tag, reading.reason) == (tag, reason)


@pytest.mark.parametrize("sign", FOLDED)
def test_every_letter_that_no_tag_holds_is_read_as_what_it_looks_like(sign: str):
    assert sign not in ALPHABET
    for meant in FOLDED[sign]:
        tag = next(tag for tag in issuable(3) if meant in tag)
        found = readings(with_tags(tag), tag.replace(meant, sign, 1))
        assert [reading.record.tag for reading in found] == [tag]


@pytest.mark.parametrize(
    ("seen", "tag", "reason"),
    [
        ("K7E", "K7L", "E may be an L"),
        ("K2L", "K7L", "2 may be a 7"),
        ("K9L", "K7L", "7 as the second character, not 9"),
        ("7KL", "K7L", "7 and K may have changed places"),
        ("KL7", "K7L", "L and 7 may have changed places"),
        ("KL", "K7L", "7 may be missing"),
        ("K77L", "K7L", "the second character may be too much"),
        ("H9N", "N6H", "H9N is N6H held upside down"),
    ],
)
def test_slips(seen: str, tag: str, reason: str):
    found = {reading.record.tag: reading.reason for reading in slips(with_tags("K7L", "H4E", "N6H"), seen)}
    assert found == {tag: reason}


def test_likelier_slips_come_first():
    # 6 looks like 8 and not like 4; that two characters changed places is a little less likely again.
    harness = with_tags("6HA", "H4A", "H8A")
    assert [reading.record.tag for reading in slips(harness, "H6A")] == ["H8A", "H4A", "6HA"]
    assert [reading.cost for reading in slips(harness, "H6A")] == [0.5, 1.0, 1.1]


def test_two_wrong_characters_only_where_one_explains_nothing():
    harness = with_tags("K7L", "K4E")
    assert [reading.record.tag for reading in slips(harness, "K7E")] == ["K7L", "K4E"]
    assert [reading.record.tag for reading in slips(harness, "XXL")] == ["K7L"]
    assert slips(harness, "XXX") == []


@pytest.mark.parametrize(
    ("seen", "found"),
    [
        ("5O1", ["501"]),
        ("S01", ["501"]),
        ("50?", ["501", "502"]),
        ("5?1", ["501"]),
        ("B01", []),
        ("OO1", ["001"]),
    ],
)
def test_plain_numbers_are_read_as_digits(seen: str, found: list[str]):
    harness = with_tags("501", "502", "001", "0100", scheme=TagScheme.NUMBER)
    assert [reading.record.tag for reading in readings(harness, seen)] == found


@pytest.mark.parametrize(("seen", "best"), [("510", "501"), ("5011", "501"), ("901", "501"), ("010", "001")])
def test_plain_numbers_misread(seen: str, best: str):
    harness = with_tags("501", "502", "001", scheme=TagScheme.NUMBER)
    assert best in [reading.record.tag for reading in slips(harness, seen)][:2]


def test_digits_have_no_reading_beside_themselves():
    assert not set(FOLDED_DIGITS) & set("0123456789")


def test_nothing_legible_says_nothing():
    assert readings(MODEL, "???") == []
    assert slips(MODEL, "???") == []


def test_ledger_is_indexed_once():
    assert by_tag(MODEL.ledger) is by_tag(MODEL.ledger)
    assert list(by_tag(MODEL.ledger)) == list(FIVE_HUNDRED)


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet=st.characters(codec="utf-8"), min_size=1, max_size=6))
def test_any_text_is_read_or_not_but_never_fails(seen: str):
    for reading in (*readings(MODEL, seen), *slips(MODEL, seen)):
        assert reading.record.tag in FIVE_HUNDRED
        assert reading.reason
        assert reading.cost > 0

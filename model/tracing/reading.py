"""What a badly read tag may have been: illegible characters, look-alikes, slips of eye and fingers."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import combinations, product
from types import MappingProxyType

import attrs

from model.harness import Harness
from model.memo import by_identity
from model.tags import ALPHABET, FOLDED, TURNED, UNKNOWN, Ledger, TagRecord, TagScheme, distance

FOLD_COST = 0.25
TURNED_COST = 0.6
SWAP_COST = 1.1
LENGTH_COST = 1.2
MORE_THAN_ONE = 0.25
"""How unlikely each slip is, where one character read as one that looks nothing like it counts 1.

Common practice, no source.
"""

DIGITS = "0123456789"

FOLDED_DIGITS: Mapping[str, str] = MappingProxyType(
    {
        "O": "0",
        "Q": "0",
        "D": "0",
        "I": "1",
        "L": "17",
        "Z": "2",
        "S": "5",
        "G": "6",
        "B": "8",
        "T": "7",
        "A": "4",
    }
)
"""Letters and the digit they may have been, where tags are plain numbers (common practice, no source)."""

READ_TURNED: Mapping[str, str] = MappingProxyType({**TURNED, "K": "K", "W": "M", "V": "A", "D": "P"})
"""What a character seen upside down may be, also where it looks only a little like it (common practice, no
source).
"""

_MOST_TRIES = 50_000
"""More combinations than this are not tried one by one."""


@attrs.frozen(kw_only=True)
class Reading:
    """A tag of the ledger that may have been meant, and why; the smaller `cost`, the likelier."""

    record: TagRecord
    reason: str
    cost: float


@by_identity
def by_tag(ledger: Ledger) -> Mapping[str, TagRecord]:
    """The records by their tag."""
    return MappingProxyType({record.tag: record for record in ledger})


def signs(harness: Harness) -> str:
    """The characters that tags of this project are made of."""
    return DIGITS if harness.settings.tag_scheme is TagScheme.NUMBER else ALPHABET


def _options(harness: Harness, sign: str) -> str:
    """What a seen character can have been: itself, its look-alikes, or an empty text for anything."""
    if harness.settings.tag_scheme is TagScheme.NUMBER:
        return sign if sign in DIGITS else FOLDED_DIGITS.get(sign, "")
    return sign if sign in ALPHABET else FOLDED.get(sign, "")


def readings(harness: Harness, seen: str) -> list[Reading]:
    """The tags that `seen` is if each character was read right as far as it could be. In order of the ledger.

    A `?`, or what is no letter or digit, stands for any character; a look-alike for what it looks like.
    """
    options = [_options(harness, sign) for sign in seen]
    if not any(options):
        return []
    index = by_tag(harness.ledger)
    if options.count("") <= 1:
        hits = [index[tag] for tag in _spelt(options, signs(harness)) if tag in index]
    else:
        pattern = re.compile("".join(f"[{option}]" if option else "." for option in options))
        hits = [record for tag, record in index.items() if pattern.fullmatch(tag)]
    return [Reading(record=record, reason=_reason(seen, record.tag), cost=FOLD_COST) for record in hits]


def _spelt(options: list[str], anything: str) -> Iterator[str]:
    return map("".join, product(*(option or anything for option in options)))


def slips(harness: Harness, seen: str) -> list[Reading]:
    """The tags one slip away from `seen`, likeliest first; if there is none, those two wrong characters away.

    A slip is a wrong, missing or added character, two that changed places, or a label held upside down.
    """
    if not 2 <= len(seen) <= len(_PLACES):
        return []
    found: dict[str, Reading] = {}
    index = by_tag(harness.ledger)
    for tag, reason, cost in _one_slip(harness, seen):
        if tag in index and (tag not in found or cost < found[tag].cost):
            found[tag] = Reading(record=index[tag], reason=reason, cost=cost)
    if not found:
        for tag in _near(harness, seen, 2):
            if tag in index:
                cost = _cost(harness, seen, tag)
                found[tag] = Reading(record=index[tag], reason=_reason(seen, tag), cost=cost)
    return sorted(found.values(), key=lambda reading: reading.cost)


def _one_slip(harness: Harness, seen: str) -> Iterator[tuple[str, str, float]]:
    over = "".join(READ_TURNED.get(sign, UNKNOWN) for sign in reversed(seen))
    if over != seen:
        yield over, f"{seen} is {over} held upside down", TURNED_COST
    for tag in _near(harness, seen, 1):
        if tag in by_tag(harness.ledger):
            yield tag, _reason(seen, tag), _cost(harness, seen, tag)
    for one, other in combinations(range(len(seen)), 2):
        swapped = list(seen)
        swapped[one], swapped[other] = swapped[other], swapped[one]
        yield "".join(swapped), f"{seen[one]} and {seen[other]} may have changed places", SWAP_COST
    for place in range(len(seen)):
        yield seen[:place] + seen[place + 1 :], f"the {_PLACES[place]} character may be too much", LENGTH_COST
    for place, sign in product(range(len(seen) + 1), signs(harness)):
        yield seen[:place] + sign + seen[place:], f"{sign} may be missing", LENGTH_COST


def _near(harness: Harness, seen: str, wrong: int) -> Iterator[str]:
    """All spellings in which so many of the legible characters are taken for wrong."""
    options = [_options(harness, sign) for sign in seen]
    anything = signs(harness)
    legible = [place for place, option in enumerate(options) if option]
    tries = len(anything) ** (options.count("") + wrong)
    if tries > _MOST_TRIES:
        return
    for places in combinations(legible, wrong):
        yield from _spelt(
            ["" if place in places else option for place, option in enumerate(options)], anything
        )


def _cost(harness: Harness, seen: str, tag: str) -> float:
    """How unlikely it is that `tag` is read as `seen`; they are of one length."""
    costs = []
    for sign, meant in zip(seen, tag, strict=True):
        options = _options(harness, sign)
        if meant not in options and options:
            costs.append(min(distance(option, meant) for option in options))
        elif sign != meant:
            costs.append(FOLD_COST)
    return sum(costs) + MORE_THAN_ONE * max(len(costs) - 1, 0)


_PLACES = ("first", "second", "third", "fourth", "fifth")


def _reason(seen: str, tag: str) -> str:
    """Where `seen` and `tag` differ, in words: "B may be an 8", "the second character is 7"."""
    reasons = []
    for place, (sign, meant) in enumerate(zip(seen, tag, strict=True)):
        if sign == meant:
            continue
        if sign == UNKNOWN or not sign.isalnum():
            reasons.append(f"the {_PLACES[place]} character is {meant}")
        elif sign not in ALPHABET or distance(sign, meant) < 1:
            reasons.append(f"{sign} may be {_article(meant)} {meant}")
        else:
            reasons.append(f"{meant} as the {_PLACES[place]} character, not {sign}")
    return ", ".join(reasons) or "as it stands"


def _article(sign: str) -> str:
    return "an" if sign in "8AEFHLMNRX" else "a"

"""Tags: the short codes on wires, their check character, recovery, and the ledger that never forgets.

A tag is two data characters and a check character from an alphabet of 23 without look-alikes. With the
value of a character its index, 1*d1 + 2*d2 + 3*c = 0 (mod 23); four characters use the weights 1 to 4.
23 is a prime and the weights differ from each other and from 0, hence every single wrong character and every
swap of two different characters breaks the sum, and any one missing character follows from the others
(the argument of ISO/IEC 7064 for its pure systems, here with a prime that suits the alphabet).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from enum import StrEnum
from functools import lru_cache
from itertools import product
from types import MappingProxyType

import attrs

from model.errors import Conflict, NotThere
from model.values import in_range, text

ALPHABET = "23456789ACEFHJKLMNPRTXY"
PRIME = len(ALPHABET)
VALUE: Mapping[str, int] = MappingProxyType({sign: index for index, sign in enumerate(ALPHABET)})
UNKNOWN = "?"

FOLDED: Mapping[str, str] = MappingProxyType(
    {
        "0": "C",
        "O": "C",
        "Q": "C",
        "D": "C",
        "1": "L7",
        "I": "L7",
        "S": "5",
        "Z": "27",
        "B": "8",
        "G": "6C",
        "U": "L",
        "V": "Y",
        "W": "M",
    }
)
"""Characters no tag holds, and what they may have been: a smudge or a slip of the eye (common practice, no
source).
"""

TURNED: Mapping[str, str] = MappingProxyType(
    {
        "6": "9",
        "9": "6",
        "8": "8",
        "H": "H",
        "N": "N",
        "X": "X",
        "L": "7",
        "7": "L",
        "E": "3",
        "3": "E",
        "2": "2",
        "5": "5",
    }
)
"""What a character reads as when its label is held upside down. 2 and 5 turn into themselves in many faces.
"""


LAMP_STEP = "lamp"
"""The bench step that joins a wire to its lamp, with the resistor where it is the plus wire."""


class TagScheme(StrEnum):
    """How a project names its wires."""

    CODE = "code"
    NUMBER = "number"


def weighted_sum(tag: str) -> int:
    """Sum of weight times value modulo 23; 0 for a valid tag. `tag` holds only characters of the alphabet."""
    return sum(weight * VALUE[sign] for weight, sign in enumerate(tag, 1)) % PRIME


def check_character(data: str) -> str:
    """The character that completes `data` (two or three characters of the alphabet) to a tag."""
    weight = len(data) + 1
    return ALPHABET[-weighted_sum(data) * pow(weight, -1, PRIME) % PRIME]


def is_valid(tag: str) -> bool:
    """Whether `tag` is of the code: 3 or 4 characters, right sum, at least one digit and one letter."""
    return (
        len(tag) in (3, 4)
        and all(sign in VALUE for sign in tag)
        and weighted_sum(tag) == 0
        and any(sign.isdigit() for sign in tag)
        and any(sign.isalpha() for sign in tag)
    )


def turned(tag: str) -> str | None:
    """How `tag` reads upside down, or None where a character of it can't be read that way."""
    signs = [TURNED.get(sign) for sign in reversed(tag)]
    return None if None in signs else "".join(sign for sign in signs if sign)


def is_issuable(tag: str) -> bool:
    """Whether `tag` may be given to a wire: valid, and not a valid tag when held upside down."""
    if not is_valid(tag):
        return False
    other = turned(tag)
    return other is None or not is_valid(other)


def recover(seen: str) -> tuple[str, ...]:
    """Every valid tag that `seen` can be, each `?` standing for one illegible character.

    With one `?` there is at most one answer; with none the answer is `seen` itself or nothing.
    """
    if len(seen) not in (3, 4) or any(sign not in VALUE and sign != UNKNOWN for sign in seen):
        return ()
    choices = [ALPHABET if sign == UNKNOWN else sign for sign in seen]
    return tuple(tag for signs in product(*choices) if is_valid(tag := "".join(signs)))


@lru_cache(maxsize=2)
def issuable(length: int) -> tuple[str, ...]:
    """All tags of `length` (3 or 4) that may be issued, in the order of the alphabet."""
    tags = (data + check_character(data) for data in map("".join, product(ALPHABET, repeat=length - 1)))
    return tuple(tag for tag in tags if is_issuable(tag))


_ALIKE = (
    "68",
    "38",
    "35",
    "56",
    "49",
    "69",
    "2Z",
    "27",
    "7T",
    "7Y",
    "CE",
    "CL",
    "EF",
    "FP",
    "PR",
    "HN",
    "HK",
    "HM",
    "KX",
    "XY",
    "MN",
    "A4",
    "JL",
    "LE",
    "KR",
    "AR",
    "3E",
    "89",
    "TF",
    "TY",
    "YF",
)
_ALIKE_PAIRS = frozenset(pair for two in _ALIKE for pair in (two, two[::-1]))


def distance(one: str, other: str) -> float:
    """How unlike two tags look: 1 for a place that differs, 0.5 where its two characters look alike.

    Tags of different length differ by 1 for each place more. Likeness of shapes: common practice, no source.
    """
    far = float(abs(len(one) - len(other)))
    for first, second in zip(one, other, strict=False):
        if first != second:
            far += 0.5 if first + second in _ALIKE_PAIRS else 1.0
    return far


class _Shapes:
    """All tags of one length that may be issued, side by side: a byte for each in one long integer.

    Ten thousand of them are compared with a tag in a dozen operations on that integer.
    """

    def __init__(self, length: int) -> None:
        self.length = length
        self.tags = tuple(sorted(issuable(length), key=lambda tag: tag[::-1]))
        self.ones = int.from_bytes(b"\x01" * len(self.tags), "big")
        self._places = tuple("".join(signs).encode("ascii") for signs in zip(*self.tags, strict=True))
        self._known: dict[tuple[int, str], int] = {}

    def from_tag(self, tag: str) -> int:
        """The distance of each from `tag`, doubled so as to be whole."""
        apart = self.ones * min(2 * abs(self.length - len(tag)), _FAR // 2)
        for place, sign in enumerate(tag[: self.length]):
            apart += self._from_sign(place, sign)
        return apart

    def _from_sign(self, place: int, sign: str) -> int:
        if (place, sign) not in self._known:
            doubled = bytes(round(2 * distance(sign, chr(other))) for other in range(128))
            self._known[place, sign] = int.from_bytes(self._places[place].translate(doubled * 2), "big")
        return self._known[place, sign]


_FAR = 0x7F
"""More than any doubled distance: what is nearest to a tag while none is in use."""

_shapes = lru_cache(maxsize=2)(_Shapes)


class _Free:
    """How far each tag of one length is from the nearest one in use."""

    def __init__(self, length: int, used: Iterable[str]) -> None:
        self.shapes = _shapes(length)
        self.nearest = self.shapes.ones * _FAR
        self.most = _FAR
        for tag in used:
            self.use(tag)

    def use(self, tag: str) -> None:
        """Take note of a tag in use."""
        apart = self.shapes.from_tag(tag)
        # Where the old distance is the greater or the same, the highest bit of the byte is left.
        high = self.shapes.ones << 7
        greater = ((self.nearest | high) - apart) & high
        self.nearest ^= (self.nearest ^ apart) & (greater - (greater >> 7))

    def best(self) -> str | None:
        """The free tag most unlike those in use, of several the last; None where all are in use."""
        near = self.nearest.to_bytes(len(self.shapes.tags), "big")
        # What is nearest only comes nearer. A tag in use is at distance 0, as no other is to it.
        while self.most:
            place = near.rfind(self.most)
            if place >= 0:
                return self.shapes.tags[place]
            self.most -= 1
        return None


def new_tags(taken: Iterable[str], count: int) -> tuple[str, ...]:
    """`count` new tags, each as unlike those in `taken` and before it as can be; never one of `taken`.

    Three characters as long as there are any, then four. The same input gives the same tags.
    Raises Conflict when there is no tag left (more than 10,000 are in use).
    """
    used = tuple(taken)
    fresh: list[str] = []
    for length in (3, 4):
        if len(fresh) == count:
            break
        free = _Free(length, (*used, *fresh))
        while len(fresh) < count and (best := free.best()) is not None:
            fresh.append(best)
            free.use(best)
    if len(fresh) < count:
        raise Conflict("tags", "all are in use", remedy="Split the model into two projects.")
    return tuple(fresh)


def new_numbers(taken: Iterable[str], output: int | None, count: int) -> tuple[str, ...]:
    """`count` plain numbers for wires of an output: 501, 502 ... for output 5, 001 ... for the common.

    The scheme has no check character. Raises Conflict past 99 wires on one output, or 999 of the common.
    """
    used = set(taken)
    # Every lamp has a wire of the common; no output starts with 0, so 0100 to 0999 are free for it.
    most = 999 if output is None else 99
    free = [tag for place in range(1, most + 1) if (tag := f"{output or 0}{place:02d}") not in used]
    if len(free) < count:
        whose = "the common" if output is None else f"output {output}"
        raise Conflict(whose, f"has had {most} wires", remedy="Use code tags for this model.")
    return tuple(free[:count])


@attrs.frozen(kw_only=True)
class Event:
    """Something that happened to a wire: `day` as YYYY-MM-DD, `what` in a word, `note` free."""

    day: str = attrs.field(validator=text(10))
    what: str = attrs.field(validator=text(20))
    note: str = attrs.field(default="", validator=text(200))


@attrs.frozen(kw_only=True)
class Print:
    """A label of one end ("L" lamp side, "C" controller side) that was printed on `day`.

    `on` is the kind of stock: "sleeve" or "flag", "" where that was not kept. `said` is a mark of what it
    said.
    """

    end: str = attrs.field(validator=text(1, empty=False))
    on: str = attrs.field(default="", validator=text(10))
    day: str = attrs.field(validator=text(10, empty=False))
    said: str = attrs.field(default="", validator=text(16))


@attrs.frozen(kw_only=True)
class TagRecord:
    """One tag and all that is known of its wire.

    `wire` is the wire's key; `lamp_end` and `controller_end` are the references of its ends and `meaning`
    says both in words as they stood last. `printed_lamp` and `printed_controller` hold the day on which
    that label was printed last, `said_lamp` and `said_controller` a mark of what it said then
    (model.labels.content.said), `on_lamp` and `on_controller` on which kind of stock, as in `Print`;
    `earlier` are the last prints on other kinds. `steps` are the bench steps done, `cut_mm` is the length
    that was cut. `retired` holds the reason once the tag is out of use.
    """

    tag: str = attrs.field(validator=text(4, empty=False))
    wire: str = attrs.field(validator=text(20, empty=False))
    lamp_end: str = attrs.field(validator=text(20))
    controller_end: str = attrs.field(validator=text(20))
    meaning: str = attrs.field(default="", validator=text(250))
    printed_lamp: str = attrs.field(default="", validator=text(10))
    printed_controller: str = attrs.field(default="", validator=text(10))
    said_lamp: str = attrs.field(default="", validator=text(16))
    said_controller: str = attrs.field(default="", validator=text(16))
    on_lamp: str = attrs.field(default="", validator=text(10))
    on_controller: str = attrs.field(default="", validator=text(10))
    earlier: tuple[Print, ...] = ()
    steps: tuple[str, ...] = ()
    cut_mm: float | None = attrs.field(default=None, validator=in_range(0, 100_000, "mm", optional=True))
    retired: str = attrs.field(default="", validator=text(250))
    replaced_by: tuple[str, ...] = ()
    events: tuple[Event, ...] = ()

    @property
    def printed(self) -> bool:
        """Whether a label with this tag was printed, for either end."""
        return bool(self.printed_lamp or self.printed_controller)

    def last_print(self, end: str) -> Print | None:
        """The label of that end as it was printed last, on whatever kind of stock."""
        lamp = end == "L"
        day = self.printed_lamp if lamp else self.printed_controller
        if not day:
            return None
        said = self.said_lamp if lamp else self.said_controller
        return Print(end=end, on=self.on_lamp if lamp else self.on_controller, day=day, said=said)

    def print_on(self, end: str, on: str) -> Print | None:
        """The label of that end as it was printed last on that kind of stock, or on one that was not kept."""
        last = self.last_print(end)
        if last is None or last.on in ("", on):
            return last
        others = [one for one in self.earlier if one.end == end and one.on in ("", on)]
        return max(others, key=lambda one: (one.on == on, one.day), default=None)

    @property
    def issued(self) -> bool:
        """Whether something in the world carries this tag: a printed label or a wire begun at the bench."""
        return self.printed or bool(self.steps)

    @property
    def live(self) -> bool:
        """Whether the tag stands for a wire of the plan."""
        return not self.retired


@attrs.frozen(kw_only=True)
class Ledger:
    """Every tag ever given, in the order it was given. It only grows."""

    records: tuple[TagRecord, ...] = ()

    def __iter__(self) -> Iterator[TagRecord]:
        return iter(self.records)

    def find(self, tag: str) -> TagRecord | None:
        """The record of `tag`, live or retired, or None."""
        return next((record for record in self.records if record.tag == tag), None)

    def get(self, tag: str) -> TagRecord:
        """The record of `tag`; raises NotThere."""
        record = self.find(tag)
        if record is None:
            raise NotThere(
                f"tag {tag}", "is not in the ledger", remedy="Look it up with a ? for a doubtful character."
            )
        return record

    def live(self) -> dict[str, TagRecord]:
        """The live records by the key of their wire."""
        return {record.wire: record for record in self.records if record.live}

    def replace(self, *changed: TagRecord) -> Ledger:
        """A ledger with `changed` in the place of the records with their tags; unknown tags are appended."""
        news = {record.tag: record for record in changed}
        kept = tuple(news.pop(record.tag, record) for record in self.records)
        return Ledger(records=kept + tuple(news.values()))

    def with_past(self, other: Ledger, *, made: bool = False) -> Ledger:
        """This ledger plus what only `other` knows, for undo and redo.

        Tags that only `other` has are kept as retired; what was printed and what the histories tell of the
        making is not undone, what a person wrote into them (`SAID`) is. Bench steps are, each being a step of
        its own to undo; with `made` the record with the longer history gives them, as for a backup that knows
        nothing of them.
        """
        known = {record.tag: record for record in other.records}
        own = [_with_facts(record, known.pop(record.tag, record), made) for record in self.records]
        past = [
            record if record.retired else attrs.evolve(record, retired="the step that gave it was undone")
            for record in known.values()
        ]
        return Ledger(records=tuple(own + past))


SAID = frozenset(("note", "tested", "measured", "repaired", "test again", "taken off"))
"""Events that a person wrote into the history: undone, they are gone; what was made stays."""


def _events(record: TagRecord, other: TagRecord, made: bool) -> tuple[Event, ...]:
    if made or len(other.events) <= len(record.events):
        return max(record.events, other.events, key=len)
    more = other.events[len(record.events) :]
    return (*record.events, *(event for event in more if event.what not in SAID))


def _with_facts(record: TagRecord, other: TagRecord, made: bool) -> TagRecord:
    fuller = other if made and len(other.events) > len(record.events) else record
    # A label that exists says which ends it is for; `settle` then retires the tag if its wire has others.
    newly_begun = fuller is other and bool(other.steps) and not record.issued
    said = other if newly_begun or (other.printed and not record.printed) else record
    return attrs.evolve(
        record,
        steps=fuller.steps,
        cut_mm=fuller.cut_mm,
        lamp_end=said.lamp_end,
        controller_end=said.controller_end,
        meaning=said.meaning,
        # What was printed again since is on the wire now, and says what it said then.
        printed_lamp=other.printed_lamp or record.printed_lamp,
        printed_controller=other.printed_controller or record.printed_controller,
        said_lamp=other.said_lamp if other.printed_lamp else record.said_lamp,
        said_controller=other.said_controller if other.printed_controller else record.said_controller,
        on_lamp=other.on_lamp if other.printed_lamp else record.on_lamp,
        on_controller=other.on_controller if other.printed_controller else record.on_controller,
        earlier=other.earlier or record.earlier,
        events=_events(record, other, made),
    )

"""What a harness is: the frozen values that hold everything a person decided, and nothing worked out.

Ids are short and stable ("L3" a lamp, "W2" a waypoint, "J1" a joint); names are the person's and may change.
Lengths are in mm, currents in mA, voltages in V. Each value checks itself and raises model.errors.BadValue.
What refers to what is checked in model/integrity.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from enum import StrEnum
from typing import Any, TypeVar

import attrs

from model.errors import BadValue, NotThere
from model.standards import contacts
from model.standards.cells import CHEMISTRIES
from model.standards.colours import COLOURS
from model.standards.leds import LED_COLOURS, LED_SIZES
from model.standards.resistor_power import INSIDE_C, KINDS
from model.standards.wire import DEFAULT_GAUGE, GAUGES
from model.tags import Ledger, TagScheme
from model.values import Validator, each, in_range, member, one_of, shown, text

REGULATED = "regulated"
"""The chemistry of a supply that is not a battery: its volts are typed in."""

PROJECT_CODE = re.compile(r"[A-Z0-9]{2,3}")


class Polarity(StrEnum):
    """The two wires of a lamp. Switching the other side of the lamps does not change them."""

    PLUS = "+"
    MINUS = "-"

    @property
    def word(self) -> str:
        """In words, as on labels."""
        return "plus" if self is Polarity.PLUS else "minus"

    @property
    def other(self) -> Polarity:
        """The opposite polarity."""
        return Polarity.MINUS if self is Polarity.PLUS else Polarity.PLUS


class Switched(StrEnum):
    """Which side of the lamps the outputs switch; the other side is the common."""

    NEGATIVE = "negative"
    POSITIVE = "positive"


class Delivers(StrEnum):
    """What an output gives: the supply's voltage, a regulated voltage, or a limited current."""

    SUPPLY = "supply"
    REGULATED = "regulated"
    CURRENT = "current"


class Build(StrEnum):
    """A bare LED, which needs its resistor, or a lamp that comes wired for some voltage."""

    BARE = "bare"
    WIRED = "ready-wired"


class Hand(StrEnum):
    """Which side of the model a lamp is on, seen in the direction of travel."""

    NONE = ""
    LEFT = "left"
    RIGHT = "right"


def _id(letter: str) -> Validator:
    pattern = re.compile(rf"{letter}[1-9][0-9]{{0,4}}")

    def check(instance: Any, attribute: Any, value: Any) -> None:
        if not isinstance(value, str) or not pattern.fullmatch(value):
            raise BadValue(
                f"{type(instance).__name__.lower()} id", shown(repr(value)), limit=f"{letter}1, {letter}2 ..."
            )

    return check


def _mm(low: float = 0, high: float = 100_000) -> Validator:
    return in_range(low, high, "mm")


@attrs.frozen(kw_only=True)
class Supply:
    """A battery of `cells` in series, or a regulated voltage. Typed volts go before the chemistry's
    figures.
    """

    chemistry: str = attrs.field(default="NiMH", validator=one_of((*CHEMISTRIES, REGULATED)))
    cells: int = attrs.field(default=6, validator=in_range(0, 60, whole=True))
    flat_v: float | None = attrs.field(
        default=None, validator=in_range(0, 60, "V", above=True, optional=True)
    )
    nominal_v: float | None = attrs.field(
        default=None, validator=in_range(0, 60, "V", above=True, optional=True)
    )
    full_v: float | None = attrs.field(
        default=None, validator=in_range(0, 60, "V", above=True, optional=True)
    )
    capacity_mah: float | None = attrs.field(
        default=None, validator=in_range(0, 1e6, "mAh", above=True, optional=True)
    )

    def __attrs_post_init__(self) -> None:
        if self.chemistry == REGULATED and self.nominal_v is None:
            raise BadValue("supply: nominal volts", "are missing", remedy="Type the regulated voltage.")
        if self.chemistry != REGULATED and self.cells < 1:
            raise BadValue("supply: cells", f"{self.cells}", limit="1 to 60")
        typed = [volts for volts in (self.flat_v, self.nominal_v, self.full_v) if volts is not None]
        if typed != sorted(typed):
            raise BadValue("supply: volts", "are not in the order flat, nominal, full")


@attrs.frozen(kw_only=True)
class Output:
    """One switched output of the controller and the pin it comes out on."""

    number: int = attrs.field(validator=in_range(1, 99, whole=True))
    pin: str = attrs.field(validator=text(6, empty=False))
    function: str = attrs.field(default="", validator=text())
    limit_ma: float = attrs.field(default=250.0, validator=in_range(0, 100_000, "mA", above=True))
    delivers: Delivers = attrs.field(default=Delivers.SUPPLY, validator=member(Delivers))
    delivers_v: float | None = attrs.field(
        default=None, validator=in_range(0, 60, "V", above=True, optional=True)
    )
    delivers_ma: float | None = attrs.field(
        default=None, validator=in_range(0, 10_000, "mA", above=True, optional=True)
    )
    colour: str | None = attrs.field(default=None, validator=one_of(COLOURS, optional=True))

    def __attrs_post_init__(self) -> None:
        if self.delivers is Delivers.REGULATED and self.delivers_v is None:
            raise BadValue(
                f"output {self.number}: volts", "are missing", remedy="Type the regulated voltage."
            )
        if self.delivers is Delivers.CURRENT and self.delivers_ma is None:
            raise BadValue(
                f"output {self.number}: current", "is missing", remedy="Type the current it is limited to."
            )


@attrs.frozen(kw_only=True)
class CommonPin:
    """One pin of the common; the current of every lamp comes back through these."""

    pin: str = attrs.field(validator=text(6, empty=False))
    limit_ma: float = attrs.field(default=1000.0, validator=in_range(0, 100_000, "mA", above=True))


@attrs.frozen(kw_only=True)
class Block:
    """A group of outputs on one connector of the controller."""

    name: str = attrs.field(validator=text(6, empty=False))
    outputs: tuple[Output, ...] = ()
    commons: tuple[CommonPin, ...] = ()


@attrs.frozen(kw_only=True)
class Controller:
    """The controller: where it sits, which side it switches, its blocks of outputs."""

    name: str = attrs.field(default="controller", validator=text(empty=False))
    at: str = attrs.field(default="W1", validator=_id("W"))
    switched: Switched = attrs.field(default=Switched.NEGATIVE, validator=member(Switched))
    blocks: tuple[Block, ...] = ()

    @property
    def switched_polarity(self) -> Polarity:
        """The polarity of the lamps' wires that go to outputs."""
        return Polarity.MINUS if self.switched is Switched.NEGATIVE else Polarity.PLUS

    @property
    def common_polarity(self) -> Polarity:
        """The polarity of the lamps' wires that go to the common."""
        return self.switched_polarity.other

    def outputs(self) -> Iterator[tuple[Block, Output]]:
        """Every output with its block, in the order of the blocks."""
        for block in self.blocks:
            for output in block.outputs:
                yield block, output

    def find_output(self, wanted: int | None) -> tuple[Block, Output] | None:
        """The output of that number with its block, or None."""
        return next((pair for pair in self.outputs() if pair[1].number == wanted), None)

    def commons(self) -> Iterator[tuple[Block, CommonPin]]:
        """Every common pin with its block."""
        for block in self.blocks:
            for common in block.commons:
                yield block, common


@attrs.frozen(kw_only=True)
class Waypoint:
    """A named place the wires pass. `reachable`: a joint can be made and mended there."""

    id: str = attrs.field(validator=_id("W"))
    name: str = attrs.field(validator=text(empty=False))
    reachable: bool = True


@attrs.frozen(kw_only=True)
class Leg:
    """The stretch between two waypoints.

    `loop_mm` is None on a fixed leg; over a hinge, tilting cab or trailer it is the extra length it takes.
    `plug` names the plug on the leg, `plug_mm` its distance from waypoint `a`.
    `hole_mm` is the clear diameter of the narrowest hole.
    """

    a: str = attrs.field(validator=_id("W"))
    b: str = attrs.field(validator=_id("W"))
    length_mm: float = attrs.field(validator=_mm())
    loop_mm: float | None = attrs.field(default=None, validator=in_range(0, 10_000, "mm", optional=True))
    plug: str = attrs.field(default="", validator=text(6))
    plug_mm: float = attrs.field(default=0.0, validator=_mm())
    hole_mm: float | None = attrs.field(
        default=None, validator=in_range(0, 1000, "mm", above=True, optional=True)
    )

    def __attrs_post_init__(self) -> None:
        if self.a == self.b:
            raise BadValue(f"leg {self.a} to {self.b}", "starts and ends at one waypoint")
        if self.plug and self.plug_mm > self.length_mm:
            raise BadValue(
                f"plug {self.plug}", f"{self.plug_mm:g} mm along", limit=f"leg of {self.length_mm:g} mm"
            )

    @property
    def ends(self) -> frozenset[str]:
        """The ids of both waypoints."""
        return frozenset((self.a, self.b))


@attrs.frozen(kw_only=True)
class Lead:
    """What was decided for one polarity of a lamp: the joint it ends in or the common pin, and its colour.

    `pin` is "block.pin" on the common side of a lamp that ends in no joint; on the switched side the
    output says it.
    """

    joint: str | None = attrs.field(default=None, validator=attrs.validators.optional(_id("J")))
    pin: str | None = attrs.field(default=None, validator=attrs.validators.optional(text(14)))
    colour: str | None = attrs.field(default=None, validator=one_of(COLOURS, optional=True))


@attrs.frozen(kw_only=True)
class Run:
    """The decided run of a lamp: the waypoints from the lamp to the controller, and each polarity's lead.

    `way` is empty where the run was measured as one length.
    """

    way: tuple[str, ...] = ()
    plus: Lead = Lead()
    minus: Lead = Lead()

    def lead(self, polarity: Polarity) -> Lead:
        """The lead of that polarity."""
        return self.plus if polarity is Polarity.PLUS else self.minus

    def with_lead(self, polarity: Polarity, lead: Lead) -> Run:
        """This run with another lead of that polarity."""
        return attrs.evolve(self, plus=lead) if polarity is Polarity.PLUS else attrs.evolve(self, minus=lead)


@attrs.frozen(kw_only=True)
class Lamp:
    """One lamp. Figures left None come from the tables of the LED's colour and size.

    `at` is its waypoint and `spur_mm` how far from it the lamp sits; `measured_mm` is the whole run
    to the controller as one length, for a person who measured it with a string.
    `run` is None until the walk has accepted it.
    """

    id: str = attrs.field(validator=_id("L"))
    name: str = attrs.field(validator=text(empty=False))
    function: str = attrs.field(default="other", validator=text())
    place: str = attrs.field(default="", validator=text())
    hand: Hand = attrs.field(default=Hand.NONE, validator=member(Hand))
    colour: str = attrs.field(default="white", validator=one_of(LED_COLOURS))
    size: str = attrs.field(default="3 mm", validator=one_of(LED_SIZES))
    build: Build = attrs.field(default=Build.BARE, validator=member(Build))
    current_ma: float | None = attrs.field(
        default=None, validator=in_range(0, 3000, "mA", above=True, optional=True)
    )
    vf_low_v: float | None = attrs.field(
        default=None, validator=in_range(0, 60, "V", above=True, optional=True)
    )
    vf_v: float | None = attrs.field(default=None, validator=in_range(0, 60, "V", above=True, optional=True))
    vf_high_v: float | None = attrs.field(
        default=None, validator=in_range(0, 60, "V", above=True, optional=True)
    )
    max_ma: float | None = attrs.field(
        default=None, validator=in_range(0, 3000, "mA", above=True, optional=True)
    )
    resistor_ohm: float | None = attrs.field(default=None, validator=in_range(0, 1e7, "ohm", optional=True))
    rated_v: float | None = attrs.field(
        default=None, validator=in_range(0, 60, "V", above=True, optional=True)
    )
    rated_ma: float | None = attrs.field(
        default=None, validator=in_range(0, 3000, "mA", above=True, optional=True)
    )
    lead_mm: float = attrs.field(default=0.0, validator=_mm())
    output: int | None = attrs.field(default=None, validator=in_range(1, 99, whole=True, optional=True))
    at: str | None = attrs.field(default=None, validator=attrs.validators.optional(_id("W")))
    spur_mm: float = attrs.field(default=0.0, validator=_mm())
    measured_mm: float | None = attrs.field(
        default=None, validator=in_range(0, 100_000, "mm", above=True, optional=True)
    )
    run: Run | None = None

    def __attrs_post_init__(self) -> None:
        if self.build is Build.WIRED and self.rated_v is None:
            raise BadValue(
                f"lamp {self.name}: rated volts", "are missing", remedy="Type the volts it is made for."
            )


@attrs.frozen(kw_only=True)
class Joint:
    """A merge: wires of one net joined at a waypoint, one trunk wire going on from there.

    `output` is the net (None: the common). `onto` is the next joint towards the controller, else the trunk
    ends on the output's pin, or on common pin `pin`. `way` leads from here to there; empty means the
    shortest.
    """

    id: str = attrs.field(validator=_id("J"))
    at: str = attrs.field(validator=_id("W"))
    output: int | None = attrs.field(default=None, validator=in_range(1, 99, whole=True, optional=True))
    onto: str | None = attrs.field(default=None, validator=attrs.validators.optional(_id("J")))
    pin: str | None = attrs.field(default=None, validator=attrs.validators.optional(text(14)))
    way: tuple[str, ...] = ()
    colour: str | None = attrs.field(default=None, validator=one_of(COLOURS, optional=True))
    gauge: str | None = attrs.field(default=None, validator=one_of(GAUGES, optional=True))


@attrs.frozen(kw_only=True)
class Contact:
    """Contact `number` of plug `plug` carries the wire of this origin ("L3-", "J1+"), once given for good."""

    plug: str = attrs.field(validator=text(6, empty=False))
    number: int = attrs.field(validator=in_range(1, 999, whole=True))
    origin: str = attrs.field(validator=text(12, empty=False))


@attrs.frozen(kw_only=True)
class Spool:
    """Wire on hand: a spool, or what is left of one.

    `length_mm` is what was on it when that was entered, `cut_mm` what was cut from it since.
    """

    name: str = attrs.field(validator=text(30, empty=False))
    colour: str = attrs.field(validator=one_of(COLOURS))
    gauge: str = attrs.field(default=DEFAULT_GAUGE, validator=one_of(GAUGES))
    length_mm: float = attrs.field(validator=in_range(0, 10_000_000, "mm", above=True))
    cut_mm: float = attrs.field(default=0.0, validator=_mm(high=10_000_000))

    @property
    def left_mm(self) -> float:
        """What can still be cut from it, in mm; nothing where more was cut than was entered."""
        return max(self.length_mm - self.cut_mm, 0.0)


@attrs.frozen(kw_only=True)
class Printed:
    """The label of a joint, plug or spool that was printed on `day`; `said` marks what it said then.

    `name` is what stands large on it. The labels of wires are remembered in the ledger.
    """

    kind: str = attrs.field(validator=one_of(("joint", "plug", "spool")))
    name: str = attrs.field(validator=text(12, empty=False))
    day: str = attrs.field(validator=text(10, empty=False))
    said: str = attrs.field(default="", validator=text(12))


@attrs.frozen(kw_only=True)
class Checked:
    """One thing that was looked at on `day` before the first power-on; `id` is that of the checklist."""

    id: str = attrs.field(validator=text(20, empty=False))
    day: str = attrs.field(validator=text(10, empty=False))


@attrs.frozen(kw_only=True)
class Settings:
    """Wire, slack, joint, colour and resistor settings. The figures are common practice, no source.

    `drawer_ohm` are the resistors the person has; where it is empty they are bought in `series`.
    `inside_c` is the temperature in the closed model, for resistors and wire alike.
    """

    slack_pct: float = attrs.field(default=10.0, validator=in_range(0, 100, "%"))
    slack_min_mm: float = attrs.field(default=20.0, validator=_mm(high=1000))
    service_loop_mm: float = attrs.field(default=60.0, validator=_mm(high=5000))
    lamp_spare_mm: float = attrs.field(default=15.0, validator=_mm(high=1000))
    strip_mm: float = attrs.field(default=3.0, validator=_mm(high=50))
    joint_overlap_mm: float = attrs.field(default=8.0, validator=_mm(high=100))
    round_mm: float = attrs.field(default=5.0, validator=in_range(0, 100, "mm", above=True))
    joint_cost_mm: float = attrs.field(default=40.0, validator=_mm())
    joint_max_wires: int = attrs.field(default=4, validator=in_range(3, 12, whole=True))
    pin_max_wires: int = attrs.field(default=2, validator=in_range(1, 12, whole=True))
    gauge: str = attrs.field(default=DEFAULT_GAUGE, validator=one_of(GAUGES))
    plus_colour: str = attrs.field(default="RD", validator=one_of(COLOURS))
    minus_colour: str = attrs.field(default="BK", validator=one_of(COLOURS))
    colour_per_output: bool = False
    series: str = attrs.field(default="E12", validator=one_of(("E6", "E12", "E24", "E48", "E96")))
    resistor_tolerance_pct: float = attrs.field(default=5.0, validator=in_range(0, 20, "%"))
    drawer_ohm: tuple[float, ...] = attrs.field(
        default=(), validator=each(in_range(0, 1e7, "ohm", above=True), 200)
    )
    resistor_body: str = attrs.field(default="axial", validator=one_of(KINDS))
    inside_c: float = attrs.field(default=INSIDE_C, validator=in_range(-20, 100, "C"))
    contact_milliohm: float = attrs.field(
        default=contacts.CONTACT_MILLIOHM, validator=in_range(0, 10_000, "milliohm")
    )
    joint_milliohm: float = attrs.field(
        default=contacts.JOINT_MILLIOHM, validator=in_range(0, 10_000, "milliohm")
    )
    switch_milliohm: float = attrs.field(
        default=contacts.SWITCH_MILLIOHM, validator=in_range(0, 10_000, "milliohm")
    )
    visible_difference_pct: float = attrs.field(default=20.0, validator=in_range(0, 100, "%", above=True))
    tag_scheme: TagScheme = attrs.field(default=TagScheme.CODE, validator=member(TagScheme))
    sleeve_stock: str = attrs.field(default="", validator=text(40))
    flag_stock: str = attrs.field(default="", validator=text(40))

    def colour(self, polarity: Polarity) -> str:
        """The colour of all wires of a polarity."""
        return self.plus_colour if polarity is Polarity.PLUS else self.minus_colour


@attrs.frozen(kw_only=True)
class Progress:
    """Where the person stopped: the lamp of the walk, the tag at the bench."""

    walk: str = attrs.field(default="", validator=text(8))
    bench: str = attrs.field(default="", validator=text(4))
    skipped: tuple[str, ...] = ()


@attrs.frozen(kw_only=True, eq=False)
class Harness:
    """Everything a person decided about one model. Compared by identity; two equal ones have equal files."""

    name: str = attrs.field(validator=text(empty=False))
    code: str = attrs.field()
    supply: Supply = Supply()
    controller: Controller = Controller()
    waypoints: tuple[Waypoint, ...] = (Waypoint(id="W1", name="controller"),)
    legs: tuple[Leg, ...] = ()
    lamps: tuple[Lamp, ...] = ()
    joints: tuple[Joint, ...] = ()
    contacts: tuple[Contact, ...] = ()
    spools: tuple[Spool, ...] = ()
    printed: tuple[Printed, ...] = ()
    checked: tuple[Checked, ...] = ()
    settings: Settings = Settings()
    progress: Progress = Progress()
    ledger: Ledger = attrs.field(factory=Ledger)

    @code.validator
    def _code_fits(self, attribute: Any, value: Any) -> None:
        if not isinstance(value, str) or not PROJECT_CODE.fullmatch(value):
            raise BadValue(
                "project code",
                shown(repr(value)),
                limit="2 or 3 of A to Z and 0 to 9",
                remedy="It stands on every label, for example GRT.",
            )

    def find_lamp(self, lamp_id: str | None) -> Lamp | None:
        """The lamp of that id, or None."""
        return next((lamp for lamp in self.lamps if lamp.id == lamp_id), None)

    def lamp(self, lamp_id: str) -> Lamp:
        """The lamp of that id; raises NotThere."""
        return _there(self.find_lamp(lamp_id), "lamp", lamp_id)

    def find_waypoint(self, waypoint_id: str | None) -> Waypoint | None:
        """The waypoint of that id, or None."""
        return next((point for point in self.waypoints if point.id == waypoint_id), None)

    def waypoint(self, waypoint_id: str) -> Waypoint:
        """The waypoint of that id; raises NotThere."""
        return _there(self.find_waypoint(waypoint_id), "waypoint", waypoint_id)

    def find_joint(self, joint_id: str | None) -> Joint | None:
        """The joint of that id, or None."""
        return next((joint for joint in self.joints if joint.id == joint_id), None)

    def joint(self, joint_id: str) -> Joint:
        """The joint of that id; raises NotThere."""
        return _there(self.find_joint(joint_id), "joint", joint_id)

    def find_leg(self, one: str, other: str) -> Leg | None:
        """The leg between two waypoints, or None."""
        wanted = {one, other}
        return next((leg for leg in self.legs if leg.ends == wanted), None)

    def polarity_of(self, joint: Joint) -> Polarity:
        """The polarity of a joint's net."""
        return self.controller.common_polarity if joint.output is None else self.controller.switched_polarity

    def net_of(self, lamp: Lamp, polarity: Polarity) -> int | None:
        """The net of one of the lamp's wires: its output's number on the switched side, None for the
        common.
        """
        return lamp.output if polarity is self.controller.switched_polarity else None


T = TypeVar("T")


def _there(value: T | None, kind: str, wanted: str) -> T:
    if value is None:
        raise NotThere(f"{kind} {wanted}", "does not exist")
    return value

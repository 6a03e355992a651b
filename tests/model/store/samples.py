"""Harnesses and texts that several tests of the store begin with."""

from __future__ import annotations

from typing import Any

import attrs

from model.harness import (
    Block,
    Build,
    Checked,
    CommonPin,
    Contact,
    Controller,
    Delivers,
    Hand,
    Harness,
    Joint,
    Lamp,
    Lead,
    Leg,
    Output,
    Printed,
    Progress,
    Run,
    Settings,
    Spool,
    Supply,
    Switched,
    Waypoint,
)
from model.tags import Event, Ledger, Print, TagRecord, TagScheme


def full_harness() -> Harness:
    """A harness in which every field of every value stands at something else than its default."""
    lead = Lead(joint="J1", colour="GN")
    lamp = Lamp(
        id="L1",
        name='Beacon "left" \U0001f6a8 [/] \\',
        function="beacon",
        place="cab roof",
        hand=Hand.LEFT,
        colour="amber",
        size="0603",
        build=Build.WIRED,
        current_ma=7.5,
        vf_low_v=1.9,
        vf_v=2.05,
        vf_high_v=2.2,
        max_ma=20.0,
        resistor_ohm=330.0,
        rated_v=12.0,
        rated_ma=15.0,
        lead_mm=150.0,
        output=7,
        at="W2",
        spur_mm=12.5,
        measured_mm=456.7,
        run=Run(way=("W2", "W1"), plus=lead, minus=Lead(pin="B.9", colour="BU")),
    )
    second = Lamp(
        id="L2", name="second", output=7, at="W2", run=Run(way=("W2", "W1"), plus=lead, minus=Lead(pin="B.9"))
    )
    controller = Controller(
        name="receiver",
        at="W1",
        switched=Switched.POSITIVE,
        blocks=(
            Block(
                name="B",
                outputs=(
                    Output(
                        number=7,
                        pin="3",
                        function="beacons",
                        limit_ma=100.5,
                        delivers=Delivers.CURRENT,
                        delivers_v=5.0,
                        delivers_ma=20.0,
                        colour="BU",
                    ),
                ),
                commons=(CommonPin(pin="9", limit_ma=500.0),),
            ),
        ),
    )
    settings = Settings(
        slack_pct=12.5,
        slack_min_mm=25.0,
        service_loop_mm=50.0,
        lamp_spare_mm=10.0,
        strip_mm=2.5,
        joint_overlap_mm=6.0,
        round_mm=1.0,
        joint_cost_mm=80.0,
        joint_max_wires=5,
        pin_max_wires=1,
        gauge="30 AWG",
        plus_colour="OG",
        minus_colour="BU",
        colour_per_output=True,
        series="E24",
        resistor_tolerance_pct=1.0,
        drawer_ohm=(330.0, 332.6, 4700.0),
        resistor_body="chip",
        inside_c=55.0,
        contact_milliohm=30.0,
        joint_milliohm=2.5,
        switch_milliohm=80.0,
        visible_difference_pct=15.0,
        tag_scheme=TagScheme.NUMBER,
        sleeve_stock="sleeve",
        flag_stock="flag",
    )
    record = TagRecord(
        tag="701",
        wire="L1+",
        lamp_end="L1",
        controller_end="J1",
        meaning="Beacon plus to joint J1",
        printed_lamp="2026-03-01",
        printed_controller="2026-03-02",
        said_lamp="K7L cab",
        said_controller="K7L A5",
        on_lamp="sleeve",
        on_controller="flag",
        earlier=(Print(end="L", on="flag", day="2026-02-28", said="K7L"), Print(end="C", day="2026-02-27")),
        steps=("cut", "sleeve"),
        cut_mm=165.5,
        retired="its wire no longer runs so",
        replaced_by=("702",),
        events=(Event(day="2026-03-02", what="cut", note="a little short"),),
    )
    return Harness(
        name="Gritter",
        code="GRT",
        supply=Supply(chemistry="LiPo", cells=2, flat_v=6.4, nominal_v=7.4, full_v=8.4, capacity_mah=2200.0),
        controller=controller,
        waypoints=(Waypoint(id="W1", name="bay", reachable=False), Waypoint(id="W2", name="roof")),
        legs=(Leg(a="W2", b="W1", length_mm=333.3, loop_mm=45.5, plug="P1", plug_mm=30.0, hole_mm=3.5),),
        lamps=(lamp, second),
        joints=(
            Joint(id="J1", at="W2", output=7, onto="J2", way=("W2", "W1"), colour="GN", gauge="26 AWG"),
            Joint(id="J2", at="W1", output=7, pin="B.9"),
        ),
        contacts=(Contact(plug="P1", number=4, origin="L1-"),),
        spools=(Spool(name="black remnant", colour="BK", gauge="26 AWG", length_mm=812.5, cut_mm=170.0),),
        checked=(Checked(id="fuse", day="2026-03-03"),),
        printed=(Printed(kind="joint", name="J1", day="2026-03-03", said="0123456789ab"),),
        settings=settings,
        progress=Progress(walk="L2", bench="702", skipped=("L1",)),
        ledger=Ledger(records=(record, TagRecord(tag="702", wire="L2+", lamp_end="L2", controller_end="J1"))),
    )


def as_plain(harness: Harness) -> dict[str, Any]:
    """Everything in a harness as plain values, to compare two of them."""
    return attrs.asdict(harness)


SMALL = """\
schema = 1

[project]
name = "Lighthouse"
code = "LH"

[supply]
chemistry = "NiMH"
cells = 6

[controller]
name = "controller"
at = "W1"

[[controller.block]]
name = "A"
outputs = [
    { number = 1, pin = "1" },
    { number = 2, pin = "2", limit_ma = 100 },
]
commons = [{ pin = "3" }]

[[waypoint]]
id = "W1"
name = "base"

[[waypoint]]
id = "W2"
name = "lantern room"

[[leg]]
a = "W1"
b = "W2"
length_mm = 240

[[lamp]]
id = "L1"
name = "Lantern"
output = 1
at = "W2"
current_ma = 8

[[lamp]]
id = "L2"
name = "Door"
output = 2
at = "W1"
"""
"""A file as a person might write it by hand."""


def line_of(text: str, part: str) -> int:
    """The number of the first line that holds `part`."""
    return next(number for number, line in enumerate(text.splitlines(), 1) if part in line)

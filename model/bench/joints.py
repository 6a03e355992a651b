"""What meets in a joint, and what of it is there already."""

from __future__ import annotations

import attrs

from model.bench.order import is_there, tag_of
from model.harness import Harness
from model.routing.made import lamps_by_id
from model.routing.sleeves import joint_sleeve
from model.routing.wires import Wire, derive
from model.standards.heatshrink import Sleeve


@attrs.frozen(kw_only=True)
class JointWire:
    """One wire of a joint. `there`: its end lies there already. `trunk`: it goes on to the controller."""

    wire: Wire
    tag: str
    colour: str
    lamps: tuple[str, ...]
    there: bool
    trunk: bool


@attrs.frozen(kw_only=True)
class JointCard:
    """What meets in one joint, the trunk last. `sleeve` is None where no size of the tables fits.

    `place` is the waypoint's name.
    """

    joint_id: str
    place: str
    reachable: bool
    net: int | None
    wires: tuple[JointWire, ...]
    sleeve: Sleeve | None

    @property
    def missing(self) -> tuple[JointWire, ...]:
        """The wires that are still to come."""
        return tuple(one for one in self.wires if not one.there)

    @property
    def complete(self) -> bool:
        """Whether all wires are there and the joint can be closed, or is."""
        return not self.missing


def joint_card(harness: Harness, joint_id: str) -> JointCard:
    """What meets in a joint and what is there already. Raises NotThere."""
    joint = harness.joint(joint_id)
    point = harness.find_waypoint(joint.at)
    trunk = derive(harness).trunk.get(joint_id)
    return JointCard(
        joint_id=joint_id,
        place=point.name if point else "",
        reachable=point is None or point.reachable,
        net=joint.output,
        wires=tuple(
            JointWire(
                wire=wire,
                tag=tag_of(harness, wire),
                colour=wire.colour,
                lamps=tuple(lamps_by_id(harness)[lamp_id].name for lamp_id in wire.lamps),
                there=is_there(harness, wire, joint_id),
                trunk=wire is trunk,
            )
            for wire in derive(harness).at_joint(joint_id)
        ),
        sleeve=joint_sleeve(harness, joint_id),
    )

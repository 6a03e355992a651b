"""What a harness comes to, in a few lines: for the cover and the head of the HTML."""

from __future__ import annotations

from model.bench import progress
from model.electrics.outputs import output_loads
from model.electrics.supply import volts
from model.harness import Harness
from model.routing.wires import derive


def summary(harness: Harness) -> tuple[tuple[str, str], ...]:
    """Pairs of what and how much."""
    plan = derive(harness)
    made, wires = progress(harness)
    walked = sum(lamp.run is not None for lamp in harness.lamps)
    supply = harness.supply
    kind = f"{supply.chemistry} {supply.cells} cells, " if supply.chemistry != "regulated" else "regulated, "
    loads = output_loads(harness)
    rating_ma = loads.fuse_ma
    switched = harness.controller.switched
    lines = [
        ("supply", f"{kind}{volts(supply)} flat, nominal, full"),
        ("controller", f"{harness.controller.name}, the {switched} side is switched"),
        ("lamps", f"{len(harness.lamps)}, {walked} walked"),
        ("wires", f"{wires}, {made} made; {plan.spool_mm / 1000:.2f} m from spools"),
        ("joints", str(len(harness.joints))),
        ("all lamps on, full battery", f"{loads.total_ma:.0f} mA"),
    ]
    if rating_ma is not None:
        lines.append(("fuse in the positive battery lead", f"{rating_ma / 1000:g} A"))
    return tuple(lines)

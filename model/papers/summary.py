"""What a harness comes to, in a few lines: for the cover and the head of the HTML."""

from __future__ import annotations

from model import lengths
from model.bench import progress
from model.electrics.outputs import output_loads
from model.electrics.supply import full_words, source_word, volts
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
        ("wires", f"{wires}, {made} made; {lengths.total(plan.spool_mm)} from spools"),
        ("joints", str(len(harness.joints))),
        (f"all lamps on, {full_words(supply)}", f"{loads.total_ma:.0f} mA"),
    ]
    if rating_ma is not None:
        lines.append((f"fuse in the positive {source_word(supply)} lead", f"{rating_ma / 1000:g} A"))
    return tuple(lines)

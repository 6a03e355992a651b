"""The same circuit given to ngspice, the Debian package of Berkeley's simulator, as an independent path."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from model.electrics.circuit import Circuit
from model.electrics.diode import THERMAL_V

NGSPICE = shutil.which("ngspice")

needs_ngspice = pytest.mark.skipif(
    NGSPICE is None, reason="ngspice is not installed (Debian package ngspice)"
)


def netlist(circuit: Circuit) -> tuple[str, dict[str, str], dict[str, str]]:
    """The deck, the node names and the vectors of the lamps' currents by their keys.

    A limited-current source is an ideal current source behind its resistance, with an ideal diode that
    lets it run idle.
    """
    nodes: dict[str, str] = {}

    def node(name: str) -> str:
        return nodes.setdefault(name, f"n{len(nodes) + 1}")

    # A shunt of 1e9 ohm at each node, some nanoamperes, keeps what hangs free from a singular matrix.
    lines = ["harness", ".options temp=26.85 tnom=26.85 reltol=1e-7 abstol=1e-13 vntol=1e-9 gmin=1e-13"]
    lines.append(".options rshunt=1e9 pivtol=1e-15")
    lines += [
        f"v{place} {node(name)} 0 {volts!r}" for place, (name, volts) in enumerate(circuit.rails.items())
    ]
    for place, wire in enumerate(circuit.conductors):
        if wire.limit_a is None:
            lines.append(f"r{place} {node(wire.a)} {node(wire.b)} {max(wire.ohm, 1e-7)!r}")
            continue
        rail, pin = (wire.a, wire.b) if wire.a in circuit.rails else (wire.b, wire.a)
        sinks = rail == min(("+", "-"), key=lambda name: circuit.rails[name])
        high, low = (f"s{place}", node(rail)) if sinks else (node(rail), f"s{place}")
        lines.append(f"rl{place} {node(pin)} s{place} {max(wire.ohm, 1e-7)!r}")
        lines += [f"i{place} {high} {low} {wire.limit_a!r}", f"dl{place} {low} {high} idle"]
    lines.append(".model idle d(is=1e-9 n=0.01)")
    vectors: dict[str, str] = {}
    for place, light in enumerate(circuit.lights):
        curve = light.diode
        law = f"is={curve.saturation_a!r} n={curve.emission_v / THERMAL_V!r} rs={curve.series_ohm!r}"
        lines += [
            f"rs{place} {node(light.a)} m{place} {max(light.ohm, 1e-7)!r}",
            f"d{place} m{place} {node(light.b)} led{place}",
            f".model led{place} d({law})",
        ]
        vectors[light.key] = f"@d{place}[id]"
    lines += [".control", "set numdgt=15", "op"]
    lines += [f"print {vector}" for vector in vectors.values()]
    lines += [f"print v({name})" for name in nodes.values()]
    lines += ["quit", ".endc", ".end"]
    return "\n".join(lines) + "\n", nodes, vectors


def spice(circuit: Circuit) -> tuple[Mapping[str, float], Mapping[str, float]]:
    """Lamp currents in A by key and node voltages by name, as ngspice finds them."""
    assert NGSPICE is not None
    deck, nodes, vectors = netlist(circuit)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "deck.cir"
        path.write_text(deck)
        run = subprocess.run(
            [NGSPICE, "-b", str(path)], capture_output=True, text=True, timeout=60, check=False, cwd=folder
        )
    found = {
        name.strip(): float(value) for name, value in re.findall(r"^(\S+) = (\S+)$", run.stdout, re.MULTILINE)
    }
    missing = [vector for vector in vectors.values() if vector not in found]
    assert not missing, run.stdout + run.stderr
    return (
        {key: found[vector] for key, vector in vectors.items()},
        {name: found[f"v({short})"] for name, short in nodes.items() if f"v({short})" in found},
    )

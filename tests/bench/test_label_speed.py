"""Four hundred labels with codes at 300 dpi into one PDF, beside the plain way, each in a process of its own.

The plain way: `qrcode.make` as it comes, text with Pillow, one PNG a label. Both start cold, so that fonts,
encoder and Pillow are loaded within the time. Processor time is held against the limit, since the clock also
counts what else the machine does; both use one core. Run with `pytest tests/bench/test_label_speed.py -s`.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

COUNT = 400
ROUNDS = 3

COMMON = """
import json, resource, sys, time
from pathlib import Path
start = time.perf_counter()
out = Path(sys.argv[1])
signs = "23456789ACEFHJKLMNPRTXY"
tags = [signs[n % 23] + signs[n // 23 % 23] + signs[7 * n % 23] for n in range(int(sys.argv[2]))]
"""

OURS = (
    COMMON
    + """
from model.labels.layout import lay_out
from model.labels.sheets import make_pdf, pages
from model.labels.stock import load_stocks
from model.labels.text import LabelText
stock = load_stocks()[sys.argv[3]].at(300)
layouts = [
    lay_out(stock, LabelText(
        project="GRT", tag=tag, end="LC"[n % 2], colour_code="RD", polarity="+", wire_od_mm=1.2,
        lines=((f"output {n % 12} pin {n % 12}", f"out {n % 12}"), (f"Indicator left {n}", f"Ind {n}")),
    ))
    for n, tag in enumerate(tags)
]
assert all(layout.qr for layout in layouts)
make_pdf(pages(layouts), out / "labels.pdf")
"""
)

PLAIN = (
    COMMON
    + """
import qrcode
from fontpkg.pil import truetype
from PIL import Image, ImageDraw
large, small = truetype("Roboto Mono", 60, weight=500), truetype("Roboto Mono", 30, weight=500)
for n, tag in enumerate(tags):
    code = qrcode.make(f"GRT-{tag}-{'LC'[n % 2]}")
    label = Image.new("1", (700, 142), 1)
    pen = ImageDraw.Draw(label)
    for x in (0, 370):
        label.paste(code.get_image().resize((116, 116)), (x + 12, 12))
        pen.text((x + 140, 2), tag, font=large, fill=0)
        pen.text((x + 140, 68), f"output {n % 12} pin {n % 12}", font=small, fill=0)
        pen.text((x + 140, 102), f"Indicator {n}", font=small, fill=0)
    label.save(out / f"{tag}-{n}.png", dpi=(300, 300))
"""
)

REPORT = """
most_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
if Path("/proc/self/status").exists():
    # On Linux the other figure is at least that of the process that started this one.
    most_kb = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(json.dumps([time.process_time(), time.perf_counter() - start, most_kb / 1024]))
"""


def _run(script: str, folder: Path, *arguments: str) -> tuple[float, float, float]:
    """(least processor seconds, least seconds by the clock, most MB) of a few runs."""
    found = []
    for _ in range(ROUNDS):
        done = subprocess.run(
            [sys.executable, "-c", script + REPORT, str(folder), str(COUNT), *arguments],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        found.append(json.loads(done.stdout))
    processor, clock, megabytes = zip(*found, strict=True)
    return min(processor), min(clock), max(megabytes)


@pytest.mark.skipif(sys.platform == "win32", reason="the memory in use is read with the resource module")
@pytest.mark.parametrize("name", ["flag-12", "flags-a4"])
def test_four_hundred_labels(name: str, tmp_path: Path) -> None:
    ours, clock, megabytes = _run(OURS, tmp_path, name)
    plain, plain_clock, _ = _run(PLAIN, tmp_path)
    print(f"\n{COUNT} labels on {name}: {ours:.2f} s ({clock:.2f} by the clock), {megabytes:.0f} MB")
    print(f"the plain way {plain:.2f} s ({plain_clock:.2f} by the clock): {plain / ours:.1f} times as long")
    assert (tmp_path / "labels.pdf").stat().st_size > 100_000
    assert ours < 1.0
    assert megabytes < 150
    assert plain / ours >= 2

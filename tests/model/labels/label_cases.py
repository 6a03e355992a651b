"""Label texts and checks shared by the tests of labels."""

from __future__ import annotations

from itertools import combinations

from hypothesis import strategies as st

from model.labels.items import Box, Layout, Line, Mark, Qr, Text
from model.labels.text import LabelText
from model.tags import ALPHABET

LINES = (
    ("to output 5, pin 5", "output 5 pin 5", "out 5 pin 5", "o5 p5"),
    ("Indicator front left", "Ind. front left", "Ind FL"),
)


def label(**changes: object) -> LabelText:
    """The label of one wire end, with changes."""
    values: dict[str, object] = {
        "project": "GRT",
        "tag": "K7L",
        "end": "L",
        "lines": LINES,
        "colour_code": "RD",
        "polarity": "+",
        "wire_od_mm": 1.2,
    }
    return LabelText(**(values | changes))  # type: ignore[arg-type]


def _shortened(text: str) -> tuple[str, ...]:
    words = text.split()
    wordings = (text, " ".join(word[:4] for word in words), "".join(word[:2] for word in words))
    return tuple(dict.fromkeys(wordings))


names = st.text(
    st.sampled_from("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ 0123456789()/-+,.;[]ÄÖüßéŠžΩµЖ日→"),
    min_size=1,
    max_size=40,
).filter(str.strip)

labels = st.builds(
    LabelText,
    kind=st.sampled_from(("wire", "wire", "wire", "joint", "plug", "spool", "card")),
    project=st.from_regex(r"[A-Z0-9]{0,3}", fullmatch=True),
    tag=st.text(st.sampled_from(ALPHABET), min_size=3, max_size=4),
    end=st.sampled_from(("L", "C", "")),
    goes_to=st.sampled_from(("joint", "plug", "")),
    lines=st.lists(names.map(_shortened), max_size=4).map(tuple),
    colour_code=st.sampled_from(("", "RD", "BK", "BKWH", "GNYE")),
    polarity=st.sampled_from(("+", "-", "")),
    wire_od_mm=st.floats(0.3, 12.0),
)
"""Any label a harness could ask for, and some it could not."""


def inked_boxes(layout: Layout) -> list[tuple[str, Box]]:
    """What must keep clear of each other: texts and marks by their boxes, codes with their quiet zone."""
    boxes: list[tuple[str, Box]] = []
    for item in layout.items:
        if isinstance(item, Text):
            boxes.append((item.text, item.box))
        elif isinstance(item, Qr):
            boxes.append(("code", item.quiet_box))
        elif isinstance(item, Mark):
            boxes.append((item.shape, item.box))
        elif isinstance(item, Line):
            boxes.append((item.style, item.box))
    return boxes


def inside(box: Box, outer: Box, slack: float = 1e-6) -> bool:
    """Whether `box` lies in `outer`."""
    return (
        box[0] >= outer[0] - slack
        and box[1] >= outer[1] - slack
        and box[2] <= outer[2] + slack
        and box[3] <= outer[3] + slack
    )


def overlaps(layout: Layout, slack: float = 1e-6) -> list[tuple[str, str]]:
    """Pairs of things on the label that lie on each other."""
    return [
        (first, second)
        for (first, a), (second, b) in combinations(inked_boxes(layout), 2)
        if a[0] < b[2] - slack and b[0] < a[2] - slack and a[1] < b[3] - slack and b[1] < a[3] - slack
    ]


def faults(layout: Layout) -> list[str]:
    """Everything that may never be true of a laid out label, whatever its text."""
    stock = layout.stock
    found = [f"{a} on {b}" for a, b in overlaps(layout)]
    for name, box in inked_boxes(layout):
        outer = layout.printable
        if name == "code":
            outer = (0.0, 0.0, layout.length_mm, stock.print_height_mm)
        if not inside(box, outer):
            found.append(f"{name} at {box} is outside {outer}")
    for item in layout.items:
        if isinstance(item, Qr):
            dots = item.module_mm / stock.dot_mm
            if abs(dots - round(dots)) > 1e-9 or item.module_mm < 0.25 - 1e-9:
                found.append(f"module of {item.module_mm} mm, {dots} dots")
            if not inside(item.box, layout.printable):
                found.append(f"modules at {item.box} are outside the print")
    for text in layout.texts:
        if text.height_mm * layout.squeeze < 1.4 - 1e-6:
            found.append(f"{text.text} is {text.height_mm * layout.squeeze} mm high")
    if not stock.length_mm - 1e-6 <= layout.length_mm <= stock.length_max_mm + 1e-6:
        found.append(f"{layout.length_mm} mm long")
    if not layout.texts and not any(problem.rule == "label-tag" for problem in layout.problems):
        found.append("blank, and not a word about it")
    return found

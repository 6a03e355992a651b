"""Where things go on a label, and what is said when they don't fit."""

from __future__ import annotations

import math
from itertools import pairwise

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.findings import Severity
from model.labels.font_metrics import drawable
from model.labels.items import Layout, Line, Mark
from model.labels.layout import Rules, fitting_stocks, lay_out
from model.labels.stock import RESOLUTIONS_DPI, Stock, load_stocks
from model.labels.text import LabelText
from model.standards.heatshrink import finished_od_mm
from tests.model.labels.label_cases import LINES, faults, label, labels

STOCKS = load_stocks()


def rules_of(layout: Layout) -> list[str]:
    return [problem.rule for problem in layout.problems]


def words_of(layout: Layout, role: str) -> list[str]:
    return [text.text for text in layout.texts if text.role == role]


@settings(max_examples=400, deadline=None)
@given(labels, st.sampled_from(sorted(STOCKS)), st.sampled_from(RESOLUTIONS_DPI))
def test_no_label_breaks_a_rule_of_geometry(text: LabelText, name: str, dpi: int) -> None:
    """Nothing outside the print or on something else, no letter too small, modules and quiet zone right."""
    assert faults(lay_out(STOCKS[name].at(dpi), text)) == []


@settings(max_examples=200, deadline=None)
@given(labels, st.sampled_from(sorted(STOCKS)))
def test_what_is_not_on_the_label_is_reported(text: LabelText, name: str) -> None:
    """Each line stands there in one of its wordings, or there is a finding for it."""
    layout = lay_out(STOCKS[name], text)
    drawn = " ".join(words_of(layout, "line")).upper()
    lost = [problem for problem in layout.problems if problem.rule == "label-line"]
    unreadable = [problem for problem in layout.problems if problem.rule == "label-glyph"]
    if "label-tag" in rules_of(layout) or unreadable:
        return
    wordings = [[drawable(word)[0].upper() for word in line] for line in text.lines]
    missing = [line for line in wordings if not any(word and word in drawn for word in line)]
    assert len(missing) <= len(lost)


@pytest.mark.parametrize("name", sorted(STOCKS))
@pytest.mark.parametrize("end", ["L", "C"])
def test_a_common_label_fits_every_stock_of_its_size(name: str, end: str) -> None:
    stock = STOCKS[name]
    least, most = stock.od_range_mm
    # round 1.2 mm the last turn of the smallest wrap has room for the tag alone
    od_mm = 2.0 if name == "wrap-19x25" else min(max(1.2, least * 1.02), most)
    text = label(end=end, wire_od_mm=od_mm, lines=(("output 5 pin 5", "out 5"), ("Ind FL", "I1")))
    layout = lay_out(stock, text)
    assert [problem.found for problem in layout.problems if problem.severity > Severity.NOTE] == []
    assert set(words_of(layout, "tag")) == {"K7L"}
    assert {item.shape for item in layout.items if isinstance(item, Mark)} == {
        "lamp" if end == "L" else "controller"
    }
    assert any(isinstance(item, Line) and item.style == "bar" for item in layout.items)


def test_longest_wording_that_fits_is_used() -> None:
    wide = lay_out(STOCKS["cards-a4"], label())
    assert words_of(wide, "line") == ["to output 5, pin 5", "Indicator front left"]
    narrow = lay_out(STOCKS["flags-a4"], label())
    assert words_of(narrow, "line")[:2] == ["out 5 pin 5", "Ind FL"]
    assert rules_of(narrow) == []


def test_line_without_room_is_a_finding_not_a_cut() -> None:
    layout = lay_out(STOCKS["ladder-2.4"], label(wire_od_mm=1.5, lines=(("Indicator front left",),)))
    assert words_of(layout, "line") == []
    finding = next(problem for problem in layout.problems if problem.rule == "label-line")
    assert finding.subject == "label K7L-L"
    assert finding.found == 'no room for "Indicator front left"'
    assert (finding.place, finding.ref) == ("labels", "K7L")
    assert finding.limit
    assert finding.remedy


@pytest.mark.parametrize("od_mm", [0.9, 1.1, 1.3])
def test_print_on_a_sleeve_is_as_high_as_its_squeeze_leaves_it(od_mm: float) -> None:
    """Worked from the wall's volume: (d + t) t is the same expanded and on the wire."""
    stock = STOCKS["sleeve-1.6"]
    layout = lay_out(stock, label(wire_od_mm=od_mm))
    area = (0.79 + 0.43) * 0.43
    on_wire = (math.sqrt(od_mm**2 + 4 * area) - od_mm) / 2
    expanded = (math.sqrt(1.60**2 + 4 * area) - 1.60) / 2
    squeeze = (od_mm + 2 * on_wire) / (1.60 + 2 * expanded)
    assert layout.squeeze == pytest.approx(squeeze, rel=1e-9)
    printed = max(text.height_mm for text in layout.texts if text.role == "tag")
    assert layout.tag_height_mm == pytest.approx(printed * squeeze)
    assert layout.least_height_mm >= 1.4
    assert layout.finished_length_mm == pytest.approx(layout.length_mm * 0.95)
    assert stock.sleeve is not None
    assert finished_od_mm(stock.sleeve, od_mm) == pytest.approx(od_mm + 2 * on_wire)


def test_sleeve_too_small_for_legible_print_says_so() -> None:
    tube = attrs.evolve(STOCKS["sleeve-1.6"], margin_y_mm=0.6)
    layout = lay_out(tube, label())
    assert layout.texts == ()
    finding = next(problem for problem in layout.problems if problem.rule == "label-tag")
    assert "1.4 mm" in finding.found
    assert "before shrinking" in finding.limit
    assert "flag" in finding.remedy


@pytest.mark.parametrize(("name", "od_mm"), [("sleeve-1.6", 2.5), ("sleeve-3.2", 1.0), ("wrap-19x25", 9.0)])
def test_wrong_size_for_the_wire_is_a_finding(name: str, od_mm: float) -> None:
    assert "label-size" in rules_of(lay_out(STOCKS[name], label(wire_od_mm=od_mm)))


def test_no_code_on_sleeve_and_strip_and_why() -> None:
    for name in ("sleeve-1.6", "strips-a4"):
        layout = lay_out(STOCKS[name], label())
        assert layout.qr is None
        assert "flag" in layout.no_qr


@pytest.mark.parametrize(
    ("name", "dpi", "module_dots", "version"),
    [
        ("flag-12", 180, 2, 1), ("flag-12", 203, 3, 1), ("flag-12", 300, 4, 1), ("flag-12", 360, 5, 1),
        ("flag-12", 600, 9, 1), ("flag-9", 180, 2, 1), ("flag-9", 300, 3, 1), ("flag-18", 180, 4, 1),
        ("flag-18", 300, 5, 1), ("flag-24", 203, 4, 1), ("flag-24", 300, 5, 4), ("flag-24", 600, 10, 4),
        ("flags-a4", 600, 10, 1),
    ],
)  # fmt: skip
def test_code_has_whole_dots_and_its_quiet_zone_on_the_label(
    name: str, dpi: int, module_dots: int, version: int
) -> None:
    layout = lay_out(STOCKS[name].at(dpi), label())
    code = layout.qr
    assert code is not None
    assert (code.version, code.level, code.content) == (version, "H", "GRT-K7L-L")
    assert code.module_mm == pytest.approx(module_dots * 25.4 / dpi)
    modules = 17 + 4 * version
    assert code.side_mm == pytest.approx(modules * module_dots * 25.4 / dpi)
    left, upper, right, lower = code.quiet_box
    assert left >= -1e-9
    assert upper >= -1e-9
    assert lower <= layout.height_mm + 1e-9
    assert right - left == pytest.approx((modules + 8) * code.module_mm)
    face = [text.box for text in layout.texts if text.x_mm < layout.length_mm / 2]
    assert all(box[0] >= right - 1e-9 or box[2] <= left + 1e-9 for box in face)


def test_longer_content_steps_the_level_down_and_says_so() -> None:
    """Sixteen characters are version 1 at level Q but version 2 at H, whose modules are too small here."""
    text = label(kind="spool", tag="RD-28AWG-002", end="")
    assert len(text.qr_text()) == 16
    layout = lay_out(attrs.evolve(STOCKS["flag-9"].at(300), height_mm=8.0), text)
    assert layout.qr is not None
    assert (layout.qr.version, layout.qr.level) == (1, "Q")
    finding = next(problem for problem in layout.problems if problem.rule == "label-qr-level")
    assert finding.severity is Severity.NOTE
    roomy = lay_out(STOCKS["flag-24"].at(300), text)
    assert roomy.qr is not None
    assert (roomy.qr.version, roomy.qr.level) == (4, "H")


@pytest.mark.parametrize(("dpi", "noted"), [(180, True), (203, True), (300, False), (360, False)])
def test_modules_of_few_dots_are_noted(dpi: int, noted: bool) -> None:
    layout = lay_out(STOCKS["flag-12"].at(dpi), label())
    assert ("label-qr-dots" in rules_of(layout)) is noted
    assert {problem.severity for problem in layout.problems} <= {Severity.NOTE}


def test_label_too_small_for_a_code_gets_none_and_says_so() -> None:
    low = attrs.evolve(STOCKS["flag-9"], height_mm=7.0)
    layout = lay_out(low, label())
    assert layout.qr is None
    assert "0.25 mm" in layout.no_qr
    assert "label-qr" in rules_of(layout)
    assert lay_out(low, label(), Rules(module_mm=0.14)).qr is not None
    assert lay_out(STOCKS["flag-12"], label(), Rules(qr=False)).qr is None


def test_code_on_a_wrap_only_where_it_stays_in_sight() -> None:
    """A code may take 0.785 of the diameter: 90 degrees of the way round."""
    stock = attrs.evolve(STOCKS["wrap-38x38"], height_mm=80.0)
    thin, thick = lay_out(stock, label(wire_od_mm=3.0)), lay_out(stock, label(wire_od_mm=14.0))
    assert thin.qr is None
    assert "bundle" in thin.no_qr
    assert thick.qr is not None
    assert thick.qr.side_mm <= 0.785 * 14.0
    # where the usual module would bend too far, a smaller one is taken
    bundle = lay_out(STOCKS["wrap-51x76"], label(wire_od_mm=8.0))
    assert bundle.qr is not None
    assert bundle.qr.side_mm <= 0.785 * 8.0
    assert "of 7 mm" in lay_out(STOCKS["wrap-51x76"], label(wire_od_mm=6.0)).no_qr


def _flag_parts(layout: Layout) -> tuple[float, float]:
    """Where the first face ends and the second begins: the outer edges of the fold lines."""
    folds = [item.box for item in layout.items if isinstance(item, Line) and item.style == "fold"]
    assert len(folds) == 2
    return folds[0][0], folds[1][2]


@pytest.mark.parametrize("od_mm", [0.6, 1.2, 3.0])
@pytest.mark.parametrize("name", ["flag-12", "flags-a4"])
def test_flag_folds_round_the_wire_with_the_same_face_on_both_sides(name: str, od_mm: float) -> None:
    stock = STOCKS[name]
    layout = lay_out(stock, label(wire_od_mm=od_mm))
    first, second = _flag_parts(layout)
    around = math.pi * (od_mm + stock.thickness_mm)
    assert second - first == pytest.approx(around, abs=stock.dot_mm)
    assert first == pytest.approx(layout.length_mm - second, abs=2 * stock.dot_mm)
    front = [item for item in layout.texts if item.x_mm < first]
    back = [item for item in layout.texts if item.x_mm >= second]
    faces = front, back
    assert [item.text for item in faces[0]] == [item.text for item in faces[1]]
    shift = faces[1][0].x_mm - faces[0][0].x_mm
    for near, far in zip(*faces, strict=True):
        # turned round the wire, the far face is read from its own left to right
        assert (far.x_mm - near.x_mm, far.y_mm, far.rotation) == (pytest.approx(shift), near.y_mm, 0)


@pytest.mark.parametrize("od_mm", [0.05, 0.5, 25.0, 60.0])
@pytest.mark.parametrize("name", sorted(STOCKS))
def test_what_a_label_can_not_go_round_never_leaves_it(name: str, od_mm: float) -> None:
    layout = lay_out(STOCKS[name], label(wire_od_mm=od_mm))
    assert faults(layout) == []
    if STOCKS[name].kind == "flag" and od_mm == 60.0:
        assert {"label-tag", "label-size"} <= set(rules_of(layout))
        assert layout.items == ()


@pytest.mark.parametrize("od_mm", [0.6, 0.84, 1.2, 2.0, 3.5, 6.0, 10.0, 15.0])
@pytest.mark.parametrize("name", ["wrap-19x25", "wrap-25x38", "wrap-38x38", "wrap-51x76", "strips-a4"])
def test_a_whole_repeat_stands_in_the_last_turn(name: str, od_mm: float) -> None:
    """What is wrapped first is covered by what follows: only the last turn of the print is seen."""
    stock = STOCKS[name]
    layout = lay_out(stock, label(wire_od_mm=od_mm))
    around = math.pi * (od_mm + stock.thickness_mm)
    end = stock.print_height_mm
    rows = [text for text in layout.texts if text.role == "tag"]
    if not rows:
        assert "label-tag" in rules_of(layout)
        return
    start = max(0.0, end - around)
    seen = [row for row in rows if row.box[1] >= start - 1e-6]
    words = {text.text for text in layout.texts if text.box[1] >= start - 1e-6}
    assert seen
    assert words == {text.text for text in layout.texts}
    assert max(text.box[3] for text in layout.texts) <= end
    if layout.qr is not None:
        assert layout.qr.quiet_box[1] >= start - 1e-6
    if stock.kind == "strip":
        assert rows == seen, "the blank edge is rolled in first"
    if name == "wrap-38x38" and around <= end:
        assert len(seen) >= 2 or od_mm < 1.3
    steps = [b.y_mm - a.y_mm for a, b in pairwise(rows)]
    assert all(step <= around / len(seen) + stock.dot_mm for step in steps)


def test_wrap_on_a_thick_bundle_notes_that_it_faces_one_way() -> None:
    layout = lay_out(STOCKS["wrap-38x38"], label(wire_od_mm=10.0))
    assert "label-round" in rules_of(layout)


def test_glyphs_the_font_lacks_are_reported_and_not_drawn() -> None:
    layout = lay_out(STOCKS["flag-18"], label(lines=(("Lampe \u65e5\u672c",),)))
    assert words_of(layout, "line") == ["Lampe", "Lampe"]
    finding = next(problem for problem in layout.problems if problem.rule == "label-glyph")
    assert "cjk unified ideograph-65e5" in finding.found


@pytest.mark.parametrize(
    ("polarity", "code", "words"),
    [
        ("+", "RD", "+ plus red"),
        ("-", "BK", "\N{MINUS SIGN} minus black"),
        ("", "BKWH", "black and white"),
        ("-", "", "\N{MINUS SIGN} minus"),
    ],
)
def test_polarity_and_colour_in_words_where_there_is_room(polarity: str, code: str, words: str) -> None:
    layout = lay_out(STOCKS["cards-a4"], label(polarity=polarity, colour_code=code))
    assert words_of(layout, "side") == ["LAMP END", words]


@pytest.mark.parametrize("kind", ["joint", "plug", "spool"])
def test_joint_plug_and_spool_labels(kind: str) -> None:
    text = label(kind=kind, tag={"joint": "J3", "plug": "P1", "spool": "RD-28"}[kind], end="", wire_od_mm=2.5)
    for name in ("flag-12", "plate-50x25", "sleeve-4.8"):
        layout = lay_out(STOCKS[name], text)
        assert "label-tag" not in rules_of(layout)
        assert {item.shape for item in layout.items if isinstance(item, Mark)} == {kind}
    folds = [item for item in lay_out(STOCKS["flag-12"], text).items if isinstance(item, Line)]
    assert any(item.style == "fold" for item in folds) is (kind != "spool")


def test_fitting_stocks() -> None:
    text = label(lines=(("out 5", "o5"),))
    names = [stock.name for stock in fitting_stocks(tuple(STOCKS.values()), text)]
    assert "sleeve-1.6" in names
    assert "flag-12" in names
    assert "sleeve-6.4" not in names


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda stock: stock.name)
def test_a_text_far_too_long_ends_in_findings(stock: Stock) -> None:
    layout = lay_out(stock, label(tag="K7LM9A2C4E6F", lines=tuple((word * 100,) for word in "abcdef")))
    assert faults(layout) == []
    assert layout.problems


def test_lines_are_in_the_order_given() -> None:
    layout = lay_out(STOCKS["cards-a4"], label(kind="card", lines=tuple((f"step {n}",) for n in range(9))))
    assert words_of(layout, "line") == [f"step {n}" for n in range(9)]
    assert LINES[0][0] not in words_of(layout, "line")

"""Lays one label out on its stock: where everything goes in mm, and what does not fit.

Everything is placed on whole printer dots, so that drawing has nothing left to round. Works without
Pillow: the font is monospaced and its metrics are data.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import attrs

from model.errors import BadValue
from model.findings import Finding, Severity
from model.labels import blocks, font_metrics, qr_sizes
from model.labels.blocks import Block, Wanted, Wordings
from model.labels.items import Item, Layout, Line, LineStyle, Mark, Qr, Shape, Text
from model.labels.stock import Stock
from model.labels.text import LabelText
from model.standards.colours import colour
from model.standards.heatshrink import LENGTH_LOSS_PCT, squeeze
from model.standards.legibility import DEFAULT_CAP_MM, FLOOR_CAP_MM
from model.values import in_range

QR_ARC = 0.785  # a code may cover this much of the diameter it is bent round, 90 degrees of arc; computed
GOOD_DOTS = 4  # a module; fewer don't stand a dot of ink spread on each side (advice of the originator of QR)
FOLD_LINE_MM = 0.1
UNDER_FROM = 3.6  # cap heights from which a sleeve has its lines under the tag; common practice, no source
REPEAT_GAP = 0.4  # between repeats, in least cap heights; common practice, no source
SIDES = 3  # repeats round a wire that keep one readable from any side; common practice, no source
_EPS = 1e-6

MARKS: Mapping[str, tuple[Shape, Wordings]] = {
    "L": ("lamp", ("LAMP END", "LAMP")),
    "C": ("controller", ("CONTROLLER", "CONTROL", "CTRL")),
    "joint": ("joint", ("JOINT",)),
    "plug": ("plug", ("PLUG",)),
    "spool": ("spool", ("SPOOL",)),
}
"""Sign and words of what a label is at; in capitals, which need no room under the line."""


@attrs.frozen(kw_only=True)
class Rules:
    """Heights are of capitals in use, after shrinking.

    The cap heights follow from 16 and 20 arc minutes at 300 mm (NUREG-0700), module sizes are common
    practice, no source: 0.25 mm for a good reader, 0.4 mm for a phone.
    """

    cap_mm: float = attrs.field(default=DEFAULT_CAP_MM, validator=in_range(0.5, 10, "mm"))
    floor_mm: float = attrs.field(default=FLOOR_CAP_MM, validator=in_range(0.5, 10, "mm"))
    module_mm: float = attrs.field(default=0.25, validator=in_range(0.1, 2, "mm"))
    good_module_mm: float = attrs.field(default=0.4, validator=in_range(0.1, 3, "mm"))
    qr: bool = True


RULES = Rules()

_chosen = RULES


def print_capitals(cap_mm: float) -> None:
    """Set capitals of this height, where there is room, on every label laid out from now on. BadValue."""
    global _chosen
    if cap_mm != _chosen.cap_mm:
        _chosen = attrs.evolve(RULES, cap_mm=cap_mm)


def chosen_rules() -> Rules:
    """The rules that labels are laid out by where none are given."""
    return _chosen


def lay_out(stock: Stock, text: LabelText, rules: Rules | None = None) -> Layout:
    """The label with this text on this stock, with all that does not fit as findings; by `chosen_rules` where
    no others are given.

    Never raises for a text that is too large: what fits is placed, the rest is a problem.
    """
    return _Composer(stock, text, rules or _chosen).layout()


def fitting_stocks(
    stocks: tuple[Stock, ...], text: LabelText, rules: Rules | None = None
) -> tuple[Stock, ...]:
    """Those of `stocks` on which the text has no problem above a note."""
    return tuple(stock for stock in stocks if not _grave(lay_out(stock, text, rules)))


def _grave(layout: Layout) -> bool:
    return any(problem.severity > Severity.NOTE for problem in layout.problems)


def label_finding(
    text: LabelText, rule: str, found: str, limit: str, remedy: str, severity: Severity
) -> Finding:
    """What is wrong with one label, leading to it on the Labels screen."""
    return Finding(
        subject=f"label {text.name}",
        rule=rule,
        found=found,
        limit=limit,
        remedy=remedy,
        severity=severity,
        place="labels",
        ref=text.tag,
    )


class _Composer:
    """Lays out one label. Works in dots of the stock's resolution; gathers items and problems."""

    def __init__(self, stock: Stock, text: LabelText, rules: Rules) -> None:
        self.stock = stock
        self.text = text
        self.rules = rules
        self.dot = stock.dot_mm
        self.items: list[Item] = []
        self.problems: list[Finding] = []
        self.no_qr = ""
        self.squeeze = 1.0 if stock.sleeve is None else squeeze(stock.sleeve, text.wire_od_mm)
        self.left = self._up(stock.margin_x_mm)
        self.top = self._up(stock.margin_y_mm)
        self.bottom = self._down(stock.print_height_mm - stock.margin_y_mm)
        self.wanted = self._wanted()

    def layout(self) -> Layout:
        self._check_diameter()
        compose: dict[str, Callable[[], int]] = {
            "sleeve": self._sleeve,
            "flag": self._flag if self.text.kind != "spool" else self._plate,
            "wrap": self._rows_round,
            "strip": self._rows_round,
            "plate": self._plate,
        }
        length = compose[self.stock.kind]()
        length_mm = length * self.dot if self.stock.is_continuous else self.stock.length_mm
        printable = (
            self.left * self.dot,
            self.top * self.dot,
            self._down(length_mm - self.stock.margin_x_mm) * self.dot,
            self.bottom * self.dot,
        )
        shrunk = 1 - LENGTH_LOSS_PCT / 100 if self.stock.sleeve is not None else 1.0
        return Layout(
            stock=self.stock,
            text=self.text,
            length_mm=length_mm,
            height_mm=self.stock.height_mm,
            printable=printable,
            items=tuple(self.items),
            squeeze=self.squeeze,
            finished_length_mm=length_mm * shrunk,
            no_qr=self.no_qr,
            problems=tuple(self.problems),
        )

    # what is wanted

    def _wanted(self) -> Wanted:
        text = self.text
        lines = tuple(line for line in map(self._drawable, text.lines) if line)
        shape, words = MARKS.get(text.at, (None, ()))
        return Wanted(
            tag=self._drawable((text.tag,))[0],
            mark=shape,
            mark_words=words,
            signs=self._signs(),
            lines=lines,
            cap=self._up(self.rules.cap_mm / self.squeeze),
            floor=self._up(self.rules.floor_mm / self.squeeze),
            apart=text.kind == "card",
        )

    def _signs(self) -> Wordings:
        """Polarity in words and as a sign, and the wire's colour as a name and as its IEC 60757 code."""
        text = self.text
        sign = {"+": "+", "-": "\N{MINUS SIGN}"}.get(text.polarity, "")
        word = {"+": "plus", "-": "minus"}.get(text.polarity, "")
        code = text.colour_code
        try:
            name = colour(code).name if code else ""
        except BadValue:
            name = code
        wordings = (f"{sign} {word} {name}", f"{sign} {word} {code}", f"{sign} {name}", f"{sign}{code}")
        kept = dict.fromkeys(" ".join(wording.split()) for wording in wordings)
        return tuple(sorted(filter(None, kept), key=len, reverse=True))

    def _drawable(self, line: Wordings) -> Wordings:
        """Wordings the font can draw, each once, longest first; reports what it lacks."""
        kept: list[str] = []
        lacking: list[str] = []
        for wording in line:
            drawn, without = font_metrics.drawable(wording)
            lacking.extend(sign for sign in without if sign not in lacking)
            if drawn and drawn not in kept:
                kept.append(drawn)
        if lacking:
            names = ", ".join(font_metrics.name_of(sign) for sign in lacking[:4])
            more = f" and {len(lacking) - 4} more" if len(lacking) > 4 else ""
            self._problem(
                "label-glyph",
                f"can't be drawn: {names}{more}",
                "what the label font holds",
                "Write it with other characters.",
            )
        return tuple(sorted(kept, key=len, reverse=True))

    # kinds of stock

    def _sleeve(self) -> int:
        self.no_qr = (
            "A sleeve carries no code: shrinking squeezes it across and bends it round the wire, "
            "so that its squares become bars no reader takes. Put the code on a flag."
        )
        length = self._down(self.stock.length_max_mm)
        right = length - self.left
        high = self.bottom - self.top
        block = self._fill(right - self.left, high, under=high >= UNDER_FROM * self.wanted.cap)
        if self.stock.is_continuous:
            length = self._length(2 * self.left + (block.width if block else 0))
        if block is not None:
            self._place(block, (length - block.width) // 2, self._middle(block))
        return length

    def _flag(self) -> int:
        stock = self.stock
        wrap = self._up(math.pi * (self.text.wire_od_mm + stock.thickness_mm))
        face = (self._down(stock.length_max_mm) - wrap) // 2
        if face <= 2 * self.left:
            # all of it goes round: nothing is left to read, and no place to fold at
            self.no_qr = "The label is too short to go round and be folded."
            self._report(None)
            return self._down(stock.length_max_mm)
        code = self._code(self.bottom - self.top, face - 2 * self.left)
        start = self.left + self._beside_code(code)
        block = self._fill(face - self.left - start, self.bottom - self.top, under=True)
        if stock.is_continuous:
            needed = start + (block.width if block else 0) + self.left
            face = max(self._up((stock.length_mm - wrap * self.dot) / 2), min(face, needed))
        for origin in (0, face + wrap):
            if code is not None:
                self._place_code(code, origin + self.left)
            if block is not None:
                self._place(block, origin + start, self._middle(block))
        pen = max(1, self._down(FOLD_LINE_MM))
        for x in (face, face + wrap - pen):
            self._line(x, self.top, x, self.bottom, "fold")
        return 2 * face + wrap

    def _plate(self) -> int:
        length = self._down(self.stock.length_max_mm)
        right = length - self.left
        code = self._code(self.bottom - self.top, right - self.left)
        start = self.left + self._beside_code(code)
        block = self._fill(right - start, self.bottom - self.top, under=True)
        if self.stock.is_continuous:
            length = self._length(start + self.left + (block.width if block else 0))
        if code is not None:
            self._place_code(code, self.left)
        if block is not None:
            self._place(block, start, self._middle(block))
        return length

    def _rows_round(self) -> int:
        """The tag in rows round the wire, so that one is read from any side.

        A label higher than the way round covers its own upper part as it is wrapped: in sight is the last
        turn of the print. Rows are counted from its foot, and as many as are wanted stand whole in that turn.
        A strip has no more print than one turn.
        """
        length = self._down(self.stock.length_max_mm)
        around_mm = math.pi * (self.text.wire_od_mm + self.stock.thickness_mm)
        last_turn = max(self.top, self._up(self.stock.print_height_mm - around_mm))
        if self.stock.kind == "strip":
            self.top = last_turn = min(last_turn, self.bottom - 1)
        seen = self.bottom - last_turn
        code = None
        if self.stock.kind == "strip":
            self.no_qr = "A strip is bent round the wire and too low for a code. Put the code on a flag."
        else:
            bent = self._down(QR_ARC * self.text.wire_od_mm)
            code = self._code(seen, length - 2 * self.left, bent=bent, upper=last_turn)
        start = self.left + self._beside_code(code)
        width = length - self.left - start
        gap = max(1, round(REPEAT_GAP * self.wanted.floor))
        block, room, turn = None, seen, 1
        # two at opposite sides are worth more than the second line
        for turn, whole in ((SIDES, True), (2, True), (2, False), (1, True)):
            room = seen // turn - (gap if turn > 1 else 0)
            block = blocks.fill(self.wanted, width, room, prefer_under=False)
            wanted = self.wanted.lines if whole else self.wanted.lines[:1]
            if block is not None and not any(line in block.missing for line in wanted):
                break
        self._report(block)
        if block is None:
            return length
        pitch = max(block.height + gap, seen // turn)
        lowest = self.bottom - block.height - (room - block.height) // 2
        if code is not None:
            self._place_code(code, self.left, last_turn)
        for upper in range(lowest - pitch * ((lowest - self.top) // pitch), lowest + 1, pitch):
            self._place(block, start, upper)
        high = self.bottom - self.top
        if high * self.dot < around_mm * (1 - 1 / SIDES):
            share = 100 * high * self.dot / around_mm
            self._problem(
                "label-round",
                f"print covers {share:.0f} % of the way round",
                "",
                "Turn the label so that it faces you, or take a higher one.",
                Severity.NOTE,
            )
        return length

    # parts

    def _fill(self, width: int, height: int, *, under: bool) -> Block | None:
        block = None
        if min(width, height) > 0:
            block = blocks.fill(self.wanted, width, height, prefer_under=under)
        self._report(block)
        return block

    def _report(self, block: Block | None) -> None:
        floor_mm = self.wanted.floor * self.dot
        if block is None:
            need = f"{floor_mm:.1f} mm high"
            if self.squeeze < 1:
                need += f" before shrinking to {self.squeeze * 100:.0f} %"
            self._problem(
                "label-tag",
                f"the tag can't be {self.rules.floor_mm:g} mm high on {self.stock.title}",
                f"{need} and {blocks.text_width(self.wanted.tag, self.wanted.floor) * self.dot:.1f} mm long",
                f"Take a larger stock{'' if self.stock.kind in ('flag', 'plate') else ', or a flag'}.",
            )
            return
        for line in block.missing:
            # the first line says where this end goes; without the others the label still serves
            severity = Severity.WARNING if line == self.wanted.lines[0] else Severity.NOTE
            wide = blocks.text_width(line[-1], self.wanted.floor) * self.dot
            self._problem(
                "label-line",
                f'no room for "{line[-1]}"',
                f"{wide:.1f} mm at {self.rules.floor_mm:g} mm high",
                "Shorten it, or take a larger stock.",
                severity,
            )

    def _code(
        self, high: int, wide: int, *, bent: int | None = None, upper: int | None = None
    ) -> qr_sizes.QrSize | None:
        """The code that fits, modules inside the print, quiet zone inside the label; says so if none does.

        `upper` is where what is in sight begins, if not at the upper margin; `bent` how many dots may be bent
        round. Where height is left over it is of a greater version than its content needs.
        """
        rules = self.rules
        if not rules.qr:
            self.no_qr = "Codes are switched off in the settings."
            return None
        content = self.text.qr_text()
        least = self._up(rules.module_mm)
        good = max(least, self._up(rules.good_module_mm), GOOD_DOTS)
        # the quiet zone may lie on the margin, as long as it lies on the label
        over = self.top if upper is None or upper <= self.top else 0
        margin = min(over, self._down(self.stock.print_height_mm) - self.bottom)
        most = high if bent is None else min(high, bent)
        smallest = (17 + 4) * least
        if bent is not None and smallest > bent:
            self.no_qr = (
                f"Round {self.text.wire_od_mm:.3g} mm a code would bend out of sight; it needs a bundle of "
                f"{smallest * self.dot / QR_ARC:.0f} mm. Put it on a flag."
            )
            return None
        best: qr_sizes.QrSize | None = None
        for dots in range(good, least - 1, -1):
            room = min(high + 2 * min(margin, qr_sizes.QUIET_MODULES * dots), wide * 2 // 3)
            size = qr_sizes.fit(content, room, least, dots)
            if size is not None and size.dots == dots and size.side_dots <= most:
                best = qr_sizes.roomier(size, min(room, wide // 3), most) if dots >= GOOD_DOTS else size
                break
        if best is None:
            self.no_qr = f"The label is too small for a code with modules of {rules.module_mm:g} mm."
            self._problem(
                "label-qr",
                "no code",
                f"modules of at least {rules.module_mm:g} mm and four round it",
                "Take a higher stock or a finer printer to have one.",
                Severity.NOTE,
            )
        elif best.level != "H":
            mends = qr_sizes.RECOVERY_PCT[best.level]
            self._problem(
                "label-qr-level",
                f"code at level {best.level}, which mends {mends} %",
                "level H mends 30 %",
                "Take a higher stock to have level H.",
                Severity.NOTE,
            )
        if best is not None and best.dots < GOOD_DOTS:
            self._problem(
                "label-qr-dots",
                f"code with modules of {best.dots} dots",
                f"{GOOD_DOTS} dots still read when the print spreads by a dot",
                "Take a higher stock or a finer printer if a reader fails.",
                Severity.NOTE,
            )
        return best

    def _beside_code(self, code: qr_sizes.QrSize | None) -> int:
        """Dots from the left margin to the text: the code and what the margin lacks of its quiet zone."""
        if code is None:
            return 0
        return max(0, code.quiet_dots - self.left) + code.side_dots + code.quiet_dots

    def _place_code(self, code: qr_sizes.QrSize, x: int, upper: int | None = None) -> None:
        upper = self.top if upper is None else upper
        self.items.append(
            Qr(
                x_mm=(x + max(0, code.quiet_dots - self.left)) * self.dot,
                y_mm=(upper + (self.bottom - upper - code.side_dots) // 2) * self.dot,
                module_mm=code.dots * self.dot,
                version=code.version,
                level=code.level,
                content=self.text.qr_text(),
            )
        )

    def _place(self, block: Block, x: int, y: int) -> None:
        for piece in block.pieces:
            left, upper, size = (x + piece.x) * self.dot, (y + piece.y) * self.dot, piece.size * self.dot
            if piece.what == "bar":
                self._line(x + piece.x, y + piece.y, x + piece.x + piece.width, y + piece.y, "bar", size)
            elif piece.shape is not None:
                self.items.append(Mark(x_mm=left, y_mm=upper, size_mm=size, shape=piece.shape))
            else:
                self.items.append(
                    Text(x_mm=left, y_mm=upper, height_mm=size, text=piece.text, role=piece.role)
                )

    def _line(self, x1: int, y1: int, x2: int, y2: int, style: LineStyle, width_mm: float = 0.0) -> None:
        self.items.append(
            Line(
                x1_mm=x1 * self.dot,
                y1_mm=y1 * self.dot,
                x2_mm=x2 * self.dot,
                y2_mm=y2 * self.dot,
                width_mm=width_mm or max(1, self._down(FOLD_LINE_MM)) * self.dot,
                style=style,
            )
        )

    def _middle(self, block: Block) -> int:
        return self.top + (self.bottom - self.top - block.height) // 2

    def _length(self, needed: int) -> int:
        """Dots of a label cut to length, from its least to its greatest."""
        return max(self._up(self.stock.length_mm), min(self._down(self.stock.length_max_mm), needed))

    def _up(self, value_mm: float) -> int:
        return math.ceil(value_mm / self.dot - _EPS)

    def _down(self, value_mm: float) -> int:
        return math.floor(value_mm / self.dot + _EPS)

    # findings

    def _check_diameter(self) -> None:
        least, most = self.stock.od_range_mm
        od = self.text.wire_od_mm
        if least <= od <= most:
            return
        self._problem(
            "label-size",
            f"{od:.3g} mm thick",
            f"{self.stock.title} is for {least:.2f} to {most:.2f} mm",
            "Take the size for this diameter" + (", or a flag." if self.stock.kind == "sleeve" else "."),
        )

    def _problem(
        self, rule: str, found: str, limit: str, remedy: str, severity: Severity = Severity.WARNING
    ) -> None:
        self.problems.append(label_finding(self.text, rule, found, limit, remedy, severity))

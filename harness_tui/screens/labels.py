"""Labels: what stands on each, on which stock, which are printed; and printing them."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from enum import StrEnum
from functools import partial
from typing import ClassVar

import attrs
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.style import Style
from textual.widgets import DataTable, Static

from harness_tui.screens.printing import PrintScreen
from harness_tui.screens.room import Room, styles_beside
from harness_tui.session import today
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.columns import FittedTable, spread
from harness_tui.widgets.lines import clip
from harness_tui.widgets.table import Row
from model import editing
from model.bench import bench_order
from model.errors import LoomError
from model.harness import Harness
from model.labels.batch import LabelState, WireLabel, each_label, marks, one_face, other_stocks, stocks_for
from model.labels.preview import text_preview
from model.labels.stock import Stock, load_stocks
from model.routing.sleeves import tag_sleeve
from model.routing.wires import derive

_EMPTY = "No labels yet.\n\nPress 4 and walk the lamps: each accepted run gives tags for both ends."

_PAPER = Style.parse("#101010 on #f4f4f4")
"""Ink on a label."""

_WORKING = "Working out what fits on each label ..."

BOX = 30
"""Columns of the label as text."""

_USUAL = {"sleeve": "to suit each wire", "flag": "the usual, 12 mm tape"}
"""What is taken where no stock is chosen."""

_END_WORDS = {"L": "lamp", "C": "controller"}


class Which(StrEnum):
    """Which labels the table shows."""

    ALL = "all"
    NEW = "not printed"
    CHANGED = "changed"
    TROUBLE = "with problems"


_Key = tuple[Harness, str, int | None]
"""What a batch of labels is worked out from: harness, sleeves or flags, resolution."""

AT_ONCE = 100
AT_ONCE_S = 0.2
"""So many labels are always worked out before the screen is drawn, and more as long as this lasts."""


@attrs.frozen(kw_only=True, eq=False)
class _Batch:
    """Every label of one harness on the stock chosen, worked out once."""

    key: _Key
    labels: tuple[WireLabel, ...]
    by_key: Mapping[str, WireLabel]


class LabelsScreen(Room):
    """The table of labels and a picture of the one under the cursor."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Labels"
    HELP = (
        "Every wire has a label at each end. Choose sleeves, which go on before the joint is made, or "
        "flags, which carry a code to scan. What a label has no room for is said with a proposal. Print "
        "those shown; when they came out well they are marked as printed. If what a printed label says "
        "changes later, it shows here."
    )
    BINDINGS: ClassVar = [
        Binding(
            "p", "print", "print", tooltip="write the labels shown to PDF and pictures", id="labels.print"
        ),
        Binding("r", "reprint", "this one", tooltip="print the label under the cursor", id="labels.reprint"),
        Binding("k", "kind", "sleeve/flag", tooltip="sleeves or flags", id="labels.kind"),
        Binding("s", "stock", "stock", tooltip="choose the sleeve or flag to print on", id="labels.stock"),
        Binding("w", "which", "which", tooltip="all, not printed, changed, with problems", id="labels.which"),
        Binding("o", "run", "one run", tooltip="only the labels of this lamp's run", id="labels.run"),
        Binding("m", "mark", "mark", tooltip="printed, made by hand; or not after all", id="labels.mark"),
        Binding("d", "dpi", "dpi", show=False, tooltip="the printer's resolution", id="labels.dpi"),
        Binding("f", "find", "find", show=False, tooltip="the wire's whole way, in Find", id="labels.find"),
        Binding("escape", "leave", "back", show=False, id="labels.leave"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.group = ""
        self.which = Which.ALL
        self.lamp_id = ""
        self.large = False
        self.dpi: dict[str, int] = {}
        self._batch: _Batch | None = None
        self._waiting: _Key | None = None
        self._wanted = ""
        self._trouble = ""

    def compose_body(self) -> ComposeResult:
        yield Static("", id="stock", markup=False)
        yield FittedTable(("", "tag", "end", "says", "state"), id="labels")
        yield Static("", id="empty", markup=False)
        yield Static("", id="label", markup=False)

    def on_mount(self) -> None:
        self.query_one(FittedTable).focus()

    # --- which stock, which labels ---

    def _stocks(self) -> Mapping[str, Stock]:
        return load_stocks()

    def _chosen(self, harness: Harness) -> str:
        settings = harness.settings
        return settings.sleeve_stock if self.group == "sleeve" else settings.flag_stock

    def _all(self) -> tuple[WireLabel, ...]:
        """Every label on the stock chosen, in the order of the work; the old ones until the new are ready."""
        harness = self.session.harness
        if not self.group:
            wires = derive(harness).wires
            self.group = "sleeve" if not wires or tag_sleeve(wires[0]) else "flag"
        key = (harness, self.group, self.dpi.get(self.group))
        if (self._batch is None or self._batch.key != key) and self._waiting != key:
            self._start(key)
        return self._batch.labels if self._batch is not None else ()

    def _start(self, key: _Key) -> None:
        """Work the labels out: few at once, many in a thread while the screen goes on."""
        self._trouble = ""
        labels: list[WireLabel] = []
        began = time.monotonic()
        try:
            for label in self._each(key):
                labels.append(label)
                if len(labels) >= AT_ONCE and time.monotonic() - began > AT_ONCE_S:
                    self._waiting = key
                    work = partial(self._work_out, key)
                    self.run_worker(work, group="labels", exclusive=True, thread=True, exit_on_error=False)
                    return
        except LoomError as error:
            self._trouble = error.message()
            labels = []
        self._take(key, tuple(labels))

    def _each(self, key: _Key) -> Iterator[WireLabel]:
        harness, group, dpi = key
        settings = harness.settings
        chosen = settings.sleeve_stock if group == "sleeve" else settings.flag_stock
        return each_label(harness, self._stocks(), chosen, group, bench_order(harness), dpi)

    def _work_out(self, key: _Key) -> None:
        """In a thread of its own; what is laid out already is known and costs nothing."""
        labels = tuple(self._each(key))
        self.app.call_from_thread(self._ready, key, labels)

    def _ready(self, key: _Key, labels: tuple[WireLabel, ...]) -> None:
        if self._waiting == key:
            self._take(key, labels)
            if self.is_current:
                self.redraw()
            if self._wanted:
                self.go_to(self._wanted)

    def _take(self, key: _Key, labels: tuple[WireLabel, ...]) -> None:
        self._batch = _Batch(key=key, labels=labels, by_key={label.key: label for label in labels})
        self._waiting = None

    def _shown(self) -> tuple[WireLabel, ...]:
        labels = self._all()
        if self.lamp_id:
            labels = tuple(label for label in labels if self.lamp_id in label.wire.lamps)
        tests = {
            Which.ALL: lambda label: True,
            Which.NEW: lambda label: label.state is LabelState.NEW,
            Which.CHANGED: lambda label: label.state is LabelState.CHANGED,
            Which.TROUBLE: lambda label: bool(label.problems),
        }
        return tuple(filter(tests[self.which], labels))

    def _label(self) -> WireLabel | None:
        self._all()
        return self._batch.by_key.get(self.query_one(FittedTable).here) if self._batch else None

    def where(self) -> str:
        labels = self._all()
        new = sum(label.state is not LabelState.PRINTED for label in labels)
        return f"Labels {len(labels)}, {new} to print" if new else f"Labels {len(labels)}"

    def go_to(self, ref: str) -> None:
        self.which, self.lamp_id = Which.ALL, ""
        self.redraw()
        # Where many are still worked out, the cursor goes there once they are.
        self._wanted = ref if self._waiting else ""
        table = self.query_one(FittedTable)
        if table.go_to(ref) or table.go_to(f"{ref}-L"):
            table.focus()
            self._show_label()

    # --- drawing ---

    def show_harness(self) -> None:
        labels = self._all()
        table, empty = self.query_one(FittedTable), self.query_one("#empty", Static)
        if self.lamp_id and self.session.harness.find_lamp(self.lamp_id) is None:
            self.lamp_id = ""
        shown = self._shown()
        if not shown:
            self.large = False
        table.display = bool(shown) and not self.large
        empty.display = not shown
        if not labels:
            said = self._trouble or (_WORKING if self._waiting else _EMPTY)
            empty.update(Content.styled(said, "$text-error" if self._trouble else ""))
        elif not shown:
            empty.update(Content(f"{self._nothing()}\n\nw shows others."))
        self.query_one("#stock", Static).update(Content("\n").join(self._stock_lines(labels)))
        widths = spread(self.app.size.width - 1, (2, 4, 10, 20, 18), (0, 0, 0, 1, 0))
        table.fill_to(widths, [self._row(label, widths[3]) for label in shown])
        if table.display and self.is_current and self.focused is None:
            table.focus()
        self._show_label()

    def _nothing(self) -> str:
        """That no label is of the kind that is to be shown."""
        lamp = self.session.harness.find_lamp(self.lamp_id)
        said = "has problems" if self.which is Which.TROUBLE else f"is {self.which}"
        return f"No label {f'in the run of {lamp.name} ' if lamp else ''}{said}."

    def _stock_lines(self, labels: tuple[WireLabel, ...]) -> Iterator[Content]:
        width = max(self.app.size.width - 2, 20)
        yield Content("on    ") + self._stock_words("sleeve") + Content("   ") + self._stock_words("flag")
        counts = {
            Which.ALL: len(labels),
            Which.NEW: sum(label.state is LabelState.NEW for label in labels),
            Which.CHANGED: sum(label.state is LabelState.CHANGED for label in labels),
            Which.TROUBLE: sum(bool(label.problems) for label in labels),
        }
        lamp = self.session.harness.find_lamp(self.lamp_id)
        if lamp is not None:
            run = f"show  {self.which} in the run of {lamp.name}   (o all runs)"
            yield Content.styled(clip(run, width), "bold $accent")
            return
        line = Content("show  ")
        for which, count in counts.items():
            warn = which is Which.TROUBLE and count
            style = "bold $accent" if which is self.which else "$text-warning" if warn else "dim"
            line += Content.styled(f"{which} {count}", style) + Content("   ")
        yield line

    def _stock_words(self, group: str) -> Content:
        """One group with the stock that is taken for it; bright if it is the one printed on."""
        settings = self.session.harness.settings
        name = settings.sleeve_stock if group == "sleeve" else settings.flag_stock
        stock = self._stocks().get(name)
        title = stock.title if stock else name or _USUAL[group]
        dpi = self.dpi.get(group)
        words = f"{group}: {clip(title, 28)}{f' {dpi} dpi' if dpi else ''}"
        return Content.styled(words, "bold $accent" if group == self.group else "dim")

    @staticmethod
    def _row(label: WireLabel, room: int) -> Row:
        mark = Content("")
        if label.problems:
            mark = Content.styled("!" if label.printable else "!!", "$text-warning")
        changed = label.state is LabelState.CHANGED
        state = Content.styled(f"{label.state} {label.day}", "$text-warning" if changed else "")
        says = " / ".join(_lines_of(label)) or "the tag alone"
        return label.key, (
            mark,
            label.text.tag,
            _END_WORDS.get(label.text.end, ""),
            clip(says, room),
            state,
        )

    def _show_label(self) -> None:
        label = self._label()
        area = self.query_one("#label", Static)
        area.display = label is not None and bool(self._shown())
        if label is not None and area.display:
            area.update(Content("\n").join(self._label_lines(label)))

    def _label_lines(self, label: WireLabel) -> Iterator[Content]:
        width = max(self.app.size.width - 2, 20)
        rows = max(self.app.size.height - 9, 6) if self.large else 6 if self.app.size.height < 32 else 12
        if self.large:
            yield from self._picture(label, width, rows)
        else:
            # Both side by side: what is drawn, and the same in letters that can be read.
            box = text_preview(label.layout, BOX)[:rows]
            picture = self._picture(label, width - BOX - 2, rows) if width >= BOX + 40 else []
            for place in range(max(len(box), len(picture))):
                left = box[place] if place < len(box) else ""
                drawn = picture[place] if place < len(picture) else Content("")
                yield Content(f"{left:<{BOX}}  ") + drawn
        stock = label.layout.stock
        size = f"{label.layout.length_mm:.0f} x {label.layout.height_mm:.1f} mm"
        tag = f"tag {label.layout.tag_height_mm:.1f} mm high" if label.printable else "no room for the tag"
        code = f"code {label.layout.qr.level}" if label.layout.qr else "no code"
        yield Content.styled(clip(f"{stock.title}, {stock.dpi} dpi   {size}   {tag}   {code}", width), "dim")
        for problem in label.problems[: 2 if self.app.size.height < 32 else 4]:
            line = f"! {problem.found}" + (f" ({problem.limit})" if problem.limit else "")
            yield Content.styled(clip(line, width), "$text-warning")
        if label.problems:
            others = "; ".join(stock.title for stock in other_stocks(self._stocks(), label)[:3])
            fits = f" All fits on: {others}" if others else ""
            yield Content(clip(f"  {label.problems[0].remedy}{fits}", width))
        elif label.state is LabelState.CHANGED:
            yield Content.styled("! It says something else now than when it was printed.", "$text-warning")
        elif label.left_out:
            yield Content.styled("  No room for where the other end is; a flag has it.", "dim")

    @staticmethod
    def _picture(label: WireLabel, width: int, rows: int) -> list[Content]:
        # Pillow is loaded with the first picture.
        from model.labels.drawing import cells

        return [Content.styled(row, _PAPER) for row in cells(one_face(label.layout), max(width, 10), rows)]

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        self._show_label()

    # --- keys ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Grey what can't be done now."""
        if action in ("print", "reprint", "run", "mark", "find") and self.is_mounted:
            return True if self._shown() else None
        return True

    def _printed(self, marked: bool | None) -> None:
        self.redraw()
        if marked:
            self.say("Marked as printed. 5 goes to the bench.")

    def action_print(self) -> None:
        """Print the labels shown."""
        shown = self._shown()
        if shown:
            self.app.push_screen(PrintScreen(shown), self._printed)

    def action_reprint(self) -> None:
        """Print the label under the cursor."""
        label = self._label()
        if label is not None:
            self.app.push_screen(PrintScreen([label]), self._printed)

    def action_kind(self) -> None:
        """Change between sleeves and flags."""
        self.group = "flag" if self.group == "sleeve" else "sleeve"
        self.redraw()

    def action_stock(self) -> None:
        """Choose the stock to print on."""
        harness = self.session.harness
        choices = stocks_for(self._stocks(), self.group)
        names = ["", *(stock.name for stock in choices)]
        lines = [_USUAL[self.group], *(self._choice(stock) for stock in choices)]
        chosen = self._chosen(harness)
        setting = f"{self.group}_stock"

        def take(place: int | None) -> None:
            if place is not None and self.edit(
                lambda h: editing.set_settings(h, **{setting: names[place]}), f"{self.group} stock"
            ):
                self.say(f"Printing on {lines[place]}.")

        at = names.index(chosen) if chosen in names else 0
        self.app.push_screen(Choose(f"Which {self.group} stock?", lines, at), take)

    @staticmethod
    def _choice(stock: Stock) -> str:
        least, most = stock.od_range_mm
        wires = f"wires {least:.2f} to {most:.2f} mm" if stock.kind == "sleeve" else ""
        return f"{stock.title:<38} {wires}".rstrip()

    def action_which(self) -> None:
        """Show other labels: all, not printed, changed, with problems."""
        order = tuple(Which)
        self.which = order[(order.index(self.which) + 1) % len(order)]
        self.redraw()

    def action_run(self) -> None:
        """Show only the labels of this lamp's run, or all again."""
        label = self._label()
        if self.lamp_id:
            self.lamp_id = ""
        elif label is not None:
            self.lamp_id = label.wire.lamps[0]
        self.redraw()

    def action_mark(self) -> None:
        """Mark the label under the cursor as printed, or take the mark off again."""
        label = self._label()
        if label is None:
            return
        said = marks([label])
        if label.state is LabelState.PRINTED:
            if self.edit(lambda h: editing.mark_printed(h, said, ""), f"{label.key} not printed"):
                self.say(f"{label.key} is not printed after all.")
        elif self.edit(lambda h: editing.mark_printed(h, said, today(), said=said), f"{label.key} printed"):
            self.say(f"{label.key} is marked as printed.")

    def action_dpi(self) -> None:
        """Choose the resolution of the printer."""
        label = self._label()
        if label is None:
            return
        stock = label.layout.stock
        lines = [f"{dpi} dpi" for dpi in stock.resolutions_dpi]

        def take(place: int | None) -> None:
            if place is not None:
                self.dpi[self.group] = stock.resolutions_dpi[place]
                self.redraw()

        at = stock.resolutions_dpi.index(stock.dpi) if stock.dpi in stock.resolutions_dpi else 0
        self.app.push_screen(Choose("Which resolution has the printer?", lines, at), take)

    def action_find(self) -> None:
        """Show the wire in Find."""
        label = self._label()
        if label is not None:
            self.loom.action_go("find", label.text.tag)

    @on(DataTable.RowSelected)
    def _enlarge(self) -> None:
        self.large = True
        self.redraw()

    def action_leave(self) -> None:
        """From the large picture to the table, from one run to all, else the screen before."""
        if self.large:
            self.large = False
            self.redraw()
            self.query_one(FittedTable).focus()
        elif self.lamp_id:
            self.action_run()
        else:
            self.loom.action_room_before()


def _lines_of(label: WireLabel) -> list[str]:
    """The lines that stand on the label as printed, each once."""
    return list(dict.fromkeys(text.text for text in label.layout.texts if text.role == "line"))

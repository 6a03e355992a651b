"""Labels: what stands on each, on which stock, which are printed; and printing them."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from functools import partial
from typing import ClassVar

import attrs
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.widgets import DataTable, Static

from harness_tui.screens.labels_stock import USUAL_OF_WIRES, ask_dpi, ask_stock, chosen_stock
from harness_tui.screens.print_room import PrintRoom
from harness_tui.screens.room import styles_beside
from harness_tui.screens.rulers import RulersScreen
from harness_tui.session import today
from harness_tui.stocks import all_stocks, stock_faults
from harness_tui.widgets.columns import FittedTable, spread
from harness_tui.widgets.label_lines import label_row, picture_lines, said_lines
from harness_tui.widgets.label_picture import LabelPicture
from harness_tui.widgets.lines import clip
from model.errors import LoomError
from model.harness import Harness
from model.labels.batch import Label, LabelState, one_face
from model.labels.text import TAG_MAX
from model.papers.label_sets import (
    USUAL,
    What,
    Which,
    better_stocks,
    labels_of,
    mark,
    select,
)
from model.routing.sleeves import tag_sleeve
from model.routing.wires import derive

_EMPTY = "No labels yet.\n\nPress 4 and walk the lamps: each accepted run gives tags for both ends."

_NONE_OF = {
    What.JOINTS: "No joints. The walk (4) makes one where wires merge.",
    What.PLUGS: "No plugs that wires cross. A leg in Routes (2) can have one.",
    What.SPOOLS: "No spools. Setup (0) says which wire is on hand.",
}
"""What is said where there are wires but nothing of this kind."""

_WORKING = "Working out what fits on each label ..."

_Key = tuple[Harness, What, str, str, int | None]
"""What a batch of labels is worked out from: harness, what of, sleeves or flags, stock chosen, resolution."""

AT_ONCE = 25
AT_ONCE_S = 0.2
"""So many labels are always worked out before the screen is drawn, and more as long as this lasts."""


@attrs.frozen(kw_only=True, eq=False)
class _Batch:
    """Every label of one harness on the stock chosen, worked out once."""

    key: _Key
    labels: tuple[Label, ...]
    by_key: Mapping[str, Label]


class LabelsScreen(PrintRoom):
    """The table of labels and a picture of the one under the cursor."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Labels"
    HELP = (
        "Every wire has a label at each end. Choose sleeves, which go on before the joint is made, or "
        "flags, which carry a code to scan. t changes to labels of joints, plugs and spools, and to bench "
        "cards. What a label has no room for is said with a proposal. Print those shown, on a printer of the "
        "system or as a PDF; they are then marked as printed, which u takes back. If what a printed label "
        "says changes later, it shows here. c measures how true a printer prints."
    )
    BINDINGS: ClassVar = [
        Binding(
            "p", "print", "print", tooltip="print the labels shown, or write them to PDF", id="labels.print"
        ),
        Binding("r", "reprint", "this one", tooltip="print the label under the cursor", id="labels.reprint"),
        Binding(
            "t", "what", "of what", tooltip="wires, joints, plugs, spools, bench cards", id="labels.what"
        ),
        Binding("k", "kind", "sleeve/flag", tooltip="sleeves or flags", id="labels.kind"),
        Binding("s", "stock", "stock", tooltip="choose what to print on", id="labels.stock"),
        Binding(
            "w",
            "which",
            "which",
            tooltip="all, not printed, changed, not made, with problems",
            id="labels.which",
        ),
        Binding("o", "run", "one run", tooltip="only the labels of this lamp's run", id="labels.run"),
        Binding(
            "m",
            "mark",
            "mark",
            show=False,
            tooltip="printed, made by hand; or not after all",
            id="labels.mark",
        ),
        Binding(
            "c",
            "rulers",
            "rulers",
            show=False,
            tooltip="measure how true a printer prints",
            id="labels.rulers",
        ),
        Binding(
            "u",
            "undo_print",
            "undo",
            show=False,
            tooltip="take the last mark off, else undo",
            id="labels.undo",
        ),
        Binding("d", "dpi", "dpi", show=False, tooltip="the printer's resolution", id="labels.dpi"),
        Binding("f", "find", "find", show=False, tooltip="the wire's whole way, in Find", id="labels.find"),
        Binding("escape", "leave", "back", show=False, id="labels.leave"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.what = What.WIRES
        self.group = ""
        self.which = Which.ALL
        self.lamp_id = ""
        self.large = False
        self.dpi: dict[tuple[What, str], int] = {}
        self._batch: _Batch | None = None
        self._waiting: _Key | None = None
        self._wanted = ""
        self._trouble = ""

    def compose_body(self) -> ComposeResult:
        yield Static("", id="stock", markup=False)
        yield FittedTable(("", "tag", "end", "says", "state"), id="labels")
        yield Static("", id="empty", markup=False)
        yield LabelPicture(id="picture")
        yield Static("", id="label", markup=False)

    def on_mount(self) -> None:
        self.query_one(FittedTable).focus()

    def on_screen_resume(self) -> None:
        super().on_screen_resume()
        faults = stock_faults()
        if faults:
            self.say(faults, "warning")

    # --- which stock, which labels ---

    def _chosen(self) -> str:
        return chosen_stock(self.session.harness, self.what, self.group)

    def _all(self) -> tuple[Label, ...]:
        """Every label on the stock chosen, in the order of the work; the old ones until the new are ready."""
        harness = self.session.harness
        if not self.group:
            wires = derive(harness).wires
            self.group = "sleeve" if not wires or tag_sleeve(wires[0]) else "flag"
        key = (harness, self.what, self.group, self._chosen(), self.dpi.get(self._dpi_key()))
        if (self._batch is None or self._batch.key != key) and self._waiting != key:
            self._start(key)
        if self._batch is None or self._batch.key[1] is not self.what:
            return ()
        return self._batch.labels

    def _dpi_key(self) -> tuple[What, str]:
        return self.what, self.group if self.what is What.WIRES else ""

    def _start(self, key: _Key) -> None:
        """Work the labels out: few at once, many in a thread while the screen goes on."""
        self._trouble = ""
        labels: list[Label] = []
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

    @staticmethod
    def _each(key: _Key) -> Iterator[Label]:
        harness, what, group, chosen, dpi = key
        return labels_of(harness, what, all_stocks(), chosen, group, dpi)

    def _work_out(self, key: _Key) -> None:
        """In a thread of its own; what is laid out already is known and costs nothing."""
        labels = tuple(self._each(key))
        self.app.call_from_thread(self._ready, key, labels)

    def _ready(self, key: _Key, labels: tuple[Label, ...]) -> None:
        if self._waiting == key:
            self._take(key, labels)
            if self.is_current:
                self.redraw()
            if self._wanted:
                self.go_to(self._wanted)

    def _take(self, key: _Key, labels: tuple[Label, ...]) -> None:
        self._batch = _Batch(key=key, labels=labels, by_key={label.key: label for label in labels})
        self._waiting = None

    def _shown(self) -> tuple[Label, ...]:
        return select(self.session.harness, self._all(), self.which, self.lamp_id)

    def _label(self) -> Label | None:
        self._all()
        return self._batch.by_key.get(self.query_one(FittedTable).here) if self._batch else None

    def where(self) -> str:
        labels = self._all()
        new = sum(label.state in (LabelState.NEW, LabelState.CHANGED) for label in labels)
        return f"Labels {len(labels)}, {new} to print" if new else f"Labels {len(labels)}"

    def go_to(self, ref: str) -> None:
        printed = next((one for one in self.session.harness.printed if one.name == ref), None)
        self.what = What(f"{printed.kind}s") if printed else What.WIRES
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
            said = self._trouble or (_WORKING if self._waiting else self._none())
            empty.update(Content.styled(said, "$text-error" if self._trouble else ""))
        elif not shown:
            empty.update(Content(f"{self._nothing()}\n\nw shows others."))
        self.query_one("#stock", Static).update(Content("\n").join(self._stock_lines(labels)))
        tag = TAG_MAX if self.what is What.SPOOLS else 6 if self.what is What.PLUGS else 4
        widths = spread(self.app.size.width - 1, (2, tag, 10, 20, 18), (0, 0, 0, 1, 0))
        table.fill_to(widths, [label_row(label, widths[3]) for label in shown])
        if table.display and self.is_current and self.focused is None:
            table.focus()
        self._show_label()

    def _none(self) -> str:
        """That there is no label at all, and what makes some."""
        none = _NONE_OF.get(self.what)
        return (
            f"{none}\n\nt goes on to other labels." if none and derive(self.session.harness).wires else _EMPTY
        )

    def _nothing(self) -> str:
        """That no label is of the kind that is to be shown."""
        lamp = self.session.harness.find_lamp(self.lamp_id)
        said = "has problems" if self.which is Which.TROUBLE else f"is {self.which}"
        return f"No label {f'in the run of {lamp.name} ' if lamp else ''}{said}."

    def _stock_lines(self, labels: tuple[Label, ...]) -> Iterator[Content]:
        width = max(self.app.size.width - 2, 20)
        line = Content("of    ")
        for what in What:
            line += Content.styled(what, "bold $accent" if what is self.what else "dim") + Content("   ")
        yield line
        yield Content("on    ") + self._stock_words()
        harness = self.session.harness
        lamp = harness.find_lamp(self.lamp_id)
        if lamp is not None:
            run = f"show  {self.which} in the run of {lamp.name}   (o all runs)"
            yield Content.styled(clip(run, width), "bold $accent")
            return
        line = Content("show  ")
        for which in Which:
            count = len(select(harness, labels, which))
            warn = which is Which.TROUBLE and count
            style = "bold $accent" if which is self.which else "$text-warning" if warn else "dim"
            line += Content.styled(f"{which} {count}", style) + Content("   ")
        yield line

    def _stock_words(self) -> Content:
        """What is printed on; of wires both groups, the one printed on bright."""
        if self.what is not What.WIRES:
            name = self._chosen() or USUAL[self.what]
            return Content.styled(self._title(name, 50, ""), "bold $accent")
        settings = self.session.harness.settings
        words = Content("")
        for group, name in (("sleeve", settings.sleeve_stock), ("flag", settings.flag_stock)):
            style = "bold $accent" if group == self.group else "dim"
            words += Content.styled(f"{group}: {self._title(name, 28, group)}", style) + Content("   ")
        return words

    def _title(self, name: str, room: int, group: str) -> str:
        stock = all_stocks().get(name)
        dpi = self.dpi.get((self.what, group))
        return clip(stock.title if stock else name or USUAL_OF_WIRES[group], room) + (
            f" {dpi} dpi" if dpi else ""
        )

    def _show_label(self) -> None:
        label = self._label()
        area = self.query_one("#label", Static)
        area.display = label is not None and bool(self._shown())
        pictured = self._show_picture(label if area.display and self.large else None)
        if label is not None and area.display:
            area.update(Content("\n").join(self._label_lines(label, pictured=pictured)))

    def _show_picture(self, label: Label | None) -> bool:
        """Draw the label large as a picture; False where the terminal has none, and for a card."""
        layout = None if label is None or label.text.kind == "card" else one_face(label.layout)
        width, rows = max(self.app.size.width - 2, 20), max(self.app.size.height - 8, 6)
        return self.query_one(LabelPicture).show_label(layout, self.loom.picture_cell, width, rows)

    def _label_lines(self, label: Label, *, pictured: bool) -> Iterator[Content]:
        width, height = max(self.app.size.width - 2, 20), self.app.size.height
        rows = max(height - 8, 6) if self.large else 6 if height < 32 else 12
        if not pictured:
            yield from picture_lines(label, width, rows, large=self.large)
        better = better_stocks(all_stocks(), self.what, label) if label.problems else ()
        yield from said_lines(label, width, better, 2 if height < 32 else 4)

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        self._show_label()

    # --- keys ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Grey what can't be done now."""
        if not self.is_mounted:
            return True
        if action == "kind":
            return True if self.what is What.WIRES else None
        if action in ("run", "find", "mark"):
            label = self._label() if self._shown() else None
            if label is None or (action == "mark" and label.state is LabelState.UNKNOWN):
                return None
            return True if label.wires or action == "mark" or self.lamp_id else None
        if action in ("print", "reprint"):
            return True if self._shown() else None
        return True

    def _print(self, labels: tuple[Label, ...]) -> None:
        self.print_labels(labels, " 5 goes to the bench.")

    def action_print(self) -> None:
        """Print the labels shown."""
        shown = self._shown()
        if shown:
            self._print(shown)

    def action_reprint(self) -> None:
        """Print the label under the cursor."""
        label = self._label()
        if label is not None:
            self._print((label,))

    def action_what(self) -> None:
        """Change to the labels of joints, of plugs, of spools, to bench cards, and back to wires."""
        order = tuple(What)
        self.what = order[(order.index(self.what) + 1) % len(order)]
        self.which, self.lamp_id, self.large = Which.ALL, "", False
        self.redraw()

    def action_rulers(self) -> None:
        """Measure how true a printer prints."""
        self.app.push_screen(RulersScreen())

    def action_kind(self) -> None:
        """Change between sleeves and flags."""
        self.group = "flag" if self.group == "sleeve" else "sleeve"
        self.redraw()

    def action_stock(self) -> None:
        """Choose the stock to print on."""
        ask_stock(self, self.what, self.group)

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
            self.lamp_id = next(iter(label.lamps), "")
        self.redraw()

    def action_mark(self) -> None:
        """Mark the label under the cursor as printed, or take the mark off again."""
        label = self._label()
        if label is None:
            return
        printed = label.state is LabelState.PRINTED
        said = "is not printed after all" if printed else "is marked as printed"
        day = "" if printed else today()
        self.mark_labels([label], lambda h: mark(h, [label], day), f"{label.key} {said}; u takes that back.")

    def action_dpi(self) -> None:
        """Choose the resolution of the printer."""
        label = self._label()
        if label is not None:
            ask_dpi(self, label.layout.stock, self._take_dpi)

    def _take_dpi(self, dpi: int) -> None:
        self.dpi[self._dpi_key()] = dpi
        self.redraw()

    def action_find(self) -> None:
        """Show the wire in Find."""
        label = self._label()
        if label is not None:
            live = self.session.harness.ledger.live()
            record = live.get(label.wires[0].key) if label.wires else None
            self.loom.action_go("find", record.tag if record else label.text.tag)

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

"""Outputs: what the controller has, what hangs on it, and how much each output and common can still take."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from harness_tui.screens.list_room import SIDE_FROM, ListRoom
from harness_tui.screens.room import styles_beside
from harness_tui.session import Edit
from harness_tui.widgets.ask_checked import AskChecked
from harness_tui.widgets.columns import FittedTable, fitted, spread
from harness_tui.widgets.form import Field
from harness_tui.widgets.lines import tell
from harness_tui.widgets.output_lines import (
    COLUMNS,
    LEAST,
    SHARE,
    Line,
    line_cells,
    line_name,
    line_panel,
    lines_of,
    sum_line,
    total_words,
)
from harness_tui.widgets.pick import Pick, PickSome
from model import editing
from model.electrics.outputs import CommonLoad, OutputLoad, output_loads
from model.errors import BadValue, NotThere
from model.findings import Finding, Severity
from model.harness import Block, Delivers, Harness
from model.standards.colours import COLOURS
from model.starting import parse_blocks
from model.values import parse_number

_TOGETHER = ("left and right together", "side not known", "output kind")
"""Rules on lamps that are about the company they keep on an output."""

USUAL_REGULATED_V = 5.0
USUAL_LIMIT_MA = 20.0
"""Filled in for an output that does not give the supply's volts; common practice, no source."""


class OutputsScreen(ListRoom[Line]):
    """The blocks line by line and a form for the output or common pin under the cursor."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Outputs"
    HELP = (
        "Every output of the controller and every pin of its common, block by block, with the current of "
        "its lamps on a full battery, its limit and what is left. All of it comes back through the common."
    )
    BINDINGS: ClassVar = [
        Binding("a", "add", "add output", tooltip="add an output to this block", id="outputs.add"),
        Binding(
            "c", "add_common", "common pin", tooltip="add a common pin to this block", id="outputs.common"
        ),
        Binding("b", "add_block", "block", tooltip="add a block of outputs", id="outputs.block"),
        Binding("l", "lamps", "lamps", tooltip="choose the lamps on this output", id="outputs.lamps"),
        Binding(
            "d,delete", "delete", "delete", tooltip="delete the output or common pin", id="outputs.delete"
        ),
        Binding("D", "delete_block", "delete block", show=False, id="outputs.delete_block"),
        Binding("r", "rename", "rename block", show=False, id="outputs.rename"),
        Binding("e", "edit", "edit", key_display="Enter", id="outputs.edit"),
    ]

    TITLES = COLUMNS
    LIST, FORM = "outputs", "output"
    EMPTY = (
        "The controller has no outputs yet.\n\nPress b and say how many it has, for example  6\n"
        "or  6+6  for two blocks, each on a connector of its own."
    )
    NOTHING = "There is no output here."

    def compose_body(self) -> ComposeResult:
        with Horizontal():
            with Vertical():
                yield from self.compose_list()
            yield Static("", id="side", markup=False)

    # --- drawing ---

    def show_harness(self) -> None:
        harness = self.session.harness
        lines = list(lines_of(harness))
        self.show_empty(not lines)
        side = self.query_one("#side")
        side.display = self.app.size.width >= SIDE_FROM and bool(lines)
        widths = spread(self.list_width, LEAST, SHARE)
        rows = [
            (key, line_cells(harness, line, widths, marked=bool(self._findings(line)))) for key, line in lines
        ]
        self.table.fill_to(widths, rows)
        self.show_here()

    def where(self) -> str:
        loads = output_loads(self.session.harness)
        over = sum(load.margin_ma < 0 for load in loads.outputs)
        over += sum(load.margin_ma < 0 for load in loads.commons)
        return f"Outputs {loads.total_ma:.0f} mA" + (f", {over} over" if over else "")

    def here(self) -> Line | None:
        here = self.table.here
        return next((line for key, line in lines_of(self.session.harness) if key == here), None)

    def show_here(self) -> None:
        line = self.here()
        about = self.query_one("#about", Static)
        form = self.form
        form.display = isinstance(line, (OutputLoad, CommonLoad))
        harness = self.session.harness
        loads = output_loads(harness)
        width = self.list_width
        lines: list[Content] = []
        if isinstance(line, (OutputLoad, CommonLoad)):
            form.show(_fields(line))
            lines += sum_line(line, 2 * width).wrap(width)
            for finding in self._findings(line):
                style = "$text-error" if finding.severity is Severity.DANGER else "$text-warning"
                words = f"! {finding.subject}: {finding.found}. {finding.remedy}"
                lines += _wrapped(words, width, style)
        lines += _wrapped(total_words(harness, loads), width)
        room = min(max(self.app.size.height - 18, 3), 8)  # the table keeps its room
        tell(about, Content("\n").join(lines[:room]))
        side = self.query_one("#side", Static)
        if side.display:
            tell(side, Content("\n").join(line_panel(harness, line)))
        self.tell_keys()

    def _findings(self, line: Line) -> list[Finding]:
        """What the checks say of this output or pin, and of left and right on it."""
        if isinstance(line, Block):
            return []
        ref = str(line.output.number) if isinstance(line, OutputLoad) else line.ref
        lamps = {lamp.lamp_id for lamp in line.lamps} if isinstance(line, OutputLoad) else set()
        return [
            finding
            for finding in self.known_findings()
            if (finding.place == "outputs" and finding.ref == ref)
            or (finding.ref in lamps and finding.rule in _TOGETHER)
        ]

    # --- the form ---

    def take(self, thing: Line, key: str, text: str) -> str:
        if isinstance(thing, Block):
            raise NotThere(key, "is no field of an empty block")
        edit, ref = _edit_of(thing, key, text)
        self.session.apply(edit, f"{line_name(thing)}: {self.field_words(key)}")
        return ref

    def first_field(self, thing: Line) -> str | None:
        if isinstance(thing, Block):
            return None
        return "function" if isinstance(thing, OutputLoad) else "pin"

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Grey what can't be done on this line."""
        if action == "lamps" and self.is_mounted and self.query(FittedTable):
            return True if isinstance(self.here(), OutputLoad) else None
        return True

    # --- adding and deleting ---

    def _block(self) -> Block | None:
        line = self.here()
        if line is None:
            blocks = self.session.harness.controller.blocks
            return blocks[-1] if blocks else None
        return line if isinstance(line, Block) else line.block

    def _add(self, add: Callable[[Harness, str], Harness], what: str) -> None:
        block = self._block()
        if block is None:
            self.action_add_block()
            return
        known = {key for key, _ in lines_of(self.session.harness)}
        if self.edit(lambda h: add(h, block.name), f"add {what} to block {block.name}"):
            new = next((key for key, _ in lines_of(self.session.harness) if key not in known), "")
            self.go_to(new)
            self.action_edit()

    def action_add(self) -> None:
        """Add an output to the block under the cursor."""
        self._add(editing.add_output, "an output")

    def action_add_common(self) -> None:
        """Add a common pin to the block under the cursor."""
        self._add(editing.add_common, "a common pin")

    def action_add_block(self) -> None:
        """Ask how many outputs the new block has."""

        def told(typed: str | None) -> None:
            if typed is None:
                return
            blocks = parse_blocks(typed)
            known = {key for key, _ in lines_of(self.session.harness)}
            if self.edit(
                lambda h: _with_blocks(h, blocks), f"add {len(blocks)} block{'s' * (len(blocks) > 1)}"
            ):
                self.go_to(next((key for key, _ in lines_of(self.session.harness) if key not in known), ""))
                self.say("Added, each block with one common pin. c adds another.")

        harness = self.session.harness
        self.app.push_screen(
            AskChecked(
                "How many outputs has the new block?",
                "6",
                check=lambda typed: _with_blocks(harness, parse_blocks(typed)),
                more="6+6 adds two blocks. Numbers and pins follow on; both can be changed.",
            ),
            told,
        )

    def action_delete(self) -> None:
        """Delete the output or common pin under the cursor."""
        line = self.here()
        if line is None:
            self.say("There is nothing to delete.")
        elif isinstance(line, Block):
            self.action_delete_block()
        elif isinstance(line, OutputLoad):
            number = line.output.number
            if self.edit(lambda h: editing.remove_output(h, number), f"delete output {number}"):
                self.say(f"Deleted output {number}. u brings it back.")
        else:
            block, pin = line.block.name, line.common.pin
            if self.edit(lambda h: editing.remove_common(h, block, pin), f"delete common pin {block}{pin}"):
                self.say(f"Deleted common pin {block}{pin}. u brings it back.")

    def action_delete_block(self) -> None:
        """Delete the whole block under the cursor."""
        block = self._block()
        if block is not None and self.edit(
            lambda h: editing.remove_block(h, block.name), f"delete block {block.name}"
        ):
            self.say(f"Deleted block {block.name}. u brings it back.")

    def action_rename(self) -> None:
        """Ask for another name of the block."""
        block = self._block()
        if block is None:
            return
        harness = self.session.harness

        def told(typed: str | None) -> None:
            if typed is not None and typed.strip() != block.name:
                name = typed.strip()
                self.edit(
                    lambda h: editing.rename_block(h, block.name, name), f"block {block.name} is {name}"
                )

        self.app.push_screen(
            AskChecked(
                f"Name of block {block.name}",
                block.name,
                check=lambda typed: editing.rename_block(harness, block.name, typed.strip()),
                more="It stands before the pin on labels and papers.",
            ),
            told,
        )

    def action_lamps(self) -> None:
        """Choose the lamps that are on this output."""
        line = self.here()
        if not isinstance(line, OutputLoad):
            self.say("Lamps are put on outputs: the common takes them back by itself.")
            return
        harness = self.session.harness
        if not harness.lamps:
            self.say("There are no lamps yet. 1 goes to Lamps.")
            return
        number = line.output.number
        picks = [
            Pick(
                key=lamp.id,
                line=f"{fitted(lamp.name, 36)} {_on(harness, lamp.output)}",
                taken=lamp.output == number,
            )
            for lamp in harness.lamps
        ]

        def chosen(taken: tuple[str, ...] | None) -> None:
            if taken is not None and self.edit(
                lambda h: _lamps_on(h, number, taken), f"lamps of output {number}"
            ):
                self.go_to(str(number))

        self.app.push_screen(
            PickSome(f"Lamps on {line_name(line)} {line.output.function}".rstrip(), picks), chosen
        )


def _wrapped(words: str, width: int, style: str = "") -> list[Content]:
    return list(Content.styled(words, style).wrap(width))


def _on(harness: Harness, number: int | None) -> str:
    found = harness.controller.find_output(number)
    return "no output" if found is None else f"output {number} {found[1].function}".rstrip()


def _fields(line: OutputLoad | CommonLoad) -> list[Field]:
    if isinstance(line, CommonLoad):
        return [
            Field(key="pin", label="pin", text=line.common.pin, help="on the connector of its block"),
            Field(
                key="limit_ma",
                label="limit mA",
                text=f"{line.common.limit_ma:g}",
                help="the most it may carry back",
            ),
        ]
    output = line.output
    fields = [
        Field(
            key="function",
            label="function",
            text=output.function,
            help="what it switches, for example  indicators left",
        ),
        Field(
            key="number",
            label="number",
            text=str(output.number),
            help="lamps and joints follow to a new number",
        ),
        Field(key="pin", label="pin", text=output.pin, help="on the connector of its block"),
        Field(key="limit_ma", label="limit mA", text=f"{output.limit_ma:g}", help="the most it may deliver"),
        Field(
            key="delivers",
            label="gives",
            text=output.delivers,
            choices=tuple(Delivers),
            help="the supply's volts, a regulated voltage, or a limited current",
        ),
    ]
    if output.delivers is Delivers.REGULATED:
        fields.append(
            Field(
                key="delivers_v", label="volts", text=f"{output.delivers_v:g}", help="the regulated voltage"
            )
        )
    elif output.delivers is Delivers.CURRENT:
        fields.append(
            Field(
                key="delivers_ma",
                label="gives mA",
                text=f"{output.delivers_ma:g}",
                help="shared by its lamps",
            )
        )
    colour = Field(
        key="colour",
        label="wire colour",
        text=output.colour or "",
        choices=("", *COLOURS),
        help="of its switched wires where the scheme is a colour per output (0 Setup)",
    )
    return [*fields, colour]


def _edit_of(line: OutputLoad | CommonLoad, key: str, text: str) -> tuple[Edit, str]:
    """The edit that a typed field means, and the key of the line once it is made."""
    subject = f"{line_name(line)}: {key.replace('_', ' ')}"
    value: Any = " ".join(text.split())
    if key in ("limit_ma", "delivers_v", "delivers_ma"):
        value = parse_number(text, subject, "V" if key == "delivers_v" else "mA")
        if value is None:
            raise BadValue(subject, "is empty", remedy="Type a number.")
    if isinstance(line, CommonLoad):
        block, pin = line.block.name, line.common.pin
        ref = f"{block}.{value}" if key == "pin" else line.ref
        return lambda h: editing.edit_common(h, block, pin, **{key: value}), ref
    number = line.output.number
    if key == "number":
        if not value.isdigit():
            raise BadValue(subject, text, limit="1 to 99")
        value = int(value)
        return lambda h: editing.edit_output(h, number, number=value), str(value)
    changes = {key: value}
    if key == "colour":
        changes = {key: value.upper() or None}
    elif key == "delivers":
        if value not in tuple(Delivers):
            raise BadValue(subject, text, limit=", ".join(Delivers))
        changes = {key: Delivers(value)}
        if value == Delivers.REGULATED:
            changes["delivers_v"] = line.output.delivers_v or USUAL_REGULATED_V
        elif value == Delivers.CURRENT:
            changes["delivers_ma"] = line.output.delivers_ma or USUAL_LIMIT_MA
    return lambda h: editing.edit_output(h, number, **changes), str(number)


def _with_blocks(harness: Harness, blocks: Sequence[int]) -> Harness:
    for outputs in blocks:
        harness = editing.add_block(harness, outputs=outputs, commons=1)
    return harness


def _lamps_on(harness: Harness, number: int, taken: Sequence[str]) -> Harness:
    for lamp in harness.lamps:
        if lamp.id in taken and lamp.output != number:
            harness = editing.edit_lamp(harness, lamp.id, output=number)
        elif lamp.id not in taken and lamp.output == number:
            harness = editing.edit_lamp(harness, lamp.id, output=None)
    return harness

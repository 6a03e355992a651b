"""Setup: the project, its supply, the controller, wire, and every figure that may be changed."""

from __future__ import annotations

from typing import ClassVar

import attrs
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.widgets import DataTable, Static

from harness_tui.preferences import settings_file
from harness_tui.screens.room import Room, styles_beside
from harness_tui.screens.setup_groups import GROUPS, Group
from harness_tui.screens.setup_program import PROGRAM, program_group, typed_setting
from harness_tui.widgets.ask import Ask, Choose
from harness_tui.widgets.columns import FittedTable, fitted, spread
from harness_tui.widgets.form import Form
from harness_tui.widgets.lines import clip, tell
from harness_tui.widgets.what_if import WhatIf, comparison_words
from model import editing
from model.electrics.whatif import compare
from model.errors import LoomError
from model.harness import Harness, Supply

_RESISTORS = ("series", "resistor_tolerance_pct", "drawer_ohm", "resistor_body", "inside_c")


class SetupScreen(Room):
    """Groups of settings and a form for the group under the cursor."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Setup"
    HELP = (
        "What the whole project rests on. Enter changes the group under the cursor. A change of supply or of "
        "the resistors is shown with what it does to each lamp before it is accepted. "
        "b lists the dated backups "
        "of this project. The last line is the program itself: look, paper, sound."
    )
    BINDINGS: ClassVar = [
        Binding("e", "edit", "change", key_display="Enter", id="setup.edit"),
        Binding(
            "s", "copy", "save a copy", tooltip="save the project as it is in another file", id="setup.copy"
        ),
        Binding(
            "b",
            "backups",
            "backups",
            tooltip="the dated backups of this project; one can be put back",
            id="setup.backups",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._supply: Supply | None = None
        self._resistors: dict[str, object] = {}

    def compose_body(self) -> ComposeResult:
        yield FittedTable(("group", "now"), id="groups")
        yield Static("", id="about", markup=False)
        yield Form(id="group")

    def on_mount(self) -> None:
        form = self.query_one(Form)
        form.accept = self._accept
        form.on_error = lambda text: self.say(text, "error")
        self.query_one(FittedTable).focus()

    # --- drawing ---

    def show_harness(self) -> None:
        draft = self._draft()
        widths = spread(self.app.size.width - 2, (11, 60), (0, 1))
        rows = [
            (group.key, (group.title, fitted(self._mark(group) + group.summary(draft), widths[1])))
            for group in self._groups()
        ]
        self.query_one(FittedTable).fill_to(widths, rows)
        self._show_group()

    def _mark(self, group: Group) -> str:
        return "not accepted yet: " if self._pending(group) else ""

    def _groups(self) -> tuple[Group, ...]:
        return (*GROUPS, program_group(self.loom.preferences, settings_file()))

    def _group(self) -> Group:
        here = self.query_one(FittedTable).here
        return next((group for group in self._groups() if group.key == here), GROUPS[0])

    def _show_group(self) -> None:
        group = self._group()
        draft = self._draft()
        self.query_one(Form).show(group.fields(draft))
        width = self.app.size.width - 2
        lines = [Content.styled(group.words, "dim")]
        if self._pending(group):
            comparison = compare(self.session.harness, draft)
            words = f"what if: {comparison_words(comparison, len(draft.lamps))}"
            lines.append(Content.styled(clip(words, width), "$accent"))
        tell(self.query_one("#about", Static), Content("\n").join(lines))

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        if not self.query_one(Form).has_cursor:
            self._show_group()

    def go_to(self, ref: str) -> None:
        if self.query_one(FittedTable).go_to(ref):
            self.query_one(FittedTable).focus()
            self._show_group()

    # --- what is typed but not accepted ---

    def _draft(self) -> Harness:
        """The harness with the supply and the resistors as typed."""
        harness = self.session.harness
        if self._supply is not None:
            harness = editing.set_supply(harness, self._supply)
        if self._resistors:
            harness = editing.set_settings(harness, **self._resistors)
        return harness

    def _pending(self, group: Group) -> bool:
        now, draft = self.session.harness, self._draft()
        if group.key == "supply":
            return draft.supply != now.supply
        return group.key == "resistors" and draft.settings != now.settings

    def _keep_draft(self, changed: Harness) -> None:
        now = self.session.harness
        self._supply = changed.supply if changed.supply != now.supply else None
        self._resistors = {
            key: value
            for key in _RESISTORS
            if (value := getattr(changed.settings, key)) != getattr(now.settings, key)
        }

    def _forget(self, group: Group) -> None:
        if group.key == "supply":
            self._supply = None
        else:
            self._resistors = {}

    # --- the form ---

    def _accept(self, key: str, text: str) -> str:
        group = self._group()
        if group.key == PROGRAM:
            return self._accept_setting(key, text)
        try:
            draft = self._draft()
            edit = group.edit(draft, key, text)
            if group.what_if and self.session.harness.lamps:
                if self.session.read_only:
                    self.session.apply(edit, "")
                self._keep_draft(edit(draft))
            elif key == "switched" and any(lamp.run for lamp in self.session.harness.lamps):
                # Refused first if it is no side at all.
                if edit(draft) is not draft:
                    self._ask_switched(text)
            else:
                self.session.apply(edit, f"{group.title}: {key.replace('_', ' ')}")
        except LoomError as error:
            return error.message()
        self.redraw()
        self.say(self.session.unsaved, "error")
        return ""

    def _accept_setting(self, key: str, text: str) -> str:
        try:
            self.loom.change_setting(key, typed_setting(key, text))
        except LoomError as error:
            return error.message()
        self.redraw()
        self.say("")
        return ""

    def _ask_switched(self, text: str) -> None:
        harness = self.session.harness
        runs = sum(lamp.run is not None for lamp in harness.lamps)
        issued = sum(record.live and record.issued for record in harness.ledger)
        tags = (
            f", and {issued} tag{' in use retires' if issued == 1 else 's in use retire'}" if issued else ""
        )
        lines = (
            f"switch {text}: {runs} run{' is' if runs == 1 else 's are'} open again{tags}",
            "keep it as it is",
        )

        def chosen(place: int | None) -> None:
            if place == 0:
                group = next(group for group in GROUPS if group.key == "controller")
                self.edit(group.edit(harness, "switched", text), f"switched side {text}")
            self.redraw()

        self.app.push_screen(Choose("Every wire changes its net.", lines, 1), chosen)

    @on(Form.Left)
    def _form_left(self) -> None:
        group = self._group()
        if self._pending(group):
            self._ask_what_if(group)
            return
        self.query_one(FittedTable).focus()
        self.redraw()

    def _ask_what_if(self, group: Group) -> None:
        now, draft = self.session.harness, self._draft()
        if group.key == "resistors":
            draft = attrs.evolve(draft, supply=now.supply)
        else:
            draft = attrs.evolve(draft, settings=now.settings)

        def chosen(answer: bool | None) -> None:
            if answer is None:
                self.query_one(Form).start()
                return
            if answer:
                self._make(group, draft)
            self._forget(group)
            self.query_one(FittedTable).focus()
            self.redraw()

        change = f"{group.title}: {group.summary(draft)}"
        self.app.push_screen(WhatIf(change, group.summary(now), compare(now, draft), len(now.lamps)), chosen)

    def _make(self, group: Group, draft: Harness) -> None:
        if group.key == "supply":
            made = self.edit(lambda h: editing.set_supply(h, draft.supply), "supply")
        else:
            changes = {key: getattr(draft.settings, key) for key in _RESISTORS}
            made = self.edit(lambda h: editing.set_settings(h, **changes), "resistors")
        if made:
            self.say(f"{group.title}: {group.summary(draft)}. u takes it back.")

    @on(DataTable.RowSelected)
    def _row_chosen(self) -> None:
        self.action_edit()

    def action_edit(self) -> None:
        """Go into the fields of the group, or to the screen that has it."""
        door = self._group().door
        if door:
            self.loom.action_go(door)
            return
        self.query_one(Form).start()

    # --- the file ---

    def action_copy(self) -> None:
        """Ask for a file and save the project there as it is."""
        from harness_tui.projects import free_copy_name, save_copy

        def told(typed: str | None) -> None:
            if not typed or not typed.strip():
                return
            try:
                path = save_copy(self.session, typed.strip())
            except LoomError as error:
                self.say(error.message(), "error")
            else:
                self.say(f"Saved a copy in {path}. You go on working in the first file.")

        suggestion = free_copy_name(self.session.path, self.session.harness)
        self.app.push_screen(Ask("Save a copy in the file", suggestion, more="It must not exist yet."), told)

    def action_backups(self) -> None:
        """List the dated backups of this project."""
        from harness_tui.screens.backups import ask_for_backup

        ask_for_backup(self)

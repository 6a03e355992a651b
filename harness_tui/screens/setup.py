"""Setup: the project, its supply, the controller, wire, and every figure that may be changed."""

from __future__ import annotations

from typing import ClassVar

import attrs
from textual.binding import Binding
from textual.content import Content
from textual.widgets import Static

from harness_tui.preferences import settings_file
from harness_tui.screens.list_room import ListRoom
from harness_tui.screens.room import styles_beside
from harness_tui.screens.setup_group import Group
from harness_tui.screens.setup_groups import GROUPS
from harness_tui.screens.setup_program import PROGRAM, program_group, typed_setting
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.ask_checked import AskChecked
from harness_tui.widgets.columns import fitted, spread
from harness_tui.widgets.lines import clip, tell
from harness_tui.widgets.what_if import WhatIf, comparison_words
from model import editing
from model.electrics.whatif import compare
from model.harness import Harness, Supply

_RESISTORS = ("series", "resistor_tolerance_pct", "drawer_ohm", "resistor_body", "inside_c")


class SetupScreen(ListRoom[Group]):
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
    TITLES = ("group", "now")
    LIST, FORM = "groups", "group"

    def __init__(self) -> None:
        super().__init__()
        self._supply: Supply | None = None
        self._resistors: dict[str, object] = {}

    # --- drawing ---

    def show_harness(self) -> None:
        draft = self._draft()
        widths = spread(self.list_width, (11, 60), (0, 1))
        rows = [
            (group.key, (group.title, fitted(self._mark(group) + group.summary(draft), widths[1])))
            for group in self._groups()
        ]
        self.table.fill_to(widths, rows)
        self.show_here()

    def _mark(self, group: Group) -> str:
        return "not accepted yet: " if self._pending(group) else ""

    def _groups(self) -> tuple[Group, ...]:
        return (*GROUPS, program_group(self.loom.preferences, settings_file()))

    def here(self) -> Group:
        here = self.table.here
        return next((group for group in self._groups() if group.key == here), GROUPS[0])

    def show_here(self) -> None:
        group = self.here()
        draft = self._draft()
        self.form.show(group.fields(draft))
        lines = [Content.styled(group.words, "dim")]
        if self._pending(group):
            comparison = compare(self.session.harness, draft)
            words = f"what if: {comparison_words(comparison, len(draft.lamps))}"
            lines.append(Content.styled(clip(words, self.list_width), "$accent"))
        tell(self.query_one("#about", Static), Content("\n").join(lines))

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

    def take(self, thing: Group, key: str, text: str) -> str:
        if thing.key == PROGRAM:
            self.loom.change_setting(key, typed_setting(key, text))
            return thing.key
        draft = self._draft()
        edit = thing.edit(draft, key, text)
        if thing.what_if and self.session.harness.lamps:
            if self.session.read_only:
                self.session.apply(edit, "")
            self._keep_draft(edit(draft))
        elif key == "switched" and any(lamp.run for lamp in self.session.harness.lamps):
            # Refused first if it is no side at all.
            if edit(draft) is not draft:
                self._ask_switched(text)
        else:
            self.session.apply(edit, f"{thing.title}: {self.field_words(key)}")
        return thing.key

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

    def leave_form(self) -> None:
        group = self.here()
        if self._pending(group):
            self._ask_what_if(group)
        else:
            super().leave_form()

    def _ask_what_if(self, group: Group) -> None:
        now, draft = self.session.harness, self._draft()
        if group.key == "resistors":
            draft = attrs.evolve(draft, supply=now.supply)
        else:
            draft = attrs.evolve(draft, settings=now.settings)

        def chosen(answer: bool | None) -> None:
            if answer is None:
                self.form.start()
                return
            if answer:
                self._make(group, draft)
            self._forget(group)
            self.leave_form()

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

    def action_edit(self) -> None:
        """Go into the fields of the group, or to the screen that has it."""
        door = self.here().door
        if door:
            self.loom.action_go(door)
        else:
            super().action_edit()

    # --- the file ---

    def action_copy(self) -> None:
        """Ask for a file and save the project there as it is."""
        from harness_tui.projects import free_copy_name, save_copy

        def save(typed: str) -> None:
            if typed.strip():
                save_copy(self.session, typed.strip())

        def told(typed: str | None) -> None:
            if typed and typed.strip():
                self.say(f"Saved a copy in {typed.strip()}. You go on working in the first file.")

        suggestion = free_copy_name(self.session.path, self.session.harness)
        self.app.push_screen(
            AskChecked("Save a copy in the file", suggestion, check=save, more="It must not exist yet."), told
        )

    def action_backups(self) -> None:
        """List the dated backups of this project."""
        from harness_tui.screens.backups import ask_for_backup

        ask_for_backup(self)

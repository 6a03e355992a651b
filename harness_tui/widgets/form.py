"""A form of one-line fields: Enter accepts and goes on; Escape puts back what stood there, then leaves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

import attrs
from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Grid, Vertical
from textual.content import Content
from textual.message import Message
from textual.suggester import SuggestFromList
from textual.widgets import Input, Static

from harness_tui.widgets.lines import tell
from model.values import shown

Accept = Callable[[str, str], str]
"""Takes a field's key and its text; returns what is wrong, or an empty string when it was accepted."""


@attrs.frozen(kw_only=True)
class Field:
    """One field as it stands: `choices` are all that may be typed unless `free`."""

    key: str
    label: str
    text: str = ""
    choices: tuple[str, ...] = ()
    free: bool = False
    help: str = ""

    def read(self, typed: str) -> str:
        """The choice that `typed` means by its first letters, or `typed` itself where anything may stand."""
        typed = typed.strip()
        if not self.choices:
            return typed
        low = typed.lower()
        for choice in self.choices:
            if choice.lower() == low:
                return choice
        if self.free or not typed:
            return typed
        found = [choice for choice in self.choices if choice.lower().startswith(low)]
        return found[0] if found else typed


LONGEST = 2000
"""Characters a line takes at most: far more than any name may have, far less than a pasted log."""


class FieldInput(Input):
    """The editor of one field. Space on a complete choice goes to the next one."""

    def __init__(self, field: Field) -> None:
        suggester = SuggestFromList(field.choices, case_sensitive=False) if field.choices else None
        super().__init__(field.text, compact=True, suggester=suggester, max_length=LONGEST)
        self.field = field

    def explain(self) -> str:
        """What the field is for, as the help says it."""
        words = f"The cursor is in the field {self.field.label}"
        words += f": {self.field.help}." if self.field.help else "."
        if len(self.field.choices) > 1:
            words += f" Space takes the next of {', '.join(one or '(none)' for one in self.field.choices)}."
        return f"{words} Enter accepts and goes on, Escape puts back what stood here, then leaves the form."

    def show(self, field: Field) -> None:
        """Take over another state of the field."""
        if field.choices != self.field.choices:
            self.suggester = SuggestFromList(field.choices, case_sensitive=False) if field.choices else None
        self.field = field
        if self.value != field.text:
            self.value = field.text

    @property
    def changed(self) -> bool:
        """Whether something else stands here than was accepted."""
        return self.value.strip() != self.field.text

    async def _on_key(self, event: events.Key) -> None:
        choices = self.field.choices
        # A text that is no choice is gone on from where it stands selected whole, which a sign would replace.
        whole = not self.selection.is_empty and len(self.selected_text) == len(self.value)
        if event.key == "space" and choices and (self.value in choices or whole):
            at = choices.index(self.value) if self.value in choices else -1
            self.value = choices[(at + 1) % len(choices)]
            self.cursor_position = len(self.value)
            event.stop()
            event.prevent_default()
            return
        await super()._on_key(event)


class Form(Vertical):
    """Fields in two columns: plain text until `start`, then editors with a line of help for the one with
    the focus.

    The owner sets `accept`, and calls `show` whenever the fields' values may have changed.
    """

    DEFAULT_CSS = """
    Form { height: auto; }
    Form Grid { grid-size: 4; grid-rows: 1; grid-columns: 13 1fr 13 1fr; height: auto; grid-gutter: 0 1; }
    Form.-one Grid { grid-size: 2; grid-columns: 24 1fr; }
    Form Static.label { color: $foreground; text-style: dim; height: 1; }
    Form Static.label.now { text-style: bold; color: $accent; }
    Form Grid { display: none; }
    Form.-editing Grid { display: block; }
    Form.-editing .view { display: none; }
    Form .view { height: auto; }
    Form Input { height: 1; }
    Form .help { height: auto; max-height: 2; text-style: dim; padding: 0 0; }
    """

    BINDINGS: ClassVar = [
        Binding("escape", "leave", "back", id="form.leave"),
        Binding("down", "move(1)", "next field", show=False, id="form.down"),
        Binding("up", "move(-1)", "field before", show=False, id="form.up"),
    ]

    class Left(Message):
        """The person leaves the form."""

    def __init__(self, *, columns: int = 2, id: str | None = None) -> None:
        super().__init__(id=id, classes="-one" if columns == 1 else None)
        self.columns = columns
        self.fields: tuple[Field, ...] = ()
        self.accept: Accept = lambda key, text: ""
        self.on_error: Callable[[str], None] = lambda text: None
        self.on_back: Callable[[str], None] = lambda text: None
        self.next_key = ""
        """The field that the owner wants the cursor in after the one it has just accepted, once."""
        self._accepting = False
        self._told_back = False

    def compose(self) -> ComposeResult:
        yield Static("", markup=False, classes="view")
        yield Grid()
        yield Static("", markup=False, classes="help")

    @property
    def editing(self) -> bool:
        """Whether the editors are up."""
        return self.has_class("-editing")

    def show(self, fields: Sequence[Field]) -> None:
        """Draw the fields; while editing, those with the same keys keep the cursor and what is being
        typed.
        """
        self.fields = tuple(fields)
        if self.editing:
            self._fill_editors()
        tell(self.query_one(".view", Static), self._view())

    def on_resize(self) -> None:
        tell(self.query_one(".view", Static), self._view())

    def _view(self) -> Content:
        """The fields as text, where the editors would stand."""
        label_width = 13 if self.columns == 2 else 24
        room = max(self.size.width, 40)
        value_width = (room - self.columns * (label_width + 1) - (self.columns - 1)) // self.columns
        lines: list[Content] = []
        for place, field in enumerate(self.fields):
            text = field.text if len(field.text) <= value_width else field.text[: value_width - 1] + "\u2026"
            cell = Content.styled(f"{field.label:<{label_width}.{label_width}} ", "dim") + Content(
                text
            ).pad_right(max(value_width - Content(text).cell_length, 0) + 1)
            if place % self.columns:
                lines[-1] += cell
            else:
                lines.append(cell)
        return Content("\n").join(lines)

    def _fill_editors(self) -> None:
        """Give every field an editor: those that are up take over another field, missing ones are added,
        spare ones go.
        """
        grid = self.query_one(Grid)
        editors = list(self.query(FieldInput))
        labels = list(self.query("Static.label"))
        for label, editor, field in zip(labels, editors, self.fields, strict=False):
            if isinstance(label, Static) and editor.field.label != field.label:
                label.update(Content(field.label))
            if editor.has_focus and editor.changed and editor.field.key == field.key:
                editor.field = attrs.evolve(field, text=editor.field.text)
            else:
                editor.show(field)
        for field in self.fields[len(editors) :]:
            grid.mount(Static(Content(field.label), classes="label"), FieldInput(field))
        for spare in (*labels[len(self.fields) :], *editors[len(self.fields) :]):
            spare.remove()

    def start(self, key: str | None = None) -> None:
        """Put up the editors with the cursor in the first field, or in that of `key`."""
        self.add_class("-editing")
        self._fill_editors()
        self.next_key = ""
        editors = list(self.query(FieldInput))
        wanted = [editor for editor in editors if editor.field.key == key] or editors
        if wanted:
            # At once: a key that follows is typed into the field, and is no command of the list below.
            self.screen.set_focus(wanted[0])

    def end(self) -> None:
        """Go back to plain text."""
        self.remove_class("-editing")
        self.query_one(".help", Static).update(Content(""))
        tell(self.query_one(".view", Static), self._view())

    @property
    def has_cursor(self) -> bool:
        """Whether a field of the form has the focus."""
        return any(editor.has_focus for editor in self.query(FieldInput))

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        editor = event.widget
        if isinstance(editor, FieldInput):
            self._light(editor, True)
            self._explain(editor.field)

    def on_descendant_blur(self, event: events.DescendantBlur) -> None:
        editor = event.widget
        if isinstance(editor, FieldInput) and editor.is_attached:
            if editor.changed and not self._accepting and not self._take(editor):
                if self.screen.is_current and self.display:
                    editor.focus()  # what was typed stays to be mended
                    return
                editor.value = editor.field.text
            self._light(editor, False)
            self.call_after_refresh(self._end_if_left)

    def _end_if_left(self) -> None:
        if (
            self.is_attached
            and self.editing
            and self.screen.is_current
            and self.screen.focused is not None
            and not self.has_cursor
        ):
            self.end()

    def _light(self, editor: FieldInput, on: bool) -> None:
        labels = list(self.query("Static.label"))
        editors = list(self.query(FieldInput))
        if editor in editors and len(labels) == len(editors):
            labels[editors.index(editor)].set_class(on, "now")

    def _explain(self, field: Field) -> None:
        words = field.help
        if field.choices:
            words = f"{words}  " if words else ""
            words += ("space: next of  " if len(field.choices) > 1 else "") + " \u00b7 ".join(
                choice or "(none)" for choice in field.choices
            )
        self.query_one(".help", Static).update(Content(words))

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        event.stop()
        editor = event.input
        if isinstance(editor, FieldInput) and self._take(editor):
            self._step(editor, 1)

    def _take(self, editor: FieldInput) -> bool:
        """Hand what was typed to the owner. What is refused stays to be mended, and why is said."""
        if not editor.changed:
            return True
        text = editor.field.read(editor.value)
        self._accepting = True
        try:
            wrong = self.accept(editor.field.key, text)
        finally:
            self._accepting = False
        if wrong:
            self.on_error(wrong)
            return False
        # The owner's redraw may have been held off this editor while it was being typed in.
        now = next((field for field in self.fields if field.key == editor.field.key), editor.field)
        editor.field = attrs.evolve(now, text=text)
        if editor.value != text:
            editor.value = text
        return True

    def _step(self, editor: FieldInput, step: int) -> None:
        editors = list(self.query(FieldInput))
        place = editors.index(editor) + step
        wanted, self.next_key = self.next_key, ""
        place = next((at for at, one in enumerate(editors) if one.field.key == wanted), place)
        if place >= len(editors):
            self.post_message(self.Left())
        elif place >= 0:
            editors[place].focus()

    def action_move(self, rows: int) -> None:
        """Go a row up or down."""
        focused = self.screen.focused
        if isinstance(focused, FieldInput):
            editors = list(self.query(FieldInput))
            place = editors.index(focused) + rows * self.columns
            if 0 <= place < len(editors) and self._take(focused):
                editors[place].focus()

    def action_leave(self) -> None:
        """Put back what stood in the field, and say so; where nothing was changed, leave the form."""
        focused = self.screen.focused
        if isinstance(focused, FieldInput) and focused.changed:
            typed, stood = shown(focused.value.strip()), shown(focused.field.text)
            focused.value = focused.field.text
            self._told_back = True
            self.on_back(
                f"{focused.field.label}: {stood or 'empty'} again, not {typed or 'empty'}. Escape leaves."
            )
            return
        if self._told_back:
            self._told_back = False
            self.on_back("")
        self.post_message(self.Left())

"""Lamps: the list, and the lamp under the cursor with every field of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil
from typing import Any, ClassVar

import attrs
from textual.binding import Binding
from textual.content import Content
from textual.widgets import Static

from harness_tui.screens.list_room import ListRoom
from harness_tui.screens.room import styles_beside
from harness_tui.session import Edit
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.ask_checked import AskChecked
from harness_tui.widgets.columns import in_unit, spread
from harness_tui.widgets.electrics import lamp_lines
from harness_tui.widgets.form import Field
from harness_tui.widgets.lines import clip, tell
from model import editing, lengths
from model.electrics.lamps import lamp_current
from model.electrics.led import forward_volts_text, parse_forward_volts
from model.errors import BadValue
from model.harness import Build, Hand, Harness, Lamp
from model.lamp_guess import guess_fields
from model.standards.functions import FUNCTIONS
from model.standards.leds import LED_COLOURS, LED_SIZES, led
from model.standards.resistor_code import parse_letter_code
from model.values import parse_number, shown


@attrs.frozen
class _Figure:
    """A field of the form that holds a number."""

    key: str
    label: str
    unit: str
    help: str


_FIGURES = (
    _Figure("current_ma", "current mA", "mA", "wanted current; empty takes"),
    _Figure("spur_mm", "from there mm", "mm", "how far the lamp sits from its waypoint"),
    _Figure(
        "measured_mm", "measured mm", "mm", "whole run to the controller, if you measured it with a string"
    ),
    _Figure("rated_v", "rated V", "V", "for a ready-wired lamp: the volts it is made for"),
    _Figure("rated_ma", "rated mA", "mA", "for a ready-wired lamp: its current at rated volts, if known"),
    _Figure("lead_mm", "own lead mm", "mm", "length of the leads a ready-wired lamp comes with"),
    _Figure("max_ma", "LED max mA", "mA", "the data sheet's limit; empty takes"),
    _Figure(
        "resistor_ohm",
        "resistor ohm",
        "ohm",
        "fitted resistor; empty takes what is worked out; for a ready-wired lamp, one in front of it",
    ),
)


LEAST = (1, 27, 14, 11, 15)
SHARE = (0, 2, 1, 3, 2)


def _number_text(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


class LampsScreen(ListRoom[Lamp]):
    """The list of lamps and a form for the one under the cursor."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Lamps"
    HELP = (
        "List every lamp: what it is for, where it sits, its LED, its output. Type a name such as "
        '"Indicator front left": function, colour and side are filled in from it. '
        "Mirror makes the lamp of the other side."
    )
    BINDINGS: ClassVar = [
        Binding("a", "add", "add", id="lamps.add"),
        Binding("c", "copy", "copy", id="lamps.copy"),
        Binding("m", "mirror", "mirror", tooltip="add the lamp of the other side", id="lamps.mirror"),
        Binding("d,delete", "delete", "delete", id="lamps.delete"),
        Binding("e", "edit", "edit (Enter)", id="lamps.edit"),
        Binding("w", "walk", "walk it", tooltip="plan this lamp's run", id="lamps.walk"),
        Binding("K", "move(-1)", "up", show=False, tooltip="move the lamp up the list", id="lamps.up"),
        Binding("J", "move(1)", "down", show=False, tooltip="move the lamp down the list", id="lamps.down"),
    ]
    TITLES = ("", "lamp", "LED", "output", "place")
    LIST, FORM = "lamps", "lamp"
    EMPTY = (
        "No lamps yet.\n\nPress a and type the first one's name, for example  Headlamp left\n"
        "or leave and import a list:  loomtag import FILE lamps.csv"
    )
    NOTHING = "There is no lamp here. Press a to add one."

    def __init__(self) -> None:
        super().__init__()
        self._listed: Harness | None = None
        self._widths: tuple[int, ...] = ()

    # --- drawing ---

    def show_harness(self) -> None:
        harness = self.session.harness
        self.show_empty(not harness.lamps)
        self.form.display = bool(harness.lamps)
        widths = spread(self.list_width, LEAST, SHARE)
        if (harness is not self._listed or widths != self._widths) and self.table.columns:
            self.table.fill_to(
                widths, [(lamp.id, self._cells(harness, lamp, widths)) for lamp in harness.lamps]
            )
            self._listed, self._widths = harness, widths
        self.show_here()

    @staticmethod
    def _cells(harness: Harness, lamp: Lamp, widths: Sequence[int]) -> tuple[str, ...]:
        mark = "\u2713" if lamp.run else "-" if lamp.id in harness.progress.skipped else " "
        point = harness.find_waypoint(lamp.at)
        place = point.name if point else lengths.text(lamp.measured_mm) if lamp.measured_mm else "?"
        found = harness.controller.find_output(lamp.output)
        output = f"{lamp.output} {found[1].function}".strip() if found else "?"
        led = (
            f"{lamp.colour} {lamp.size}" if lamp.build is Build.BARE else f"{lamp.colour} {lamp.rated_v:g} V"
        )
        return tuple(map(clip, (mark, lamp.name, led, output, place), widths))

    def where(self) -> str:
        lamps = self.session.harness.lamps
        return f"Lamps {len(lamps)}, {sum(lamp.run is not None for lamp in lamps)} walked"

    def here(self) -> Lamp | None:
        return self.session.harness.find_lamp(self.table.here)

    def show_here(self) -> None:
        lamp = self.here()
        about = self.query_one("#about", Static)
        if lamp is None:
            about.update("")
            return
        harness = self.session.harness
        self.form.show(_fields(harness, lamp))
        lines = lamp_lines(lamp, lamp_current(harness, lamp), width=self.list_width)
        tell(about, Content("\n").join(lines))

    # --- editing ---

    def take(self, thing: Lamp, key: str, text: str) -> str:
        edit = _edit_of(self.session.harness, thing, key, text)
        self.session.apply(edit, f"{thing.name}: {self.field_words(key)}")
        return thing.id

    def accept(self, key: str, text: str) -> str:
        before = self.here()
        wrong = super().accept(key, text)
        now = self.here()
        if key == "build" and before and before.rated_v is None and now and now.rated_v is not None:
            self.form.next_key = "rated_v"
            if not self.session.unsaved:
                self.say(
                    f"Filled in: the full battery's {now.rated_v:g} V. Type the volts {now.name} is made for."
                )
        return wrong

    def action_add(self) -> None:
        """Ask for a name and add the lamp."""
        more = "For example  Indicator front left"
        self.app.push_screen(
            AskChecked("Name of the new lamp", more=more, check=self._may_be_added), self._add
        )

    def _may_be_added(self, name: str) -> None:
        """Raises what is wrong with the name of a new lamp; an empty one adds none."""
        if name.strip():
            editing.add_lamp(self.session.harness, " ".join(name.split()))

    def _add(self, name: str | None) -> None:
        if not name or not name.strip():
            return
        name = " ".join(name.split())
        before = self.session.harness
        fields = guess_fields(name)
        last = self.here() or (before.lamps[-1] if before.lamps else None)
        if last is not None:
            fields.setdefault("size", last.size)
        if self.edit(lambda harness: editing.add_lamp(harness, name, **fields), f"add {name}"):
            self.put_cursor(self.session.harness.lamps[-1].id)
            self.form.start("at")

    def _with_lamp(self, edit: Callable[[Harness, str], Harness], words: str) -> str | None:
        """Apply an edit to the lamp under the cursor; the id of the lamp it added, "" for none, None if
        refused.
        """
        lamp = self.here()
        if lamp is None:
            self.say(self.NOTHING)
            return None
        known = {one.id for one in self.session.harness.lamps}
        if not self.edit(lambda harness: edit(harness, lamp.id), f"{words} {lamp.name}"):
            return None
        return next((one.id for one in self.session.harness.lamps if one.id not in known), "")

    def action_copy(self) -> None:
        """Add a copy of the lamp."""
        added = self._with_lamp(editing.copy_lamp, "copy")
        if added:
            self.put_cursor(added)
            self.form.start("name")

    def action_mirror(self) -> None:
        """Add the lamp of the other side; where its waypoint is missing there, ask whether to make it."""
        harness, lamp = self.session.harness, self.here()
        missing = editing.missing_mirror(harness, lamp.id) if lamp is not None else ""
        if lamp is None or not missing:
            self._mirror(False)
            return
        here = harness.waypoint(lamp.at or "").name
        lines = [f"make it, with a leg as long as that of {here}", f"the lamp sits at {here} too"]

        def answered(place: int | None) -> None:
            if place is not None:
                self._mirror(place == 0)

        self.app.push_screen(Choose(f"There is no waypoint {missing}", lines), answered)

    def _mirror(self, make_waypoint: bool) -> None:
        points = len(self.session.harness.waypoints)
        added = self._with_lamp(
            lambda harness, lamp_id: editing.mirror_lamp(harness, lamp_id, make_waypoint=make_waypoint),
            "mirror",
        )
        if not added:
            return
        self.put_cursor(added)
        harness = self.session.harness
        lamp = harness.lamp(added)
        said = f"Added {lamp.name}." + ("" if lamp.output else " It wants an output of its own.")
        if len(harness.waypoints) > points:
            said += f" Check the legs of {harness.waypoints[-1].name} in Routes (2)."
        self.say(said)

    def action_delete(self) -> None:
        """Take the lamp away."""
        lamp = self.here()
        if self._with_lamp(editing.remove_lamp, "delete") is not None and lamp is not None:
            self.say(f"Deleted {lamp.name}. u brings it back.")

    def action_move(self, step: int) -> None:
        """Move the lamp in the list."""
        self._with_lamp(lambda harness, lamp_id: editing.move_lamp(harness, lamp_id, step), "move")

    def action_walk(self) -> None:
        """Go to the walk at this lamp."""
        lamp = self.here()
        if lamp is not None:
            self.loom.action_go("walk", lamp.id)


def _fields(harness: Harness, lamp: Lamp) -> list[Field]:
    point = harness.find_waypoint(lamp.at)
    outputs = tuple(
        f"{output.number} {output.function}".strip() for _, output in harness.controller.outputs()
    )
    found = harness.controller.find_output(lamp.output)
    fields = {
        "name": Field(
            key="name", label="name", text=lamp.name, help="what you call it; it stands on labels and papers"
        ),
        "function": Field(
            key="function",
            label="function",
            text=lamp.function,
            choices=tuple(FUNCTIONS),
            free=True,
            help="what it is for",
        ),
        "at": Field(
            key="at",
            label="waypoint",
            text=point.name if point else "",
            choices=tuple(one.name for one in harness.waypoints),
            free=True,
            help="the named place it sits at; a new name adds a waypoint",
        ),
        "output": Field(
            key="output",
            label="output",
            text=f"{lamp.output} {found[1].function}".strip() if found else "",
            choices=outputs,
            help="its number",
        ),
        "colour": Field(key="colour", label="LED colour", text=lamp.colour, choices=tuple(LED_COLOURS)),
        "size": Field(key="size", label="LED size", text=lamp.size, choices=tuple(LED_SIZES)),
        "hand": Field(key="hand", label="side", text=lamp.hand or "none", choices=("none", "left", "right")),
        "place": Field(key="place", label="place note", text=lamp.place, help="where exactly, in your words"),
        "build": Field(
            key="build",
            label="build",
            text=lamp.build,
            choices=tuple(Build),
            help="bare LED, or wired for some volts",
        ),
    }
    figures = {
        figure.key: Field(
            key=figure.key,
            label=in_unit(figure.label),
            text=(lengths.typed if figure.unit == "mm" else _number_text)(getattr(lamp, figure.key)),
            help=figure.help,
        )
        for figure in _FIGURES
    }
    kind = led(lamp.colour, lamp.size)
    colour, size = kind.colour, kind.size
    usual = f"{colour.vf_low_v:g} / {colour.vf_v:g} / {colour.vf_high_v:g} V ({colour.source})"
    fields["vf"] = Field(
        key="vf",
        label="LED volts",
        text=forward_volts_text(lamp),
        help=f"yours, or lowest / usual / highest; empty takes {usual}",
    )
    for key, usual_ma in (("current_ma", size.good_ma), ("max_ma", size.max_ma)):
        words = f"{figures[key].help} {usual_ma * size.dies:g} mA ({size.source})"
        figures[key] = attrs.evolve(figures[key], help=words)
    bare = ("resistor_ohm", "vf", "max_ma")
    wired = ("rated_v", "rated_ma", "lead_mm", "resistor_ohm", "vf", "max_ma")
    last = wired if lamp.build is Build.WIRED else bare
    order = (
        "name",
        "function",
        "at",
        "spur_mm",
        "output",
        "hand",
        "colour",
        "size",
        "build",
        "current_ma",
        "measured_mm",
    )
    all_fields = {**fields, **figures}
    return [all_fields[key] for key in (*order, *last, "place")]


def _edit_of(harness: Harness, lamp: Lamp, key: str, text: str) -> Edit:
    """The edit that a typed field means."""
    if key == "at":
        return _place_edit(harness, lamp, text)
    value: Any = text
    if key == "output":
        digits = text.split(" ")[0]
        if digits and not digits.isdigit():
            raise BadValue(f"lamp {lamp.name}: output", text, limit="an output's number")
        value = int(digits) if digits else None
    elif key == "hand":
        if text not in ("none", "", *Hand):
            raise BadValue(f"lamp {lamp.name}: side", shown(text), limit="none, left or right")
        value = Hand("" if text in ("none", "") else text)
    elif key == "build":
        value = Build(text) if text in tuple(Build) else text
        if value is Build.WIRED and lamp.rated_v is None:
            # The volts it is made for must stand with it. Those of a full battery are the likely ones that
            # can do no harm until the person has typed it, in the field that has the cursor next.
            from model.electrics.supply import volts

            full_v = ceil(volts(harness.supply).full_v * 10 - 1e-6) / 10
            return lambda h: editing.edit_lamp(h, lamp.id, build=Build.WIRED, rated_v=full_v)
    elif key == "vf":
        changes = parse_forward_volts(text, f"lamp {lamp.name}: LED volts")
        return lambda h: editing.edit_lamp(h, lamp.id, **changes)
    elif key == "resistor_ohm" and set("rkm") & set(text.lower().replace("ohm", "")):
        value = parse_letter_code(text)
    elif key not in ("name", "function", "colour", "size", "place"):
        figure = next(one for one in _FIGURES if one.key == key)
        subject = f"lamp {lamp.name}: {figure.label}"
        is_length = figure.unit == "mm"
        value = lengths.read(text, subject) if is_length else parse_number(text, subject, figure.unit)
        if value is None and key in ("spur_mm", "lead_mm"):
            value = 0.0
    return lambda h: editing.edit_lamp(h, lamp.id, **{key: value})


def _place_edit(harness: Harness, lamp: Lamp, text: str) -> Edit:
    name = " ".join(text.split())
    if not name:
        return lambda h: editing.edit_lamp(h, lamp.id, at=None)
    point = next((one for one in harness.waypoints if one.name.lower() == name.lower()), None)
    if point is not None:
        return lambda h: editing.edit_lamp(h, lamp.id, at=point.id)

    def add_and_place(h: Harness) -> Harness:
        h = editing.add_waypoint(h, name)
        return editing.edit_lamp(h, lamp.id, at=h.waypoints[-1].id)

    return add_and_place

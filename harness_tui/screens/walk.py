"""Walk: lamp after lamp, its way, its merges, its colours, its labels; the answer is filled in already."""

from __future__ import annotations

from typing import ClassVar

import attrs
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from harness_tui.screens.room import Room, styles_beside
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.ask_checked import AskChecked, ask_number
from harness_tui.widgets.lines import tell
from harness_tui.widgets.run_lines import (
    LETTERS,
    MOST_OFFERS,
    lamp_list,
    lettered,
    merges_shown,
    run_lines,
)
from model import editing, lengths
from model.errors import BadValue, LoomError
from model.harness import Harness, Lamp, Polarity
from model.routing.measured import measured_doubt
from model.routing.walk import Proposal, first_open, propose, resume, with_colour, with_merge, with_way
from model.standards.colours import COLOURS
from model.values import shown

PANEL_FROM = 112
"""Columns from which the list of lamps stands beside the run."""

_COLOUR_CODES = tuple(code for code in COLOURS if len(code) == 2)


class WalkScreen(Room):
    """One run at a time. Enter accepts what is shown and goes on."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Walk"
    HELP = (
        "Each lamp's run with the answer filled in: the way through the model, where its wires merge with "
        "others of their net, the colours, the length to cut and the labels of both ends. Enter accepts and "
        "goes to the next lamp. "
        "A letter takes another merge: e and j are always the wire on its own. In a small window the letter "
        "of a merge that is left out shows them all first. Savings are wire not needed, against the wire on "
        "its own."
    )
    BINDINGS: ClassVar = [
        Binding("enter", "accept", "accept, next", id="walk.accept"),
        Binding(
            "escape",
            "step_back",
            "back",
            tooltip="the lamp before; from the first, the screen before",
            id="walk.back",
        ),
        Binding(
            "a",
            "merge('a')",
            "merge",
            key_display="a-j",
            tooltip="take the merge of that letter",
            id="walk.merge.a",
        ),
        *(
            Binding(letter, f"merge('{letter}')", "", show=False, id=f"walk.merge.{letter}")
            for letter in "".join(LETTERS)[1:]
        ),
        Binding("w", "way", "way", tooltip="the next way through the model", id="walk.way"),
        Binding("o", "colours", "colour", tooltip="other wire colours for this lamp", id="walk.colour"),
        Binding("s", "skip", "skip", tooltip="leave this lamp for later", id="walk.skip"),
        Binding("l", "list", "list", tooltip="choose the lamp from the list", id="walk.list"),
        Binding("n,down", "step(1)", "next lamp", show=False, id="walk.next"),
        Binding("p,up", "step(-1)", "lamp before", show=False, id="walk.previous"),
        Binding(
            "pagedown",
            "scroll(1)",
            "down",
            show=False,
            tooltip="the rest of the run, in a small window",
            id="walk.down",
        ),
        Binding("pageup", "scroll(-1)", "up", show=False, tooltip="the top of the run", id="walk.up"),
        Binding("x", "open", "open run", show=False, tooltip="take the accepted run back", id="walk.open"),
        Binding(
            "t",
            "measure",
            "type length",
            show=False,
            tooltip="type the run's length as one, measured with a string",
            id="walk.measure",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.lamp_id = ""
        self.proposal: Proposal | None = None
        self.trouble = ""
        self.all_merges = False

    def compose_body(self) -> ComposeResult:
        with Horizontal():
            with VerticalScroll(id="run", can_focus=False):
                yield Static("", id="sheet", markup=False)
            yield Static("", id="lamps", markup=False)

    # --- which lamp ---

    def on_screen_resume(self) -> None:
        if self.session.harness.find_lamp(self.lamp_id) is None:
            lamp = resume(self.session.harness)
            self.lamp_id = lamp.id if lamp else ""
        super().on_screen_resume()

    def go_to(self, ref: str) -> None:
        if self.session.harness.find_lamp(ref) is not None:
            self._turn_to(ref)

    def _turn_to(self, lamp_id: str) -> None:
        self.lamp_id = lamp_id
        self.proposal = None
        self.all_merges = False
        self.session.remember(lambda harness: editing.set_progress(harness, walk=lamp_id))
        self.say("")
        self.redraw()
        self.query_one("#run").scroll_home(animate=False)

    def where(self) -> str:
        lamps = self.session.harness.lamps
        place = next((place for place, lamp in enumerate(lamps, 1) if lamp.id == self.lamp_id), 0)
        return f"Walk {place} of {len(lamps)}"

    # --- drawing ---

    def show_harness(self) -> None:
        harness = self.session.harness
        sheet = self.query_one("#sheet", Static)
        panel = self.query_one("#lamps", Static)
        lamp = harness.find_lamp(self.lamp_id)
        panel.display = self.app.size.width >= PANEL_FROM and bool(harness.lamps)
        if lamp is None:
            self.proposal = None
            sheet.update("\n  No lamps to walk yet.\n\n  Press 1 and list the lamps first.")
            return
        self._work_out(harness, lamp)
        # Two columns of padding, one for a scroll bar.
        width = max(self.app.size.width - 3 - (36 if panel.display else 0), 20)
        height = self.app.size.height
        lines = list(
            run_lines(harness, lamp, self.proposal, self.trouble, width, height, self._merges_shown())
        )
        if len(lines) > height - 3:
            lines = [line for line in lines if line.plain.strip()]
        tell(sheet, Content("\n").join(lines))
        if panel.display:
            rows = max(self.app.size.height - 5, 5)
            tell(panel, Content("\n").join(lamp_list(harness, self.lamp_id, rows)))

    def _merges_shown(self) -> int:
        return MOST_OFFERS if self.all_merges else merges_shown(self.app.size.height)

    def _work_out(self, harness: Harness, lamp: Lamp) -> None:
        if self.proposal is not None and self.proposal.before is harness and self.proposal.lamp_id == lamp.id:
            return
        self.trouble = ""
        before = self.proposal
        try:
            self.proposal = propose(harness, lamp.id, MOST_OFFERS)
            if before is not None and before.lamp_id == lamp.id and lamp.run is None:
                # Chosen, though not accepted yet: another edit meanwhile does not take it back.
                for polarity, colour in before.colours.items():
                    if colour is not None:
                        self.proposal = with_colour(harness, self.proposal, polarity, colour)
        except LoomError as error:
            self.proposal = None
            self.trouble = error.message()

    # --- keys ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Grey what can't be done now."""
        if action in ("accept", "merge", "colours"):
            return True if self.proposal is not None else None
        if action == "way":
            return True if self.proposal is not None and len(self.proposal.ways) > 1 else None
        return True

    def action_accept(self) -> None:
        """Store the run and go to the next open lamp; a held key accepts none that nobody has seen."""
        if self.loom.key_held:
            return
        proposal = self.proposal
        if proposal is None:
            self.say(self.trouble or "There is no run to accept.", "warning")
            return
        name = self.session.harness.lamp(self.lamp_id).name
        if not self.edit(proposal.accept, f"run of {name}"):
            return
        harness = self.session.harness
        following = first_open(harness, self.lamp_id)
        if following is None:
            lamps = [lamp.id for lamp in harness.lamps]
            place = lamps.index(self.lamp_id)
            self._turn_to(lamps[min(place + 1, len(lamps) - 1)])
            self.say("Every lamp is walked. 6 prints the labels, 5 goes to the bench.")
        else:
            self._turn_to(following.id)

    def action_step_back(self) -> None:
        """Go to the lamp before; from the first one to the screen before."""
        lamps = [lamp.id for lamp in self.session.harness.lamps]
        if self.lamp_id in lamps[1:]:
            self._turn_to(lamps[lamps.index(self.lamp_id) - 1])
        else:
            self.loom.action_room_before()

    def action_step(self, step: int) -> None:
        """Go to another lamp without accepting."""
        lamps = [lamp.id for lamp in self.session.harness.lamps]
        if self.lamp_id in lamps:
            place = lamps.index(self.lamp_id) + step
            if 0 <= place < len(lamps):
                self._turn_to(lamps[place])

    def action_scroll(self, pages: int) -> None:
        """Scroll the run where the window is too small for it."""
        sheet = self.query_one("#run", VerticalScroll)
        sheet.scroll_relative(y=pages * max(sheet.size.height - 2, 1), animate=False)

    def action_merge(self, letter: str) -> None:
        """Take the merge of a letter; one that is not shown is shown first."""
        if self.proposal is None:
            return
        harness = self.session.harness
        found = lettered(harness, self.proposal, self._merges_shown()).get(letter)
        if found is not None:
            self._take(with_merge(harness, self.proposal, *found))
        elif letter in lettered(harness, self.proposal):
            self.all_merges = True
            self.redraw()
            self.say(f"All merges are shown now; {letter} again takes that one.")
        else:
            self.say(f"There is no merge {letter}.")

    def _take(self, proposal: Proposal) -> None:
        self.proposal = proposal
        self.say("")
        self.redraw()

    def action_way(self) -> None:
        """Take the next way."""
        if self.proposal is not None:
            self._take(with_way(self.session.harness, self.proposal, self.proposal.way_at + 1, MOST_OFFERS))

    def action_colours(self) -> None:
        """Ask for the colours of both wires."""
        if self.proposal is None:
            return
        now = " ".join(
            self.proposal.wires(polarity)[0].colour for polarity in (Polarity.PLUS, Polarity.MINUS)
        )
        codes = "  ".join(f"{code} {COLOURS[code].name}" for code in _COLOUR_CODES)
        self.app.push_screen(
            AskChecked("Colours of the plus and the minus wire", now, more=codes, check=_two_colours),
            self._colours,
        )

    def _colours(self, typed: str | None) -> None:
        if typed is None or self.proposal is None:
            return
        proposal = self.proposal
        for polarity, code in zip((Polarity.PLUS, Polarity.MINUS), _two_colours(typed), strict=True):
            proposal = with_colour(self.session.harness, proposal, polarity, code)
        self._take(proposal)

    def action_skip(self) -> None:
        """Leave the lamp for later."""
        lamp = self.session.harness.find_lamp(self.lamp_id)
        if lamp is None:
            return
        if lamp.run is None:
            self.session.remember(lambda harness: editing.skip_lamp(harness, lamp.id))
        following = first_open(self.session.harness, self.lamp_id)
        if following is None or following.id == self.lamp_id:
            self.action_step(1)
        else:
            self._turn_to(following.id)
        self.say(f"Skipped {lamp.name}; it comes again at the end.")

    def action_list(self) -> None:
        """Choose the lamp from the list."""
        lamps = self.session.harness.lamps
        lines = [f"{chr(0x2713) if lamp.run else ' '} {lamp.name}" for lamp in lamps]
        at = next((place for place, lamp in enumerate(lamps) if lamp.id == self.lamp_id), 0)

        def go(place: int | None) -> None:
            if place is not None:
                self._turn_to(lamps[place].id)

        self.app.push_screen(Choose("Which lamp?", lines, at), go)

    def action_open(self) -> None:
        """Take the accepted run back."""
        lamp = self.session.harness.find_lamp(self.lamp_id)
        if lamp is None or lamp.run is None:
            self.say("This run is not accepted yet.")
        elif self.edit(lambda harness: editing.drop_run(harness, lamp.id), f"open run of {lamp.name}"):
            self.say(f"The run of {lamp.name} is open again.")

    def action_measure(self) -> None:
        """Type the run's length as one."""
        lamp = self.session.harness.find_lamp(self.lamp_id)
        if lamp is None:
            return
        harness = self.session.harness
        subject = f"lamp {lamp.name}: measured run"

        def measured(typed: str | None) -> None:
            if typed is None:
                return
            value = lengths.read(typed, subject)
            before = self.proposal
            if self.edit(
                lambda h: editing.edit_lamp(h, lamp.id, measured_mm=value), f"measured run of {lamp.name}"
            ):
                self._take_measured(lamp.id, before)

        self.app.push_screen(
            ask_number(
                f"Length of the run of {lamp.name} to the controller, in {lengths.unit()}",
                lengths.typed(lamp.measured_mm),
                subject=subject,
                more="Measured with a string along the way. Empty: by its waypoint and legs.",
                then=lambda value: editing.edit_lamp(harness, lamp.id, measured_mm=value),
            ),
            measured,
        )

    def _take_measured(self, lamp_id: str, before: Proposal | None) -> None:
        """Propose the run as it was measured, and say so; the colours chosen for it stay."""
        harness = self.session.harness
        lamp = harness.lamp(lamp_id)
        if lamp_id != self.lamp_id or self.proposal is None:
            return
        if lamp.measured_mm is None:
            self.say(f"{lamp.name} goes by its waypoint and legs.")
            return
        proposal = attrs.evolve(self.proposal, colours=(before or self.proposal).colours)
        self._take(with_way(harness, proposal, proposal.ways.index(()), MOST_OFFERS))
        said = f"The measured run of {lengths.text(lamp.measured_mm)} is proposed: Enter accepts it."
        doubt = measured_doubt(harness, lamp)
        if doubt:
            self.say(f"{doubt} Measure it again, or accept it with Enter.", "warning")
        else:
            self.say(said)


def _two_colours(typed: str) -> tuple[str, str]:
    """The codes of the plus and the minus wire, typed as codes or names. BadValue for anything else."""
    by_name = {COLOURS[code].name.upper(): code for code in _COLOUR_CODES}
    codes = [by_name.get(word, word) for word in typed.upper().replace(",", " ").split()]
    unknown = [code for code in codes if code not in COLOURS]
    if unknown:
        raise BadValue("wire colours", f"{shown(unknown[0])} is no colour", limit=" ".join(_COLOUR_CODES))
    if len(codes) != 2:
        raise BadValue(
            "wire colours", shown(typed) or "none", limit="two codes, plus then minus", remedy="As RD BK."
        )
    return codes[0], codes[1]

"""Walk: lamp after lamp, its way, its merges, its colours, its labels; the answer is filled in already."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from harness_tui.screens.room import Room, styles_beside
from harness_tui.widgets.ask import Ask, Choose
from harness_tui.widgets.electrics import brief_lines, lamp_lines
from harness_tui.widgets.label_box import label_boxes, side_by_side
from harness_tui.widgets.lines import clip, tell
from harness_tui.widgets.wire_paint import wire_chip
from model import editing
from model.electrics.lamps import lamp_current
from model.errors import BadValue, LoomError
from model.harness import Harness, Lamp, Polarity
from model.routing.graph import route_graph
from model.routing.walk import (
    LeadOffer,
    Proposal,
    first_open,
    own_pairs_mm,
    propose,
    resume,
    with_colour,
    with_merge,
    with_way,
)
from model.routing.wires import EndKind, PartKind, Wire, derive
from model.routing.words import colour_words, end_words, net_words, place_name
from model.standards.colours import COLOURS

LETTERS = "abcdefghij"
PANEL_FROM = 112
"""Columns from which the list of lamps stands beside the run."""

_PART_WORDS = {
    PartKind.LEG: "legs",
    PartKind.SLACK: "slack",
    PartKind.MOVING: "moving",
    PartKind.LOOP: "loop",
    PartKind.LAMP: "lamp",
    PartKind.STRIP: "strip",
    PartKind.JOINT: "joint",
    PartKind.LEAD: "own lead",
    PartKind.ROUND: "up",
}


class WalkScreen(Room):
    """One run at a time. Enter accepts what is shown and goes on."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Walk"
    HELP = (
        "Each lamp's run with the answer filled in: the way through the model, where its wires merge with "
        "others of their net, the colours, the length to cut and the labels of both ends. Enter accepts and "
        "goes to the next lamp. "
        "A letter takes another merge; savings are wire not needed, against the wire on its own."
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
            for letter in LETTERS[1:]
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
        self.session.remember(lambda harness: editing.set_progress(harness, walk=lamp_id))
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
        lines = list(self._sheet(harness, lamp, width))
        if len(lines) > self.app.size.height - 3:
            lines = [line for line in lines if line.plain.strip()]
        tell(sheet, Content("\n").join(lines))
        if panel.display:
            tell(panel, Content("\n").join(self._lamp_list(harness)))

    def _work_out(self, harness: Harness, lamp: Lamp) -> None:
        if self.proposal is not None and self.proposal.before is harness and self.proposal.lamp_id == lamp.id:
            return
        self.trouble = ""
        try:
            self.proposal = propose(harness, lamp.id, self._most())
        except LoomError as error:
            self.proposal = None
            self.trouble = error.message()

    def _most(self) -> int:
        return 3 if self.app.size.height < 30 else 5

    def _sheet(self, harness: Harness, lamp: Lamp, width: int) -> Iterator[Content]:
        state = "accepted" if lamp.run else "skipped" if lamp.id in harness.progress.skipped else ""
        kind = f"{lamp.colour} {lamp.size}"
        yield _two(Content.styled(clip(lamp.name, width - len(kind) - 2), "bold $accent"), kind, width)
        where = " \u00b7 ".join(
            part for part in (lamp.function, lamp.place, state) if part and part != "other"
        )
        yield _two(Content.styled(where, "dim"), self._output_words(harness, lamp), width)
        electrics = lamp_current(harness, lamp)
        roomy = self.app.size.height >= 30
        yield from lamp_lines(lamp, electrics, width) if roomy else brief_lines(lamp, electrics, width)
        proposal = self.proposal
        if proposal is None:
            yield Content("")
            yield Content.styled(self.trouble, "$text-warning")
            yield Content("Press t and type the run's length if you measured it with a string,")
            yield Content(
                "or give it a waypoint in Lamps (1) and lead legs from there to the controller in Routes (2)."
            )
            return
        yield from self._way_lines(harness, lamp, proposal, width)
        letters = iter(LETTERS)
        for polarity in (harness.controller.common_polarity, harness.controller.switched_polarity):
            yield from self._merge_lines(harness, proposal, polarity, letters, width)
        yield self._colour_line(harness, proposal)
        for polarity in (Polarity.PLUS, Polarity.MINUS):
            yield from self._cut_lines(proposal, polarity, width)
        for wire in proposal.new_trunks():
            tag = proposal.preview.ledger.live()[wire.key].tag
            words = (
                f"{wire.lamp_end.ref} on to {end_words(proposal.preview, wire.controller_end, wire.polarity)}"
            )
            yield Content.styled(
                clip(f"trunk   {wire.polarity} {tag}  {wire.cut_mm:g} mm  {words}", width), "dim"
            )
        yield Content("")
        boxes = [
            box
            for polarity in (Polarity.PLUS, Polarity.MINUS)
            for box in label_boxes(proposal.preview, proposal.wires(polarity)[:1], 18)
        ]
        yield from side_by_side(boxes, width)
        yield Content("")
        yield self._tally(harness)

    @staticmethod
    def _output_words(harness: Harness, lamp: Lamp) -> str:
        if lamp.output is None:
            return "no output yet"
        others = sum(other.output == lamp.output for other in harness.lamps) - 1
        found = harness.controller.find_output(lamp.output)
        pin = f", pin {found[0].name}{found[1].pin}" if found else ""
        return f"{net_words(harness, lamp.output)}{pin}" + (
            f", with {others} other{'s' if others > 1 else ''}" if others else ""
        )

    def _way_lines(self, harness: Harness, lamp: Lamp, proposal: Proposal, width: int) -> Iterator[Content]:
        more = f"  (w: {proposal.way_at + 1} of {len(proposal.ways)})" if len(proposal.ways) > 1 else ""
        if not proposal.way:
            yield Content(f"way     measured run of {lamp.measured_mm:g} mm{more}")
            return
        legs = route_graph(harness).legs
        pieces = [f"lamp --{lamp.spur_mm:g}-- " if lamp.spur_mm else ""]
        pieces[0] += place_name(harness, proposal.way[0])
        for one, other in zip(proposal.way, proposal.way[1:], strict=False):
            leg = legs[one][other]
            rope = (
                f"~~{leg.length_mm:g}+{leg.loop_mm:g}~~"
                if leg.loop_mm is not None
                else f"--{leg.length_mm:g}--"
            )
            plug = f"[{leg.plug}]" if leg.plug else ""
            pieces.append(f"{rope}{plug} {place_name(harness, other)}")
        line = "way     "
        for piece in [*pieces, more.strip()]:
            if len(line) + len(piece) + 1 > width and line.strip():
                yield Content(line.rstrip())
                line = "        "
            line += f"{piece} "
        yield Content(clip(line.rstrip(), width))

    def _merge_lines(
        self, harness: Harness, proposal: Proposal, polarity: Polarity, letters: Iterator[str], width: int
    ) -> Iterator[Content]:
        lines = proposal.offers[polarity]
        for place, line in enumerate(lines):
            letter = next(letters, "")
            taken = place == proposal.taken[polarity]
            head = "merge " if polarity is harness.controller.common_polarity and place == 0 else "      "
            sign = polarity if place == 0 else " "
            text = f"{head} {sign} [{letter}] {self._offer_words(harness, line, polarity)}"
            text = clip(text, width - 3)
            style = "$accent bold" if taken else ""
            yield Content.styled(f"{text:<{width - 3}}{' <' if taken else ''}", style)

    @staticmethod
    def _offer_words(harness: Harness, line: LeadOffer, polarity: Polarity) -> str:
        offer = line.offer
        if not offer.at:
            return "on its own, to its pin" + ("  (as it stands)" if line.stands else "")
        names = [lamp.name for lamp_id in offer.lamps if (lamp := harness.find_lamp(lamp_id))]
        company = names[0] if len(names) == 1 else f"{len(names)} lamps"
        text = f"at {place_name(harness, offer.at)} with {company}"
        if line.stands:
            return f"{text:<34} saves {offer.saves_mm:g} mm, as it stands"
        if offer.joints:
            cost = f"for {offer.joints} joint{'s' if offer.joints > 1 else ''}"
        else:
            cost = f"into {offer.merge.into}" if offer.merge and offer.merge.into else ""
        retires = f"  retires {', '.join(offer.retires)}" if offer.retires else ""
        return f"{text:<34} saves {offer.saves_mm:g} mm {cost}{retires}"

    def _colour_line(self, harness: Harness, proposal: Proposal) -> Content:
        line = Content("colour  ")
        for polarity in (Polarity.PLUS, Polarity.MINUS):
            wires = proposal.wires(polarity)
            colour = wires[0].colour if wires else ""
            own = " (own)" if proposal.colours[polarity] else ""
            line += (
                Content(f"{polarity} ") + wire_chip(colour) + Content(f" {colour_words(colour)}{own}      ")
            )
        return line

    @staticmethod
    def _cut_lines(proposal: Proposal, polarity: Polarity, width: int) -> Iterator[Content]:
        for place, wire in enumerate(proposal.wires(polarity)):
            tag = proposal.preview.ledger.live()[wire.key].tag
            head = "cut     " if polarity is Polarity.PLUS and place == 0 else "        "
            if wire.own_lead:
                text = (
                    f"{head}{polarity} {tag}  the lamp's own lead reaches: shorten it to {wire.cut_mm:g} mm"
                )
            else:
                text = f"{head}{polarity} {tag}  {cut_sum(wire)} = "
                yield Content(clip(text, width - 8)) + Content.styled(f"{wire.cut_mm:g} mm", "bold")
                continue
            yield Content(clip(text, width))

    def _tally(self, harness: Harness) -> Content:
        used = derive(harness).spool_mm
        walked = sum(lamp.run is not None for lamp in harness.lamps)
        saved = own_pairs_mm(harness) - used
        joints = len(harness.joints)
        return Content.styled(
            f"walked {walked} of {len(harness.lamps)}   wire {used / 1000:.2f} m   saved {saved / 1000:.2f} m"
            f" by {joints} joint{'' if joints == 1 else 's'}",
            "dim",
        )

    def _lamp_list(self, harness: Harness) -> Iterator[Content]:
        lamps = harness.lamps
        place = next((place for place, lamp in enumerate(lamps) if lamp.id == self.lamp_id), 0)
        rows = max(self.app.size.height - 5, 5)
        first = min(max(place - rows // 2, 0), max(len(lamps) - rows, 0))
        for lamp in lamps[first : first + rows]:
            mark = "\u2713" if lamp.run else "-" if lamp.id in harness.progress.skipped else " "
            yield Content.styled(
                f" {mark} {clip(lamp.name, 30)}", "bold reverse" if lamp.id == self.lamp_id else ""
            )

    # --- keys ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Grey what can't be done now."""
        if action in ("accept", "merge", "colours"):
            return True if self.proposal is not None else None
        if action == "way":
            return True if self.proposal is not None and len(self.proposal.ways) > 1 else None
        return True

    def action_accept(self) -> None:
        """Store the run and go to the next open lamp."""
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
            self.say("Every lamp is walked. 6 prints the labels, 5 goes to the bench.")
            lamps = [lamp.id for lamp in harness.lamps]
            place = lamps.index(self.lamp_id)
            self._turn_to(lamps[min(place + 1, len(lamps) - 1)])
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
        """Take the merge of a letter."""
        proposal = self.proposal
        harness = self.session.harness
        if proposal is None:
            return
        place = LETTERS.index(letter)
        for polarity in (harness.controller.common_polarity, harness.controller.switched_polarity):
            count = len(proposal.offers[polarity])
            if place < count:
                self._take(with_merge(harness, proposal, polarity, place))
                return
            place -= count
        self.say(f"There is no merge {letter}.")

    def _take(self, proposal: Proposal) -> None:
        self.proposal = proposal
        self.say("")
        self.redraw()

    def action_way(self) -> None:
        """Take the next way."""
        if self.proposal is not None:
            self._take(with_way(self.session.harness, self.proposal, self.proposal.way_at + 1, self._most()))

    def action_colours(self) -> None:
        """Ask for the colours of both wires."""
        if self.proposal is None:
            return
        now = " ".join(
            self.proposal.wires(polarity)[0].colour for polarity in (Polarity.PLUS, Polarity.MINUS)
        )
        codes = "  ".join(f"{code} {colour.name}" for code, colour in COLOURS.items() if len(code) == 2)
        self.app.push_screen(Ask("Colours of the plus and the minus wire", now, more=codes), self._colours)

    def _colours(self, typed: str | None) -> None:
        if typed is None or self.proposal is None:
            return
        codes = typed.upper().replace(",", " ").split()
        try:
            if len(codes) != 2 or any(code not in COLOURS for code in codes):
                raise BadValue(
                    "wire colours", typed, limit="two codes, plus then minus", remedy="For example RD BK."
                )
        except BadValue as error:
            self.say(error.message(), "error")
            return
        proposal = self.proposal
        for polarity, code in zip((Polarity.PLUS, Polarity.MINUS), codes, strict=True):
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
        now = f"{lamp.measured_mm:g}" if lamp.measured_mm else ""
        self.app.push_screen(
            Ask(f"Length of the run of {lamp.name} to the controller, in mm", now), self._measured
        )

    def _measured(self, typed: str | None) -> None:
        if typed is None:
            return
        from model.values import parse_number

        lamp = self.session.harness.lamp(self.lamp_id)
        try:
            value = parse_number(typed, f"lamp {lamp.name}: measured run", "mm")
        except BadValue as error:
            self.say(error.message(), "error")
            return
        self.edit(
            lambda harness: editing.edit_lamp(harness, lamp.id, measured_mm=value),
            f"measured run of {lamp.name}",
        )


def cut_sum(wire: Wire) -> str:
    """The cut length as a sum: "120 legs +20 slack +15 lamp +3 strip +8 joint +4 up"."""
    kinds = dict.fromkeys(part.kind for part in wire.parts)
    addends = [(wire.part_mm(kind), _PART_WORDS[kind]) for kind in kinds]
    if not any(kind is PartKind.LEG for kind in kinds) and wire.lamp_end.kind is not EndKind.PLUG:
        addends.insert(0, (0.0, "legs"))
    text = ""
    for mm, word in addends:
        sign = " -" if mm < 0 else " +"
        text += f"{sign if text else ''}{abs(mm):g} {word}"
    return text


def _two(left: Content, right: str, width: int) -> Content:
    gap = max(width - left.cell_length - len(right), 1)
    return left + Content(" " * gap) + Content.styled(right, "dim")

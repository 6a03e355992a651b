"""One lamp's run in lines: its way, merges, colours, cut lengths as sums and labels; the list of lamps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from textual.content import Content

from harness_tui.widgets.electrics import brief_lines, lamp_lines
from harness_tui.widgets.label_box import label_boxes, side_by_side
from harness_tui.widgets.lines import clip
from harness_tui.widgets.wire_paint import wire_chip
from model import lengths
from model.electrics.lamps import lamp_current
from model.electrics.outputs import CommonLoad, output_loads
from model.harness import Harness, Lamp, Polarity
from model.routing.graph import route_graph
from model.routing.measured import by_legs_mm, measured_is_doubtful
from model.routing.walk import MOST_SHOWN, LeadOffer, Proposal, own_pairs_mm, with_merge
from model.routing.wires import MEASURED, EndKind, PartKind, Wire, derive
from model.routing.words import colour_words, end_words, net_words, place_name
from model.values import counted

LETTERS = ("abcde", "fghij")
"""The letters of the common's merges and of the switched side's. The last of each is the wire on its own."""

MOST_OFFERS = MOST_SHOWN
"""Merges worked out for each polarity: as many as there are letters."""

ROOMY_FROM = 30
"""Rows from which all of them are shown; in a smaller window fewer, each with the same letter, and those left
out have none until they are shown.
"""

FEW_OFFERS = 3

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


def run_lines(
    harness: Harness,
    lamp: Lamp,
    proposal: Proposal | None,
    trouble: str,
    width: int,
    height: int,
    most: int | None = None,
) -> Iterator[Content]:
    """All of one lamp's run; `trouble` says why there is no proposal. For a window of `height` rows.

    `most` merges of each polarity are shown, else as many as the window has room for.
    """
    state = "accepted" if lamp.run else "skipped" if lamp.id in harness.progress.skipped else ""
    kind = f"{lamp.colour} {lamp.size}"
    yield _two(Content.styled(clip(lamp.name, width - len(kind) - 2), "bold $accent"), kind, width)
    where = " \u00b7 ".join(part for part in (lamp.function, lamp.place, state) if part and part != "other")
    output = _output_words(harness, lamp, width - len(where) - 2)
    yield _two(Content.styled(clip(where, max(width - len(output) - 2, 12)), "dim"), output, width)
    electrics = lamp_current(harness, lamp)
    roomy = height >= ROOMY_FROM
    yield from lamp_lines(lamp, electrics, width) if roomy else brief_lines(lamp, electrics, width)
    if proposal is None:
        yield Content("")
        yield Content.styled(trouble, "$text-warning")
        yield Content("Press t and type the run's length if you measured it with a string,")
        yield Content(
            "or give it a waypoint in Lamps (1) and lead legs from there to the controller in Routes (2)."
        )
        return
    yield from _way_lines(harness, lamp, proposal, width)
    most = most or merges_shown(height)
    yield from merge_lines(harness, proposal, width, most)
    yield from load_lines(harness, proposal, width)
    yield _colour_line(proposal)
    for polarity in (Polarity.PLUS, Polarity.MINUS):
        yield from _cut_lines(proposal, polarity, width)
    for wire in proposal.new_trunks():
        tag = proposal.preview.ledger.live()[wire.key].tag
        words = f"{wire.lamp_end.ref} on to {end_words(proposal.preview, wire.controller_end, wire)}"
        line = f"trunk   {wire.polarity} {tag}  {lengths.text(wire.cut_mm)}  {words}"
        yield Content.styled(clip(line, width), "dim")
    yield Content("")
    boxes = [
        box
        for polarity in (Polarity.PLUS, Polarity.MINUS)
        for box in label_boxes(proposal.preview, proposal.wires(polarity)[:1], 18)
    ]
    yield from side_by_side(boxes, width)
    yield Content("")
    yield _tally(harness)


def _two(left: Content, right: str, width: int) -> Content:
    gap = max(width - left.cell_length - len(right), 1)
    return left + Content(" " * gap) + Content.styled(right, "dim")


def _output_words(harness: Harness, lamp: Lamp, room: int) -> str:
    """The output, its pin, how many lamps it has besides; without what it switches where that has no room."""
    if lamp.output is None:
        return "no output yet"
    others = sum(other.output == lamp.output for other in harness.lamps) - 1
    found = harness.controller.find_output(lamp.output)
    rest = f", pin {found[0].name}{found[1].pin}" if found else ""
    rest += f", with {others} other{'s' if others > 1 else ''}" if others else ""
    words = f"{net_words(harness, lamp.output)}{rest}"
    return words if len(words) <= room else f"output {lamp.output}{rest}"


def _way_lines(harness: Harness, lamp: Lamp, proposal: Proposal, width: int) -> Iterator[Content]:
    more = f"  (w: {proposal.way_at + 1} of {len(proposal.ways)})" if len(proposal.ways) > 1 else ""
    if not proposal.way:
        legs_mm = by_legs_mm(harness, lamp)
        legs_words = f", {lengths.text(legs_mm)} by its legs" if legs_mm is not None else ""
        words = f"way     measured run of {lengths.text(lamp.measured_mm or 0.0)}{legs_words}{more}"
        doubtful = measured_is_doubtful(harness, lamp)
        yield Content.styled(words, "$text-warning") if doubtful else Content(words)
        return
    legs = route_graph(harness).legs
    pieces = [f"lamp --{lengths.figure(lamp.spur_mm)}-- " if lamp.spur_mm else ""]
    pieces[0] += place_name(harness, proposal.way[0])
    for one, other in zip(proposal.way, proposal.way[1:], strict=False):
        leg = legs[one][other]
        moves = leg.loop_mm is not None
        long = lengths.figure(leg.length_mm)
        rope = f"~~{long}+{lengths.figure(leg.loop_mm or 0.0)}~~" if moves else f"--{long}--"
        plug = f"[{leg.plug}]" if leg.plug else ""
        pieces.append(f"{rope}{plug} {place_name(harness, other)}")
    line = "way     "
    for piece in [*pieces, more.strip()]:
        if len(line) + len(piece) + 1 > width and line.strip():
            yield Content(line.rstrip())
            line = "        "
        line += f"{piece} "
    yield Content(clip(line.rstrip(), width))


# --- merges ---


def merges_shown(height: int) -> int:
    """How many merges of one polarity a window of `height` rows shows."""
    return MOST_OFFERS if height >= ROOMY_FROM else FEW_OFFERS


def lettered(
    harness: Harness, proposal: Proposal, most: int = MOST_OFFERS
) -> dict[str, tuple[Polarity, int]]:
    """The polarity and the place of the merge that each letter takes, with `most` of each polarity shown."""
    found: dict[str, tuple[Polarity, int]] = {}
    for letters, polarity in zip(LETTERS, _polarities(harness), strict=True):
        lines = proposal.offers[polarity]
        for place in _places_shown(len(lines), proposal.taken[polarity], most):
            found[letters[-1] if lines[place].alone else letters[place]] = (polarity, place)
    return found


def _polarities(harness: Harness) -> tuple[Polarity, Polarity]:
    return harness.controller.common_polarity, harness.controller.switched_polarity


def merge_lines(harness: Harness, proposal: Proposal, width: int, most: int) -> Iterator[Content]:
    """At most `most` merges of each polarity: the best, the one taken, and the wire on its own."""
    head, before = "merge", None
    for letter, (polarity, place) in lettered(harness, proposal, most).items():
        left = f"{head:<6} {'' if polarity is before else polarity:<1} [{letter}] "
        words = offer_words(harness, proposal.offers[polarity][place], width - 3 - len(left))
        line = f"{left}{words}"
        mark = " " * max(width - 3 - len(line), 0) + " <"
        taken = place == proposal.taken[polarity]
        yield Content.styled(line + mark, "$accent bold") if taken else Content(line)
        head, before = " ", polarity


def _places_shown(count: int, taken: int, most: int) -> list[int]:
    if count <= most:
        return list(range(count))
    return sorted({*range(most - 1), taken, count - 1})


def offer_words(harness: Harness, line: LeadOffer, room: int) -> str:
    """Where and with whom, what it saves and costs, which tags it retires; the names give way first."""
    offer = line.offer
    if offer.retires:
        tags = ", ".join(offer.retires)
        retires = f"  retires {tags if len(offer.retires) <= 2 else f'{len(offer.retires)} tags'}"
    else:
        retires = ""
    if not offer.at:
        stands = "  (as it stands)" if line.stands else ""
        return clip(f"on its own, to its pin{stands}{retires}", room)
    if line.stands:
        right = f"saves {lengths.text(offer.saves_mm)}, as it stands"
    else:
        cost = f"for {offer.joints} joint{'s' if offer.joints > 1 else ''}"
        into = f"into {offer.merge.into}" if offer.merge and offer.merge.into else ""
        right = f"saves {lengths.text(offer.saves_mm)} {cost if offer.joints else into}".rstrip() + retires
    names = [lamp.name for lamp_id in offer.lamps if (lamp := harness.find_lamp(lamp_id))]
    company = names[0] if len(names) == 1 else f"{len(names)} lamps"
    left = clip(f"at {place_name(harness, offer.at)} with {company}", max(room - len(right) - 1, 0))
    return clip(f"{left:<{min(34, max(room - len(right) - 1, 0))}} {right}", room)


# --- what the common can carry ---


def _too_full(proposal: Proposal) -> CommonLoad | None:
    """The common pin of this run that would carry more than its limit."""
    commons = output_loads(proposal.preview).commons
    mine = (load for load in commons if any(lamp.lamp_id == proposal.lamp_id for lamp in load.lamps))
    return next((load for load in mine if load.margin_ma < 0), None)


def load_lines(harness: Harness, proposal: Proposal, width: int) -> Iterator[Content]:
    """That the run as it is proposed puts more on a common pin than that may carry, and what does not.

    A merge that the window leaves out is named too: its letter shows it.
    """
    load = _too_full(proposal)
    if load is None:
        return
    polarity = harness.controller.common_polarity
    others = [
        letter
        for letter, (sign, place) in lettered(harness, proposal).items()
        if sign is polarity
        and place != proposal.taken[sign]
        and _too_full(with_merge(harness, proposal, sign, place)) is None
    ]
    pin = f"{load.block.name}{load.common.pin}"
    found = f"! common pin {pin} then carries {load.full_ma:.0f} of {load.common.limit_ma:g} mA"
    mend = f"{' or '.join(others)} does not" if others else "add a common pin in Outputs (3), key c"
    for line in (found, f"  {mend}.") if len(found) + len(mend) + 3 > width else (f"{found}: {mend}.",):
        yield Content.styled(clip(line, width), "$text-warning")


# --- colours, lengths, sums ---


def _colour_line(proposal: Proposal) -> Content:
    line = Content("colour  ")
    for polarity in (Polarity.PLUS, Polarity.MINUS):
        wires = proposal.wires(polarity)
        colour = wires[0].colour if wires else ""
        own = " (own)" if proposal.colours[polarity] else ""
        line += Content(f"{polarity} ") + wire_chip(colour) + Content(f" {colour_words(colour)}{own}      ")
    return line


def _cut_lines(proposal: Proposal, polarity: Polarity, width: int) -> Iterator[Content]:
    for place, wire in enumerate(proposal.wires(polarity)):
        tag = proposal.preview.ledger.live()[wire.key].tag
        head = "cut     " if polarity is Polarity.PLUS and place == 0 else "        "
        cut = lengths.text(wire.cut_mm)
        if wire.own_lead:
            text = f"{head}{polarity} {tag}  the lamp's own lead reaches: shorten it to {cut}"
            yield Content(clip(text, width))
        else:
            yield from _sum_lines(f"{head}{polarity} {tag}  ", cut_sum(wire), cut, width)


def _sum_lines(head: str, addends: str, cut: str, width: int) -> Iterator[Content]:
    """A sum with its result, in as many lines as it takes to be added up."""
    line = head
    for addend in addends.replace(" +", "\n+").replace(" -", "\n-").split("\n"):
        if len(line) + len(addend) > width - (0 if line == head else 1) and line.strip():
            yield Content(line.rstrip())
            line = " " * len(head)
        line += f"{addend} "
    if len(line) + len(cut) + 2 > width:
        yield Content(line.rstrip())
        line = " " * len(head)
    yield Content(f"{line}= ") + Content.styled(cut, "bold")


def cut_sum(wire: Wire) -> str:
    """The cut length as a sum: "120 legs +20 slack +15 lamp +3 strip +8 joint +4 up"."""
    kinds = dict.fromkeys(part.kind for part in wire.parts)
    measured = any(part.kind is PartKind.LEG and part.words == MEASURED for part in wire.parts)
    words = {**_PART_WORDS, PartKind.LEG: "measured"} if measured else _PART_WORDS
    addends = [(wire.part_mm(kind), words[kind]) for kind in kinds]
    if not any(kind is PartKind.LEG for kind in kinds) and wire.lamp_end.kind is not EndKind.PLUG:
        addends.insert(0, (0.0, "legs"))
    text = ""
    for mm, word in addends:
        sign = " -" if mm < 0 else " +"
        text += f"{sign if text else ''}{lengths.figure(abs(mm))} {word}"
    return text


def _tally(harness: Harness) -> Content:
    used = derive(harness).spool_mm
    walked = sum(lamp.run is not None for lamp in harness.lamps)
    saved = own_pairs_mm(harness) - used
    joints = len(harness.joints)
    return Content.styled(
        f"walked {walked} of {len(harness.lamps)}   wire {lengths.total(used)}   saved {lengths.total(saved)}"
        f" by {counted(joints, 'joint')}",
        "dim",
    )


def lamp_list(harness: Harness, here: str, rows: int) -> Iterator[Content]:
    """The lamps around the one with the id `here`, a line each, with a tick where the run is accepted."""
    lamps: Sequence[Lamp] = harness.lamps
    place = next((place for place, lamp in enumerate(lamps) if lamp.id == here), 0)
    first = min(max(place - rows // 2, 0), max(len(lamps) - rows, 0))
    for lamp in lamps[first : first + rows]:
        mark = "\u2713" if lamp.run else "-" if lamp.id in harness.progress.skipped else " "
        yield Content.styled(f" {mark} {clip(lamp.name, 30)}", "bold reverse" if lamp.id == here else "")

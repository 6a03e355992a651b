"""The walk: one lamp's run as it is proposed, changed key by key, and accepted.

A proposal is worked out whole each time: what the person sees is what Enter stores.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import attrs

from model.editing import RunChoice, accept_run
from model.errors import Conflict
from model.harness import Harness, Lamp, Lead, Polarity
from model.memo import WIRING, of_parts
from model.routing.allot import settle
from model.routing.offers import Offer, best_offer, merge_offers, standing_offer, way_choices
from model.routing.wires import Wire, derive, origin_name, wire_colour

MOST_SHOWN = 5
"""Lines of merges of one polarity that a person is offered: more are not read."""


@attrs.frozen(kw_only=True)
class LeadOffer:
    """One line of the merges a lamp's polarity can take. `stands`: it is how the accepted run has it now."""

    offer: Offer
    stands: bool = False

    @property
    def alone(self) -> bool:
        """Whether it is the wire on its own, to its pin."""
        return not self.offer.at


@attrs.frozen(kw_only=True, eq=False)
class Proposal:
    """A lamp's run as proposed.

    `ways` are all it can take, `way_at` the one chosen. `offers` and `taken` hold for each polarity the
    merges and the place of the one chosen; `colours` the colour chosen, None for the scheme's. `preview`
    is the harness with this run accepted, and `before` the one without it.
    """

    lamp_id: str
    ways: tuple[tuple[str, ...], ...]
    way_at: int
    offers: Mapping[Polarity, tuple[LeadOffer, ...]]
    taken: Mapping[Polarity, int]
    colours: Mapping[Polarity, str | None]
    before: Harness
    preview: Harness

    @property
    def way(self) -> tuple[str, ...]:
        """The chosen way; empty for a measured run."""
        return self.ways[self.way_at]

    @property
    def choice(self) -> RunChoice:
        """The proposal as the edit takes it."""
        merges = {polarity: self.offers[polarity][self.taken[polarity]] for polarity in Polarity}
        return RunChoice(
            way=self.way,
            keep=tuple(polarity for polarity, line in merges.items() if line.stands),
            plus=merges[Polarity.PLUS].offer.merge,
            minus=merges[Polarity.MINUS].offer.merge,
            plus_colour=self.colours[Polarity.PLUS],
            minus_colour=self.colours[Polarity.MINUS],
        )

    @property
    def accept(self) -> Callable[[Harness], Harness]:
        """The edit that stores it."""
        lamp_id, choice = self.lamp_id, self.choice
        return lambda harness: accept_run(harness, lamp_id, choice)

    def wires(self, polarity: Polarity) -> tuple[Wire, ...]:
        """The lamp's own wires of that polarity, from the lamp to its joint or pin, as they would be."""
        name = origin_name(self.lamp_id, polarity)
        return tuple(wire for wire in derive(self.preview).wires if wire.origin == name)

    def new_trunks(self) -> tuple[Wire, ...]:
        """The trunk wires that the run adds."""
        known = {joint.id for joint in self.before.joints}
        added = {joint.id for joint in self.preview.joints} - known
        return tuple(wire for wire in derive(self.preview).wires if wire.origin[:-1] in added)

    @property
    def saved_mm(self) -> float:
        """Wire saved against both wires on their own, in mm."""
        return sum(self.offers[polarity][self.taken[polarity]].offer.saves_mm for polarity in Polarity)


def propose(harness: Harness, lamp_id: str, most: int | None = None) -> Proposal:
    """The run filled in: as it stands if accepted, else the shortest way and the merges that save most.

    `most` limits the offers of one polarity, the best first, the wire on its own always among them.
    Raises Conflict where the lamp can't reach the controller.
    """
    lamp = harness.lamp(lamp_id)
    ways = way_choices(harness, lamp_id)
    if not ways:
        raise Conflict(*_no_way(harness, lamp))
    run = lamp.run
    way_at = ways.index(run.way) if run is not None and run.way in ways else 0
    if run is not None and run.way and run.way not in ways:
        ways, way_at = (run.way, *ways), 0
    colours = {polarity: run.lead(polarity).colour if run else None for polarity in Polarity}
    return _worked_out(harness, lamp_id, ways, way_at, {}, colours, most)


def _no_way(harness: Harness, lamp: Lamp) -> tuple[str, str]:
    if lamp.at is None:
        return f"lamp {lamp.name}", "has no waypoint and no measured length"
    return f"lamp {lamp.name}", f"{harness.waypoint(lamp.at).name} is not connected to the controller"


def with_way(harness: Harness, proposal: Proposal, way_at: int, most: int | None = None) -> Proposal:
    """The proposal on another of its ways, merges filled in anew."""
    way_at %= len(proposal.ways)
    return _worked_out(harness, proposal.lamp_id, proposal.ways, way_at, {}, proposal.colours, most)


def with_merge(harness: Harness, proposal: Proposal, polarity: Polarity, place: int) -> Proposal:
    """The proposal with another merge of one polarity."""
    taken = {**proposal.taken, polarity: place}
    return _previewed(harness, attrs.evolve(proposal, taken=taken))


def with_colour(harness: Harness, proposal: Proposal, polarity: Polarity, colour: str | None) -> Proposal:
    """The proposal with another colour of one polarity; the scheme's own colour is stored as None."""
    net = harness.net_of(harness.lamp(proposal.lamp_id), polarity)
    if colour == wire_colour(harness, net, polarity, None):
        colour = None
    colours = {**proposal.colours, polarity: colour}
    return _previewed(harness, attrs.evolve(proposal, colours=colours))


def _worked_out(
    harness: Harness,
    lamp_id: str,
    ways: tuple[tuple[str, ...], ...],
    way_at: int,
    taken: Mapping[Polarity, int],
    colours: Mapping[Polarity, str | None],
    most: int | None,
) -> Proposal:
    offers: dict[Polarity, tuple[LeadOffer, ...]] = {}
    chosen: dict[Polarity, int] = {}
    for polarity in Polarity:
        lines = _lines(harness, lamp_id, ways[way_at], polarity)
        best = next((line for line in lines if line.stands), None)
        best = best or lines[best_offer(harness, [line.offer for line in lines])]
        lines = _sorted(harness, lines, most)
        offers[polarity] = lines
        chosen[polarity] = taken.get(polarity, lines.index(best))
    proposal = Proposal(
        lamp_id=lamp_id,
        ways=ways,
        way_at=way_at,
        offers=offers,
        taken=chosen,
        colours=colours,
        before=harness,
        preview=harness,
    )
    return _previewed(harness, proposal)


def lead_offers(
    harness: Harness, lamp_id: str, way: tuple[str, ...], polarity: Polarity, most: int | None = None
) -> tuple[LeadOffer, ...]:
    """The lines of one polarity as the walk shows them, at most `most`; the wire on its own is the last."""
    return _sorted(harness, _lines(harness, lamp_id, way, polarity), most)


def _lines(harness: Harness, lamp_id: str, way: tuple[str, ...], polarity: Polarity) -> tuple[LeadOffer, ...]:
    offers = merge_offers(harness, lamp_id, way, polarity)
    run = harness.lamp(lamp_id).run
    if run is None:
        return tuple(LeadOffer(offer=offer) for offer in offers)
    if run.lead(polarity).joint is None:
        stands = LeadOffer(offer=offers[-1], stands=True)
        return (*(LeadOffer(offer=offer) for offer in offers[:-1]), stands)
    now = standing_offer(harness, lamp_id, way, polarity)
    if now is None:
        return tuple(LeadOffer(offer=offer) for offer in offers)
    # Taken anew, a merge with the same lamps at that place is what stands: it is offered once.
    rest = (
        offer
        for offer in offers
        if offer.merge is None or (offer.at, set(offer.lamps)) != (now.at, set(now.lamps))
    )
    return (LeadOffer(offer=now, stands=True), *(LeadOffer(offer=offer) for offer in rest))


def _sorted(harness: Harness, lines: tuple[LeadOffer, ...], most: int | None) -> tuple[LeadOffer, ...]:
    """The merge that stands, then others by what they are worth, the wire on its own last."""
    cost = harness.settings.joint_cost_mm

    def rank(line: LeadOffer) -> tuple[bool, bool, float]:
        return line.alone, not line.stands, -(line.offer.saves_mm - cost * line.offer.joints)

    ordered = sorted(lines, key=rank)
    if most is not None and len(ordered) > most:
        ordered = [*ordered[: most - 1], ordered[-1]]
    return tuple(ordered)


def _previewed(harness: Harness, proposal: Proposal) -> Proposal:
    return attrs.evolve(proposal, preview=settle(proposal.accept(harness)))


def first_open(harness: Harness, after: str = "") -> Lamp | None:
    """The next lamp without a run behind lamp `after` (from the top if empty), those skipped last; None when
    all are walked.
    """
    lamps = harness.lamps
    start = next((place + 1 for place, lamp in enumerate(lamps) if lamp.id == after), 0)
    order = [*lamps[start:], *lamps[:start]]
    still = [lamp for lamp in order if lamp.run is None and lamp.id != after]
    skipped = set(harness.progress.skipped)
    return next((lamp for lamp in still if lamp.id not in skipped), next(iter(still), None))


def resume(harness: Harness) -> Lamp | None:
    """The lamp at which the walk goes on: where it stood, else the first without a run, else the first."""
    stood = harness.find_lamp(harness.progress.walk)
    if stood is not None:
        return stood
    return first_open(harness) or (harness.lamps[0] if harness.lamps else None)


@of_parts(*WIRING)
def own_pairs_mm(harness: Harness) -> float:
    """What the accepted lamps would take from spools with a pair of wires each, in mm."""
    alone = tuple(
        attrs.evolve(lamp, run=attrs.evolve(lamp.run, plus=Lead(), minus=Lead())) if lamp.run else lamp
        for lamp in harness.lamps
    )
    return derive(attrs.evolve(harness, lamps=alone, joints=())).spool_mm

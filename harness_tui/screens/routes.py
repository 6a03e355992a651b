"""Routes: the waypoints as a tree from the controller, leg by leg, and what is there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from harness_tui.screens.list_room import SIDE_FROM, ListRoom
from harness_tui.screens.room import styles_beside
from harness_tui.screens.routes_asks import ask_leg, ask_moving, ask_place, ask_plug
from harness_tui.screens.routes_form import place_edit, place_fields
from harness_tui.widgets.columns import fitted, spread
from harness_tui.widgets.lines import clip, tell
from harness_tui.widgets.place_lines import (
    COLUMNS,
    LEAST,
    SHARE,
    place_cells,
    place_panel,
    place_words,
)
from model import editing
from model.harness import Harness, Leg
from model.routing.bundles import bundles
from model.routing.tree import (
    Branch,
    waypoint_tree,
)
from model.values import counted

MOST_LINES = 5
"""About a place: three lines on the leg and what is there, and the first of what the checks found."""

APART = "-"
"""The key of the line above the waypoints that are not connected."""

_APART_WORDS = (
    "These can't be reached from the controller yet.\nPut the cursor on one: l leads a leg from there."
)


class RoutesScreen(ListRoom[Branch]):
    """The tree of waypoints and a form for the one under the cursor and the leg it hangs on."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Routes"
    HELP = (
        "Where the wires can go. Start at the controller and follow the model with a ruler: a adds the next "
        "place behind the one under the cursor and asks how far it is. A leg over a hinge, tilting cab or "
        "trailer takes extra wire (m); where the body comes off the wires end in a plug (p). "
        "to ctl is the shortest way to the controller, loops included; thick is the bundle in the leg. "
        "w compares three plans, v draws the plan (i then writes it as an image), s lists the wire on hand."
    )
    BINDINGS: ClassVar = [
        Binding("a", "add", "add", tooltip="add the next place, behind this one", id="routes.add"),
        Binding(
            "b", "beside", "beside", tooltip="add a place behind the same one as this", id="routes.beside"
        ),
        Binding("m", "moving", "moving", tooltip="the leg moves: ask for the extra wire", id="routes.moving"),
        Binding("p", "plug", "plug", tooltip="a plug on the leg: its name and distance", id="routes.plug"),
        Binding("l", "leg", "leg", tooltip="lead a second leg to another waypoint", id="routes.leg"),
        Binding(
            "d,delete", "delete", "delete", tooltip="delete the waypoint or second leg", id="routes.delete"
        ),
        Binding("x", "cut", "drop leg", show=False, tooltip="drop the leg it hangs on", id="routes.cut"),
        Binding("c", "controller", "controller", show=False, tooltip="it sits here", id="routes.controller"),
        Binding("escape", "step_back", "back", show=False, id="routes.back"),
        Binding("v", "view", "draw", tooltip="the plan as a picture, true along the way", id="routes.view"),
        Binding("w", "plans", "plans", tooltip="the least wire: three plans side by side", id="routes.plans"),
        Binding(
            "i", "image", "image", tooltip="write the picture into a file: PNG, SVG or PDF", id="routes.image"
        ),
        Binding("s", "spools", "spools", show=False, tooltip="which wire is on hand", id="routes.spools"),
        Binding("e", "edit", "edit", key_display="Enter", id="routes.edit"),
    ]

    TITLES = COLUMNS
    LIST, FORM = "waypoints", "place"
    EMPTY = (
        "Only the controller so far.\n\n"
        "Press a and name the next place the wires pass, for example  cab floor\n"
        "then type how far it is from the controller, measured along the way the wires take."
    )
    NOTHING = "There is no waypoint here."

    def compose_body(self) -> ComposeResult:
        with Horizontal(id="tree"):
            with Vertical():
                yield from self.compose_list()
            yield Static("", id="side", markup=False)
        with VerticalScroll(id="plan"):
            yield Static("", id="picture", markup=False)

    def on_mount(self) -> None:
        self.query_one("#plan").display = False

    # --- drawing ---

    def show_harness(self) -> None:
        harness = self.session.harness
        if self.query_one("#plan").display:
            self._show_plan()
            return
        branches = waypoint_tree(harness)
        side = self.query_one("#side")
        side.display = self.app.size.width >= SIDE_FROM and len(branches) > 1
        self.query_one("#empty").display = len(branches) == 1  # the controller stands over the words
        widths = spread(self.list_width, LEAST, SHARE)
        self.table.fill_to(widths, list(self._rows(harness, branches, widths)))
        self.show_here()

    @staticmethod
    def _rows(
        harness: Harness, branches: tuple[Branch, ...], widths: tuple[int, ...]
    ) -> Iterator[tuple[str, tuple[str, ...]]]:
        thick_mm = {bundle.leg.ends: bundle.diameter_mm for bundle in bundles(harness) if bundle.wires}
        apart = False
        for branch in branches:
            if not branch.connected and not apart:
                apart = True
                yield APART, (fitted("not connected:", widths[0]), *(" " * width for width in widths[1:]))
            yield (
                branch.key,
                place_cells(branch, thick_mm.get(branch.leg.ends) if branch.leg else None, widths),
            )

    def where(self) -> str:
        branches = waypoint_tree(self.session.harness)
        points = len(self.session.harness.waypoints)
        loose = sum(not branch.connected and not branch.second for branch in branches)
        return f"Routes {counted(points, 'place')}" + (f", {loose} not connected" if loose else "")

    def here(self) -> Branch | None:
        here = self.table.here
        return next((branch for branch in waypoint_tree(self.session.harness) if branch.key == here), None)

    def show_here(self) -> None:
        branch = self.here()
        about = self.query_one("#about", Static)
        self.form.display = branch is not None
        if branch is None:
            about.update(_APART_WORDS)
            return
        harness = self.session.harness
        self.form.show(place_fields(branch))
        side = self.query_one("#side", Static)
        *figures, here = place_words(harness, branch)
        lines = [*map(Content, figures), Content(clip(here, self.list_width))]
        lines += [Content.styled(f"! {finding}", "$text-warning") for finding in self._findings(branch)]
        about.styles.max_height = min(max(self.app.size.height - 17, 3), 8)  # the tree keeps its room
        tell(about, Content("\n").join(lines[:MOST_LINES]))
        if side.display:
            tell(side, Content("\n").join(place_panel(harness, branch)))

    def _findings(self, branch: Branch) -> Iterator[str]:
        refs = {branch.key, *(("",) if branch.leg is None else _leg_refs(branch.leg))} - {""}
        for finding in self.known_findings():
            if finding.place == "routes" and finding.ref in refs:
                yield f"{finding.found}. {finding.remedy}"

    def go_to(self, ref: str) -> None:
        harness = self.session.harness
        joint, lamp = harness.find_joint(ref), harness.find_lamp(ref)
        if joint is not None:
            ref = joint.at
        elif lamp is not None:
            ref = lamp.at or ""
        for branch in waypoint_tree(harness):
            leg = branch.leg
            if branch.key == ref or (leg is not None and ref in _leg_refs(leg)):
                super().go_to(branch.key)
                return

    # --- the plan as a picture ---

    def action_view(self) -> None:
        """Change between the tree and the picture of the plan."""
        plan = self.query_one("#plan")
        plan.display = not plan.display
        self.query_one("#tree").display = not plan.display
        (plan if plan.display else self.table).focus()
        self.redraw()
        self.refresh_bindings()

    def action_plans(self) -> None:
        """Go to the three plans."""
        self.loom.action_go("plans")

    def action_spools(self) -> None:
        """Go to the spools and remnants on hand."""
        self.loom.action_go("spools")

    def action_step_back(self) -> None:
        """Go from the picture to the tree, from the tree to the screen before."""
        if self.query_one("#plan").display:
            self.action_view()
        else:
            self.loom.action_room_before()

    def _show_plan(self) -> None:
        from model.routing.picture import picture

        lines = picture(self.session.harness, self.app.size.width - 3)
        self.query_one("#picture", Static).update(Content("\n".join(lines)))

    def action_image(self) -> None:
        """Ask for a file and write the drawing of the loom into it."""
        from harness_tui.screens.routes_image import ask_for_image

        ask_for_image(self)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Hide what does nothing while the picture is up."""
        drawn = self.query("#plan") and self.query_one("#plan").display
        own = ("add", "beside", "moving", "plug", "leg", "delete", "cut", "controller", "edit")
        return not (drawn if action in own else action == "image" and not drawn)

    # --- the form ---

    def take(self, thing: Branch, key: str, text: str) -> str:
        edit = place_edit(thing, key, text)
        self.session.apply(edit, f"{thing.point.name}: {self.field_words(key)}")
        return thing.key

    def first_field(self, thing: Branch) -> str | None:
        unmeasured = thing.leg is not None and thing.leg.length_mm == 0
        return "length_mm" if thing.second or unmeasured else "name"

    # --- adding ---

    def action_add(self) -> None:
        """Ask for the next place behind this one, and how far it is."""
        branch = self.here()
        if branch is None:
            self.say("Put the cursor on a waypoint: the new one hangs on it.")
            return
        ask_place(self, branch.point.id)

    def action_beside(self) -> None:
        """Ask for a place that hangs on the same one as this."""
        branch = self.here()
        if branch is None or branch.parent is None:
            self.action_add()
        else:
            ask_place(self, branch.parent.id)

    def action_leg(self) -> None:
        """Ask for another waypoint and the length of a leg to it."""
        branch = self.here()
        if branch is None:
            self.say("Put the cursor on a waypoint: the leg starts there.")
        else:
            ask_leg(self, branch.point)

    # --- the leg under the cursor ---

    def _leg_here(self) -> tuple[Branch, Leg, str] | None:
        """The line under the cursor, its leg, and the waypoint from which a plug on it is measured."""
        branch = self.here()
        if branch is None or branch.leg is None or branch.parent is None:
            self.say("No leg leads from here towards the controller: put the cursor on a place behind it.")
            return None
        return branch, branch.leg, branch.parent.id

    def action_moving(self) -> None:
        """Ask how much more wire the leg takes to move."""
        here = self._leg_here()
        if here is not None:
            ask_moving(self, here[0], here[1])

    def action_plug(self) -> None:
        """Ask for the plug on the leg and where it sits."""
        here = self._leg_here()
        if here is not None:
            ask_plug(self, *here)

    def action_cut(self) -> None:
        """Drop the leg towards the controller."""
        here = self._leg_here()
        if here is None:
            return
        branch, leg, _ = here
        if self.edit(lambda h: editing.remove_leg(h, leg.a, leg.b), f"drop the leg to {branch.point.name}"):
            self.say(f"The leg is gone.{self._left_loose()} u brings it back.")

    def action_delete(self) -> None:
        """Delete the waypoint, or the leg that closes a loop."""
        branch = self.here()
        if branch is None:
            self.say(self.NOTHING)
        elif branch.second:
            self.action_cut()
        elif self.edit(lambda h: editing.remove_waypoint(h, branch.point.id), f"delete {branch.point.name}"):
            self.say(f"Deleted {branch.point.name}.{self._left_loose()} u brings it back.")

    def _left_loose(self) -> str:
        loose = sum(not one.connected and not one.second for one in waypoint_tree(self.session.harness))
        return f" {loose} place{' is' if loose == 1 else 's are'} not connected." if loose else ""

    def action_controller(self) -> None:
        """Say that the controller sits at this waypoint."""
        branch = self.here()
        if branch is None:
            return
        if branch.point.id == self.session.harness.controller.at:
            self.say("The controller sits here.")
            return
        name = branch.point.name
        if self.edit(lambda h: editing.set_controller(h, at=branch.point.id), f"controller at {name}"):
            self.say(f"The controller sits at {name}. All ways are found anew.")


def _leg_refs(leg: Leg) -> tuple[str, ...]:
    """What a finding may call a leg, or the plug on it."""
    pairs = tuple(
        f"{one}{sign}{other}" for sign in ("-", " ") for one, other in ((leg.a, leg.b), (leg.b, leg.a))
    )
    return (*pairs, leg.plug) if leg.plug else pairs

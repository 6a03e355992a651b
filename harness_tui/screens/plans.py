"""Plans: each lamp its own pair, the best plan and the wiring as it stands, side by side; take all, a net, or
a merge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from time import monotonic
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.widgets import DataTable, Static

from harness_tui.screens.room import Room, styles_beside
from harness_tui.session import Edit
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.columns import FittedTable, fitted, spread
from harness_tui.widgets.lines import SayLine, clip
from harness_tui.widgets.table import Row
from model import lengths
from model.errors import LoomError
from model.harness import Harness
from model.papers.plan_table import sure
from model.routing.allot import settle
from model.routing.merge_plan import NetPlan, PlannedJoint, apply, joint_names, own_pairs, take_merge
from model.routing.plan_compare import Comparison, PlanFigures, compare, labels_lost, stands_already
from model.routing.words import net_words, place_name

TITLES = ("net or merge", "lamps", "wire mm", "saves", "how sure")
LEAST = (30, 5, 7, 5, 15)
SHARE = (4, 0, 0, 0, 1)

FIGURES: tuple[tuple[str, Callable[[PlanFigures], str]], ...] = (
    ("wire", lambda plan: lengths.total(plan.wire_mm)),
    ("joints", lambda plan: f"{plan.joint_count}"),
    ("longest run", lambda plan: lengths.text(round(plan.longest_mm))),
    ("wires in the tightest leg", lambda plan: f"{plan.tight_wires}"),
    ("lamps not walked", lambda plan: f"{plan.open_lamps}"),
    ("bundles too thick for a hole", lambda plan: f"{plan.stuck}"),
)

BAR_AFTER_S = 0.3
"""What was there stays for so long while plans are worked out anew."""

STILL_WORKING = "The plan is still being worked out."


class _LeftError(Exception):
    """The person went on before the plan was worked out."""


class PlansScreen(Room):
    """The three plans and the nets of the best one with their merges."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Plans"
    HELP = (
        "Three ways to wire the model: each lamp with a pair of its own, the least wire and joints that were "
        "found, and as it stands. Below are the nets of the best plan with their merges, what each saves, "
        "and how sure it is that nothing is cheaper. A merge that saves less than 0 is there because a joint "
        "or pin holds so few wires; stands says that it is wired so already. Where a bundle would be too "
        "thick for the hole of its leg, the plan merges closer if that lets it through. Take all of it, one "
        "net, or a single merge, which brings those behind it. Wires begun at the bench are "
        "not moved; u undoes."
    )
    BINDINGS: ClassVar = [
        Binding(
            "a", "take_all", "take all", tooltip="wire everything as the best plan has it", id="plans.all"
        ),
        Binding(
            "t",
            "take",
            "take this",
            key_display="Enter",
            tooltip="take the net or merge under the cursor",
            id="plans.take",
        ),
        Binding(
            "o",
            "own_pairs",
            "own pairs",
            tooltip="each lamp a pair of its own, without joints",
            id="plans.pairs",
        ),
        Binding("v", "routes", "the tree", tooltip="back to Routes", id="plans.routes"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.compared: Comparison | None = None
        self._row = 0  # where the cursor was before the bar
        self._since = 0.0  # when that began
        self._for: Harness | None = None
        self.share = 0.0

    def compose_body(self) -> ComposeResult:
        yield Static("", id="figures", markup=False)
        yield FittedTable(TITLES, id="nets")
        yield Static(
            "No lamps to plan yet.\n\nPress 1 and list the lamps, 2 and lead the legs.",
            id="empty",
            markup=False,
        )
        yield Static("", id="about", markup=False)

    def on_mount(self) -> None:
        self.query_one(FittedTable).focus()

    # --- working it out ---

    def show_harness(self) -> None:
        harness = self.session.harness
        self.query_one("#empty").display = not harness.lamps
        self.query_one(FittedTable).display = bool(harness.lamps)
        if not harness.lamps:
            self.query_one("#figures", Static).update("")
            return
        if self._for is not harness:
            self._for, self.compared, self.share = harness, None, 0.0
            self._since = monotonic()
            self.set_timer(BAR_AFTER_S, self._draw)
            self.run_worker(
                lambda: self._work_out(harness),
                group="plan",
                exclusive=True,
                thread=True,
                exit_on_error=False,
            )
        self._draw()

    def _work_out(self, harness: Harness) -> None:
        """In a thread of its own: the plans, with their progress; given up once the harness is another."""

        def report(share: float) -> None:
            if self._for is not harness:
                raise _LeftError
            if share - self.share >= 0.02:
                self.share = share
                self.app.call_from_thread(self._draw)

        try:
            compared = compare(harness, report)
        except _LeftError:
            return
        except LoomError as error:
            self.app.call_from_thread(self.say, error.message(), "error")
            return
        self.app.call_from_thread(self._take_over, harness, compared)

    def on_screen_suspend(self) -> None:
        """Give up what is not worked out yet; it begins anew when the screen is gone to again."""
        if self.compared is None:
            self._for = None

    def on_unmount(self) -> None:
        """Let the thread end, so that leaving the program does not wait for it."""
        self._for = None

    def _take_over(self, harness: Harness, compared: Comparison) -> None:
        if self._for is harness and self.is_attached:
            self.compared = compared
            if self.query_one(SayLine).text == STILL_WORKING:
                self.say("")
            self._draw()

    # --- drawing ---

    def _draw(self) -> None:
        figures = self.query_one("#figures", Static)
        table = self.query_one(FittedTable)
        if self.compared is None and table.row_count and monotonic() - self._since < BAR_AFTER_S:
            return
        table.show_header = self.compared is not None
        if self.compared is None:
            width = 40
            done = round(self.share * width)
            figures.update(
                Content("working out the least wire  ")
                + Content.styled("\u2501" * done, "$accent")
                + Content.styled("\u2508" * (width - done), "dim")
                + Content(f" {self.share:4.0%}\nEscape gives it up.")
            )
            self._row = table.cursor_row if table.row_count else self._row
            table.fill(())
            self.query_one("#about", Static).update("")
            return
        figures.update(Content("\n").join(self._figures(self.compared)))
        widths = spread(self.app.size.width - 1, LEAST, SHARE)
        rows = list(self._rows(self.compared, widths))
        table.fill_to(widths, rows)
        if self._row:
            table.move_cursor(row=min(self._row, len(rows) - 1), animate=False)
            self._row = 0
        self._tell_row()

    def _figures(self, compared: Comparison) -> Iterator[Content]:
        harness = self.session.harness
        yield Content(" " * 28) + Content.styled(
            "".join(f"{plan.name:>15}" for plan in compared.columns), "bold"
        )
        for words, figure in FIGURES:
            if figure is FIGURES[-1][1] and not any(plan.stuck for plan in compared.columns):
                continue
            line = f"{words:<28}" + "".join(f"{figure(plan):>15}" for plan in compared.columns)
            yield Content(line)
        if compared.tightest is not None:
            leg = compared.tightest
            yield Content.styled(
                clip(
                    f"the tightest leg is {place_name(harness, leg.a)} to {place_name(harness, leg.b)}",
                    self.app.size.width - 2,
                ),
                "dim",
            )

    def _rows(self, compared: Comparison, widths: tuple[int, ...]) -> Iterator[Row]:
        harness = self.session.harness
        names = joint_names(harness, compared.plan)
        for net in compared.plan.nets:
            key = f"{net.output or 0}:"
            cells = (
                net_words(harness, net.output),
                str(len(net.lamps)),
                lengths.figure(net.wire_mm),
                "",
                _sure(net),
            )
            yield key, self._cells(cells, widths)
            depth: dict[str | None, int] = {}
            for joint in net.joints:
                depth[joint.key] = depth.get(joint.onto, 0) + 1
                stands = "stands" if stands_already(harness, joint) else ""
                onto = names.get((net.output, joint.onto), joint.onto) if joint.onto else "its pin"
                words = "  " * depth[joint.key]
                words += f"{names[net.output, joint.key]} at {place_name(harness, joint.at)}, on to {onto}"
                saves = lengths.figure(joint.saves_mm)
                cells = (words, str(len(joint.lamps)), "", saves, stands)
                yield f"{key}{joint.key}", self._cells(cells, widths)

    @staticmethod
    def _cells(cells: tuple[str, ...], widths: tuple[int, ...]) -> tuple[str, ...]:
        return tuple(
            fitted(cell, width, right=0 < place < 4)
            for place, (cell, width) in enumerate(zip(cells, widths, strict=True))
        )

    def where(self) -> str:
        return "Plans"

    def _here(self) -> tuple[NetPlan, PlannedJoint | None] | None:
        key = self.query_one(FittedTable).here
        if self.compared is None or not key:
            return None
        number, _, joint = key.partition(":")
        net = self.compared.plan.net(int(number) or None)
        return net, net.joint(joint) if joint else None

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        self._tell_row()

    def _tell_row(self) -> None:
        here = self._here()
        about = self.query_one("#about", Static)
        if here is None or self.compared is None:
            about.update("")
            return
        net, joint = here
        harness = self.session.harness
        lamps = joint.lamps if joint is not None else net.lamps
        names = ", ".join(lamp.name for lamp_id in lamps if (lamp := harness.find_lamp(lamp_id)))
        left_out = [harness.lamp(lamp_id).name for lamp_id, _ in self.compared.plan.left_out]
        lines = [clip(f"{len(lamps)} lamps: {names}", self.app.size.width - 2)]
        if net.as_it_stands:
            lines.insert(0, "It stands like that already: nothing would change.")
        elif net.for_room_mm:
            more = lengths.text(net.for_room_mm)
            lines.insert(0, f"It costs {more} more than its least, so that a bundle goes through its hole.")
        if left_out:
            lines.append(
                clip(f"in no plan, for want of a way: {', '.join(left_out)}", self.app.size.width - 2)
            )
        about.update(Content("\n".join(lines)))

    # --- taking ---

    @on(DataTable.RowSelected)
    def _row_chosen(self) -> None:
        self.action_take()

    def action_take(self) -> None:
        """Take the net or the merge under the cursor."""
        here = self._here()
        if here is None or self.compared is None:
            self.say(STILL_WORKING if self.compared is None else "There is nothing to take yet.")
            return
        plan, (net, joint) = self.compared.plan, here
        words = net_words(self.session.harness, net.output)
        if joint is None:
            self._take(lambda harness: apply(harness, plan, [net.output]), f"the plan of {words}")
        else:
            key = joint.key
            place = place_name(self.session.harness, joint.at)
            self._take(
                lambda harness: take_merge(harness, plan, net.output, key), f"the merge of {words} at {place}"
            )

    def action_take_all(self) -> None:
        """Take the best plan whole."""
        if self.compared is None:
            self.say(STILL_WORKING)
            return
        plan = self.compared.plan
        self._take(lambda harness: apply(harness, plan), "the best plan")

    def action_own_pairs(self) -> None:
        """Give each lamp a pair of its own."""
        plan = own_pairs(self.session.harness)
        self._take(lambda harness: apply(harness, plan), "a pair for each lamp")

    def _take(self, edit: Edit, words: str) -> None:
        """Make the edit; where printed labels or begun wires would lose their tags, ask first."""
        before = self.session.harness
        try:
            after = settle(edit(before))
        except LoomError as error:
            self.say(error.message(), "error")
            return
        if after is before:
            self.say(f"It is so already: {words} changes nothing.")
            return
        lost = labels_lost(before, after)

        def made(now: Harness) -> Harness:
            # Worked out once: hundreds of new tags take a moment.
            return after if now is before else edit(now)

        if not lost:
            self._make(made, words)
            return
        some = ", ".join(lost[:6]) + (f" and {len(lost) - 6} more" if len(lost) > 6 else "")

        def chosen(place: int | None) -> None:
            if place == 1:
                self._make(made, words)

        question = f"{len(lost)} tags on printed labels or begun wires would be retired: {some}."
        self.app.push_screen(Choose(question, ["leave it as it is", f"take {words}"]), chosen)

    def _make(self, edit: Edit, words: str) -> None:
        wire, joints = self._sums()
        if self.edit(edit, words):
            now, now_joints = self._sums()
            self.say(
                f"Took {words}: wire {lengths.total_change(wire, now)}, "
                f"joints {joints} to {now_joints}. u undoes it."
            )

    def _sums(self) -> tuple[float, int]:
        from model.routing.wires import derive

        harness = self.session.harness
        return derive(harness).spool_mm, len(harness.joints)

    def action_routes(self) -> None:
        """Go to the tree of waypoints."""
        self.loom.action_go("routes")


def _sure(net: NetPlan) -> str:
    """How sure a net is, short enough for its column; what else there is to it is said below the table."""
    return sure(net).replace(", as it stands", "").replace(", for a hole", "")

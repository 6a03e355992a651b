"""The guide of a first start: five steps on the lighthouse, from its list of lamps to a printed label.

It stands in a line over the keys and goes on by itself once a step is done, in whatever way; nothing is
barred meanwhile.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import attrs
from textual.content import Content
from textual.widgets import Static

from harness_tui.widgets.lines import tell

if TYPE_CHECKING:
    from harness_tui.app import LoomApp

DEMO = "lighthouse"


@attrs.frozen(kw_only=True)
class GuideStep:
    """One step: what to press and why, and when it is done. `{tag}` in the words is a tag of the project."""

    words: str
    done: Callable[[LoomApp], bool]


def _walked(app: LoomApp) -> bool:
    lamps = app.session.harness.lamps
    return bool(lamps) and all(lamp.run is not None for lamp in lamps)


def _up(app: LoomApp, word: str) -> bool:
    return app.room is not None and word == app.room.WORD


def _found(app: LoomApp) -> bool:
    found = getattr(app.room, "found", None)
    return found is not None and found.answer is not None


def _printed(app: LoomApp) -> bool:
    return any(record.printed for record in app.session.harness.ledger)


STEPS = (
    GuideStep(
        words="Three lamps; Down goes through them, below stands what is worked out. "
        "Now press 4, the Walk, which plans their wires.",
        done=lambda app: _up(app, "Walk") or _walked(app),
    ),
    GuideStep(
        words="Way, merge, colours and cut length are filled in. Enter accepts them; "
        "press it for each of the three lamps.",
        done=_walked,
    ),
    GuideStep(
        words="Each wire has a tag now. A year on, one is half smudged: press /, type {tag} and Enter. "
        "The ? can't be read.",
        done=lambda app: _up(app, "Find") and _found(app),
    ),
    GuideStep(
        words="That is the wire from end to end. Now labels for it: press 6 (F7 from inside a field).",
        done=lambda app: _up(app, "Labels"),
    ),
    GuideStep(
        words="One for each end of each wire. Press p, then Enter: a PDF is written and they are marked "
        "as printed. Enter once more closes that.",
        done=_printed,
    ),
)

END = (
    "That is all: labels to print. 5 is the Bench, where wires are made; ? explains a screen. "
    "Your own model: ctrl+q, then start anew. G closes this."
)


class Guide:
    """How far a person is in the guide."""

    def __init__(self) -> None:
        self.at = 0
        self.closed = False

    def go_on(self, app: LoomApp) -> None:
        """Pass over what is done."""
        while self.at < len(STEPS) and STEPS[self.at].done(app):
            self.at += 1

    @property
    def ended(self) -> bool:
        """Whether every step is done."""
        return self.at == len(STEPS)

    def words(self, app: LoomApp) -> Content:
        """The line that stands on the screen."""
        if self.ended:
            return Content.styled("guide  ", "bold $accent") + Content(END)
        tag = next((record.tag for record in app.session.harness.ledger if record.live), "")
        smudged = f"{tag[:1]}?{tag[2:]}"
        head = Content.styled(f"step {self.at + 1} of {len(STEPS)}  ", "bold $accent")
        return head + Content(STEPS[self.at].words.replace("{tag}", smudged))


class GuideLine(Static):
    """The step of the guide, over the speaking line."""

    DEFAULT_CSS = """
    GuideLine { height: auto; max-height: 3; padding: 0 1; border-top: solid $accent; }
    """

    def __init__(self) -> None:
        super().__init__("", markup=False)

    def tell(self, guide: Guide, app: LoomApp) -> None:
        """Draw the step that is to be done now."""
        tell(self, guide.words(app))

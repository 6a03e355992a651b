"""The palette: every screen and every action that works now, to be found by its name."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from textual.actions import parse
from textual.app import SystemCommand
from textual.binding import Binding

from harness_tui.doors import DOORS

if TYPE_CHECKING:
    from harness_tui.app import LoomApp


def commands(app: LoomApp) -> Iterator[SystemCommand]:
    """What may be chosen, with what each does and its key."""
    if app.open_session is None:
        yield SystemCommand("Quit", "Leave loomtag", app.action_quit)
        return
    for door in DOORS:
        yield SystemCommand(
            door.word,
            f"Go to {door.word} ({door.key}, {door.field_key.upper()})",
            lambda d=door: app.action_door(d.name),
        )
    yield SystemCommand(
        "Plans",
        "Own pairs, the best plan and as it stands, side by side",
        lambda: app.action_go("plans"),
    )
    yield SystemCommand(
        "Spools",
        "Which wire is on hand, what is cut from it, what to buy",
        lambda: app.action_go("spools"),
    )
    yield SystemCommand(
        "Trace", "Which fault explains what is seen, what to test next", lambda: app.action_go("trace")
    )
    yield SystemCommand(
        "Commissioning", "The first power-on, step by step", lambda: app.action_go("commissioning")
    )
    yield SystemCommand("Find a tag", "Look up a tag, lamp, output or place (/)", app.action_find)
    yield SystemCommand("Findings", "What the checks found (!)", app.action_findings)
    yield SystemCommand("Undo", "Take back the last step (u)", app.action_undo)
    yield SystemCommand("Redo", "Do it again (U)", app.action_redo)
    yield SystemCommand(
        "Save again",
        "Try to save, or ask what to do where the file can't be written (S)",
        app.action_save,
    )
    yield SystemCommand("Guide", "Five steps from lamps to labels, or close them (G)", app.action_guide)
    yield SystemCommand("Help", "Keys and words of this screen (?)", app.action_help)
    yield SystemCommand("Suspend", "Back to the shell; fg there returns (ctrl+z)", app.action_suspend)
    yield SystemCommand("Quit", "Leave loomtag; everything is saved (ctrl+q)", app.action_quit)
    room = app.room
    if room is not None:
        for binding in room.BINDINGS:
            if isinstance(binding, Binding) and binding.description:
                _, name, parameters = parse(binding.action)
                if not room.check_action(name, parameters):
                    continue  # greyed, or of no use now
                key = binding.key_display or app.get_key_display(next(iter(Binding.make_bindings([binding]))))
                yield SystemCommand(
                    f"{room.WORD}: {binding.description}",
                    f"{binding.tooltip or binding.description} ({key})",
                    lambda a=binding.action, r=room: r.call_later(r.run_action, a),
                )

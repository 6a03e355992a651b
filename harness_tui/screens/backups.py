"""The dated backups of a project: chosen from a list, looked into, put back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from harness_tui.projects import backup_words, local_time, restore_backup
from harness_tui.widgets.ask import Choose
from model.errors import LoomError
from model.harness import Harness
from model.store import Backup, backups, loads, read_text
from model.values import counted

if TYPE_CHECKING:
    from harness_tui.screens.room import Room


def ask_for_backup(room: Room) -> None:
    """List the backups; the chosen one is put back once it was said what it holds."""
    path = room.session.path
    known = backups(path) if path is not None else ()
    if not known:
        room.say("There is no backup yet: one is taken each time the project is opened.")
        return

    def chosen(place: int | None) -> None:
        if place is not None:
            _ask_whether(room, known[place])

    count = f"{counted(len(known), 'backup')}, the newest first. Enter says what is in it."
    room.app.push_screen(Choose(count, [backup_words(one) for one in known]), chosen)


def _ask_whether(room: Room, backup: Backup) -> None:
    try:
        harness = loads(read_text(backup.path), backup.path.name)
    except LoomError as error:
        room.say(error.message(), "error")
        return
    session = room.session

    def chosen(place: int | None) -> None:
        if place != 0:
            return
        try:
            restore_backup(session, backup)
        except LoomError as error:
            room.say(error.message(), "error")
            return
        room.redraw()
        if not session.unsaved:
            room.say(
                f"As it was on {local_time(backup)}. u brings back what stood here; it is a backup now too."
            )

    question = f"{local_time(backup)}: {holds(harness)}; now {holds(session.harness)}."
    room.app.push_screen(
        Choose(question, ("put it back, as a step that u takes back", "leave it all as it is")), chosen
    )


def holds(harness: Harness) -> str:
    """How much is in a project, to tell one backup from another."""
    walked = sum(lamp.run is not None for lamp in harness.lamps)
    tags = sum(record.live for record in harness.ledger)
    lamps = counted(len(harness.lamps), "lamp")
    return f"{lamps}, {walked} walked, {counted(tags, 'tag')}"

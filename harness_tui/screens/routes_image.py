"""The drawing of the loom written into an image file, from the picture on Routes."""

from __future__ import annotations

from pathlib import Path

from harness_tui.printing import image_file, write_image
from harness_tui.screens.room import Room
from harness_tui.session import today
from harness_tui.widgets.ask_checked import AskChecked
from model.errors import LoomError
from model.harness import Harness
from model.papers.figure_image import image_kind


def ask_for_image(room: Room) -> None:
    """Ask for a file, draw into it in a thread, and say what came of it."""

    def named(typed: str | None) -> None:
        if typed is not None and typed.strip():
            path = Path(typed.strip()).expanduser()
            room.say(f"Drawing {path} ...")
            harness = room.session.harness
            room.run_worker(lambda: _write(room, harness, path), thread=True, exit_on_error=False)

    room.app.push_screen(
        AskChecked(
            "Draw the loom, to scale and with all tags, into the file",
            str(image_file(room.session.path, room.session.harness.code)),
            check=lambda name: name.strip() and image_kind(Path(name.strip()).name),
            more="By its end it becomes a .png, .svg or .pdf; a file of that name is replaced.",
        ),
        named,
    )


def _write(room: Room, harness: Harness, path: Path) -> None:
    try:
        said, kind = f"Written: {write_image(harness, path, day=today())}", ""
    except LoomError as error:
        said, kind = error.message(), "error"
    except Exception as error:
        # In a thread nobody would see it.
        said, kind = f"{path} can't be drawn: {error!r}", "error"
    room.app.call_from_thread(room.say, said, kind)

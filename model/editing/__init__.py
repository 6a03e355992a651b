"""Every change a person can make, each a function from a Harness to a new Harness.

References stay whole: what hangs on a thing that goes is let go or the edit is refused with Conflict. What
follows from an edit by rule (ways, common pins, plug contacts, tags) is given afterwards by
model.routing.allot.settle.

A file each: project, outputs (controller, blocks, common pins), routes (waypoints, legs), lamps, runs (what
the walk decides), joints, prints (labels), making (bench steps, history), naming (ids).
"""

from __future__ import annotations

from model.editing.joints import let_go_of_lone_joints, set_joint
from model.editing.lamps import (
    add_lamp,
    copy_lamp,
    edit_lamp,
    mirror_lamp,
    mirrored,
    missing_mirror,
    move_lamp,
    remove_lamp,
)
from model.editing.making import do_step, log_event, set_cut, undo_step
from model.editing.naming import next_ids
from model.editing.outputs import (
    add_block,
    add_common,
    add_output,
    edit_common,
    edit_output,
    remove_block,
    remove_common,
    remove_output,
    rename_block,
    set_controller,
    set_switched,
)
from model.editing.prints import mark_other_printed, mark_printed, print_as_in
from model.editing.project import (
    check_off,
    new_harness,
    put_back,
    rename,
    set_progress,
    set_settings,
    set_spools,
    set_supply,
)
from model.editing.routes import add_waypoint, edit_waypoint, remove_leg, remove_waypoint, set_leg
from model.editing.runs import Merge, RunChoice, accept_run, drop_run, skip_lamp

__all__ = [
    "Merge",
    "RunChoice",
    "accept_run",
    "add_block",
    "add_common",
    "add_lamp",
    "add_output",
    "add_waypoint",
    "check_off",
    "copy_lamp",
    "do_step",
    "drop_run",
    "edit_common",
    "edit_lamp",
    "edit_output",
    "edit_waypoint",
    "let_go_of_lone_joints",
    "log_event",
    "mark_other_printed",
    "mark_printed",
    "mirror_lamp",
    "mirrored",
    "missing_mirror",
    "move_lamp",
    "new_harness",
    "next_ids",
    "print_as_in",
    "put_back",
    "remove_block",
    "remove_common",
    "remove_lamp",
    "remove_leg",
    "remove_output",
    "remove_waypoint",
    "rename",
    "rename_block",
    "set_controller",
    "set_cut",
    "set_joint",
    "set_leg",
    "set_progress",
    "set_settings",
    "set_spools",
    "set_supply",
    "set_switched",
    "skip_lamp",
    "undo_step",
]

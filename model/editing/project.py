"""The project as a whole: its name, supply, settings, wire on hand, progress, and what undo keeps."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import attrs

from model.editing.outputs import add_block
from model.errors import BadValue, Conflict
from model.harness import Checked, Harness, Progress, Settings, Spool, Supply


def new_harness(name: str, code: str) -> Harness:
    """An empty project: a six-cell pack, one block of six outputs with a common pin, the controller's
    waypoint.
    """
    return add_block(Harness(name=name, code=code), "A", outputs=6, commons=1)


def rename(harness: Harness, *, name: str | None = None, code: str | None = None) -> Harness:
    """Change the project's name or its code. The code stands on labels: it is fixed once one is printed."""
    if code is not None and code != harness.code and _code_is_out(harness):
        raise Conflict(
            "project code", f"{harness.code} is on printed labels", remedy="Keep it, or copy the project."
        )
    return attrs.evolve(
        harness, name=harness.name if name is None else name, code=harness.code if code is None else code
    )


def _code_is_out(harness: Harness) -> bool:
    """Whether the project's code stands on something in the world."""
    return bool(harness.printed) or any(record.issued for record in harness.ledger)


def put_back(earlier: Harness, now: Harness, *, made: bool = False) -> Harness:
    """An `earlier` value in the place of `now`, as undo, redo and a backup bring it.

    What happened in the world meanwhile stays: every tag given, what was printed, the project's code once it
    stands on a label, and the scheme of the tags; with `made` the bench steps done, too.
    """
    ledger = earlier.ledger.with_past(now.ledger, made=made)
    back: Harness = attrs.evolve(earlier, ledger=ledger, printed=now.printed)
    if back.code != now.code and _code_is_out(now):
        back = attrs.evolve(back, code=now.code)
    if back.settings.tag_scheme is not now.settings.tag_scheme and now.ledger.records:
        back = attrs.evolve(back, settings=attrs.evolve(back.settings, tag_scheme=now.settings.tag_scheme))
    return back


def set_supply(harness: Harness, supply: Supply) -> Harness:
    """Run the model on another supply."""
    return attrs.evolve(harness, supply=supply)


def set_settings(harness: Harness, **changes: Any) -> Harness:
    """Change settings. The tag scheme is fixed with the first tag."""
    settings: Settings = attrs.evolve(harness.settings, **changes)
    if settings.tag_scheme is not harness.settings.tag_scheme and harness.ledger.records:
        raise Conflict(
            "tag scheme", "tags have been given already", remedy="Choose it before the first run is accepted."
        )
    if settings.plus_colour == settings.minus_colour:
        raise BadValue(
            "wire colours", f"{settings.plus_colour} for both polarities", remedy="Choose two colours."
        )
    return attrs.evolve(harness, settings=settings)


def set_spools(harness: Harness, spools: Iterable[Spool]) -> Harness:
    """Say which wire is on hand. Each spool or remnant has a name of its own, which the cut list calls it
    by.
    """
    spools = tuple(spools)
    names = [spool.name for spool in spools]
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            raise Conflict(
                f"spool {name}", f"stands {names.count(name)} times", remedy="Give each a name of its own."
            )
    return harness if spools == harness.spools else attrs.evolve(harness, spools=spools)


def check_off(harness: Harness, check_id: str, day: str) -> Harness:
    """Tick one thing off the checklist before the first power-on; an empty day takes the tick off."""
    others = tuple(one for one in harness.checked if one.id != check_id)
    new = (Checked(id=check_id, day=day),) if day else ()
    return attrs.evolve(harness, checked=(*others, *new))


def set_progress(harness: Harness, **changes: Any) -> Harness:
    """Remember where the person is in the walk or at the bench."""
    progress: Progress = attrs.evolve(harness.progress, **changes)
    return harness if progress == harness.progress else attrs.evolve(harness, progress=progress)

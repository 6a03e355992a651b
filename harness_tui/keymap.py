"""The person's keys: what may be mapped, and what is wrong with a mapping. Textual itself takes anything."""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType

import attrs
from textual.binding import Binding
from textual.keys import Keys, _character_to_key

from model.errors import BadValue, LoomError
from model.values import shown

FORBIDDEN = tuple(f"ctrl+{letter}" for letter in "imhjsob")
"""Keys that terminals use for Tab, Enter, Backspace, flow control and the like."""

_NAMED = {key.value for key in Keys} | {_character_to_key(chr(code)) for code in range(33, 127)}
_HELD = re.compile(r"(?:ctrl\+|shift\+|alt\+)+")
_SINGLE = re.compile(r"[a-zA-Z0-9]|f\d{1,2}")


@attrs.frozen(kw_only=True)
class Bound:
    """One binding that may be mapped: its id, its owner (a screen or widget), usual keys, what it does."""

    id: str
    owner: str
    keys: tuple[str, ...]
    words: str


def known_bindings() -> tuple[Bound, ...]:
    """Every binding with an id, of the app, its screens and widgets. Reads every screen: ask only at need."""
    import harness_tui.screens
    import harness_tui.widgets

    modules = ["harness_tui.app"]
    for package in (harness_tui.screens, harness_tui.widgets):
        modules += [f"{package.__name__}.{one.name}" for one in pkgutil.iter_modules(package.__path__)]
    return tuple(bound for module in modules for bound in _bound_in(module))


def _bound_in(module_name: str) -> Iterator[Bound]:
    module = importlib.import_module(module_name)
    for cls in vars(module).values():
        if not isinstance(cls, type) or cls.__module__ != module_name:
            continue
        for binding in vars(cls).get("BINDINGS", ()):
            if isinstance(binding, Binding) and binding.id:
                keys = tuple(_named(key) for key in binding.key.split(","))
                words = binding.tooltip or binding.description
                yield Bound(id=binding.id, owner=cls.__name__, keys=keys, words=words)


def _named(key: str) -> str:
    key = key.strip()
    return _character_to_key(key) if len(key) == 1 else key


def checked_keys(
    keys: Mapping[str, str], known: tuple[Bound, ...] | None = None
) -> tuple[Mapping[str, str], tuple[LoomError, ...]]:
    """The part of a mapping that can stand, and what is wrong with the rest.

    Wrong are an unknown id, no key or one no terminal sends, and a key that something else on the same
    screen has.
    """
    if not keys:
        return MappingProxyType({}), ()
    known = known_bindings() if known is None else known
    by_id = {bound.id: bound for bound in known}
    faults: list[LoomError] = []
    kept: dict[str, str] = {}
    for name, typed in keys.items():
        fault = _fault(name, typed, by_id)
        if fault is None:
            kept[name] = ",".join(_named(key) for key in typed.split(","))
        else:
            faults.append(fault)
    for name, clash in _clashes(kept, known):
        if name in kept:
            del kept[name]
            faults.append(clash)
    return MappingProxyType(kept), tuple(faults)


def _fault(name: str, typed: str, by_id: Mapping[str, Bound]) -> LoomError | None:
    subject = f"keys: {shown(name)}"
    if name not in by_id:
        group = name.partition(".")[0]
        near = [one for one in by_id if one.partition(".")[0] == group][:12]
        return BadValue(
            subject, "is not known", limit=", ".join(near), remedy="The help of each screen lists its keys."
        )
    for key in typed.split(","):
        plain = _named(key)
        if plain in FORBIDDEN:
            return BadValue(subject, f"{plain} can't be told from another key", remedy="Choose another key.")
        rest = _HELD.sub("", plain)
        if not (_SINGLE.fullmatch(rest) or rest in _NAMED or plain in _NAMED):
            return BadValue(
                subject,
                f"{shown(repr(key))} is no key",
                limit="such as k, K, f5, ctrl+k, space, question_mark",
            )
    return None


def _clashes(kept: Mapping[str, str], known: tuple[Bound, ...]) -> Iterator[tuple[str, LoomError]]:
    for name in list(kept):
        mine = next(bound for bound in known if bound.id == name)
        for other in known:
            if other.id == name or (other.owner != mine.owner and "LoomApp" not in (other.owner, mine.owner)):
                continue
            theirs = set(kept[other.id].split(",") if other.id in kept else other.keys)
            # Some keys are shared on purpose: Escape is one step back of the app and of each screen.
            shared = (set(kept[name].split(",")) & theirs) - (set(mine.keys) & set(other.keys))
            if shared:
                words = f"{', '.join(sorted(shared))} is the key of {other.id} ({other.words})"
                yield (
                    name,
                    BadValue(f"keys: {name}", words, remedy="Choose another key, or map that one too."),
                )
                break

"""The text of a file as a harness, read strictly and with all its faults at once.

Nothing is bent to fit: 2.9 is no whole number, true is no length, "5" is no number, an unknown key is
a fault.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from types import GenericAlias
from typing import Any, get_args, get_origin

import attrs
import cattrs

from model.errors import BadValue, Faults, LoomError, StoreError
from model.harness import Harness
from model.integrity import broken_references
from model.store.disk import RESTORE
from model.store.places import Path, line_of, nearest_line, words
from model.store.shape import ENUMS, LEAVES, LISTS, PLANS, ROOT_KEYS, SCHEMA, SECTIONS, TAG, TAIL
from model.tags import Ledger, TagRecord
from model.toml_text import LARGEST_NUMBER, Unfit, said, tables
from model.values import counted, shown, text_fault, unfit_fields

MOST_FAULTS = 100
"""Faults told of one file; what is past that is counted."""

_LONGEST_TEXT = 1000
_AT = re.compile(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", re.DOTALL)

Migration = Callable[[dict[str, Any]], dict[str, Any]]
MIGRATIONS: dict[int, Migration] = {}
"""For each older schema the step to the next: takes and returns the table of the whole file."""


class _Faulty(Exception):
    """Faults below one value, each with its path from there.

    `patched` is the value without what is faulty, or None; `dropped`: some item below could not be kept.
    """

    def __init__(self, faults: list[tuple[Path, LoomError]], patched: Any, dropped: bool) -> None:
        self.faults = faults
        self.patched = patched
        self.dropped = dropped or patched is None
        super().__init__(len(faults))


def loads(text: str, source: str = "project") -> Harness:
    """The harness in the text of a file; `source` names the file in messages.

    Raises StoreError where the text is no TOML or of another schema, and Faults with every fault of its
    values and references, each with its line.
    """
    data, _ = parsed(text, source)
    return structured(data, text, source)


def parsed(text: str, source: str) -> tuple[dict[str, Any], int]:
    """The tables of a file, brought up to this version's schema, and the schema they were of.

    Raises StoreError.
    """
    try:
        data = tables(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax(source, text, str(error)) from None
    except Unfit as error:
        raise StoreError(
            source, str(error), remedy=f"This is not a project file; {RESTORE} if it was one."
        ) from None
    schema = data.get("schema")
    if schema is None:
        raise StoreError(
            source,
            "has no schema number",
            limit=f"schema = {SCHEMA} on its first line",
            remedy="It is no project file, or its first line is lost.",
        )
    if type(schema) is not int or schema < 1:
        raise StoreError(
            f"{source}: schema",
            f"{said(schema)} is not known",
            limit=f"1 to {SCHEMA}",
            remedy="Restore a backup or mend the number.",
        )
    if schema > SCHEMA:
        raise StoreError(
            source,
            f"is of schema {said(schema)}, written by a newer version of this program",
            limit=f"this version reads up to schema {SCHEMA}",
            remedy="Update the program; the file was not touched.",
        )
    for older in range(schema, SCHEMA):
        data = MIGRATIONS[older](data)
    return data, schema


def _syntax(source: str, text: str, said: str) -> StoreError:
    found = _AT.fullmatch(said)
    if found is None:
        return StoreError(source, f"is no TOML: {shown(said, 120)}", remedy=f"Mend it or {RESTORE}.")
    what, line, column = found.groups()
    where = f"line {line}, column {column}" if line else f"line {text.count(chr(10)) + 1}, at the end"
    what = shown(what[:1].lower() + what[1:], 120)
    return StoreError(f"{source} {where}", f"can't be read: {what}", remedy=f"Mend that line or {RESTORE}.")


# --- values -------------------------------------------------------------------------------------------------


def _is_no(value: Any, wanted: str, remedy: str = "") -> BadValue:
    return BadValue("", f"{said(value)} is not {wanted}", remedy=remedy)


def _whole(value: Any, _: Any) -> int:
    if type(value) is not int:
        raise _is_no(
            value, "a whole number", "Write it without quotes or a point." if type(value) is not bool else ""
        )
    if abs(value) > LARGEST_NUMBER:
        raise _is_no(value, "a number of this kind")
    return value


def _number(value: Any, _: Any) -> float:
    if type(value) is int and abs(value) <= LARGEST_NUMBER:
        return float(value)
    if type(value) is not float:
        raise _is_no(value, "a number", "Write it without quotes." if type(value) is str else "")
    return value


def _truth(value: Any, _: Any) -> bool:
    if type(value) is not bool:
        raise _is_no(value, "true or false")
    return value


def _text(value: Any, _: Any) -> str:
    if type(value) is not str:
        raise _is_no(
            value, "a text", "Put it in double quotes." if not isinstance(value, (dict, list)) else ""
        )
    fault = text_fault(value, _LONGEST_TEXT)
    if fault:
        raise BadValue("", fault, remedy="Write a shorter, plain text.")
    return value


def _word(value: Any, kind: type[StrEnum]) -> StrEnum:
    known = [str(one) for one in kind]
    if type(value) is not str:
        raise _is_no(value, "a text", f"Write one of: {', '.join(known)}.")
    try:
        return kind(value)
    except ValueError:
        limit = ", ".join(word or '""' for word in known)
        raise BadValue(
            "", f"{said(value)} is not known", limit=limit, remedy=_proposal(value, known)
        ) from None


def _proposal(word: str, known: Iterable[str]) -> str:
    near = difflib.get_close_matches(word[:60], list(known), n=1, cutoff=0.6)
    return f"Did you mean {near[0]}?" if near else ""


def _unknown_key(key: str, known: Iterable[str]) -> BadValue:
    known = list(known)
    remedy = _proposal(key, known) or f"Known here: {', '.join(known)}."
    return BadValue("", "is no key of this program", remedy=remedy)


def _tuple_hook(kind: Any, converter: cattrs.Converter) -> Callable[[Any, Any], tuple[Any, ...]]:
    inner = get_args(kind)[0]
    hook = converter.get_structure_hook(inner)

    def structure(value: Any, _: Any) -> tuple[Any, ...]:
        if type(value) is not list:
            raise _is_no(value, "a list", "Write it in square brackets.")
        faults: list[tuple[Path, LoomError]] = []
        items = []
        dropped = False
        for place, item in enumerate(value):
            try:
                items.append(hook(item, inner))
            except _Faulty as faulty:
                faults += [((place, *path), fault) for path, fault in faulty.faults]
                dropped |= faulty.dropped
                if faulty.patched is not None:
                    items.append(faulty.patched)
            except BadValue as fault:
                faults.append(((place,), fault))
        if faults:
            raise _Faulty(faults, tuple(items), dropped)
        return tuple(items)

    return structure


def _class_hook(cls: type[Any], converter: cattrs.Converter) -> Callable[[Any, Any], Any]:
    attrs.resolve_types(cls)
    fields = attrs.fields_dict(cls)
    keys = {
        plan.key: (plan.name, converter.get_structure_hook(fields[plan.name].type), fields[plan.name].type)
        for plan in PLANS[cls]
    }
    names = {plan.name: plan.key for plan in PLANS[cls]}
    required = {plan.key for plan in PLANS[cls] if plan.default is attrs.NOTHING}

    def structure(data: Any, _: Any) -> Any:
        if type(data) is not dict:
            raise _is_no(data, "a table")
        faults: list[tuple[Path, LoomError]] = []
        values: dict[str, Any] = {}
        dropped = False
        for key, value in data.items():
            known = keys.get(key)
            if known is None:
                faults.append(((key,), _unknown_key(key, keys)))
                continue
            name, hook, kind = known
            try:
                values[name] = hook(value, kind)
            except _Faulty as faulty:
                faults += [((key, *path), fault) for path, fault in faulty.faults]
                dropped |= faulty.dropped
                if faulty.patched is not None:
                    values[name] = faulty.patched
            except BadValue as fault:
                faults.append(((key,), fault))
        if not required <= data.keys():
            faults += [((key,), BadValue("", "is missing")) for key in keys if key in required - data.keys()]
        together: BadValue | None = None
        if not faults:
            try:
                return cls(**values)
            except BadValue as fault:
                together = fault
        for name, unfit in unfit_fields(cls, values):
            faults.append(((names[name],), unfit))
            del values[name]
        if together is not None and not faults:
            # A fault of several fields together: its subject says which, the place is the item's.
            about = together.subject.rpartition(": ")[2]
            faults.append(
                ((), BadValue("", f"{about} {together.found}", limit=together.limit, remedy=together.remedy))
            )
        raise _Faulty(faults, _patched(cls, values), dropped)

    return structure


def _patched(cls: type[Any], values: dict[str, Any]) -> Any:
    try:
        return cls(**values)
    except (BadValue, TypeError):
        return None


def _is_tuple(kind: Any) -> bool:
    return get_origin(kind) is tuple


def _converter() -> cattrs.Converter:
    converter = cattrs.Converter()
    converter.register_structure_hook(int, _whole)
    converter.register_structure_hook(float, _number)
    converter.register_structure_hook(bool, _truth)
    converter.register_structure_hook(str, _text)
    for kind in ENUMS:
        # One by one: left to a rule they would be taken by the hook of str, which they are too.
        converter.register_structure_hook(kind, _word)
    converter.register_structure_hook_factory(_is_tuple, _tuple_hook)
    converter.register_structure_hook_factory(lambda kind: kind in PLANS, _class_hook)
    return converter


_CONVERTER = _converter()


# --- the whole file -----------------------------------------------------------------------------------------


_PROJECT_KEYS = ("name", "code")


def structured(data: dict[str, Any], text: str, source: str) -> Harness:
    """The harness in the tables of a file; `text` is only used to name lines. Raises Faults."""
    faults: list[tuple[Path, LoomError]] = []
    values: dict[str, Any] = {}

    dropped = False

    def read(key: str, name: str, kind: Any) -> None:
        nonlocal dropped
        try:
            values[name] = _CONVERTER.structure(data[key], kind)
        except _Faulty as faulty:
            dropped |= faulty.dropped
            faults.extend(((key, *path), fault) for path, fault in faulty.faults)
            if faulty.patched is not None:
                values[name] = faulty.patched
        except BadValue as fault:
            faults.append(((key,), fault))

    faults += [((key,), _unknown_key(key, ROOT_KEYS)) for key in data if key not in ROOT_KEYS]
    _project(data, values, faults)
    for key, (name, kind) in {**SECTIONS, **TAIL}.items():
        if key in data:
            read(key, name, kind)
    for key, (name, kind) in LISTS.items():
        # A new harness has its controller's waypoint; a file without one has none, which is a fault.
        values[name] = ()
        if key in data:
            read(key, name, GenericAlias(tuple, (kind, ...)))
    if TAG in data:
        read(TAG, "records", tuple[TagRecord, ...])
    values["ledger"] = Ledger(records=values.pop("records", ()))
    harness: Harness | None = None
    try:
        harness = Harness(**values)
    except (BadValue, TypeError):
        # Its own name or code is missing or unfit, which stands among the faults already.
        assert faults
    lines = line_of(text) if faults else {}
    told = [_placed(source, lines, path, data, fault) for path, fault in _in_order(faults, lines)]
    if harness is not None and not dropped and all(path[-1] in LEAVES for path, _ in faults):
        broken = broken_references(harness)
        if broken:
            lines = lines or line_of(text)
            subjects = _subjects(data)
            told += [_placed_reference(source, lines, subjects, fault) for fault in broken]
    if told:
        raise Faults(
            source,
            _first(told, source),
            remedy=f"Mend the file by hand or {RESTORE}; it was not touched.",
        )
    assert harness is not None
    return harness


def _project(data: dict[str, Any], values: dict[str, Any], faults: list[tuple[Path, LoomError]]) -> None:
    project = data.get("project")
    if type(project) is not dict:
        faults.append((("project",), BadValue("", "is missing" if project is None else "is not a table")))
        return
    for key in project:
        if key not in _PROJECT_KEYS:
            faults.append((("project", key), _unknown_key(key, _PROJECT_KEYS)))
    for key in _PROJECT_KEYS:
        if key not in project:
            faults.append((("project", key), BadValue("", "is missing")))
            continue
        try:
            values[key] = _text(project[key], str)
        except BadValue as fault:
            faults.append((("project", key), fault))
    for key, unfit in unfit_fields(Harness, {key: values[key] for key in _PROJECT_KEYS if key in values}):
        faults.append((("project", key), unfit))
        del values[key]


def _in_order(
    faults: list[tuple[Path, LoomError]], lines: Mapping[Path, int]
) -> list[tuple[Path, LoomError]]:
    return sorted(faults, key=lambda one: nearest_line(lines, one[0]) or 0)


def _placed(source: str, lines: Mapping[Path, int], path: Path, data: Any, fault: LoomError) -> BadValue:
    """A fault with its place for a subject."""
    place = _place(source, nearest_line(lines, path), shown(words(path, data), 100))
    return BadValue(place, fault.found, limit=fault.limit, remedy=fault.remedy)


def _place(source: str, line: int | None, what: str) -> str:
    return f"{source} line {line}, {what}" if line else f"{source}: {what}"


def _subjects(data: dict[str, Any]) -> dict[str, Path]:
    """Where the things are that a broken reference may name: "lamp Fog", "joint J2", "tag K7L"."""
    found: dict[str, Path] = {"controller": ("controller",)}
    for key, field in (("lamp", "name"), ("lamp", "id"), ("joint", "id"), ("waypoint", "id"), ("tag", "tag")):
        for place, item in enumerate(data.get(key, ())):
            found[f"{key} {item.get(field)}"] = (key, place)
    for place, item in enumerate(data.get("leg", ())):
        found[f"leg {item.get('a')} to {item.get('b')}"] = ("leg", place)
    return found


def _placed_reference(
    source: str, lines: Mapping[Path, int], subjects: dict[str, Path], fault: BadValue
) -> BadValue:
    path = subjects.get(fault.subject) or subjects.get(fault.subject[:-2]) or ()
    place = _place(source, nearest_line(lines, path), fault.subject)
    return BadValue(place, fault.found, limit=fault.limit, remedy=fault.remedy)


def _first(faults: list[BadValue], source: str) -> list[BadValue]:
    if len(faults) <= MOST_FAULTS:
        return faults
    return [
        *faults[:MOST_FAULTS],
        BadValue(source, f"has {counted(len(faults) - MOST_FAULTS, 'fault')} more"),
    ]

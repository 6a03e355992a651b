"""The person's other projects, and what a tag or a word means in them.

Known are those opened lately and all project files in the folders these and the open one lie in.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import attrs

from harness_tui.projects import SUFFIX, recent_projects
from model.errors import LoomError
from model.routing.allot import settle
from model.store import loads, read_text
from model.tracing.find import Found, FoundKind, find, tags_meant

MOST_FILES = 200
"""So many files are looked into, those opened lately first."""

MOST_FOUND = 9

_CODE = re.compile(r'^code = "([A-Z0-9]{2,3})"', re.MULTILINE)
_HEAD = 4000
"""Characters of a file in which its code stands."""

_CERTAIN = (FoundKind.WIRE, FoundKind.RETIRED, FoundKind.SEVERAL, FoundKind.LISTS)


@attrs.frozen(kw_only=True)
class Elsewhere:
    """What a question means in another project: its file, code and name, and the answer in words."""

    path: Path
    code: str
    name: str
    words: str


def other_projects(beside: Path | None) -> tuple[Path, ...]:
    """The files of other projects, those opened lately first; `beside` is the open one."""
    here = None if beside is None else beside.resolve()
    recent = tuple(path.resolve() for path in recent_projects())
    folders = dict.fromkeys(path.parent for path in (*([here] if here else []), *recent))
    found = dict.fromkeys(recent)
    for folder in folders:
        found |= dict.fromkeys(sorted(folder.glob(f"*{SUFFIX}")))
    return tuple(path for path in found if path != here and path.is_file())[:MOST_FILES]


def elsewhere(
    found: Found, beside: Path | None, going: Callable[[], bool] = lambda: True
) -> tuple[Elsewhere, ...]:
    """What was asked, looked up in every other project, where this one has no answer of its own.

    Files that can't be read, or are no projects, are passed over. `going` is asked before each file; False
    stops.
    """
    if not worth_asking(found):
        return ()
    answers: list[Elsewhere] = []
    for path in other_projects(beside):
        if not going() or len(answers) == MOST_FOUND:
            break
        answers += _said(path, found.asked, lambda text, code: _may_answer(found, text, code))
    return tuple(answers)


def search_folder(folder: Path, asked: str) -> tuple[Elsewhere, ...]:
    """What every project of a folder answers for certain; files that are no projects are passed over."""
    answers: list[Elsewhere] = []
    for path in sorted(folder.glob(f"*{SUFFIX}"))[:MOST_FILES]:
        answers += _said(path, asked, lambda text, code: True)
    return tuple(answers)


def worth_asking(found: Found) -> bool:
    """Whether another project may know better: nothing here answers, or the label names another."""
    return found.kind in (FoundKind.OTHER_PROJECT, FoundKind.NOTHING, FoundKind.CANDIDATES)


def _may_answer(found: Found, text: str, code: str) -> bool:
    """Reading a project takes long against looking for the tag or the words in its text."""
    if found.kind is FoundKind.OTHER_PROJECT:
        return code == found.project
    spelt = [re.escape(tag).replace(r"\?", ".") for tag in tags_meant(found.asked, code)]
    if spelt and re.search(rf'tag = "(?:{"|".join(spelt)})"', text):
        return True
    return found.kind is FoundKind.NOTHING and found.asked.casefold() in text.casefold()


def _said(path: Path, asked: str, may: Callable[[str, str], bool]) -> Iterator[Elsewhere]:
    """The certain answer of the project in a file; `may` says of its text and code if there can be one."""
    try:
        text = read_text(path)
        code = _CODE.search(text, 0, _HEAD)
        if code is None or not may(text, code[1]):
            return
        harness = settle(loads(text, path.name))
    except LoomError:
        return
    there = find(harness, asked)
    if there.kind in _CERTAIN:
        yield Elsewhere(path=path, code=harness.code, name=harness.name, words=there.heading)

"""Where in a TOML text each key stands, so that a fault can name its line.

The text is known to be valid TOML, so this reader is lax: it only follows tables, keys and brackets.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

Path = tuple[str | int, ...]

_TOKEN = re.compile(
    r"""(?P<skip>[ \t\r]+|\#[^\n]*)
    |(?P<newline>\n)
    |(?P<string>\"\"\"(?:\\.|[^\\])*?\"{3,5}|'''.*?'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*')
    |(?P<sign>[\[\]{}=,.])
    |(?P<bare>[^\s\[\]{}=,."'\#]+)
    |(?P<other>.)""",
    re.VERBOSE | re.DOTALL,
)


class _Reader:
    """Walks over the tokens once and notes the line of each path."""

    def __init__(self, text: str) -> None:
        self.tokens: list[tuple[str, str, int]] = []
        line = 1
        for found in _TOKEN.finditer(text):
            kind, token = found.lastgroup or "", found.group()
            if kind != "skip":
                self.tokens.append((kind, token, line))
            line += token.count("\n")
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}

    def peek(self, ahead: int = 0) -> tuple[str, str, int]:
        place = self.at + ahead
        return self.tokens[place] if place < len(self.tokens) else ("end", "", 0)

    def take(self) -> tuple[str, str, int]:
        token = self.peek()
        self.at += 1
        return token

    def read(self) -> None:
        table: Path = ()
        while self.peek()[0] != "end":
            kind, token, line = self.peek()
            if kind == "newline":
                self.take()
            elif token == "[" and kind == "sign":
                array = self.peek(1)[1] == "[" and self.peek(1)[0] == "sign"
                self.at += 2 if array else 1
                table = self.open(self.key(), array)
                self.lines.setdefault(table, line)
                while self.peek()[0] not in ("newline", "end"):
                    self.take()
            else:
                self.pair(table)

    def open(self, parts: list[str], array: bool) -> Path:
        path: Path = ()
        for place, part in enumerate(parts):
            path = (*path, part)
            if array and place == len(parts) - 1:
                self.counts[path] = self.counts.get(path, -1) + 1
            if path in self.counts:
                path = (*path, self.counts[path])
        return path

    def key(self) -> list[str]:
        parts = []
        while self.peek()[0] in ("bare", "string"):
            kind, token, _ = self.take()
            parts.append(_unquoted(token) if kind == "string" else token)
            if self.peek()[1] == ".":
                self.take()
        return parts

    def pair(self, table: Path) -> None:
        line = self.peek()[2]
        path = table
        for part in self.key():
            path = (*path, part)
            self.lines.setdefault(path, line)
        if self.peek()[1] == "=":
            self.take()
            self.value(path)
        else:
            self.take()

    def value(self, path: Path) -> None:
        """Read a value and what it holds; ends before the comma, bracket or line end behind it."""
        kind, token, _ = self.peek()
        if kind == "sign" and token == "[":
            self.take()
            place = 0
            while self.peek()[1] != "]" and self.peek()[0] != "end":
                if self.peek()[0] == "newline":
                    self.take()
                elif self.peek()[1] == "," and self.peek()[0] == "sign":
                    self.take()
                    place += 1
                else:
                    self.lines.setdefault((*path, place), self.peek()[2])
                    self.value((*path, place))
            self.take()
        elif kind == "sign" and token == "{":
            self.take()
            while self.peek()[1] != "}" and self.peek()[0] != "end":
                if self.peek()[0] in ("bare", "string"):
                    self.pair(path)
                else:
                    self.take()
            self.take()
        else:
            while self.peek()[0] not in ("newline", "end") and not (
                self.peek()[0] == "sign" and self.peek()[1] in ",]}"
            ):
                self.take()


def _unquoted(token: str) -> str:
    import tomllib

    (key,) = tomllib.loads(f"{token} = 0")
    return key


def line_of(text: str) -> Mapping[Path, int]:
    """The line, counted from 1, of every table, key and list item of a valid TOML text, by its path.

    A path is that of the value tomllib reads: ("lamp", 2, "current_ma"). Empty where the
    text is nested too deep.
    """
    reader = _Reader(text)
    try:
        reader.read()
    except RecursionError:
        return {}
    return reader.lines


def nearest_line(lines: Mapping[Path, int], path: Path) -> int | None:
    """The line of `path`, or of the nearest thing around it that has one."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return None


def words(path: Path, data: Any) -> str:
    """A path in words: "lamp L3 current_ma", "controller block A outputs 2 pin"."""
    said: list[str] = []
    for part in path:
        if isinstance(part, str):
            said.append(part)
            data = data.get(part) if isinstance(data, dict) else None
            continue
        data = data[part] if isinstance(data, list) and part < len(data) else None
        said.append(_label(data) or str(part + 1))
    return " ".join(said)


def _label(item: Any) -> str:
    if isinstance(item, dict):
        for key in ("id", "tag", "name"):
            value = item.get(key)
            if isinstance(value, str) and value:
                return value
    return ""

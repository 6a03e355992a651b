"""Damage to files, from a plain seed: what a bad disk, a careless editor or a hostile hand may leave."""

from __future__ import annotations

import os
import re
import sys
import time
from collections.abc import Callable, Sequence
from random import Random
from typing import TypeVar

from model.errors import LoomError

T = TypeVar("T")

_SNIPPETS = (
    b"\0",
    b"\xff",
    b"\xc3\x28",
    b"\xf0\x9f\x9a",
    b"\xef\xbb\xbf",
    b"\r",
    b"\r\n",
    b"\n\n",
    b"\x1b[31m",
    b"\x7f",
    b"\xc2\x85",
    b'"',
    b"'",
    b'"""',
    b"'''",
    b"\\",
    b"\\u0000",
    b"\\ud800",
    b"\\U0001f6a8",
    b"#",
    b"=",
    b"[",
    b"]",
    b"[[",
    b"]]",
    b"{",
    b"}",
    b",",
    b";",
    b"\t",
    b".",
    b"-",
    b"+",
    b"_",
    b"{}",
    b"[]",
    b"[[lamp]]\n",
    b"[lamp]\n",
    b"[project]\n",
    b"schema = 2\n",
    b"x = 1\n",
    b"true",
    b"false",
    b"inf",
    b"-inf",
    b"nan",
    b"1e400",
    b"-1e400",
    b"0",
    b"-0.0",
    b"-1",
    b"2.9",
    b"1_000",
    b"0x" + b"f" * 400,
    b"9" * 5000,
    b"0x" + b"f" * 5000,
    b"1979-05-27",
    b"07:32:00",
    b'"5"',
    b'""',
    b'"W1"',
    b'"L1"',
    b'"J1"',
    b'"A.7"',
    b"99",
    b"100",
    b"=cmd",
    b"[/]",
    b"\xe2\x80\xae",
    b"e\xcc\x81",
    b"\xf0\x9f\x9a\xa8",
    b"[" * 2000,
    b"a." * 500,
    b"x" * 3000,
    b"<script>",
    b"../..",
)

_TOKEN = re.compile(rb'"[^"\n]*"|-?\d+(?:\.\d+)?|\w+')


def mutated(rng: Random, good: bytes, others: Sequence[bytes]) -> bytes:
    """`good` with one to four damages; `others` are files to splice in from."""
    data = good
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        data = rng.choice(_DAMAGES)(rng, data, others)
    return data


def _span(rng: Random, data: bytes, most: int) -> tuple[int, int]:
    start = rng.randrange(len(data) + 1)
    return start, min(len(data), start + rng.randint(0, most))


def _flip(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    if not data:
        return data
    place = rng.randrange(len(data))
    return data[:place] + bytes([data[place] ^ (1 << rng.randrange(8))]) + data[place + 1 :]


def _replace(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    start, end = _span(rng, data, rng.choice((1, 3, 30)))
    return data[:start] + rng.choice(_SNIPPETS) + data[end:]


def _drop(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    start, end = _span(rng, data, rng.choice((1, 10, 200)))
    return data[:start] + data[end:]


def _double(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    start, end = _span(rng, data, rng.choice((1, 10, 300)))
    return data[:end] + data[start:end] + data[end:]


def _cut_off(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    return data[: rng.randrange(len(data) + 1)]


def _token(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    """One word or number becomes a snippet, or another of the same file."""
    tokens = list(_TOKEN.finditer(data))
    if not tokens:
        return data
    one = rng.choice(tokens)
    new = rng.choice(tokens).group() if rng.random() < 0.6 else rng.choice(_SNIPPETS)
    return data[: one.start()] + new + data[one.end() :]


def _lines(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    """A line goes, comes twice, moves, or is changed over with another."""
    lines = data.split(b"\n")
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(4)
    if kind == 0:
        del lines[one]
    elif kind == 1:
        lines.insert(two, lines[one])
    elif kind == 2:
        lines.insert(two, lines.pop(one))
    else:
        lines[one], lines[two] = lines[two], lines[one]
    return b"\n".join(lines)


def _blocks(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    """The same with blocks between blank lines, or one of another file."""
    blocks = data.split(b"\n\n")
    one = rng.randrange(len(blocks))
    kind = rng.randrange(3)
    if kind == 0:
        del blocks[one]
    elif kind == 1:
        blocks.insert(rng.randrange(len(blocks)), blocks[one])
    else:
        blocks.insert(one, rng.choice(rng.choice(others).split(b"\n\n")))
    return b"\n\n".join(blocks)


def _splice(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    other = rng.choice(others)
    return data[: rng.randrange(len(data) + 1)] + other[rng.randrange(len(other) + 1) :]


_DAMAGES: tuple[Callable[[Random, bytes, Sequence[bytes]], bytes], ...] = (
    _flip,
    _replace,
    _drop,
    _double,
    _cut_off,
    _token,
    _token,
    _token,
    _token,
    _lines,
    _lines,
    _blocks,
    _splice,
)

SLOWEST_S = 2.0
MOST_MB = 500
LEAST_MB = 40
"""What the process holds anyhow before the first file."""


def rounds(few: int) -> int:
    """How many mutations to try: `few`, or what LOOMTAG_FUZZ says."""
    return int(os.environ.get("LOOMTAG_FUZZ", few))


def _most_mb() -> float:
    """The most memory this process ever held, in MB."""
    # Not there on Windows, where the tests that need it are skipped.
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)


def batter(
    good: Sequence[bytes],
    read: Callable[[bytes], T],
    check: Callable[[T], None],
    count: int,
    seed: int = 1,
) -> dict[str, float]:
    """Read `count` damaged copies of the good files; returns figures of the run.

    `read` may raise LoomError and nothing else; `check` gets what could be read and may raise nothing. Fails,
    naming the seed and round, also on a reading that takes over 2 s and on more than 500 MB.
    """
    before_mb = _most_mb()
    refused = 0
    slowest = 0.0
    for number in range(count):
        rng = Random(f"{seed} {number}")
        data = mutated(rng, rng.choice(good), good)
        said = ""
        start = time.perf_counter()
        try:
            try:
                value = read(data)
            except LoomError as error:
                said = error.message()
                refused += 1
            else:
                check(value)
        except Exception as error:
            raise AssertionError(f"seed {seed}, round {number}: {error!r} from {data[:3000]!r}") from error
        slowest = max(slowest, time.perf_counter() - start)
        assert slowest < SLOWEST_S, (seed, number)
        assert said.replace("\n", "").isprintable(), (seed, number)
    most_mb = _most_mb()
    # In a process that ran other tests before, only what is new counts.
    assert most_mb - before_mb < MOST_MB - LEAST_MB
    return {
        "count": count,
        "refused": refused,
        "read": count - refused,
        "slowest_s": slowest,
        "most_mb": most_mb,
    }

"""Keys and opening in a real terminal, beside a bare app of the same library with a table of as many rows,
same run.

The repaint of a key is the cursor's move in the table, which both draw; what this program draws besides
(the lamp under the cursor) comes with the next frame and is printed beside it. Run with `pytest
tests/bench/test_key_speed.py -s`.
"""

from __future__ import annotations

import statistics
import sys
from pathlib import Path

import attrs
import pytest

from model.store import save
from tests.bench.in_a_terminal import DOWN, UP, Running, bare_table, cautions_read, loomtag
from tests.bench.test_store_speed import walked

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="needs a pseudo-terminal and /proc")

FIRST_LAMP = b"Indicator 1 left"
ROUNDS = 3
KEYS = 40


@attrs.frozen(kw_only=True)
class Felt:
    """What is felt with so many lamps: medians of the repaint by the clock, and processor time a key, in
    ms.
    """

    bare_ms: float
    first_ms: float
    all_ms: float
    bare_used_ms: float
    used_ms: float


def keys_felt(lamps: int, folder: Path, rounds: int = ROUNDS) -> Felt:
    """Press keys in both, turn by turn, so that what else the machine does falls on both alike."""
    cautions_read(folder)
    save(walked(lamps), folder / f"{lamps}.toml")
    bare: list[float] = []
    first: list[float] = []
    last: list[float] = []
    used = {"bare": 0.0, "ours": 0.0}
    with Running(bare_table(lamps), folder) as plain, Running(loomtag(f"{lamps}.toml"), folder) as ours:
        for one in (plain, ours):
            one.until(FIRST_LAMP)
            one.settle()
        for _ in range(rounds):
            for name, one in (("bare", plain), ("ours", ours)):
                before = one.used_s()
                took = [one.key(key) for key in (*[DOWN] * (KEYS // 2), *[UP] * (KEYS // 2))]
                used[name] += one.used_s() - before
                if one is plain:
                    bare += [to_first for to_first, _ in took]
                else:
                    first += [to_first for to_first, _ in took]
                    last += [to_last for _, to_last in took]
    each = 1000 / (KEYS * rounds)
    return Felt(
        bare_ms=1000 * statistics.median(bare),
        first_ms=1000 * statistics.median(first),
        all_ms=1000 * statistics.median(last),
        bare_used_ms=used["bare"] * each,
        used_ms=used["ours"] * each,
    )


def first_screen(file: str, mark: bytes, folder: Path) -> tuple[float, float]:
    """Seconds from the start until the first screen of a project stands: by the clock, and processor time."""
    with Running(loomtag(file), folder) as running:
        return running.until(mark), running.used_s()


@pytest.mark.parametrize("lamps", [30, 300, 1000])
def test_a_key_is_drawn_nearly_as_soon_as_in_a_bare_app(
    lamps: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    felt = keys_felt(lamps, tmp_path)
    with capsys.disabled():
        print(
            f"\n{lamps} lamps: bare {felt.bare_ms:.1f} ms, ours {felt.first_ms:.1f} ms "
            f"({felt.first_ms / felt.bare_ms:.2f} times), with the lamp's figures {felt.all_ms:.1f} ms; "
            f"processor {felt.bare_used_ms:.1f} and {felt.used_ms:.1f} ms"
        )
    assert felt.first_ms <= 1.5 * felt.bare_ms


def test_a_thousand_lamps_open_half_a_second_past_the_start(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cautions_read(tmp_path)
    for lamps in (3, 1000):
        save(walked(lamps), tmp_path / f"{lamps}.toml")
    runs: dict[int, list[tuple[float, float]]] = {3: [], 1000: []}
    for _ in range(7):
        for lamps, took in runs.items():
            took.append(first_screen(f"{lamps}.toml", FIRST_LAMP, tmp_path))
    for column, name in enumerate(("clock", "processor")):
        few, many = (statistics.median(one[column] for one in took) for took in runs.values())
        more = statistics.median(
            many[column] - few[column] for few, many in zip(runs[3], runs[1000], strict=True)
        )
        with capsys.disabled():
            print(
                f"\nfirst screen, {name}: of 3 lamps after {few:.2f} s, of 1000 after {many:.2f} s: "
                f"{more:.2f} s more"
            )
        assert more <= 0.5, name

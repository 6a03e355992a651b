"""Any sequence of edits, undo, redo, saving and opening again keeps what a person relies on.

References are whole, the ledger only grows, a tag that the world carries never comes to mean another wire,
and the file holds every accepted step.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from random import Random

import attrs
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from harness_tui.session import Session
from model.errors import LoomError
from model.harness import Harness
from model.integrity import broken_references
from model.routing.allot import settle
from model.routing.wires import derive
from model.store import dumps, loads, open_file, save
from tests.strategies import EDITS, harness_from_seed

Edit = Callable[[Harness, Random], Harness]


class Sequences(RuleBasedStateMachine):
    """A session over a file, without a screen."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "model.toml"
        self.ever: set[str] = set()
        self.carried: dict[str, tuple[str, str, str]] = {}

    def teardown(self) -> None:
        self.folder.cleanup()

    @initialize(seed=st.integers(0, 2**32), world=st.booleans())
    def begin(self, seed: int, world: bool) -> None:
        harness = harness_from_seed(seed, lamps=(1, 5), points=(1, 4), world=world)
        self.stamp = save(harness, self.path)
        self.open()

    def open(self) -> None:
        loaded = open_file(self.path)
        self.stamp = loaded.stamp
        self.session = Session(loaded.harness, self.path, save=self.write)

    def write(self, harness: Harness) -> None:
        self.stamp = save(harness, self.path, stamp=self.stamp)

    @rule(edit=st.sampled_from(EDITS), rng=st.randoms(use_true_random=False))
    def edit(self, edit: Edit, rng: Random) -> None:
        before = self.session.harness
        try:
            self.session.apply(lambda harness: edit(harness, rng), "edit")
        except LoomError:
            assert self.session.harness is before

    @rule()
    def undo(self) -> None:
        self.session.undo()

    @rule()
    def redo(self) -> None:
        self.session.redo()

    @rule()
    def there_and_back(self) -> None:
        """Undo and redo give back what was decided; only the ledger may know more."""
        before = self.session.harness
        if self.session.undo():
            self.session.redo()
            after = self.session.harness
            assert attrs.evolve(after, ledger=before.ledger, progress=before.progress).lamps == before.lamps
            assert (after.legs, after.joints, after.controller) == (
                before.legs,
                before.joints,
                before.controller,
            )

    @rule()
    def open_again(self) -> None:
        before = dumps(self.session.harness)
        self.open()
        assert dumps(self.session.harness) == before

    @invariant()
    def every_step_is_on_disk(self) -> None:
        assert self.session.unsaved == ""
        text = dumps(self.session.harness)
        assert self.path.read_text(encoding="utf-8") == text
        assert dumps(loads(text)) == text

    @invariant()
    def references_are_whole(self) -> None:
        assert broken_references(self.session.harness) == ()
        assert settle(self.session.harness) is self.session.harness

    @invariant()
    def the_ledger_only_grows(self) -> None:
        tags = [record.tag for record in self.session.harness.ledger]
        assert len(tags) == len(set(tags))
        assert self.ever <= set(tags)
        self.ever = set(tags)

    @invariant()
    def a_carried_tag_keeps_its_meaning(self) -> None:
        for record in self.session.harness.ledger:
            ends = (record.wire, record.lamp_end, record.controller_end)
            if record.printed_lamp or record.printed_controller:
                assert self.carried.setdefault(record.tag, ends) == ends, record

    @invariant()
    def every_wire_has_a_tag_of_its_own(self) -> None:
        live = self.session.harness.ledger.live()
        assert live.keys() == derive(self.session.harness).by_key.keys()
        assert sum(record.live for record in self.session.harness.ledger) == len(live)


Sequences.TestCase.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)
TestSequences = Sequences.TestCase

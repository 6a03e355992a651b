"""Dated copies, how they thin out, and the way back."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.editing import new_harness
from model.errors import Faults, StoreError
from model.store import SCHEMA, back_up, backups, load, open_file, restore, save
from model.store import project as project_module
from model.store import reading as reading_module
from model.store.copies import KEEP_DAYS, KEEP_LAST, backup_folder, kept
from tests.model.store.samples import SMALL

NOON = datetime(2026, 3, 15, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A state folder of the test's own."""
    import platformdirs

    folder = tmp_path / "state"
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *args, **kwargs: folder / "loomtag")
    return folder


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "gritter.toml"
    save(new_harness("first", "GRT"), path)
    return path


def test_none_yet(project: Path) -> None:
    assert backups(project) == ()


def test_a_backup_is_a_dated_copy(project: Path) -> None:
    taken = back_up(project, now=NOON)
    assert taken is not None
    assert taken.path.read_bytes() == project.read_bytes()
    assert (taken.taken, taken.size_bytes) == (NOON, project.stat().st_size)
    assert taken.path.name == "gritter.20260315T120000.000000Z.toml"
    assert backups(project) == (taken,)
    if os.name != "nt":
        assert taken.path.parent.stat().st_mode & 0o077 == 0


def test_the_same_is_not_copied_twice(project: Path) -> None:
    assert back_up(project, now=NOON) is not None
    assert back_up(project, now=NOON + timedelta(hours=1)) is None
    save(new_harness("second", "GRT"), project)
    assert back_up(project, now=NOON + timedelta(hours=2)) is not None
    assert [copy.taken.hour for copy in backups(project)] == [14, 12]


def test_projects_of_one_name_do_not_mix(project: Path, tmp_path: Path) -> None:
    other = tmp_path / "other" / "gritter.toml"
    other.parent.mkdir()
    save(new_harness("other", "OTH"), other)
    back_up(project, now=NOON)
    assert backups(other) == ()
    assert backup_folder(project) != backup_folder(other)


def test_local_times_are_kept_in_utc(project: Path) -> None:
    from datetime import timezone

    taken = back_up(project, now=datetime(2026, 3, 15, 13, 0, tzinfo=timezone(timedelta(hours=1))))
    assert taken is not None
    assert taken.taken == NOON


def test_other_files_in_the_folder_are_left_alone(project: Path) -> None:
    back_up(project, now=NOON)
    folder = backup_folder(project)
    for name in ("notes.txt", "gritter.99999999T999999.000000Z.toml", "gritter.toml"):
        (folder / name).write_text("")
    assert len(backups(project)) == 1
    save(new_harness("second", "GRT"), project)
    back_up(project, now=NOON + timedelta(days=900))
    assert (folder / "notes.txt").exists()


def test_thinning_on_disk(project: Path) -> None:
    for number in range(30):
        save(new_harness(f"step {number}", "GRT"), project)
        back_up(project, now=NOON + timedelta(minutes=number))
    copies = backups(project)
    assert len(copies) == KEEP_LAST
    assert load(copies[0].path).name == "step 29"


@pytest.mark.parametrize(
    ("ages_days", "left"),
    [
        ([], []),
        ([0], [0]),
        (list(range(10)), list(range(10))),
        # Twelve on one day: the last ten, which hold the day's last.
        ([hour / 24 for hour in range(12)], [hour / 24 for hour in range(10)]),
        # One a day for a month: ten last, the days up to the 14th, then the last of February.
        (list(range(31)), [*range(14), 15]),
        # Old ones: one a month.
        ([100, 101, 102, 130, 131, 400], [100, 101, 102, 130, 131, 400]),
        (
            [*(number / 100 for number in range(10)), 100, 101, 130, 131, 400],
            [*(number / 100 for number in range(10)), 100, 130, 400],
        ),
    ],
)
def test_which_are_kept(ages_days: list[float], left: list[float]) -> None:
    moments = {age: NOON - timedelta(days=age) for age in ages_days}
    assert kept(moments.values(), NOON) == {moments[age] for age in left}


@given(st.lists(st.floats(0, 1000), max_size=60))
def test_thinning_keeps_what_it_promises(ages: list[float]) -> None:
    moments = {NOON - timedelta(days=age) for age in ages}
    left = kept(moments, NOON)
    assert left <= moments
    assert sorted(moments)[-KEEP_LAST:] == sorted(left)[-KEEP_LAST:]
    assert {(moment.year, moment.month) for moment in left} == {
        (moment.year, moment.month) for moment in moments
    }
    recent = {moment.date() for moment in moments if (NOON - moment).days < KEEP_DAYS}
    assert recent <= {moment.date() for moment in left}
    assert kept(left, NOON) == left
    assert len(left) <= KEEP_LAST + KEEP_DAYS + 1 + len({(moment.year, moment.month) for moment in moments})


def test_restored(project: Path) -> None:
    back_up(project, now=NOON)
    save(new_harness("second", "GRT"), project)
    harness, stamp = restore(backups(project)[0], project, now=NOON + timedelta(hours=1))
    assert harness.name == load(project).name == "first"
    assert open_file(project).stamp == stamp
    assert [load(copy.path).name for copy in backups(project)] == ["second", "first"]


def test_restored_where_the_file_is_gone(project: Path) -> None:
    back_up(project, now=NOON)
    project.unlink()
    restore(backups(project)[0].path, project)
    assert load(project).name == "first"


def test_the_copy_wanted_may_be_thinned_away_by_its_own_restoring(project: Path) -> None:
    for number in range(KEEP_LAST):
        save(new_harness(f"step {number}", "GRT"), project)
        back_up(project, now=NOON + timedelta(minutes=number))
    save(new_harness("last", "GRT"), project)
    oldest = backups(project)[-1]
    harness, _ = restore(oldest, project, now=NOON + timedelta(hours=1))
    assert harness.name == load(project).name == "step 0"
    assert not oldest.path.exists()


def test_a_damaged_project_is_kept_when_it_is_restored(project: Path) -> None:
    back_up(project, now=NOON)
    damaged = b"schema = 1\n\xff\xfe\0"
    project.write_bytes(damaged)
    restore(backups(project)[0], project, now=NOON + timedelta(hours=1))
    assert load(project).name == "first"
    assert backups(project)[0].path.read_bytes() == damaged


def test_a_damaged_backup_is_refused(project: Path) -> None:
    back_up(project, now=NOON)
    copy = backups(project)[0]
    copy.path.write_text(SMALL.replace("cells = 6", "cells = 600"))
    with pytest.raises(Faults):
        restore(copy, project)
    copy.path.write_bytes(b"\0")
    with pytest.raises(StoreError):
        restore(copy, project)
    copy.path.unlink()
    with pytest.raises(StoreError, match="does not exist"):
        restore(copy, project)
    assert load(project).name == "first"


def test_a_state_folder_that_can_not_be_made(project: Path, state: Path) -> None:
    state.write_text("a file in its place")
    with pytest.raises(StoreError, match="for backups"):
        back_up(project)
    assert backups(project) == ()


def test_an_older_schema_is_backed_up_before_it_is_brought_up_to_date(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    project.write_text(SMALL)
    assert open_file(project).schema == SCHEMA
    assert backups(project) == ()
    monkeypatch.setattr(reading_module, "SCHEMA", SCHEMA + 1)
    monkeypatch.setattr(project_module, "SCHEMA", SCHEMA + 1)
    monkeypatch.setitem(reading_module.MIGRATIONS, SCHEMA, lambda data: data)
    loaded = open_file(project)
    assert loaded.schema == SCHEMA
    assert backups(project)[0].path.read_text() == SMALL
    assert project.read_text() == SMALL

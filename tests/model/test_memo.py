"""What is worked out once is found again only where nothing it depends on has changed."""

import attrs

from model.memo import by_identity, of_parts


@attrs.frozen(kw_only=True, eq=False)
class Thing:
    one: tuple[int, ...]
    other: str = ""


def test_by_identity_is_worked_out_once_for_a_value_and_forgotten_with_it():
    calls = []

    @by_identity
    def total(thing: Thing) -> int:
        calls.append(thing.one)
        return sum(thing.one)

    thing = Thing(one=(1, 2))
    assert (total(thing), total(thing), total(Thing(one=(1, 2)))) == (3, 3, 3)
    assert len(calls) == 2
    ids = set()
    for number in range(200):
        one = Thing(one=(number,))
        ids.add(id(one))
        assert total(one) == number
        del one
    assert len(ids) < 200, "ids of values that are gone are used again: else this would show nothing"


def test_of_parts_looks_only_at_its_parts():
    calls = []

    @of_parts("one", keep=2)
    def total(thing: Thing) -> int:
        calls.append(thing.one)
        return sum(thing.one)

    thing = Thing(one=(1, 2))
    assert total(thing) == total(attrs.evolve(thing, other="new")) == 3
    assert len(calls) == 1
    assert total(attrs.evolve(thing, one=(1, 3))) == 4
    for number in range(100):
        assert total(Thing(one=(number,))) == number
    assert total(thing) == 3
    assert len(calls) == 103  # only the last two are held

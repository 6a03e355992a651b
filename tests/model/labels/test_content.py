"""What labels say: both ends, short names that mean one thing only, and when one is no longer true."""

from __future__ import annotations

import attrs
import pytest
from hypothesis import given, settings

from model import editing
from model.harness import Harness, Polarity, Spool
from model.labels.content import joint_labels, plug_labels, said, spool_labels, wire_labels
from model.labels.font_metrics import drawable
from model.labels.text import LabelText
from model.routing.allot import settle
from model.routing.wires import EndKind, derive
from tests.model.tracing.loom import gritter
from tests.strategies import harnesses


def by_name(harness: Harness) -> dict[str, LabelText]:
    return {label.name: label for label in wire_labels(harness)}


@pytest.mark.parametrize(
    ("name", "here", "there"),
    [
        ("K7L-L", "Indicator front left", "from J1 cab floor"),
        ("K7L-C", "J1 cab floor", "from Indicator front left"),
        ("9C9-L", "J1 cab floor", "from output 5 pin A5 indicators left"),
        ("9C9-C", "output 5 pin A5 indicators left", "from J1 cab floor"),
        ("82A-C", "plug P1 contact 2", "from Beacon"),
        ("N6H-L", "plug P1 contact 2", "from output 2 pin A2"),
        ("N6H-C", "output 2 pin A2", "from plug P1 contact 2"),
        ("F8N-C", "common pin A7", "from Indicator front left"),
    ],
)
def test_each_end_says_where_it_goes_and_where_the_other_is(name: str, here: str, there: str) -> None:
    label = by_name(gritter())[name]
    assert [line[0] for line in label.lines] == [here, there]


def test_colour_polarity_and_thickness_are_the_wires() -> None:
    label = by_name(gritter())["K7L-L"]
    assert (label.colour_code, label.polarity, label.qr_text()) == ("BK", "-", "GRT-K7L-L")
    assert label.wire_od_mm == pytest.approx(0.836, abs=0.001)  # 28 AWG, semi-rigid PVC


def test_only_the_wires_asked_for_in_their_order() -> None:
    harness = gritter()
    wires = derive(harness).wires
    labels = wire_labels(harness, [wires[3], wires[0]])
    live = harness.ledger.live()
    tags = [live[wires[3].key].tag, live[wires[0].key].tag]
    assert [label.name for label in labels] == [f"{tag}-{end}" for tag in tags for end in "LC"]


def named(*names: str) -> Harness:
    """One run for each name, all from one place."""
    harness = editing.new_harness("Test", "TST")
    harness = editing.add_waypoint(harness, "tail")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=100)
    for name in names:
        harness = editing.add_lamp(harness, name, at="W2", output=1)
        run = editing.RunChoice(way=("W2", "W1"))
        harness = settle(editing.accept_run(harness, harness.lamps[-1].id, run))
    return harness


def here_of(harness: Harness, lamp_id: str) -> tuple[str, ...]:
    live = harness.ledger.live()
    return by_name(harness)[f"{live[f'{lamp_id}-'].tag}-L"].lines[0]


@pytest.mark.parametrize(
    ("names", "wordings"),
    [
        (
            ("Headlamp left",),
            ("Headlamp left", "Headlamp L", "Headlam L", "Headla L", "Headl L", "Head L", "Hea L", "He L"),
        ),
        # "Hea L" could be the heater's lamp, so it is not used.
        (
            ("Headlamp left", "Heater left"),
            ("Headlamp left", "Headlamp L", "Headlam L", "Headla L", "Headl L", "Head L"),
        ),
        # What is short without a cut goes before what is cut to the same.
        (("Headlamp left", "Head left"), ("Headlamp left", "Headlamp L", "Headlam L", "Headla L", "Headl L")),
        (("Head left", "Headlamp left"), ("Head left", "Head L")),
        # Words every lamp could have go first, unless they are what differs or all there is.
        (
            ("Tail light right", "Tail light left"),
            ("Tail light right", "Tail right", "Tail R", "Tai R", "Ta R"),
        ),
        (
            ("Chassis rear lamp",),
            (
                "Chassis rear lamp",
                "Chassis rear",
                "Chassi rear",
                "Chass rear",
                "Chas rear",
                "Cha rear",
                "Ch rear",
            ),
        ),
        (
            ("Fog lamp left", "Fog light left"),
            ("Fog lamp left", "Fog lamp L", "Fog lam L", "Fog la L", "Fo la L"),
        ),
        (("Lamp left", "Lamp right"), ("Lamp left", "Lamp L", "Lam L", "La L")),
        (("Lamp 1",), ("Lamp 1", "Lam 1", "La 1")),
        # A label may be all in capitals.
        (("tail left", "TAIL LEFT"), ("tail left",)),
        (
            ("Indicator front left",),
            (
                "Indicator front left",
                "Indicator front L",
                "Indicator F L",
                "Indicato F L",
                "Indicat F L",
                "Indica F L",
                "Indic F L",
                "Indi F L",
                "Ind F L",
                "In F L",
            ),
        ),
        (("Beacon 12", "Beacon 11"), ("Beacon 12", "Beaco 12", "Beac 12", "Bea 12", "Be 12")),
        (("Fog",), ("Fog", "Fo")),
    ],
)
def test_short_names_mean_one_lamp(names: tuple[str, ...], wordings: tuple[str, ...]) -> None:
    harness = named(*names)
    assert here_of(harness, "L1") == wordings


def test_a_name_the_font_cannot_draw_falls_back_to_the_lamps_number() -> None:
    wordings = here_of(named("\u30e9\u30f3\u30d7"), "L1")
    assert wordings[-1] == "L1"
    assert any(drawable(wording)[0] for wording in wordings)


@settings(max_examples=60, deadline=None)
@given(harness=harnesses(lamps=(1, 9)))
def test_every_wire_of_any_harness_has_two_labels_that_cannot_be_mistaken(harness: Harness) -> None:
    labels = wire_labels(harness)
    wires = derive(harness).wires
    assert len(labels) == 2 * len(wires)
    assert len({label.name for label in labels}) == len(labels)
    names = [lamp.name for lamp in harness.lamps]
    ends: dict[str, set[str]] = {}
    for wire, at_lamp in zip(wires, labels[::2], strict=True):
        for line in at_lamp.lines:
            assert all(line), "an empty wording"
            lengths = list(map(len, line[:-1]))
            assert lengths == sorted(lengths, reverse=True)
        if wire.lamp_end.kind is EndKind.LAMP:
            for wording in at_lamp.lines[0]:
                ends.setdefault(wording, set()).add(wire.lamp_end.ref)
    for wording, lamps in ends.items():
        # Two lamps share a wording only where they share the whole name, which is a finding of its own.
        assert len(lamps) == 1 or names.count(wording) > 1


def test_what_a_label_says_changes_with_its_ends_and_colour_only() -> None:
    harness = gritter()
    before = {name: said(label) for name, label in by_name(harness).items()}

    def changed(other: Harness) -> set[str]:
        after = {name: said(label) for name, label in by_name(settle(other)).items()}
        return {name for name in before if after.get(name) != before[name]}

    assert changed(editing.edit_lamp(harness, "L1", name="Blinker")) == {"K7L-L", "K7L-C", "F8N-L", "F8N-C"}
    # A second "Indicator f..." changes how names are shortened, not what the labels say.
    assert changed(editing.add_lamp(harness, "Indicator fog left")) == set()
    assert changed(editing.edit_waypoint(harness, "W2", name="cab")) == {
        "K7L-L", "K7L-C", "H4E-L", "H4E-C", "9C9-L", "9C9-C",
    }  # fmt: skip
    recoloured = changed(editing.set_settings(harness, minus_colour="WH"))
    minus = {wire.key for wire in derive(harness).wires if wire.polarity is Polarity.MINUS}
    assert recoloured == {f"{harness.ledger.live()[key].tag}-{end}" for key in minus for end in "LC"}


def test_joints_and_plugs_have_labels_of_their_own() -> None:
    harness = gritter()
    (joint,) = joint_labels(harness)
    assert (joint.kind, joint.tag, joint.polarity) == ("joint", "J1", "-")
    assert [line[0] for line in joint.lines] == ["cab floor", "output 5 (indicators left)", "K7L H4E 9C9"]
    (plug,) = plug_labels(harness)
    assert (plug.kind, plug.tag) == ("plug", "P1")
    assert [line[0] for line in plug.lines] == ["cab floor - roof", "2 contacts"]
    assert plug.wire_od_mm == pytest.approx(2 * 0.836, abs=0.001)  # two wires side by side
    loud = attrs.evolve(
        harness, legs=tuple(attrs.evolve(leg, plug="\u00e4!" if leg.plug else "") for leg in harness.legs)
    )
    assert plug_labels(loud) == (), "a plug whose name has no letter a label can carry"


@pytest.mark.parametrize(
    ("name", "tag"),
    [
        ("Red 28", "RED-28"),
        ("#2 (left over)", "2-LEFT-OVER"),
        ("a name longer than any tag is", "RD1"),
        ("\u30e9\u30f3\u30d7", "RD1"),
        ("Red-28", "RD1"),
    ],
)
def test_a_spool_has_its_own_name_large_where_that_is_short_and_no_other_s(name: str, tag: str) -> None:
    spools = [
        Spool(name=name, colour="RD", length_mm=9500),
        Spool(name="rest", colour="BK", gauge="26 AWG", length_mm=812.5),
    ]
    if name == "Red-28":
        spools.append(Spool(name="red 28", colour="RD", length_mm=100))
    labels = spool_labels(editing.set_spools(gritter(), spools))
    assert (labels[0].kind, labels[0].tag, labels[0].colour_code) == ("spool", tag, "RD")
    assert [line[0] for line in labels[0].lines] == [name, "28 AWG", "9.50 m"]
    assert (labels[1].tag, [line[0] for line in labels[1].lines]) == ("REST", ["rest", "26 AWG", "0.81 m"])

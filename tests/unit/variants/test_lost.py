"""Made supports in a change of plan: long is cut again, short is packed or lost, built stays where it is."""

from dataclasses import replace

import pytest

from spanwright.measured.given import Made, PartState
from spanwright.variants.lost import Fate, lost_parts


def made(part, state, station=None):
    return (Made(part=part, state=PartState(state), lengths=(50.0,), station=station),)


@pytest.fixture(scope="session")
def bridges(thick, thin):
    """With the thinner cap the bent's columns are 1.9 mm longer."""
    return thick.plan.structures, thin.plan.structures


def lengths(bridge, name):
    return {c.id: c.length for s in bridge.supports if s.given.name == name for c in s.cuts}


def test_nothing_made_nothing_lost(bridges):
    assert lost_parts(((), ()), bridges, (3.0, 3.0)) == ()


def test_a_support_that_is_alike_in_both_is_not_lost(bridges):
    assert lost_parts((made("pier 1", "built"), ()), bridges, (3.0, 3.0)) == ()


@pytest.mark.parametrize("state", ["taken out", "spoiled"])
def test_what_is_gone_already_is_not_lost(bridges, state):
    assert lost_parts((made("bent", state), ()), bridges, (3.0, 3.0)) == ()


def test_what_both_files_call_made_each_plan_holds(bridges):
    assert lost_parts((made("bent", "cut"), made("bent", "cut")), bridges, (3.0, 3.0)) == ()


@pytest.mark.parametrize(
    ("most", "state", "fate"),
    [
        (9.0, "cut", Fate.PACKED),
        (9.0, "built", Fate.PACKED),
        (0.5, "cut", Fate.LOST),
        (0.5, "built", Fate.LOST),
    ],
)
def test_short_columns_are_packed_as_far_as_packing_goes(bridges, most, state, fate):
    found = lost_parts((made("bent", state), ()), bridges, (0.0, most))
    old, new = lengths(bridges[0], "bent"), lengths(bridges[1], "bent")
    assert {p.part: (p.made, p.wanted) for p in found} == {key: (old[key], new[key]) for key in old}
    assert {p.fate for p in found} == {fate}
    assert all(p.wanted > p.made for p in found)


@pytest.mark.parametrize(
    ("state", "fate"), [("cut", Fate.CUT_AGAIN), ("dry-fitted", Fate.CUT_AGAIN), ("built", Fate.LOST)]
)
def test_long_columns_are_cut_again_while_they_are_loose(bridges, state, fate):
    for values, order in (((made("bent", state), ()), bridges[::-1]), (((), made("bent", state)), bridges)):
        found = lost_parts(values, order, (3.0, 3.0))
        assert len(found) == 2
        assert {(p.what, p.fate) for p in found} == {("length", fate)}


def test_what_stands_elsewhere_is_lost_once_it_is_built(bridges):
    one = bridges[0]
    moved = replace(
        one,
        supports=tuple(
            replace(s, station=s.station + 5.0) if s.given.name == "pier 1" else s for s in one.supports
        ),
    )
    (found,) = lost_parts((made("pier 1", "built"), ()), (one, moved), (3.0, 3.0))
    assert (found.part, found.what, found.fate) == ("pier 1", "station", Fate.LOST)
    assert found.wanted - found.made == pytest.approx(5.0)
    assert lost_parts((made("pier 1", "cut"), ()), (one, moved), (3.0, 3.0)) == ()
    (set_out,) = lost_parts((made("pier 1", "cut", 40.0), ()), (one, moved), (3.0, 3.0))
    assert set_out.what == "station"


def test_a_support_that_the_other_plan_does_not_have(bridges):
    one = bridges[0]
    fewer = replace(one, supports=tuple(s for s in one.supports if s.given.name != "pier 1"))
    (found,) = lost_parts((made("pier 1", "dry-fitted"), ()), (one, fewer), (3.0, 3.0))
    assert (found.what, found.wanted, found.fate) == ("support", None, Fate.LOST)

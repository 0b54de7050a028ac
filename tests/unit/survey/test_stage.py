"""The survey as a whole: derivatives, free net, suspects, what it says."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from spanwright.errors import NoSolutionError
from spanwright.survey.readings import Datum, DatumKind, Kind

PLACES = {
    "A": (0.0, 0.0, 0.0),
    "B": (950.0, 0.0, 15.0),
    "C": (820.0, 460.0, -8.0),
    "D": (120.0, 530.0, 22.0),
    "P": (300.0, 210.0, 40.0),
    "Q": (420.0, 260.0, 41.0),
    "R": (540.0, 290.0, 43.0),
}
MINIMAL = Datum(kind=DatumKind.MINIMAL, at="A", towards="B", height="A")


def layout(net, *, seed=None, datum=MINIMAL, rough="", slip=None, plumb=True):
    """Every kind but the cross levels and coordinates, with a tape's scale, a level's zero and a drop."""
    noise = None if seed is None else np.random.default_rng(seed)
    survey = net(PLACES, datum=datum, rough=rough, noise=noise)
    tape, level = survey.share("tape scale", 1e-3, "1"), survey.share("level zero", 0.2)
    survey.size("rail", 3.0, 0.05)
    slips = slip or {}

    def read(kind, *marks, **more):
        key = f"{kind.value} {'-'.join(marks)}"
        survey.read(kind, *marks, add=slips.get(key, 0.0) + more.pop("add", 0.0), **more)

    for a, b in combinations("ABCD", 2):
        read(Kind.DISTANCE, a, b, scale=tape)
    for peg in "ABCD":
        read(Kind.LEVEL_DISTANCE, peg, "P", scale=tape)
        read(Kind.LEVEL_DISTANCE, peg, "R")
    for mark in "BCDPQR":
        read(Kind.HEIGHT, mark, "A", zero=level, sd=0.3)
    read(Kind.HEIGHT, "C", "B", sd=0.3)
    read(Kind.HEIGHT, "R", "P", sd=0.3)
    read(Kind.STEPPED_BLOCK, "Q", "P", add=-3.0, drops=(("rail", 1.0),), sd=0.2)
    read(Kind.OFFSET, "Q", "A", "B")
    read(Kind.OFFSET, "D", "A", "B")
    read(Kind.ALONG, "Q", "D", "C")
    read(Kind.VERSINE, "Q", "P", "R", sd=0.3)
    read(Kind.ANGLE, "A", "B", "P", sd=3e-3)
    read(Kind.ANGLE, "P", "Q", "A", sd=3e-3)
    read(Kind.LEVEL_ANGLE, "B", "R", sd=2e-3)
    if plumb:  # along the frame's x: it has no meaning of its own where the frame turns
        read(Kind.PLUMB_X, "R", "Q")
    read(Kind.PLUMB_PAST_EDGE, "P", "R", "D", "C")
    return survey


def test_true_readings_give_the_layout_back(net):
    found = layout(net).adjust()
    for key in found.names[:-2]:
        assert float(found.value(key).value) == pytest.approx(
            PLACES[key[0]]["xyz".index(key[2])], abs=1e-6
        ), key
    assert not found.suspects
    assert found.adjustment.degrees_of_freedom == len(found.reading_ids) - int(
        np.sum(found.adjustment.cofactor.diagonal() > 0)
    )


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_derivatives_against_the_survey_adjusted_again(net, seed):
    """Every base input moved by a hundredth of its doubt, both ways; to 1e-4 of each column's largest."""
    survey = layout(net, seed=seed)
    found, x, sds = survey.adjust(), survey.inputs.values, survey.inputs.sds
    assert found.adjustment.scale > 0.5
    assert found.values.jac.shape == (len(found.names), len(x))
    for k in range(len(x)):
        step = np.zeros(len(x))
        step[k] = 0.01 * sds[k]
        up, down = survey.adjust(x + step), survey.adjust(x - step)
        column = (up.values.value - down.values.value) / (2 * step[k])
        largest = np.abs(column).max()
        np.testing.assert_allclose(found.values.jac[:, k], column, rtol=0, atol=1e-4 * largest + 1e-9)


def test_residual_derivatives_are_gauss_newton(net):
    """In doubts of the residual for one doubt of the input; what the curvature adds is below 1 per cent."""
    survey = layout(net, seed=1)
    found, x, sds = survey.adjust(), survey.inputs.values, survey.inputs.sds
    own = np.array([survey.inputs[i].sd for i in found.reading_ids])
    for k in range(0, len(x), 3):
        step = np.zeros(len(x))
        step[k] = 0.01 * sds[k]
        change = survey.adjust(x + step).adjustment.residuals - survey.adjust(x - step).adjustment.residuals
        np.testing.assert_allclose(
            found.residual_by_input[:, k] * sds[k] / own, change / 0.02 / own, rtol=0, atol=0.01
        )


def test_intervals_hold(net):
    """200 surveys. Coordinates of one survey hang together: the rate has a doubt of at most 1.5 per cent."""
    held = []
    for seed in range(200):
        survey = layout(net, seed=1000 + seed)
        # the tape and the level have their errors, too
        rng = np.random.default_rng(seed)
        scale, zero = rng.normal(0.0, 1e-3), rng.normal(0.0, 0.2)
        by_id = {r.id: r for r in survey.readings}
        survey.items = [
            replace(i, value=i.value * (1 + scale * bool(by_id[i.id].scale)) + zero * bool(by_id[i.id].zero))
            if i.id in by_id
            else i
            for i in survey.items
        ]
        found, sds = survey.adjust(), survey.inputs.sds
        sd = found.values.sd(sds)
        for k, key in enumerate(found.names[:-2]):
            if sd[k] > 0:
                truth = PLACES[key[0]]["xyz".index(key[2])]
                held.append(abs(float(found.values.value[k]) - truth) < 1.96 * sd[k])
    assert 0.92 < np.mean(held) < 0.98


def trace(found, axes):
    return sum(
        found.adjustment.cofactor[k, k]
        for k, n in enumerate(found.names)
        if n[-1:] in axes and n[-2:-1] == "."
    )


def test_a_free_net_doubts_least(net):
    free = layout(net, seed=4, datum=Datum(kind=DatumKind.FREE), rough="ABCDPQR", plumb=False).adjust()
    for at, towards in (("A", "B"), ("C", "D"), ("B", "C"), ("D", "A")):
        for height in "AP":
            minimal = layout(
                net, seed=4, datum=replace(MINIMAL, at=at, towards=towards, height=height), plumb=False
            ).adjust()
            assert trace(free, "xy") < trace(minimal, "xy")
            assert trace(free, "z") < trace(minimal, "z")
            assert free.adjustment.chi_square == pytest.approx(minimal.adjustment.chi_square, rel=1e-7)


def test_a_free_nets_derivatives_with_rough_places_given(net):
    """The frame is that of the rough places: given ones do not move with the readings."""
    survey = layout(net, seed=5, datum=Datum(kind=DatumKind.FREE), rough="ABCDPQR", plumb=False)
    found, x, sds = survey.adjust(), survey.inputs.values, survey.inputs.sds
    plan = [k for k, n in enumerate(found.names) if n[-2:] in (".x", ".y")]
    for k in range(0, len(x), 4):
        step = np.zeros(len(x))
        step[k] = 0.01 * sds[k]
        column = (survey.adjust(x + step).values.value - survey.adjust(x - step).values.value) / (2 * step[k])
        np.testing.assert_allclose(
            found.values.jac[plan, k], column[plan], rtol=0, atol=1e-4 * np.abs(column).max() + 1e-9
        )


@pytest.mark.parametrize("key", ["level distance B-P", "height R-P", "distance A-C", "versine Q-P-R"])
def test_a_slip_is_named_and_stays_in(net, key):
    clean = layout(net, seed=6).adjust()
    row = clean.reading_ids.index(key)
    size = 9.0 * layout(net).inputs[key].sd / np.sqrt(clean.adjustment.redundancy[row])
    survey = layout(net, seed=6, slip={key: size})
    found = survey.adjust()
    assert key in found.suspects[0].readings
    assert abs(found.suspects[0].standardised[0]) > found.limit
    slips = dict(zip(found.suspects[0].readings, found.suspects[0].slips, strict=True))
    # the slip is known as well as the reading is checked
    assert slips[key] == pytest.approx(size, abs=4.0 * size / 9.0)
    assert any(f.code == "SU101" and found.suspects[0].readings[0] in f.where for f in found.findings)
    assert key in found.reading_ids
    survey.set_aside = frozenset({key})
    after = survey.adjust()
    assert key not in after.reading_ids
    assert not after.suspects
    assert any(f.code == "SU104" and f.where == key for f in after.findings)


def test_what_cannot_be_told_apart_is_named_together(net):
    """Two rises close one loop: a slip in either looks the same."""
    survey = net(PLACES, datum=Datum(kind=DatumKind.FIXED, fixed=(("A", "z", 0.0), ("B", "z", 15.0))))
    survey.read(Kind.HEIGHT, "P", "A", sd=0.3).read(Kind.HEIGHT, "B", "P", sd=0.3, add=4.0)
    found = survey.adjust()
    assert set(found.suspects[0].readings) == {"height P-A", "height B-P"}
    assert "cannot tell which of these is wrong" in found.findings[0].text
    assert found.suspects[0].slips == pytest.approx((4.0, 4.0))


def test_unchecked_readings_are_listed(net):
    survey = net(PLACES, fixed="AB")
    survey.read(Kind.HEIGHT, "P", "A").read(Kind.HEIGHT, "Q", "P").read(Kind.HEIGHT, "Q", "B")
    survey.read(Kind.HEIGHT, "R", "B")
    found = survey.adjust()
    assert found.unchecked == ("height R-B",)
    assert [f.where for f in found.findings if f.code == "SU102"] == ["height R-B"]


@pytest.mark.parametrize(("factor", "word"), [(2.0, "worse"), (0.05, "better")])
def test_the_scale_of_the_doubts_is_said(net, factor, word):
    """Where no reading is suspected: a slip would raise the scale by itself."""
    for seed in range(8, 40):
        survey = layout(net, seed=seed)
        survey.items = [replace(i, sd=i.sd / factor) if i.kind == "reading" else i for i in survey.items]
        found = survey.adjust()
        if not found.suspects and abs(found.adjustment.scale - 1.0) > 3.0 / np.sqrt(2 * 15):
            break
    told = [f for f in found.findings if f.code == "SU103"]
    assert len(told) == 1
    assert f"agree {word} than" in told[0].text
    assert told[0].value == found.adjustment.scale


def test_an_undetermined_mark_is_named(net):
    survey = layout(net, rough="Q")
    survey.readings = [
        r for r in survey.readings if "Q" not in r.marks or r.kind in (Kind.HEIGHT, Kind.VERSINE)
    ]
    with pytest.raises(NoSolutionError, match=r"do not fix Q. Take another reading") as caught:
        survey.adjust()
    assert caught.value.code == "ES001"

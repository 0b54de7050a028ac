"""The demo is what it says it is, and the plan finds what was planted in it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from spanwright.advice.stage import advise
from spanwright.files.job_file import load_job
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.survey.stage import adjust_survey
from truth import demo

K4 = 4.0  # so many doubts off the truth would be a fault


@pytest.fixture(scope="module")
def truth():
    return demo.make_truth()


@pytest.fixture(scope="module")
def plan():
    return derive(load_job(Path(demo.SHIPPED).parent))


def test_the_shipped_file_is_the_one_that_the_truth_gives():
    assert Path(demo.SHIPPED).read_text(encoding="utf-8") == demo.shipped_text()


def test_its_size(plan):
    assert len(plan.job.survey.readings) >= 60
    assert sum(len(s.triangles) for s in plan.structures.shapes) >= 5000
    vehicles = {run.vehicle.id: run.vehicle for run in plan.job.clearance.runs}
    assert len(vehicles) == 8
    assert any(len(v.bodies) > 1 for v in vehicles.values())  # articulated
    assert any(_is_concave(p.section) for v in vehicles.values() for b in v.bodies for p in b.prisms)


def _is_concave(section) -> bool:
    d = np.roll(section, -1, axis=0) - section
    turn = d[:, 0] * np.roll(d, -1, axis=0)[:, 1] - d[:, 1] * np.roll(d, -1, axis=0)[:, 0]
    return bool((turn > 1e-9).any() and (turn < -1e-9).any())


def test_the_track_has_a_wave_of_three_tenths(truth):
    for track, length in ((truth.lower, 380.0), (truth.upper, 350.0)):
        s = np.linspace(300.0, 700.0, 801)
        kappa = track.curvature(s)
        wave = kappa - np.mean(kappa)
        assert np.ptp(wave) / 2.0 * (length / (2.0 * np.pi)) ** 2 == pytest.approx(0.3, rel=0.15)


def test_the_planted_slip_is_fair_and_is_named(plan, truth):
    row = plan.survey.reading_ids.index(demo.BLUNDER)
    redundancy = plan.survey.adjustment.redundancy[row]
    item = plan.inputs[demo.BLUNDER]
    assert redundancy >= 0.3
    assert 6.0 <= demo.BLUNDER_BY <= 9.0  # planted on top of the tape's own error and rounding
    assert abs(item.value - truth.values[demo.BLUNDER]) > 4.0 * item.sd
    assert [s.readings for s in plan.survey.suspects] == [(demo.BLUNDER,)]


def test_without_the_slip_nobody_is_suspected(plan):
    given = replace(plan.job.survey, set_aside=frozenset({demo.BLUNDER}))
    assert adjust_survey(given, plan.job.inputs).suspects == ()


def test_close_calls(plan):
    side, above = plan.job.clearance.margin_side, plan.job.clearance.margin_above
    close = [
        g
        for g in plan.clearance.gaps
        if not g.beyond_reach and abs(float(g.gap.value) - (above if g.side == "above" else side)) < 3.0
    ]
    assert len({(g.vehicle, g.part) for g in close}) >= 4
    assert any(g.verdict is Verdict.NOT_PROVEN for g in close)


def test_what_to_measure_next_is_said_for_each_open_gap(plan):
    open_gaps = [g for g in plan.clearance.gaps if g.verdict is not Verdict.CLEAR]
    found = advise(plan)
    assert {a.gap for a in found} == {g.id for g in open_gaps}
    assert all(a.text or a.steps for a in found)
    assert all(a.after <= a.before for a in found)


def test_the_crossing_is_where_it_is(plan, truth):
    (crossing,) = plan.alignment.crossings
    s, t = demo.crossing(truth.upper, truth.lower)
    sds = plan.inputs.sds
    angle = truth.upper.direction(s) - truth.lower.direction(t)
    true = {
        "angle": (crossing.angle, angle),
        "separation": (crossing.centre.separation, truth.upper.height(s) - truth.lower.height(t)),
        "x": (crossing.centre.x, truth.upper.point(s)[0]),
        "y": (crossing.centre.y, truth.upper.point(s)[1]),
    }
    for name, (got, wanted) in true.items():
        assert abs(float(got.value) - wanted) < K4 * float(got.sd(sds)), name


def test_every_bearing_has_its_height(plan):
    assert len(plan.structures.bearings) == 12
    for b in plan.structures.bearings:
        down = sum(float(layer.thickness.value) for layer in b.layers)
        assert float(b.railhead.value) - down == pytest.approx(float(b.seat.value), abs=1e-9)


def test_shafts_are_cut_low(plan):
    """Lower than wanted by k times the doubt, and by less than a cut step more than needed."""
    sds = plan.inputs.sds
    k = plan.job.structures.k
    for support in plan.structures.supports:
        lowest = min(float(s.packing.value) - k * float(s.packing.sd(sds)) for s in support.seats)
        assert lowest >= plan.job.structures.packing.thinnest - 1e-6
        for cut in support.cuts:
            assert cut.length < float(cut.wanted.value)


def test_trains_of_a_third_line_are_said_not_to_be_held_against_the_spans(plan):
    assert not [f for f in plan.findings if f.code == "CL110"]
    job = plan.job
    lower = next(line for line in job.lines if line.name == job.structures.lower)
    siding = replace(job.clearance.runs[0], line="siding")
    three = replace(
        job,
        lines=(*job.lines, replace(lower, name="siding")),
        clearance=replace(job.clearance, runs=(siding,)),
    )
    found = derive(three)
    assert [f.where for f in found.findings if f.code == "CL110"] == ["siding"]
    assert not [g for g in found.clearance.gaps if "girder" in g.part]

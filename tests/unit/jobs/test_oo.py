"""A job in inches at 1:76.2 on 16.5 mm gauge, from its readings to its verdicts, against its truth."""

from fractions import Fraction
from itertools import permutations

import numpy as np
import pytest
from job_checks import (
    assert_replays,
    assert_same_bridge,
    assert_within,
    gap_of,
    line_errors,
    seats_by_hand,
    separation,
    swapped,
    wrapped,
)

from spanwright.clearance.verdict import joint_factor
from spanwright.findings import Verdict
from spanwright.survey.stage import adjust_survey
from truth import oo

FOOT = 304.8
INCH = 25.4


def test_the_file_is_the_generators():
    assert oo.FILE.read_text(encoding="utf-8") == oo.file_text()


# ---------------------------------------------------------------- scale is not gauge


@pytest.fixture(scope="module")
def text():
    return oo.file_text()


def lengths(job):
    """Everything in the job that was said at full size. [mm]"""
    coach = next(r.vehicle for r in job.clearance.runs if r.vehicle.name == "bogie coach")
    body = coach.bodies[0]
    section = body.prisms[0].section
    return {
        "side": job.clearance.margin_side,
        "above": job.clearance.margin_above,
        "length": body.front - body.rear,
        "trucks": body.truck_spacing,
        "width": float(np.ptp(section[:, 0])),
        "height": float(section[:, 1].max()),
        "sleeper": job.structures.tie_width,
        "pitch": job.structures.tie_pitch,
    }


FULL = {  # mm at full size, as the file says them
    "side": 9 * INCH,
    "above": FOOT,
    "length": 63 * FOOT,
    "trucks": 44.5 * FOOT,
    "width": 8 * FOOT + 11 * INCH,
    "height": 12.5 * FOOT,
    "sleeper": 10 * INCH,
    "pitch": 2.5 * FOOT,
}


def test_full_size_lengths_are_divided_by_the_scale(load, text):
    job = load(text)
    assert (job.scale, job.gauge) == (Fraction(381, 5), 16.5)
    assert lengths(job) == pytest.approx({k: v / 76.2 for k, v in FULL.items()}, rel=1e-12)
    assert lengths(job)["length"] == pytest.approx(252.0)  # 4 mm to the foot


def test_the_gauge_changes_no_length(load, text):
    wide = [('gauge  = "16.5 mm"', 'gauge  = "18.83 mm"'), ('["0.651", "0.652", "16.55 mm"]', '"0.742"')]
    assert lengths(load(text, *wide)) == lengths(load(text))


def test_the_scale_changes_full_size_lengths_and_no_others(load, text):
    job, other = load(text), load(text, ('"4 mm = 1 ft"', '"1:87"'))
    assert lengths(other) == pytest.approx({k: v / 87 for k, v in FULL.items()}, rel=1e-12)
    assert [i.value for i in other.inputs.items] == [i.value for i in job.inputs.items]
    assert (other.gauge, other.structures.packing) == (job.gauge, job.structures.packing)


def test_lengths_are_read_as_builders_write_them(load, text):
    job = load(text)
    inputs = job.inputs
    assert inputs["spans/short span/length"].value == pytest.approx(6.0625 * INCH)
    assert inputs["supports/pier/stock"].value == pytest.approx(2.5 * INCH)
    assert job.structures.supports[1].along == pytest.approx((2 + 3 / 32) * INCH)
    assert inputs["lines/lower/gauge/3"].value == 16.55
    assert inputs["d01"].value == pytest.approx(1500.0, abs=3.0)


# ---------------------------------------------------------------- against the truth


@pytest.mark.slow
@pytest.mark.parametrize("name", ["upper", "lower"])
def test_lines_agree_with_the_truth(oo_plan, name):
    upper, lower = oo.upper_track(), oo.lower_track()
    s, q, _ = oo.crossing(upper, lower)
    track, at = (upper, s) if name == "upper" else (lower, q)
    for what, (error, u) in line_errors(oo_plan, name, track, at).items():
        assert_within(error, u)
        if what in ("sideways", "height") and name == "upper":
            assert np.all(u < 0.6)


@pytest.mark.slow
def test_crossing_agrees_with_the_truth(oo_plan):
    upper, lower = oo.upper_track(), oo.lower_track()
    s, q, angle = oo.crossing(upper, lower)
    value, u, crossing = separation(oo_plan)
    assert crossing.surveyed
    assert len(oo_plan.alignment.crossings) == 1
    assert_within(value - float(upper.height(s) - lower.height(q)), u)
    off = wrapped(float(crossing.angle.value) - angle)
    assert_within(off, float(crossing.angle.sd(oo_plan.inputs.sds)))
    assert abs(np.degrees(crossing.angle.value)) == pytest.approx(60.0, abs=3.0)


@pytest.mark.slow
def test_a_clean_survey_names_no_suspect(oo_plan):
    assert oo_plan.survey.suspects == ()


@pytest.mark.slow
def test_the_cant_that_was_not_measured_shows(oo_plan):
    assert [f.where for f in oo_plan.findings if f.code == "AL102"] == ["lower"]
    lower = oo_plan.alignment.line("lower")
    u = lower.cant.sd(oo_plan.inputs.sds)
    assert np.all(u >= oo.GAUGE / 15 - 0.05)  # a fifteenth of the gauge of NEM 114, taken as doubt
    column = oo_plan.inputs.column("lines/lower/cant")
    pier = gap_of(oo_plan, "bogie coach", "pier/shaft")
    assert abs(float(pier.gap.jac[column])) * oo_plan.inputs.sds[column] > 0.8 * pier.u


# ---------------------------------------------------------------- bridge and gaps


@pytest.mark.slow
def test_the_same_choices_give_the_same_plan(oo_plan):
    assert_replays(oo_plan)


@pytest.mark.slow
def test_seats_by_hand(oo_plan):
    long, short = oo_plan.structures.spans
    layers = {"rail": 0.0825 * INCH, "tie": (0.125 + 0.124) / 2 * INCH, "dap": 0.0, "shoe": 0.119 * INCH}
    for span, depths in ((long, (0.789, 0.791)), (short, (0.789, 0.789))):
        hand = seats_by_hand(oo_plan, span, depths=[d * INCH for d in depths], **layers)
        assert [float(b.seat.value) for b in span.heights.bearings] == pytest.approx(list(hand), abs=1e-6)


@pytest.mark.slow
def test_the_pier_stands_where_it_is_told(oo_plan):
    crossing = oo_plan.alignment.crossings[0]
    pier = oo_plan.structures.supports[1]
    along = pier.station - float(crossing.centre.upper_station.value)
    assert along == pytest.approx((2 + 3 / 32) * INCH, abs=0.06)  # stations are rounded to 0.1 mm
    stock, cut = 2.5 * INCH, pier.cuts[0]
    assert float(cut.trimmed.value) == pytest.approx(stock - cut.length)
    assert cut.length < float(cut.wanted.value)  # low: packing takes up the rest


@pytest.mark.slow
def test_verdicts_are_sensible(oo_plan):
    for g in oo_plan.clearance.gaps:
        if g.verdict is Verdict.CLEAR and not g.beyond_reach:
            assert float(g.margin_gap.value) >= 2.0 * g.margin_u - 1e-9
    # the soffit over the lower rail, less the van and a rivet, to the margin of 1 ft proto = 4 mm
    van = gap_of(oo_plan, "tall van", "long span/girder left")
    seat = min(float(b.seat.value) + 0.119 * INCH for b in oo_plan.structures.spans[0].heights.bearings[:2])
    # the cant of the lower line was not measured: the roof's far corner, 2.6 mm below, has a doubt of 1.1 mm
    assert van.verdict is Verdict.NOT_PROVEN
    far = max(van.witness_gaps, key=lambda g: float(g.sd(oo_plan.inputs.sds)))
    assert 2.0 < float(far.value) < joint_factor(2.0, 3) * float(far.sd(oo_plan.inputs.sds))
    assert float(far.sd(oo_plan.inputs.sds)) == pytest.approx(16.5 / 15.0, rel=0.05)
    assert gap_of(oo_plan, "tall van", "long span/girder right").verdict is Verdict.TIGHT
    assert 1.0 < float(van.gap.value) < 4.0 < seat - 14.0 - 2.125 * INCH + 4.0
    assert gap_of(oo_plan, "bogie coach", "pier/shaft").verdict is Verdict.CLEAR
    assert gap_of(oo_plan, "wagon with a wide boiler", "pier/shaft").verdict is Verdict.TIGHT
    assert gap_of(oo_plan, "wagon with a wide boiler", "pier/shaft").side == "left"
    assert gap_of(oo_plan, "tall van", "dock abutment/shaft").beyond_reach


@pytest.mark.slow
def test_listed_from_the_other_end(oo_plan, derived):
    other = derived(oo.reversed_text())
    assert [s.given.name for s in other.structures.supports] == ["moor abutment", "pier", "dock abutment"]
    assert other.job.words.left == "gasworks"
    assert_same_bridge(oo_plan, other, swapped)


@pytest.mark.slow
def test_in_another_frame(oo_plan, derived):
    other = derived(oo.other_datum_text())
    raised = float(other.survey.value("P1.z").value)
    assert abs(float(other.survey.value("P2.x").value)) > 100.0
    assert_same_bridge(oo_plan, other, raised=raised)


@pytest.mark.parametrize(("at", "towards"), list(permutations(("P1", "P3", "P4", "P5"), 2)))
def test_any_pegs_may_be_the_datum(load, text, at, towards):
    old = 'at      = "P1"\ntowards = "P2"'
    job = load(text, (old, f'at      = "{at}"\ntowards = "{towards}"'))
    adjusted = adjust_survey(job.survey, job.inputs)
    assert adjusted.adjustment.chi_square < 1.5 * adjusted.adjustment.degrees_of_freedom
    x, y = (float(adjusted.value(f"{p}.{a}").value) for p, a in ((towards, "x"), (at, "y")))
    far = np.linalg.norm(np.subtract(oo.PEGS[at], oo.PEGS[towards]))
    assert (x, y) == (pytest.approx(far, abs=2.0), pytest.approx(0.0))

"""The laid line: exact marks give the exact line; few marks, no cant and missing marks are said."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from spanwright.alignment.given import TrackKind
from spanwright.alignment.line import track_point
from spanwright.alignment.plan_fit import AT_LENGTH, LENGTHS, STRENGTHS, Waviness, fit_plan, waviness_priors
from spanwright.alignment.stage import WAVINESS, align, mark_offset
from spanwright.errors import InputError
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Input
from spanwright.files.job_file import load_job
from spanwright.findings import Severity
from spanwright.geometry.chain import Chain, evaluate, nearest
from spanwright.survey.readings import Face, Mark, Rail
from spanwright.survey.stage import adjust_survey
from truth import demo


@pytest.fixture(scope="module")
def job():
    return load_job(Path(demo.SHIPPED).parent)


@pytest.fixture(scope="module")
def survey(job):
    return adjust_survey(job.survey, job.inputs)


def fitted(chain, stations, *, curves, noise=0.02, offsets=None, floor=0.05, fall=1.5):
    points, angle = evaluate(chain, stations)
    wanted = np.zeros(len(stations)) if offsets is None else offsets
    marks = points + wanted[:, None] * np.stack([-np.sin(angle), np.cos(angle)], axis=1)
    n = 2 * len(stations)
    jac = np.eye(n).reshape(len(stations), 2, n)
    return fit_plan(
        Derived(marks, jac),
        Derived(wanted, np.zeros((len(stations), n))),
        np.full(n, noise),
        curves=curves,
        waviness=Waviness(floor=floor, fall=fall),
    )


def sideways(fit, chain, low, high):
    s = np.linspace(low, high, 60)
    at, _ = evaluate(chain, s)
    foot = nearest(fit.chain, at)
    p, angle = evaluate(fit.chain, foot)
    return np.einsum("ni,ni->n", np.stack([-np.sin(angle), np.cos(angle)], axis=1), at - p)


def test_an_exact_arc_is_found_from_marks_on_both_rails():
    chain = Chain(
        start=(10.0, -5.0), heading=0.3, knots=np.array([0.0, 900.0]), curvature=np.full(2, 1 / 420.0)
    )
    stations = np.linspace(5.0, 895.0, 14)
    rails = np.where(np.arange(14) % 2, 4.5, -4.5)
    fit = fitted(chain, stations, curves=1, offsets=rails)
    assert np.max(np.abs(sideways(fit, chain, 5.0, 895.0))) < 0.05
    assert 1.0 / fit.chain.curvature[8:-8] == pytest.approx(420.0, rel=0.01)


def test_a_straight_line_is_straight():
    chain = Chain(start=(0.0, 0.0), heading=-0.2, knots=np.array([0.0, 800.0]), curvature=np.zeros(2))
    fit = fitted(chain, np.linspace(0.0, 800.0, 9), curves=0)
    assert np.max(np.abs(sideways(fit, chain, 0.0, 800.0))) < 0.01


def test_tangent_easement_arc_easement_tangent():
    knots = np.array([0.0, 200.0, 320.0, 700.0, 820.0, 1050.0])
    chain = Chain(start=(0.0, 0.0), heading=0.0, knots=knots, curvature=np.array([0, 0, 1, 1, 0, 0]) / -500.0)
    fit = fitted(chain, np.linspace(0.0, 1050.0, 19), curves=1)
    assert np.max(np.abs(sideways(fit, chain, 20.0, 1030.0))) < 0.12
    kappa, middle1, _, middle2, _ = fit.elements.value
    assert 1.0 / kappa == pytest.approx(-500.0, rel=0.02)
    assert [middle1, middle2] == pytest.approx([260.0, 760.0], abs=15.0)


def test_a_reverse_curve_is_two_curves():
    knots = np.array([0.0, 100.0, 180.0, 400.0, 560.0, 800.0, 880.0, 1000.0])
    kappa = np.array([0, 0, 1, 1, -1, -1, 0, 0]) / 450.0
    chain = Chain(start=(0.0, 0.0), heading=0.0, knots=knots, curvature=kappa)
    fit = fitted(chain, np.linspace(0.0, 1000.0, 19), curves=2)
    assert np.max(np.abs(sideways(fit, chain, 20.0, 980.0))) < 0.15
    assert fit.elements.value[0] > 0.0 > fit.elements.value[5]


def test_doubt_is_larger_between_marks_and_beyond_them_than_at_them():
    from spanwright.geometry.chain import sensitivities

    chain = Chain(
        start=(0.0, 0.0), heading=0.0, knots=np.array([0.0, 900.0]), curvature=np.full(2, 1 / 500.0)
    )
    stations = np.linspace(0.0, 900.0, 7)  # 150 mm apart: short waves are not seen
    fit = fitted(chain, stations, curves=1, noise=0.1)

    def doubt(s):
        by, _ = sensitivities(fit.chain, np.array([s]))
        _, angle = evaluate(fit.chain, np.array([s]))
        across = -np.sin(angle[0]) * by[0, 0] + np.cos(angle[0]) * by[0, 1]
        read = across @ fit.state.jac * 0.1
        return float(np.sqrt(np.sum(read**2) + np.sum((across @ fit.unseen) ** 2)))

    assert doubt(525.0) > doubt(450.0)
    assert doubt(0.0) > doubt(450.0)  # an end is held from one side only


def test_a_mark_says_how_far_it_lies_from_the_centre():
    gauge, head = (Derived(np.float64(v), np.zeros(1)) for v in (9.0, 0.6))

    def offset(rail, face=None, reach=0.0):
        mark = Mark(name="m", line="l", rail=rail, face=face, reach=reach)
        return float(mark_offset(mark, gauge, head).value)

    assert offset(Rail.LEFT, Face.INNER) == pytest.approx(4.5)
    assert offset(Rail.LEFT, Face.HEAD_CENTRE) == pytest.approx(4.8)
    assert offset(Rail.LEFT, Face.OUTER) == pytest.approx(5.1)
    assert offset(Rail.RIGHT, Face.OUTER) == pytest.approx(-5.1)
    assert offset(Rail.BOTH, reach=12.0) == pytest.approx(12.0)
    with pytest.raises(InputError, match="m: a mark on track must say its rail and face"):
        offset(Rail.LEFT)


def test_too_few_marks_are_refused(job, survey):
    short = tuple(replace(line, marks=line.marks[:2]) for line in job.lines)
    with pytest.raises(InputError, match=r"lower: a line needs three placed marks.*read 'a1, a2'"):
        align(short, survey, job.inputs)


def test_a_line_of_another_name_is_refused(job, survey):
    lines = align(job.lines, survey, job.inputs)
    with pytest.raises(InputError, match="no line of this name; read 'siding'; expected lower, upper"):
        lines.line("siding")


def test_a_higher_floor_believes_in_more_waviness():
    """Marks too far apart to see waves leave it to the floor how large they may be."""
    chain = Chain(start=(0.0, 0.0), heading=0.0, knots=np.array([0.0, 900.0]), curvature=np.zeros(2))

    def unseen(floor):
        fit = fitted(chain, np.linspace(0.0, 900.0, 4), curves=0, noise=0.5, floor=floor)
        return float(np.sqrt(np.mean(np.sum(fit.unseen[3:] ** 2, axis=1))))

    assert unseen(0.5) > 1.2 * unseen(0.05)
    floors = {kind: waviness.floor for kind, waviness in WAVINESS.items()}
    assert floors[TrackKind.SECTIONAL] < floors[TrackKind.FLEXIBLE] < floors[TrackKind.HAND_LAID]


def test_short_waves_are_weaker_as_the_spectrum_of_independent_bends_says():
    """Bend every millimetre of a line by itself: the rms of an octave of its waves grows as l to the 1.5."""
    rng = np.random.default_rng(20261201)
    n = 2**16
    turned = np.fft.rfft(rng.standard_normal(n))
    wave = 2.0 * np.pi * np.fft.rfftfreq(n)
    sideways = np.zeros_like(turned)
    sideways[1:] = turned[1:] / wave[1:] ** 2  # twice integrated

    def octave(length):
        inside = (wave > 2.0 / length / np.sqrt(2.0)) & (wave < 2.0 / length * np.sqrt(2.0))
        return float(np.sqrt(np.sum(np.abs(sideways[inside]) ** 2)))

    fall = WAVINESS[TrackKind.FLEXIBLE].fall
    for short, long in pairwise(LENGTHS):
        assert octave(long) / octave(short) == pytest.approx((long / short) ** fall, rel=0.1)


def test_the_waviness_of_each_length_has_the_strength_that_it_says():
    """The variance of the curvature of waves ``a^2 exp(-r^2 / 2 l^2)`` is ``3 a^2 / l^4``."""
    knots = np.linspace(0.0, 300.0, 10)
    for fall in (0.0, 1.5):
        covariances, _ = waviness_priors(knots, Waviness(floor=0.1, fall=fall))
        told = np.sqrt(covariances[:, 0, 0].reshape(len(STRENGTHS), len(LENGTHS)) / 3.0) * np.square(LENGTHS)
        for row, a in zip(told, STRENGTHS, strict=True):
            wanted = max(a, 0.1) * (np.array(LENGTHS) / AT_LENGTH) ** fall
            np.testing.assert_allclose(row, wanted, rtol=1e-12)


def test_hand_laid_track_may_have_short_waves_as_strong_as_long_ones():
    """Between marks 75 mm apart its throw is doubted more."""
    chain = Chain(start=(0.0, 0.0), heading=0.0, knots=np.array([0.0, 900.0]), curvature=np.zeros(2))

    def unseen(kind):
        waviness = WAVINESS[kind]
        fit = fitted(
            chain, np.linspace(0.0, 900.0, 13), curves=0, noise=0.3, floor=waviness.floor, fall=waviness.fall
        )
        return float(np.sqrt(np.mean(np.sum(fit.unseen[3:] ** 2, axis=1))))

    assert unseen(TrackKind.HAND_LAID) > 1.3 * unseen(TrackKind.FLEXIBLE)


def test_the_description_is_in_station_order_and_has_its_doubt(job, survey):
    for laid in align(job.lines, survey, job.inputs).lines:
        ends = [(s.start, s.end) for s in laid.description]
        assert all(a < b for a, b in ends)
        assert all(before[1] == pytest.approx(after[0]) for before, after in pairwise(ends))
        arcs = [s for s in laid.description if s.kind == "arc"]
        assert all(np.isfinite(s.radius) and s.radius_doubt > 0.0 for s in arcs)
    radius = {}
    for laid in align(job.lines, survey, job.inputs).lines:
        radius[laid.line.name] = next(s.radius for s in laid.description if s.kind == "arc")
    assert radius["upper"] == pytest.approx(381.0, rel=0.03)
    assert radius["lower"] == pytest.approx(620.0, rel=0.06)


def test_a_line_that_does_not_follow_its_marks_stops_the_job(job, survey):
    """A curve of the new job's sample that is said to be straight."""
    sample = load_job(Path(demo.SHIPPED).parents[1] / "templates" / "job.toml")
    straight = tuple(replace(x, curves=0) for x in sample.lines)
    lines = align(straight, adjust_survey(sample.survey, sample.inputs), sample.inputs)
    found = {f.where: f for f in lines.findings if f.code == "AL103"}
    assert "upper" in found
    assert found["upper"].severity is Severity.STOP
    assert "more curves" in found["upper"].remedy
    assert "upper" in lines.untrusted
    assert align(job.lines, survey, job.inputs).untrusted == ""


def test_a_slip_of_height_is_named_by_its_mark(job):
    x = job.inputs.values.copy()
    x[job.inputs.column("h21")] += 40.0
    wrong = job.inputs.with_values(x)
    adjusted = adjust_survey(job.survey, wrong)
    mark = next(r.marks[0] for r in job.survey.readings if r.id == "h21")
    found = [f for f in align(job.lines, adjusted, wrong).findings if f.code == "AL104"]
    assert any(mark in f.text for f in found)


def test_a_cant_that_no_track_has_is_refused(job):
    x = job.inputs.values.copy()
    for key in ("c07", "c08", "c09", "c10"):
        x[job.inputs.column(key)] = 20.0
    wrong = job.inputs.with_values(x)
    with pytest.raises(
        InputError, match=r"upper: one rail would stand far above the other; read '\d+\.\d mm'"
    ):
        align(job.lines, adjust_survey(job.survey, wrong), wrong)


def _without_cross_levels(job, line, *, both_rails=False):
    """The demo without the cross levels of one line; its marks on both rails in turn if wanted."""
    names = {m.name for m in job.survey.marks if m.line == line}
    readings = tuple(r for r in job.survey.readings if not (r.id[0] == "c" and r.marks[0] in names))
    marks = job.survey.marks
    if both_rails:
        order = [m.name for m in marks if m.line == line]
        marks = tuple(
            replace(m, rail=Rail.LEFT if order.index(m.name) % 2 else Rail.RIGHT) if m.line == line else m
            for m in marks
        )
    return replace(job.survey, readings=readings, marks=marks)


def test_cant_from_marks_on_both_rails_has_a_doubt(job):
    """Nothing but heights of both rails in turn: a cant, and a doubt as large as levels make it."""
    given = _without_cross_levels(job, "upper", both_rails=True)
    lines = align(job.lines, adjust_survey(given, job.inputs), job.inputs)
    doubt = lines.line("upper").cant.sd(lines.inputs.sds)
    assert np.all(doubt > 0.1)


def test_an_assumed_cant_leaves_the_measured_rail_alone(job):
    """The rail that was levelled keeps its doubt; the other has that of the assumed cant on top."""
    given = _without_cross_levels(job, "upper")
    assumed = Input(id="assumed", value=0.0, sd=0.6, unit="mm", label="", kind="size")
    inputs = job.inputs.extended((assumed,))
    entries = tuple(replace(x, cant_assumed="assumed" if x.name == "upper" else "") for x in job.lines)
    lines = align(entries, adjust_survey(given, inputs), inputs)
    t = track_point(lines.line("upper"), np.array([420.0]))
    column = lines.inputs.column("assumed")
    # marks are on the inner face of the right (wall) rail: offset -gauge/2, heads (gauge + head) apart
    lever = -0.5 * 9.033 / (9.033 + 0.62)
    measured = t.z - t.cant * lever
    other = t.z + t.cant * lever
    assert abs(measured.jac[0, column]) < 1e-3
    assert abs(other.jac[0, column]) == pytest.approx(2.0 * abs(lever), abs=2e-3)

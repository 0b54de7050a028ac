"""A job in millimetres: easement, cant and grade on a laid line over a designed one, against its truth."""

from dataclasses import replace

import numpy as np
import pytest
from job_checks import (
    assert_replays,
    assert_within,
    gap_of,
    line_errors,
    seats_by_hand,
    separation,
    swapped,
    wrapped,
)

from spanwright.alignment.line import cant_at, grade_at, track_point
from spanwright.errors import InputError
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.structures.given import CapForm
from truth import h0

ROLL = np.radians(0.3)  # running play of the coach


def test_the_file_is_the_generators():
    assert h0.FILE.read_text(encoding="utf-8") == h0.file_text()


# ---------------------------------------------------------------- against the truth


@pytest.mark.slow
@pytest.mark.parametrize("name", ["upper", "lower"])
def test_lines_agree_with_the_truth(h0_plan, name):
    upper, lower = h0.upper_track(), h0.lower_track()
    s, q, _ = h0.crossing(upper, lower)
    track, at = (upper, s) if name == "upper" else (lower, q)
    for what, (error, u) in line_errors(h0_plan, name, track, at).items():
        if name == "lower":  # a design is what it says it is
            assert np.all(np.abs(error) < 1e-4), what
        else:
            assert_within(error, u)
        assert np.all(u < 0.6), what


@pytest.mark.slow
def test_cant_and_grade_are_found(h0_plan):
    upper = h0_plan.alignment.line("upper")
    at = float(h0_plan.alignment.crossings[0].centre.upper_station.value)
    assert cant_at(upper, at)[0] == pytest.approx(1.0, abs=0.1)
    assert cant_at(upper, 2.0)[0] == pytest.approx(0.0, abs=0.1)
    assert float(np.mean(grade_at(upper, np.linspace(at - 150.0, at + 150.0, 61)))) == pytest.approx(
        0.016, abs=0.001
    )


@pytest.mark.slow
def test_crossing_agrees_with_the_truth(h0_plan):
    upper, lower = h0.upper_track(), h0.lower_track()
    s, q, angle = h0.crossing(upper, lower)
    value, u, crossing = separation(h0_plan)
    assert crossing.surveyed
    assert_within(value - float(upper.height(s) - lower.height(q)), u)
    assert_within(wrapped(float(crossing.angle.value) - angle), float(crossing.angle.sd(h0_plan.inputs.sds)))


# ---------------------------------------------------------------- bridge


@pytest.mark.slow
def test_the_same_choices_give_the_same_plan(h0_plan):
    assert_replays(h0_plan)


@pytest.mark.slow
def test_seats_by_hand(h0_plan):
    layers = {"rail": 2.09, "tie": 2.22, "dap": 0.2, "shoe": 2.41}
    for span, depths in zip(h0_plan.structures.spans, ((17.975, 17.9), (18.05, 18.05)), strict=True):
        hand = seats_by_hand(h0_plan, span, depths=depths, **layers)
        assert [float(b.seat.value) for b in span.heights.bearings] == pytest.approx(list(hand), abs=1e-6)


@pytest.mark.slow
def test_the_first_span_rocks_on_the_run_in_of_the_cant(h0_plan):
    upper = h0.upper_track()
    rocks = []
    for span in h0_plan.structures.spans:
        heights = []
        for b in span.heights.bearings:
            s, left = upper.lateral(np.array([float(b.x.value), float(b.y.value)]))
            heights.append(upper.height(s) - upper.cant(s) * left / (h0.GAUGE + h0.HEAD))
        true = heights[0] - heights[1] - heights[2] + heights[3]
        found = span.heights.rocks_by
        assert_within(float(found.value) - true, float(found.sd(h0_plan.inputs.sds)))
        rocks.append(abs(float(found.value)))
    assert rocks[0] > 0.1 > rocks[1]
    assert [f.where for f in h0_plan.findings if f.code == "ST101"] == ["east span"]


@pytest.mark.slow
def test_the_cap_of_the_bent_is_level_with_the_girders(h0_plan):
    bent = h0_plan.structures.supports[1]
    assert bent.given.form is CapForm.LEVEL
    tops = [float(b.girder_top.value) for b in h0_plan.structures.bearings if b.support == "bent"]
    lowest = min(tops)
    for cut, footing in zip(bent.cuts, (2.0, 2.0), strict=True):
        top = float(cut.base.value) + footing + cut.length + 12.0
        # low by the doubt and the thinnest packing, and no more than the packing layer takes up
        assert lowest - 3.0 < top < lowest - 0.25
    for seat in bent.seats:
        top = next(float(b.girder_top.value) for b in h0_plan.structures.bearings if b.id == seat.bearing)
        # the ties hang below the girder tops by the dap: the cap stays under them
        assert float(seat.packing.value) == pytest.approx(top - 0.2 - float(bent.cap_top.value), abs=0.1)
        assert seat.edge is None
    columns = [np.array([float(c.value[0]), float(c.value[1])]) for c in bent.footprint.columns]
    assert np.linalg.norm(columns[0] - columns[1]) == pytest.approx(27.0 + 26.0 + 6.0)


# ---------------------------------------------------------------- gaps


def inside_throw_gap(offset, handrail_end, *, pitch, cant):
    """Least gap of the coach to a straight handrail inside an arc of 600 mm, by circles alone.

    The span's axis lies half the middle ordinate of its pitch outside the track's chord; the handrail's
    end is the place farthest from the centre of the arc; the coach's side is nearest to the centre midway
    between its trucks, and leans inward by cant and play at the height of the handrail's top.
    """
    radius, trucks, half_width = 600.0, 170.0, 15.8
    axis = radius - 0.5 * (radius - np.sqrt(radius**2 - (0.5 * pitch) ** 2))
    end = np.hypot(axis - offset, handrail_end)
    lean = np.arcsin(cant / (h0.GAUGE + h0.HEAD)) + ROLL
    top = 12.0 - 2.09  # of the handrail above the rail heads
    up = (top + half_width * np.sin(lean)) / np.cos(lean)
    side = np.sqrt(radius**2 - (0.5 * trucks) ** 2) - (half_width * np.cos(lean) + up * np.sin(lean) + 0.3)
    return side - end


@pytest.mark.slow
@pytest.mark.parametrize(("span", "offset", "length"), [(0, 30.5, 150.0), (1, 28.2, 165.0)])
def test_inside_throw_against_the_handrail(h0_plan, span, offset, length):
    fitted = h0_plan.structures.spans[span]
    name = fitted.axis.given.name
    gap = gap_of(h0_plan, "long coach", f"{name}/handrail left", line="upper")
    # in the frame of the canted track: the deck and its handrail lean as the train does, but for its play
    # each span slides away from the bent; the east one's far end lies in the easement, where the throw is
    # less, so that its end at the bent is the close one
    end = 0.5 * length + (-1.0 if span == 0 else 1.0) * abs(fitted.axis.slide)
    hand = inside_throw_gap(offset, end, pitch=float(fitted.axis.pitch.value), cant=0.0)
    assert float(gap.gap.value) == pytest.approx(hand, abs=0.5)  # the truth's waves, the easement
    assert gap.side == "left"
    short = gap_of(h0_plan, "ore wagon", f"{name}/handrail left", line="upper")
    assert float(short.gap.value) > float(gap.gap.value) + 3.0  # less throw


@pytest.mark.slow
def test_only_trains_of_the_upper_line_meet_the_handrail(h0_plan):
    beside = [g for g in h0_plan.clearance.gaps if "handrail" in g.part]
    assert {g.line for g in beside} == {"upper"}
    assert {g.part for g in beside} == {"east span/handrail left", "west span/handrail left"}


@pytest.mark.slow
def test_verdicts_are_sensible(h0_plan):
    assert (h0_plan.job.clearance.margin_side, h0_plan.job.clearance.margin_above) == (2.8, 3.7)
    words = {
        ("upper", "long coach", "east span/handrail left"): Verdict.CLEAR,
        ("upper", "long coach", "west span/handrail left"): Verdict.TIGHT,
        ("lower", "tall wagon", "east span/girder left"): Verdict.FOUL,
        ("lower", "tall wagon", "west span/girder left"): Verdict.TIGHT,
        ("lower", "long coach", "bent/column left"): Verdict.CLEAR,
        ("lower", "long coach", "bent/cap"): Verdict.CLEAR,
    }
    for (line, vehicle, part), word in words.items():
        assert gap_of(h0_plan, vehicle, part, line).verdict is word, part
    stops = [f.where for f in h0_plan.findings if f.code == "CL101"]
    assert stops == ["clearance/lower/tall wagon/east span/girder left"]
    foul = gap_of(h0_plan, "tall wagon", "east span/girder left")
    assert foul.travel == "up"


@pytest.mark.slow
def test_the_lower_line_designed_from_its_other_end(h0_plan, load):
    """The same rails; but a bridge needs both lines listed the same way, or sides would mean two things."""
    job = load(h0.other_way_text())
    other = derive(replace(job, structures=None, clearance=None)).alignment.crossings[0]
    crossing = h0_plan.alignment.crossings[0]
    assert abs(wrapped(float((other.angle - crossing.angle).value))) == pytest.approx(np.pi, abs=1e-5)
    ours = {(r.upper_rail, r.lower_rail): r.separation for r in crossing.rails}
    for r in other.rails:
        same_rail = ours[r.upper_rail, swapped(r.lower_rail)]
        assert float(r.separation.value) == pytest.approx(float(same_rail.value), abs=1e-4)
        n = len(h0_plan.inputs)
        assert float(r.separation.sd(h0_plan.inputs.sds)) == pytest.approx(
            float(same_rail.padded(n).sd(h0_plan.inputs.sds)), rel=0.01
        )
    with pytest.raises(InputError, match="opposite directions") as caught:
        derive(replace(job, clearance=None))
    assert caught.value.code == "ST012"


@pytest.mark.slow
def test_the_doubt_of_the_cant_covers_its_corners(load):
    """Between cross levels too, where the ramp of the cant begins and ends."""
    job = load(h0.file_text())
    upper = h0.upper_track()
    survey = h0.make_survey(upper)
    s = np.arange(0.0, 700.0, 20.0)
    inside = []
    for seed in range(16):
        shown = survey.draw(np.random.default_rng([seed, 11]), h0.TAPE_SCALE)
        values = np.array([shown.get(item.id, item.value) for item in job.inputs.items])
        lines = derive(
            replace(job, inputs=job.inputs.with_values(values), structures=None, clearance=None)
        ).alignment
        cant = track_point(lines.line("upper"), s).cant
        true = upper.cant(s + h0.UPPER_AT[0])  # stations start at the first mark
        inside.append(np.abs(cant.value - true) < 1.96 * cant.sd(lines.inputs.sds))
    assert np.mean(inside) > 0.9  # readings of one draw are not independent

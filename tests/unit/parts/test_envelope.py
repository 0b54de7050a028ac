"""The swept envelope in a plane against closed forms and against the search in space."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from clearance_scenes import NARROW_BELOW, RECTANGLE, box, car, curved_line, make_line

from spanwright.clearance.given import ClearanceInput, Run
from spanwright.clearance.stage import assess
from spanwright.clearance.vehicles import Play
from spanwright.errors import InputError
from spanwright.parts.envelope import (
    bands,
    grown,
    half_profile,
    in_plane,
    outermost,
    section_envelope,
    shape_section,
    track_plane,
)

RADIUS, SPACING, LENGTH, HALF = 600.0, 160.0, 230.0, 18.0


def straight(**changes):
    return make_line(**({"knots": [0.0, 1000.0], "curvature": [0.0, 0.0]} | changes))


def arc(sense=1.0, **changes):
    return make_line(
        **({"knots": np.linspace(0.0, 1200.0, 61), "curvature": np.full(61, sense / RADIUS)} | changes)
    )


def test_on_straight_track_a_box_sweeps_its_own_section_grown_by_sideways_play():
    swept = section_envelope(straight(), (car(play=Play(lateral=0.4)),), 500.0)
    assert swept.region.bounds == pytest.approx((-18.4, 1.0, 18.4, 50.0), abs=1e-6)
    assert swept.region.area == pytest.approx(36.8 * 49.0, rel=1e-6)


def test_rocking_lifts_the_far_corner_and_pushes_the_near_one_out():
    turn = np.radians(1.0)
    swept = section_envelope(straight(), (car(play=Play(roll=turn)),), 500.0).region
    c, s = np.cos(turn), np.sin(turn)
    assert swept.bounds[3] == pytest.approx(50.0 * c + 18.0 * s, abs=1e-3)
    assert swept.bounds[2] == pytest.approx(18.0 * c + 50.0 * s, abs=1e-3)


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("wheelbase", [0.0, 22.0])
def test_throw_on_an_arc_is_the_closed_form(sense, wheelbase):
    """A body with its pivots on an arc lies along a chord, whose distance from the centre is a leg.

    A truck's centre is midway between its outer axles, so it stands on a smaller arc.
    """
    pivot = np.sqrt(RADIUS**2 - (0.5 * wheelbase) ** 2)
    axis = np.sqrt(pivot**2 - (0.5 * SPACING) ** 2)
    inside = RADIUS - (axis - HALF)
    outside = np.hypot(axis + HALF, 0.5 * LENGTH) - RADIUS
    swept = section_envelope(arc(sense), (car(wheelbase=wheelbase),), 600.0)
    towards, away = ("left", "right") if sense > 0 else ("right", "left")
    height = np.array([25.0])
    # wheelbase: axles are set out in station, so their chord is short of the wheelbase by a few microns
    assert outermost(swept.region, height, towards) == pytest.approx(inside, abs=0.003)
    assert outermost(swept.region, height, away) == pytest.approx(outside, abs=0.003)


def test_the_lean_of_the_cant_is_in_the_frame():
    cant, height = 1.65, 50.0
    flat = section_envelope(straight(), (car(),), 500.0)
    canted = section_envelope(straight(cant=[cant]), (car(),), 500.0)
    assert canted.region.bounds == pytest.approx(flat.region.bounds, abs=1e-6)
    plane = canted.plane
    top = plane.origin + height * plane.axes[2]
    assert top[1] == pytest.approx(height * cant / 16.5)  # the right rail is up, so it leans to the left
    assert in_plane(plane, top) == pytest.approx([0.0, 0.0, height])


@pytest.mark.parametrize("station", [180.0, 260.0, 330.0, 405.0, 600.0, 905.0])
def test_poses_are_dense_enough_in_easements_cant_and_grade(station):
    vehicle = (car(section=NARROW_BELOW, play=Play(lateral=0.3, roll=0.005)),)
    coarse = section_envelope(curved_line(), vehicle, station).region
    fine = section_envelope(curved_line(), vehicle, station, step=0.25).region
    heights = np.arange(1.5, 55.0, 0.37)
    for side in ("left", "right"):
        assert outermost(coarse, heights, side) == pytest.approx(outermost(fine, heights, side), abs=0.005)
    assert coarse.bounds[3] == pytest.approx(fine.bounds[3], abs=0.005)


def test_a_plane_square_to_the_track_is_square_to_its_grade_too():
    plane = track_plane(straight(grade_knots=[0, 1000], profile=[10.0, 0.03, 0.03]), 500.0)
    assert plane.axes @ plane.axes.T == pytest.approx(np.eye(3))
    assert plane.axes[0] == pytest.approx(np.array([1.0, 0.0, 0.03]) / np.hypot(1.0, 0.03))
    assert plane.origin == pytest.approx([500.0, 0.0, 25.0])


def test_poses_beyond_the_survey_are_said():
    line = straight(surveyed=(0.0, 1000.0))
    assert section_envelope(line, (car(),), 500.0).surveyed
    assert not section_envelope(line, (car(),), 150.0).surveyed  # the trailing truck at 150 - 115 - 80
    assert section_envelope(line, (car(),), 200.0).surveyed


def test_no_vehicle_is_refused():
    with pytest.raises(InputError, match="no train runs on this line") as told:
        section_envelope(straight(), (), 500.0)
    assert told.value.code == "PA020"


@pytest.fixture(scope="module")
def carrier(demo_job):
    run = next(r for r in demo_job.clearance.runs if r.vehicle.name == "three-deck car carrier")
    return Run(line="lower", vehicle=run.vehicle)


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_gap_in_the_planes_of_a_column_is_the_gap_in_space(demo_plan, carrier, side):
    """The search in space knows nothing of planes; a column's least distance lies in one of its planes."""
    column = next(s for s in demo_plan.structures.shapes if s.part == f"bent/column {side}")
    line = demo_plan.alignment.line("lower")
    asked = ClearanceInput(runs=(carrier,), margin_side=1.5, margin_above=1.5)
    found = assess(demo_plan.inputs, {"lower": line}, (column,), asked).gaps[0]
    middle = demo_plan.structures.choices.lower_station
    gaps = []
    for s in np.linspace(middle - 2.49, middle + 2.49, 7):  # the column is 5 mm deep
        swept = section_envelope(line, (carrier.vehicle,), float(s))
        gaps.append(swept.region.distance(shape_section(column, swept.plane)))
    assert min(gaps) == pytest.approx(float(found.gap.value), abs=0.02)


def polygon(*corners):
    return shapely.Polygon(corners)


def test_a_half_profile_keeps_hollows_and_goes_to_the_centre_where_nothing_is():
    low = polygon((-5, 1), (6, 1), (6, 3), (2, 3), (2, 4), (4, 6), (-5, 6))
    high = polygon((-3, 8), (3, 8), (3, 9), (-3, 9))
    found = half_profile(shapely.union_all([low, high]), "left")
    assert found == pytest.approx(
        np.array([(6, 1), (6, 3), (2, 3), (2, 4), (4, 6), (0, 6), (0, 8), (3, 8), (3, 9)]), abs=1e-9
    )
    assert half_profile(low, "right") == pytest.approx(np.array([(5, 1), (5, 6)]), abs=1e-9)


def test_outermost_by_hand():
    area = polygon((-5, 1), (6, 1), (6, 3), (2, 3), (2, 4), (4, 6), (-5, 6))
    heights = np.array([0.5, 2.0, 3.5, 5.0, 6.0])
    assert outermost(area, heights, "left") == pytest.approx([-np.inf, 6.0, 2.0, 3.0, 4.0])


def test_bands_name_the_outermost_vehicle():
    wide = replace(car(section=np.array([[-20.0, 2], [20, 2], [20, 10], [-20, 10]])), id="wide", name="wide")
    tall = replace(car(section=np.array([[-10.0, 2], [10, 2], [10, 40], [-10, 40]])), id="tall", name="tall")
    found = bands(section_envelope(straight(), (tall, wide), 500.0), "right")
    assert [b.vehicle for b in found] == ["wide", "tall"]
    assert (found[0].low, found[0].high) == pytest.approx((2.0, 10.0), abs=0.5)
    assert found[1].high == pytest.approx(40.0, abs=0.01)


def test_margins_move_an_area_sideways_and_up_not_down():
    assert grown(shapely.box(-4, 1, 4, 10), 1.5, 2.0).bounds == pytest.approx((-5.5, 1.0, 5.5, 12.0))
    roof = polygon((-4, 1), (4, 1), (0, 5))
    assert grown(roof, 1.0, 2.0).symmetric_difference(
        polygon((-5, 1), (5, 1), (5, 3), (1, 7), (-1, 7), (-5, 3))
    ).area == pytest.approx(0.0, abs=1e-3)


def test_a_finished_part_is_cut_where_it_stands():
    plane = track_plane(straight(cant=[0.0]), 500.0)
    cut = shape_section(box("post", (501.0, 30.0, 20.0), (6.0, 4.0, 40.0)), plane)
    assert cut.bounds == pytest.approx((28.0, 0.0, 32.0, 40.0))
    assert shape_section(box("post", (510.0, 30.0, 20.0), (6.0, 4.0, 40.0)), plane).is_empty


def test_a_whole_rectangle_is_its_own_profile():
    assert half_profile(shapely.Polygon(RECTANGLE), "left") == pytest.approx(np.array([(18, 1), (18, 50)]))

"""Gaps of parts to a gauge along a line: closed forms, and cuts of the parts at many stations."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from clearance_scenes import box, curved_line, make_line, mesh
from derived_scenes import PLACES, build_box, line_of, make_inputs, scene, shapes_of
from shapely.affinity import translate

from spanwright.alignment import line as al
from spanwright.clearance.gauges import gaps as gaps_module
from spanwright.clearance.gauges import track_frame
from spanwright.clearance.gauges.gaps import gauge_gaps
from spanwright.clearance.gauges.given import Gauge, GaugeOf, Widening
from spanwright.clearance.gauges.overlay import gauge_findings, lay_gauges
from spanwright.clearance.gauges.track_frame import in_track
from spanwright.clearance.gauges.widened import printed, widening_along
from spanwright.clearance.given import Run
from spanwright.clearance.stage import assess
from spanwright.errors import InputError, NotConvergedError
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Severity
from spanwright.geometry.mesh_cut import cut_mesh
from spanwright.structures.shapes import build_shape

NOTHING = Inputs(items=())
STEPPED = np.array(  # narrow foot, straight sides, sloping shoulders
    [[-21, 0], [21, 0], [21, 11], [24, 11], [24, 45], [16, 59], [-16, 59], [-24, 45], [-24, 11], [-21, 11]],
    dtype=float,
)
NOTCHED = np.array(  # a notch from above, as for a beam along the track, and a one-sided step
    [[-22, 0], [24, 0], [24, 50], [6, 50], [6, 35], [-6, 35], [-6, 50], [-18, 50], [-18, 20], [-22, 20]],
    dtype=float,
)
WIDER = Widening(
    name="a table",
    radii=[550, 600, 700, 1000],
    each_side=[10, 9, 7, 4],
    full_for=49.5,
    gone_after=231,
)


def straight(**changes):
    return make_line(**({"knots": [0.0, 1000.0], "curvature": [0.0, 0.0]} | changes))


def one(line, polygon, shape, widening=None, **options):
    gauge = Gauge(id="gauge", polygon=polygon, widening=widening)
    (gap,) = gauge_gaps(line, gauge, (shape,), NOTHING, **options)
    return gap


@pytest.mark.parametrize(
    ("centre", "gap", "side"),
    [
        ((500, 0, 70), 6.0, "above"),  # its soffit at 65 over a top at 59
        ((500, 40, 30), 6.0, "left"),  # its face at 30 beside a side at 24
        ((500, -41, 30), 7.0, "right"),
        ((500, 36, 4), 9.0, "left"),  # beside the foot at 21, below the step: 1 mm under it all the same
        ((500, 39, 74), None, "left"),  # diagonal to the shoulder
        ((500, 0, -10), 5.0, "below"),
    ],
)
def test_on_straight_track_the_gap_is_that_of_the_drawing(centre, gap, side):
    shape = box("p", centre, (20, 20, 10))
    if centre == (500, 36, 4):
        gap = float(np.hypot(2.0, 2.0))  # corner of the part at (26, 9), corner of the gauge at (24, 11)
    if gap is None:
        section = shapely.box(29, 69, 49, 79)
        gap = section.distance(shapely.Polygon(STEPPED))
    found = one(straight(), STEPPED, shape)
    assert float(found.gap.value) == pytest.approx(gap, abs=0.011)
    assert found.side == side
    assert not found.is_inside
    assert found.surveyed
    assert found.id == "gauge/gauge/lower/p"


def test_inside_the_gap_is_the_depth_of_the_deepest_point():
    found = one(straight(), STEPPED, box("p", (500, 30, 30), (20, 20, 10)))
    assert found.is_inside
    assert float(found.gap.value) == pytest.approx(-4.0, abs=0.011)  # its face at 20, the side at 24


def test_a_part_in_a_notch_is_outside():
    found = one(straight(), NOTCHED, box("beam", (500, 0, 46), (300, 8, 10)))
    assert float(found.gap.value) == pytest.approx(2.0, abs=0.011)  # 4 to each side of 6: nearer than 41 - 35


def test_the_gauge_leans_with_the_cant():
    lean = 1.65 / 16.5  # sine of the roll: right rail up, so the top goes left
    line = straight(cant=[1.65])
    found = one(line, STEPPED, box("post", (500, 40, 30), (20, 20, 80)))
    cosine = np.sqrt(1 - lean**2)
    turned = shapely.Polygon(STEPPED @ np.array([[cosine, -lean], [lean, cosine]]))
    assert float(found.gap.value) == pytest.approx(shapely.box(30, -10, 50, 70).distance(turned), abs=0.011)
    assert float(found.gap.value) < 5.0  # upright it would be 6


def test_on_an_arc_the_gap_is_radial_and_the_widening_counts_on_both_sides():
    radius = 600.0
    line = make_line(knots=[0.0, 900.0], curvature=[1 / radius] * 2)
    middle = np.array([0.0, radius])
    for side, reach in (("left", radius - 45.0), ("right", radius + 45.0)):
        turn = 450.0 / radius
        place = middle + reach * np.array([np.sin(turn), -np.cos(turn)])
        shape = box("post", (*place, 30.0), (0.02, 0.02, 60), angle=turn)
        plain = one(line, STEPPED, shape)
        wide = one(line, STEPPED, shape, WIDER)
        assert float(plain.gap.value) == pytest.approx(21.0, abs=0.03)
        assert float(wide.gap.value) == pytest.approx(12.0, abs=0.03)  # 9 mm at a radius of 600
        assert (wide.side, wide.each_side) == (side, pytest.approx(9.0, abs=1e-6))
        assert wide.station == pytest.approx(450.0, abs=0.1)


# ---------------------------------------------------------------- brute force


def section_at(line, shape, s):
    """The part cut by the plane square to the track: written from the definition, not from the code."""
    (x, y), heading = (v[0] for v in al.position_at(line, np.array([s])))
    z, grade = al.height_at(line, np.array([s]))[0], al.grade_at(line, np.array([s]))[0]
    roll = al.roll_at(line, np.array([s]))[0]
    forward = np.array([np.cos(heading), np.sin(heading), grade]) / np.hypot(1, grade)
    left = np.array([-np.sin(heading), np.cos(heading), 0.0])
    up = np.cross(forward, left)
    axes = np.array(
        [forward, np.cos(roll) * left + np.sin(roll) * up, np.cos(roll) * up - np.sin(roll) * left]
    )
    return cut_mesh((shape.vertices - [x, y, z]) @ axes.T, shape.triangles)


def gauge_at(polygon, each):
    """The widened profile, its halves pulled apart and the middle filled."""
    whole = shapely.Polygon(polygon)
    halves = [
        translate(
            shapely.intersection(whole, shapely.box(min(0, s) * 500, -500, max(0, s) * 500, 500)), s * each
        )
        for s in (1.0, -1.0)
    ]
    middle = []
    if each > 0:
        at_centre = shapely.intersection(whole, shapely.LineString([(0, -500), (0, 500)]))
        for part in shapely.get_parts(at_centre):
            low, high = part.bounds[1], part.bounds[3]
            middle.append(shapely.box(-each, low, each, high))
    return shapely.union_all([*halves, *middle])


def signed(section, profile):
    if section.is_empty:
        return np.inf
    if not section.intersects(profile):
        return section.distance(profile)
    rim = shapely.segmentize(section.boundary, 0.02)
    inside = [p for p in shapely.points(shapely.get_coordinates(rim)) if profile.contains(p)]
    return -max((profile.exterior.distance(p) for p in inside), default=0.0)


def brute(line, polygon, shape, widening):
    along = widening_along(line, Gauge(id="g", polygon=polygon, widening=widening), (-100.0, 1300.0))

    def at(s):
        return signed(section_at(line, shape, s), gauge_at(polygon, float(along.at(np.array([s]))[0])))

    near = al.nearest_station(line, shape.vertices[:, :2])
    ends = [s for v in near for s in (v - 1e-4, v + 1e-4)]  # corners: the section jumps there
    grid = np.concatenate([np.arange(near.min() - 2, near.max() + 2, 2.0), ends])
    values = np.array([at(s) for s in grid])
    for reach, step in ((2.0, 0.2), (0.2, 0.02), (0.02, 0.002)):  # a part across the track changes fast
        places = []  # the best places that lie apart
        for s in grid[np.argsort(values)]:
            if len(places) < 5 and all(abs(s - other) > reach for other in places):
                places.append(s)
        grid = np.unique(np.concatenate([places, *(s + np.arange(-reach, reach, step) for s in places)]))
        values = np.array([at(s) for s in grid])
    return float(values.min())


def scenes():
    rng = np.random.default_rng(20261125)
    kinds = [STEPPED, NOTCHED]
    for k in range(10):
        station, aside = rng.uniform(150, 1050), rng.choice([-1, 1]) * rng.uniform(10, 55)
        height = rng.uniform(0, 75)
        size = rng.uniform([4, 4, 4], [120, 20, 40])
        yield pytest.param(
            kinds[k % 2],
            None if k % 2 else WIDER,
            (station, aside, height),
            size,
            (rng.uniform(-1.5, 1.5), rng.uniform(-0.4, 0.4)),
            id=f"scene {k}",
        )


@pytest.mark.parametrize(("polygon", "widening", "place", "size", "turns"), list(scenes()))
def test_gaps_are_those_of_cuts_at_many_stations(polygon, widening, place, size, turns):
    line = curved_line()
    (x, y), heading = (v[0] for v in al.position_at(line, np.array([place[0]])))
    z = al.height_at(line, np.array([place[0]]))[0] + place[2]
    centre = (x - place[1] * np.sin(heading), y + place[1] * np.cos(heading), z)
    shape = box("p", centre, size, angle=heading + turns[0], tilt=turns[1])
    found = one(line, polygon, shape, widening, reach=60.0)
    wanted = brute(line, polygon, shape, widening)
    assert float(found.gap.value) == pytest.approx(wanted, abs=0.02)
    assert found.is_inside == (wanted < -0.02) or abs(wanted) < 0.02


# ---------------------------------------------------------------- the rest


def test_points_come_back_from_track_coordinates():
    line = curved_line()
    s, y, z = (
        np.array([120.0, 330.0, 610.0, 1190.0]),
        np.array([20.0, -30.0, 12.0, 5.0]),
        np.array([0.0, 9, 50, 70]),
    )
    (plan, heading), height = al.position_at(line, s), al.height_at(line, s)
    roll, grade = al.roll_at(line, s), al.grade_at(line, s)
    level, above = y * np.cos(roll) - z * np.sin(roll), y * np.sin(roll) + z * np.cos(roll)
    back = above * grade / np.hypot(1, grade)  # square to the grade, so a high point lies back
    points = np.column_stack(
        [
            plan[:, 0] - level * np.sin(heading) - back * np.cos(heading),
            plan[:, 1] + level * np.cos(heading) - back * np.sin(heading),
            height + above / np.hypot(1, grade),
        ]
    )
    found = in_track(line, points, [*s, 4.0, -6.0, 5.0, -3.0])
    assert found == pytest.approx(np.column_stack([s, y, z]), abs=1e-6)


def test_a_section_that_is_not_found_is_said(monkeypatch):
    monkeypatch.setattr(track_frame, "_ROUNDS", 1)
    line = make_line(knots=[0.0, 900.0], curvature=[1 / 600.0] * 2)
    with pytest.raises(NotConvergedError, match="no section of the track"):
        in_track(line, np.array([[0.0, 40.0, 0.0]]), np.array([450.0]))


def test_a_line_that_passes_a_part_twice_is_looked_at_twice():
    radius = 300.0
    turn = 2 * np.pi * radius
    line = make_line(
        knots=[0.0, 1.2 * turn],
        curvature=[1 / radius] * 2,
        grade_knots=[0.0, 1.2 * turn],
        profile=[0.0, 70.0 / turn, 70.0 / turn],
    )
    low = 0.1 * turn
    (x, y), height = al.position_at(line, np.array([low]))[0][0], al.height_at(line, np.array([low]))[0]
    shape = box("slab", (x, y, height + 57.0), (10, 10, 4))  # 11 mm under the upper rails, 55 over the lower
    found = one(line, STEPPED, shape)
    assert found.is_inside
    assert found.station == pytest.approx(low, abs=12.0)
    # its soffit is 55 above the rail in the middle; the corner up the grade of 3.7 per cent lies lower to it
    reach = 5.0 * (abs(np.cos(0.2 * np.pi)) + abs(np.sin(0.2 * np.pi)))
    assert float(found.gap.value) == pytest.approx(-4.0 - reach * 70.0 / turn, abs=0.05)


def test_beyond_reach_and_beyond_the_survey():
    far = one(straight(), STEPPED, box("far", (500, 90, 30), (20, 20, 10)))
    assert (far.beyond_reach, far.is_inside, float(far.gap.value)) == (True, False, 25.0)
    past = one(straight(), STEPPED, box("past", (1050, 40, 30), (20, 20, 10)))
    assert float(past.gap.value) == pytest.approx(6.0, abs=0.011)
    assert not past.surveyed


def test_the_derivatives_are_those_of_the_gap(monkeypatch):
    monkeypatch.setattr(gaps_module, "TOLERANCE", 1e-7)  # differences need the gap itself to be exact
    places = {"post": (620.0, 125.0, 30.0, 20.0, 8.0, 0.4)}
    line = curved_line()
    inputs = make_inputs(line, places)
    columns = [inputs.column(f"post {k}") for k in range(6)]
    triangles = box("b", (0, 0, 0), (1, 1, 1)).triangles

    def gap(values):
        moved = inputs.with_values(values)
        controls = Derived(moved.values[columns], np.eye(len(moved))[columns])
        shape = build_shape("post", lambda c: np.array(build_box(c)), triangles, controls)
        gauge = Gauge(id="g", polygon=STEPPED)
        return gauge_gaps(line_of(moved, line), gauge, (shape,), moved)[0]

    base = gap(inputs.values)
    assert 0.0 < float(base.gap.value) < 25.0
    assert base.u == pytest.approx(float(np.sqrt(np.sum((base.gap.jac * inputs.sds) ** 2))))
    for column in range(len(inputs)):
        step = 0.05 * inputs.sds[column]
        ends = []
        for sign in (1.0, -1.0):
            values = np.array(inputs.values)
            values[column] += sign * step
            ends.append(float(gap(values).gap.value))
        wanted = (ends[0] - ends[1]) / (2 * step)
        scale = inputs.sds[column]
        assert base.gap.jac[column] * scale == pytest.approx(wanted * scale, abs=2e-4), inputs.items[
            column
        ].id


def test_widening_between_and_beyond_the_printed_radii():
    each, is_printed = printed(WIDER, np.array([1 / 600, -1 / 650, 1 / 2000, 0.0, 1 / 400]))
    assert each == pytest.approx([9.0, 8.0, 2.0, 0.0, 10.0])  # beyond 1000 mm it falls like 1 / R
    assert is_printed.tolist() == [True, True, True, True, False]


def test_the_widening_is_led_in_and_out():
    line = make_line(knots=[0, 300, 300.001, 600, 600.001, 900], curvature=[0, 0, 1 / 600, 1 / 600, 0, 0])
    along = widening_along(line, Gauge(id="g", polygon=STEPPED, widening=WIDER), (-100.0, 1000.0))
    at = along.at(np.array([300 - 49.0, 300 - 140.25, 300 - 232.0, 450.0, 600 + 140.25]))
    assert at == pytest.approx([9.0, 4.5, 0.0, 9.0, 4.5], abs=0.06)
    assert along.sharpest == 0.0


def test_a_curve_sharper_than_the_table_is_said():
    line = make_line(knots=[0.0, 900.0], curvature=[1 / 500.0] * 2)
    gauge = Gauge(id="g", polygon=STEPPED, widening=WIDER, note="Figure not seen.")
    gaps = lay_gauges(NOTHING, {"lower": line}, (box("p", (500, 0, 70), (20, 20, 10)),), (gauge,))
    assert not gaps[0].widening_printed
    assert "radius of 500 mm" in gaps[0].note
    assert gaps[0].note.endswith("Figure not seen.")
    (finding,) = [f for f in gauge_findings(gaps, (gauge,)) if f.code == "CL106"]
    assert finding.severity is Severity.NOTE
    assert finding.where == "gauge/g/lower"


def test_overlays_follow_the_lines_and_are_notes_only():
    inside = box("girder", (500, 0, 60), (200, 10, 10), over="lower")
    other = box("rail", (500, 30, 30), (20, 20, 10), over="upper")
    lines = {"lower": straight(), "upper": straight()}
    gauges = (
        Gauge(id="all", polygon=STEPPED),
        Gauge(id="car", polygon=STEPPED, of=GaugeOf.VEHICLE, lines=("lower",)),
    )
    gaps = lay_gauges(NOTHING, lines, (inside, other), gauges)
    assert [(g.gauge, g.part) for g in gaps] == [("all", "girder"), ("all", "rail"), ("car", "girder")]
    findings = gauge_findings(gaps, gauges)
    assert [f.code for f in findings] == ["CL105"] * 3
    assert {f.severity for f in findings} == {Severity.NOTE}
    assert "stands in the gauge all, 4 mm deep" in findings[0].text
    assert "vehicle outline car" in findings[2].text
    with pytest.raises(InputError, match="branch") as error:
        lay_gauges(NOTHING, lines, (), (Gauge(id="g", polygon=STEPPED, lines=("branch",)),))
    assert error.value.code == "CL018"


def test_the_stage_lays_gauges_and_notes_what_is_said_of_vehicles():
    line, vehicle, settings, inputs = scene()
    vehicle = replace(vehicle, notes=("its sizes are not measured",))
    gauge = Gauge(id="own", polygon=STEPPED, note="as agreed")
    settings = replace(settings, runs=(Run(line="lower", vehicle=vehicle),) * 2, gauges=(gauge,))
    places = {"column": PLACES["column"], "foul": PLACES["foul"]}
    shapes = shapes_of(inputs, places)
    lines = {"lower": line_of(inputs, line)}
    result = assess(inputs, lines, shapes, settings)
    assert [g.part for g in result.gauge_gaps] == ["column", "foul"]
    assert all(g.note == "as agreed" and g.u > 0 for g in result.gauge_gaps)
    assert result.gauge_gaps[1].is_inside
    codes = [f.code for f in result.findings]
    assert codes.count("CL104") == 1  # once, though it runs twice
    assert codes.count("CL105") == 1
    plain = assess(inputs, lines, shapes, replace(settings, gauges=()), choices=result.choices)
    words = [(g.verdict, float(g.gap.value)) for g in result.gaps]
    assert words == [(g.verdict, float(g.gap.value)) for g in plain.gaps]  # no verdict rests on a gauge


@pytest.mark.parametrize(
    ("make", "code", "value"),
    [
        (lambda: Gauge(id="g", polygon=np.zeros((2, 2))), "CL016", "0.0"),
        (lambda: Gauge(id="g", polygon=np.array([[0, 0], [1, np.nan], [1, 1]])), "CL016", "nan"),
        (lambda: Gauge(id="g", polygon=np.array([[0, 0], [2, 2], [2, 0], [0, 2]])), "CL017", "2.0"),
        (
            lambda: Widening(name="w", radii=[2, 1], each_side=[1, 1], full_for=0, gone_after=1),
            "CL015",
            "2.0",
        ),
        (lambda: Widening(name="w", radii=[1], each_side=[1], full_for=5, gone_after=1), "CL015", "5"),
    ],
)
def test_gauges_that_cannot_be_meant(make, code, value):
    with pytest.raises(InputError, match=value) as error:
        make()
    assert error.value.code == code


def test_a_gauge_given_clockwise_is_the_same():
    shape = mesh(
        "p", box("p", (500, 40, 30), (20, 20, 10)).vertices, box("p", (0, 0, 0), (1, 1, 1)).triangles
    )
    assert float(one(straight(), STEPPED[::-1], shape).gap.value) == pytest.approx(6.0, abs=0.011)

"""The opening of the board against rectangles, circles and sums that are worked out by hand."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from spanwright.files.job_file import load_job
from spanwright.findings import Severity
from spanwright.job import derive
from spanwright.parts.board.ordinates import TAPE
from spanwright.parts.given import LaidTies, Obstruction
from spanwright.parts.opening import SETTING_OUT, open_board
from truth import demo
from truth.opening_scenes import HANDRAIL, HEAD, MARK_SD, Scene, codes

ROOM = 3.0
EDGE = 0.5 * (10.0 + HEAD)  # from the track's centre to the outer edge of a rail head
BACKWALL = 2.0
MARKS = (380.0, 430.0, 460.0, 540.0, 570.0, 640.0)


def value(number):
    return float(number.value)


# ---------------------------------------------------------------- finished line and saw line


def test_one_span_on_a_straight_line_is_a_rectangle():
    found = Scene().open()
    # pitch: the girder of 95 and the gap of 0.5, about the crossing at 500; each station is rounded to 0.1,
    # and each backwall stands outside the span
    ends = (452.2 - BACKWALL, 547.8 + BACKWALL)
    half = HANDRAIL + 0.5 + ROOM
    wanted = [(ends[0], half), (ends[1], half), (ends[1], -half), (ends[0], -half)]
    np.testing.assert_allclose(found.outline.corners.value, wanted, atol=1e-6)


def test_without_handrails_the_backwall_is_widest():
    corners = Scene(handrail=False).open().outline.corners.value
    # ties are 12 + 2.4 + 2 long, the abutments 22 wide
    assert corners[0, 1] == pytest.approx(11.0 + ROOM, abs=1e-9)


def test_the_saw_line_lies_in_the_waste_by_lean_half_a_cut_and_doubt():
    found = Scene(lean=np.radians(3.0)).open()
    a = found.allowance
    assert value(a.lean) == pytest.approx(12.0 * np.tan(np.radians(3.0)))
    assert a.kerf == 0.5
    assert value(a.total) == pytest.approx(value(a.lean) + 0.5 + a.doubt)
    inside = value(a.total)
    move = np.array([(1, -1), (-1, -1), (-1, 1), (1, 1)]) * inside
    np.testing.assert_allclose(found.saw.value, found.outline.corners.value + move, atol=1e-9)


def test_the_allowance_for_doubt_by_hand():
    found = Scene().open()
    # across: the handrail as it is made and the span as it is set out (0.3 at each end, shared at one);
    # along: the abutment as it is set out; the sheet and the saw as they are led
    across = np.hypot(0.05, 0.3)
    u = np.hypot(across, SETTING_OUT)
    assert found.allowance.doubt == pytest.approx(np.ceil(2.0 * u / 0.1) * 0.1, abs=0.1 + 1e-9)
    assert found.allowance.doubt >= 2.0 * u - 0.05


def test_equal_spans_on_an_arc_meet_on_the_ray_through_the_pier():
    radius = 400.0
    found = Scene(curvature=1.0 / radius, spans=2).open()
    (joint,) = found.outline.joints
    centre = np.array([0.0, radius])
    ray = np.array([np.sin(joint / radius), -np.cos(joint / radius)])
    a, b, c = _stations(found, joint)
    assert b - a == pytest.approx(c - b, abs=0.11)  # equal but for the rounding of stations
    # each cut is parallel to its chord, off the centre by the chord's distance, the shift and its reach;
    # of the two the outer one counts: nearer to the centre on the left, further from it on the right
    for k, sign, outer in ((1, -1.0, min), (4, 1.0, max)):
        far = []
        for half in (0.5 * (b - a) / radius, 0.5 * (c - b) / radius):
            axis = 0.5 * radius * (1.0 + np.cos(half))
            far.append((axis + sign * (HANDRAIL + 0.5 + ROOM)) / np.cos(half))
        np.testing.assert_allclose(found.outline.corners.value[k], centre + ray * outer(far), atol=2e-3)


def _stations(found, joint):
    start, end = (value(e) for e in found.outline.ends)
    return start + BACKWALL, joint, end - BACKWALL


@pytest.fixture(scope="module", params=["demo", "oo", "h0"])
def real(request):
    folder = demo.SHIPPED.parent if request.param == "demo" else demo.HERE.parents[1] / "jobs" / request.param
    job = replace(load_job(folder), clearance=None)
    plan = derive(job)
    board = load_job(demo.SHIPPED.parent).parts.subroadbed if request.param == "demo" else None
    scene = Scene()
    if board is None:
        board = replace(scene.board, thickness=job.structures.tie)  # any measured size serves
    upper = job.structures.upper
    laid = next(x for x in plan.alignment.lines if x.line.name == upper)
    line_input = next(x for x in job.lines if x.name == upper)
    found = open_board(
        board, plan.inputs, laid, plan.structures, plan.survey, line_input=line_input, bridge=job.structures
    )
    return plan, found


def test_all_of_the_bridge_that_rises_has_its_room(real):
    """Independent of how the outline was made: the distance of every corner of every span's parts."""
    plan, found = real
    corners = found.outline.corners.value
    n = len(found.outline.supports)
    sides = [LineString(corners[:n]), LineString(corners[n:])]
    spans = {s.axis.given.name for s in plan.structures.spans}
    waste = Polygon(corners)
    past_an_end = {f.where for f in found.findings if f.code == "PA107"}
    for shape in plan.structures.shapes:
        if shape.part.partition("/")[0] in spans:
            for point in np.unique(np.round(shape.vertices[:, :2], 6), axis=0):
                at = Point(point)
                assert waste.buffer(0.06).contains(at) or shape.part in past_an_end
                assert min(side.distance(at) for side in sides) >= found.given.room - 1e-5


def test_the_saw_line_lies_inside_by_the_allowance_all_round(real):
    _, found = real
    outer, inner = Polygon(found.outline.corners.value), Polygon(found.saw.value)
    assert outer.contains(inner)
    assert outer.exterior.distance(inner.exterior) == pytest.approx(value(found.allowance.total), abs=1e-9)
    for k in range(len(found.saw)):
        middle = 0.5 * (found.saw.value[k] + found.saw.value[k - 1])
        assert outer.exterior.distance(Point(middle)) == pytest.approx(value(found.allowance.total), abs=1e-6)


# ---------------------------------------------------------------- derivatives


def test_derivatives_against_central_differences():
    scene = Scene(curvature=1.0 / 400.0, spans=2, marks=MARKS)
    found = scene.open()
    numbers = lambda o: np.concatenate(  # noqa: E731
        [
            o.outline.corners.value.ravel(),
            o.saw.value.ravel(),
            [value(r.along) for r in o.ordinates],
            [value(r.saw_left) for r in o.ordinates],
            [value(c.value) for c in o.checks],
            [value(p.x) for p in o.pilots],
        ]
    )
    n = len(scene.inputs)
    jac = np.concatenate(
        [
            found.outline.corners.padded(n).jac.reshape(-1, n),
            found.saw.padded(n).jac.reshape(-1, n),
            [r.along.padded(n).jac for r in found.ordinates],
            [r.saw_left.padded(n).jac for r in found.ordinates],
            [c.value.padded(n).jac for c in found.checks],
            [p.x.padded(n).jac for p in found.pilots],
        ]
    )
    # a printed corner is held when the bridge moves, and moves with the rails: no difference shows that
    held = len(jac) - len(found.pilots) - len(found.checks) + np.array([0, 1])
    x = scene.inputs.values
    touched = [k for k in range(n) if np.abs(jac[:, k]).max() > 0.0]
    still = [k for k, item in enumerate(scene.inputs.items) if item.sd > 0.0 and k not in touched]
    for k in [*touched, *still[:2]]:
        step = np.zeros(n)
        step[k] = 1e-3
        high, low = (numbers(scene.open(scene.inputs.with_values(x + s * step))) for s in (1.0, -1.0))
        slope = (high - low) / 2e-3
        error = np.delete(np.abs(slope - jac[:, k]), held)
        assert error.max() < 2e-5, (scene.inputs.items[k].id, int(np.argmax(error)))
    assert len(touched) >= 12


# ---------------------------------------------------------------- ordinates


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_ordinates_on_an_arc_against_the_circle(sense):
    radius = 400.0
    found = Scene(curvature=sense / radius, marks=MARKS).open()
    a, b = (value(e) for e in found.outline.ends)
    pitch = b - a - 2.0 * BACKWALL
    middle = 0.5 * (a + b)
    axis = 0.5 * (radius + radius * np.cos(0.5 * pitch / radius))  # distance of the span's axis
    reach = HANDRAIL + 0.5 + ROOM
    assert found.marked == "left"
    rail = radius - sense * EDGE  # radius of the outer edge of the left rail's head
    assert found.origin == "m2"
    first = 460.0
    seen = 0
    for row in found.ordinates:
        station = first + value(row.along) * radius / rail
        angle = (station - middle) / radius
        inner = radius - EDGE - (axis - reach) / np.cos(angle)
        outer = (axis + reach) / np.cos(angle) - radius - EDGE
        left, right = (inner, outer) if sense > 0.0 else (outer, inner)
        assert value(row.finished_left) == pytest.approx(left, abs=2e-3)
        assert value(row.finished_right) == pytest.approx(right, abs=2e-3)
        shrunk = value(found.allowance.total) / np.cos(angle)
        assert value(row.saw_left) == pytest.approx(left - shrunk, abs=2e-3)
        assert value(row.saw_right) == pytest.approx(right - shrunk, abs=2e-3)
        seen += row.kind == "step"
    assert seen == 3
    steps = [value(r.along) for r in found.ordinates if r.kind == "step"]
    assert all(s % 25.0 == 0.0 for s in steps)


def test_each_end_cut_and_each_mark_has_its_row():
    found = Scene(spans=2, marks=MARKS).open()
    rows = [(r.kind, r.at) for r in found.ordinates if r.kind != "step"]
    assert rows == [
        ("end", "p"), ("mark", "m1"), ("mark", "m2"), ("support", "q"), ("mark", "m3"), ("mark", "m4"),
        ("end", "r"),
    ]  # fmt: skip
    along = {r.at: r.along for r in found.ordinates}
    assert value(along["m3"]) == pytest.approx(540.0 - 430.0)
    assert float(along["m3"].sd(Scene(spans=2, marks=MARKS).inputs.sds)) == pytest.approx(
        MARK_SD * np.sqrt(2.0)
    )


def test_without_marks_ordinates_start_at_the_end_cut():
    found = Scene().open()
    assert found.origin == ""
    assert found.ordinates[0].kind == "end"
    assert value(found.ordinates[0].along) == 0.0
    assert [value(r.along) for r in found.ordinates if r.kind == "step"] == [25.0, 50.0, 75.0]
    assert "PA104" in codes(found)
    assert "PA105" in codes(found)


# ---------------------------------------------------------------- pilot holes, distances


def test_pilot_holes_stand_square_off_the_marked_rail():
    scene = Scene(marks=MARKS)
    found = scene.open()
    assert [(p.mark, p.side, p.distance) for p in found.pilots] == [("m2", "left", 4.0), ("m3", "left", 4.0)]
    for pilot, station in zip(found.pilots, (460.0, 540.0), strict=True):
        assert (value(pilot.x), value(pilot.y)) == (pytest.approx(station), pytest.approx(EDGE + 4.0))
    assert "PA104" not in codes(found)


def test_pilot_holes_clear_the_ties():
    found = Scene(marks=MARKS, ties=LaidTies(length=18.0, width=2.0, pitch=5.0)).open()
    # 9 to the tie's end, 2 of wood, half the drill of 3; less 5.5 to the rail's outer face: 7
    assert {p.distance for p in found.pilots} == {7.0}


def test_pilot_holes_in_sixteenths_of_an_inch():
    found = Scene(marks=MARKS, whole=25.4 / 16.0).open()
    assert [p.distance for p in found.pilots] == pytest.approx([3.0 * 25.4 / 16.0] * 2)


def test_a_named_pilot_without_room_is_said():
    found = Scene(marks=MARKS, pilots=("m1", "m3")).open()  # m1 stands outside the opening
    assert [p.mark for p in found.pilots] == ["m3"]
    (finding,) = [f for f in found.findings if f.code == "PA104"]
    assert "beside m1" in finding.text


def test_distances_to_check_by_hand():
    scene = Scene(marks=MARKS)
    found = scene.open()
    corners = found.outline.corners.value
    first, second, third = found.checks
    assert [(c.start, c.mark, c.is_diagonal) for c in found.checks] == [
        ("start right", "m4", True), ("finish right", "m1", True), ("pilot m3", "m1", False)
    ]  # fmt: skip
    deep = 1.4 + 1.6  # the board lies below the railhead by rail and tie
    a = np.array([*corners[3], 0.0]) - (570.0, 5.0, deep)
    assert value(first.value) == pytest.approx(np.linalg.norm(a))
    assert value(third.value) == pytest.approx(np.linalg.norm([540.0 - 430.0, EDGE + 4.0 - 5.0, deep]))
    # both ends lie fast to marks that are known along the rail to 0.4, seen from the side by dx / distance
    u = float(first.value.sd(scene.inputs.sds))
    assert u == pytest.approx(MARK_SD * np.sqrt(2.0) * abs(a[0]) / np.linalg.norm(a), rel=0.01)
    u = float(third.value.sd(scene.inputs.sds))
    assert u == pytest.approx(MARK_SD * np.sqrt(2.0), rel=0.01)
    assert third.limit == pytest.approx(2.0 * np.hypot(u, TAPE))
    assert second.limit > 2.0 * TAPE


# ---------------------------------------------------------------- findings


def obstruction(across, sd=1.0, along=(-5.0, 5.0)):
    return Obstruction(name="joist", mark="m2", along=along, across=across, sd=sd)


@pytest.mark.parametrize(
    ("off", "wanted"),
    [(10.0, []), (1.0, [Severity.WARNING]), (-0.5, [Severity.STOP])],
)
def test_what_the_saw_meets(off, wanted):
    """The saw's outer reach is the saw line and half a cut and the lean; the joist begins so far beyond."""
    plain = Scene(marks=MARKS).open()
    reach = plain.saw.value[0, 1] + plain.allowance.kerf + value(plain.allowance.lean)
    found = Scene(marks=MARKS, obstructions=(obstruction((reach + off, reach + off + 20.0)),)).open()
    met = [f for f in found.findings if f.code == "PA101"]
    assert [f.severity for f in met] == wanted
    if met:
        assert met[0].value == pytest.approx(off, abs=1e-6)
        assert met[0].limit == pytest.approx(2.0 * np.hypot(1.0, SETTING_OUT))
        assert met[0].where == "joist"


def test_what_lies_under_the_piece_that_comes_out():
    found = Scene(marks=MARKS, obstructions=(obstruction((-3.0, 3.0), sd=0.5),)).open()
    assert codes(found) == ["PA102"]


def test_what_the_drill_meets():
    found = Scene(marks=MARKS, obstructions=(obstruction((8.0, 11.0), sd=0.5),)).open()
    assert codes(found) == ["PA101", "PA102"]
    assert "pilot hole at m2" in found.findings[0].text


def test_an_end_beyond_the_survey_is_said():
    found = Scene(marks=MARKS, surveyed=(460.0, 1000.0)).open()
    (finding,) = [f for f in found.findings if f.code == "PA103"]
    assert finding.where == "p"
    assert finding.value == pytest.approx(460.0 - value(found.outline.ends[0]))


def test_no_waste_is_left_by_a_blade_that_leans_too_far():
    scene = Scene(marks=MARKS)
    thick = replace(scene.board, lean=np.radians(30.0), kerf=40.0)
    scene.board = thick
    assert "PA106" in codes(scene.open())


# ---------------------------------------------------------------- the board's edges


def test_a_narrow_board_is_cut_at_its_ends_only():
    found = Scene(marks=MARKS, edge_left=12.0, edge_right=14.0).open()
    assert len(found.sawn) == 2
    for run, is_closed in found.sawn:
        assert not is_closed
        assert sorted(run[:, 1]) == pytest.approx([-17.0, 15.0], abs=1e-6)  # it runs out by 3 on each side
    assert not any(r.on_left or r.on_right for r in found.ordinates)
    assert len(found.track.edges) == 2


def test_a_board_that_ends_on_one_side():
    found = Scene(marks=MARKS, edge_left=12.0).open()
    ((run, is_closed),) = found.sawn
    assert not is_closed
    assert len(run) == 4
    assert run[[0, -1], 1] == pytest.approx([15.0, 15.0], abs=1e-6)
    assert all(r.on_right and not r.on_left for r in found.ordinates)


# ---------------------------------------------------------------- the track on the pattern


def test_slots_lie_over_the_rails():
    track = Scene(marks=MARKS).open().track
    for slot, y in zip(track.slots, (5.0, -5.0), strict=True):
        assert slot[:, 1].max() == pytest.approx(y + 1.5)
        assert slot[:, 1].min() == pytest.approx(y - 1.5)
    assert track.rails[0][0, 0] == pytest.approx(track.centre[0, 0])


def test_slots_end_with_the_survey():
    track = Scene(marks=MARKS, surveyed=(440.0, 1000.0)).open().track
    assert track.centre[:, 0].min() == pytest.approx(440.0)


def test_ticks_cross_the_slot_of_their_rail():
    ticks = Scene(marks=MARKS).open().track.ticks
    assert [t.name for t in ticks] == ["m1", "m2", "m3", "m4"]
    for tick, station in zip(ticks, (430.0, 460.0, 540.0, 570.0), strict=True):
        assert tick.side == "left"
        np.testing.assert_allclose(tick.points[:, 0], station)
        assert tick.points[0, 1] < 3.5
        assert tick.points[1, 1] > 6.5


def test_ties_are_as_they_were_measured():
    track = Scene(marks=MARKS, ties=LaidTies(length=18.0, width=2.0, pitch=5.0)).open().track
    middles = np.array([t.mean(axis=0) for t in track.ties])
    np.testing.assert_allclose(np.diff(middles[:, 0]), 5.0)
    np.testing.assert_allclose(middles[:, 1], 0.0, atol=1e-9)
    np.testing.assert_allclose([np.ptp(t, axis=0) for t in track.ties], [(2.0, 18.0)] * len(middles))
    assert np.abs(middles[:, 0] - 460.0).min() < 1e-9  # one of them stands at the origin's mark

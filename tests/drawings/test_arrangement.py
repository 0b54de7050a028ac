"""General arrangement: what the sheets say and where they say it, against the plan's own geometry.

Expected places are reckoned here by complex numbers and plain interpolation, expected numbers are read
off the plan, never off a sheet. The clear height is also found by walking along the girders' meshes.
"""

import itertools
import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path as FilePath
from types import SimpleNamespace

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon
from shapely.geometry import box as area

from spanwright.alignment.line import cant_at, height_at, nearest_station, position_at
from spanwright.drawings import fonts
from spanwright.drawings.display import Circle, Path, Role, Text, text_box
from spanwright.drawings.sheets.arrangement.build_up import build_up_sheets, build_ups
from spanwright.drawings.sheets.arrangement.elevation import elevation_sheet, frames_in
from spanwright.drawings.sheets.arrangement.plan import ellipse, plan_sheet
from spanwright.drawings.sheets.arrangement.profile import marks_of, profile_sheet, profile_view
from spanwright.drawings.sheets.arrangement.silhouette import (
    ROOM,
    Outline,
    fits,
    middle_line,
    outlines,
    painted,
    pieces,
    split,
)
from spanwright.drawings.sheets.arrangement.views import bearing_numbers, clear_height, unroll
from spanwright.drawings.speech import Speech
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.spread import Spread
from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.structures.members import Pose, block_template

ROOT = FilePath(__file__).parents[2]
JOBS = {
    "demo": ROOT / "src" / "spanwright" / "files" / "demo" / "job.toml",
    "oo": ROOT / "tests" / "jobs" / "oo" / "job.toml",
    "h0": ROOT / "tests" / "jobs" / "h0" / "job.toml",
}
PAPER = 0.01  # how truly a place comes onto paper, in mm
NUMBER = re.compile(r"(-?\d+\.\d+)(?: ± (\d+\.\d+))?")


class Drawn:
    """One job's plan and its sheets."""

    def __init__(self, name):
        job = load_job(JOBS[name])
        self.name = name
        self.plan = derive(replace(job, clearance=None))
        self.job, self.bridge, self.lines = job, self.plan.structures, self.plan.alignment
        self.say = Speech(words=job.words, inputs=self.plan.inputs, k=job.structures.k)
        given = job.structures
        self.plan_sheet = plan_sheet(given, self.plan.survey, self.lines, self.bridge, self.say)
        self.elevation = elevation_sheet(given, self.lines, self.bridge, self.say)
        self.profile = profile_sheet(job.lines, self.plan.survey, self.lines, self.bridge, self.say)
        self.build_ups = build_up_sheets(self.plan.inputs, self.bridge, self.say)
        self.upper, self.lower = self.lines.line(given.upper), self.lines.line(given.lower)
        self.crossing = next(c for c in self.lines.crossings if c.id == self.bridge.choices.crossing)
        self.per = 25.4 if self.say.unit == "in" else 1.0

    @property
    def sheets(self):
        return (self.plan_sheet, self.elevation, self.profile, *self.build_ups)

    def says(self, sheet, value, sd=None):
        """Whether a text of the sheet gives a number, and its give or take, to the last figure it shows."""
        for found in itertools.chain.from_iterable(NUMBER.finditer(t) for t in texts(sheet)):
            shown, doubt = found.groups()
            half = 0.5 * 10.0 ** -len(shown.partition(".")[2]) * (1 + 1e-9)
            wide = None if sd is None else self.say.k * sd / self.per
            near = abs(float(shown) - value / self.per) <= half
            if (
                near
                and (doubt is None) == (wide is None)
                and (wide is None or abs(float(doubt) - wide) <= half)
            ):
                return True
        return False

    def sd(self, number):
        return float(number.sd(self.plan.inputs.sds))


@cache
def drawing_of(name):
    return Drawn(name)


@pytest.fixture(params=list(JOBS))
def drawn(request):
    return drawing_of(request.param)


def texts(sheet):
    return [t.text for t in sheet.items if isinstance(t, Text)]


def boxes(sheet):
    return [
        (t, Polygon(text_box(t, fonts.width(t.text, t.size, bold=t.bold))))
        for t in sheet.items
        if isinstance(t, Text)
    ]


def extent(sheet):
    corners = [p for t, b in boxes(sheet) for p in b.exterior.coords]
    for item in sheet.items:
        if isinstance(item, Path):
            corners += item.points
        elif isinstance(item, Circle):
            corners += [np.add(item.centre, item.radius), np.subtract(item.centre, item.radius)]
    return np.ptp(np.array(corners), axis=0)


def tips(sheet):
    """Where the triangles of level marks stand."""
    return np.array(
        [
            i.points[0]
            for i in sheet.items
            if isinstance(i, Path) and i.closed and len(i.points) == 3 and i.fill == 1.0
        ]
    )


def is_among(point, places):
    return np.hypot(*(np.asarray(places) - point).T).min() < PAPER


# ---------------------------------------------------------------- every sheet


def test_ids_and_scales(drawn):
    ids = [s.id for s in drawn.sheets]
    assert ids[:3] == ["arrangement/plan", "arrangement/elevation", "arrangement/profile"]
    assert ids[3:] == [f"arrangement/build-up {k}" for k in range(1, len(ids) - 2)]
    for sheet in drawn.sheets:
        assert sheet.scale in (1.0, 0.5, 0.2, 0.1)  # ISO 5455
        assert not sheet.true
        assert sheet.title
        assert sheet.notes


def test_nothing_is_empty_and_all_fits_a_page(drawn):
    for sheet in drawn.sheets:
        wide, high = extent(sheet)
        assert any(wide <= w and high <= h for w, h in ROOM), (sheet.id, wide, high)
        assert fits(sheet)
        assert all(t.strip() for t in texts(sheet))
        for item in sheet.items:
            points = (
                item.points
                if isinstance(item, Path)
                else [item.at if isinstance(item, Text) else item.centre]
            )
            assert np.isfinite(np.array(points)).all()
            assert not isinstance(item, Path) or len(item.points) >= 2


def test_no_text_stands_upon_another(drawn):
    for sheet in drawn.sheets:
        for (a, box_a), (b, box_b) in itertools.combinations(boxes(sheet), 2):
            assert box_a.intersection(box_b).area < 1e-6, (sheet.id, a.text, b.text)


def test_sides_and_ends_are_in_the_builders_words(drawn):
    words = drawn.job.words
    for sheet in (drawn.plan_sheet, drawn.elevation):
        said = " ".join([*texts(sheet), sheet.title])
        assert f"to {words.start}" in said
        assert f"to {words.finish}" in said
        assert words.right in said
    for sheet in drawn.sheets:
        for text in (*texts(sheet), *sheet.notes):
            assert not re.search(r"\b(left|right)\b", text), text


# ---------------------------------------------------------------- plan


def on_plan(drawn, points):
    """Places on the plan's paper, by complex numbers: origin the crossing, first to last support level."""
    z = np.asarray(points)[:, 0] + 1j * np.asarray(points)[:, 1]
    centre = drawn.crossing.centre
    z0 = complex(float(centre.x.value), float(centre.y.value))
    ends = position_at(drawn.upper, np.array([drawn.bridge.supports[k].station for k in (0, -1)]))[0]
    way = complex(*(ends[1] - ends[0]))
    turned = (z - z0) * abs(way) / way * drawn.plan_sheet.scale
    return np.column_stack([turned.real, turned.imag])


def test_bearings_stand_on_the_plan_where_they_are(drawn):
    wanted = on_plan(drawn, [(float(b.x.value), float(b.y.value)) for b in drawn.bridge.bearings])
    circles = [c.centre for c in drawn.plan_sheet.items if isinstance(c, Circle) and c.radius == 0.5]
    assert len(circles) == len(wanted)
    assert all(is_among(w, circles) for w in wanted)


def test_every_bearing_support_and_mark_is_named_on_the_plan(drawn):
    said = texts(drawn.plan_sheet)
    numbers = bearing_numbers(drawn.bridge)
    assert sorted(numbers.values()) == list(range(1, len(drawn.bridge.bearings) + 1))
    for key, number in numbers.items():
        assert f"{number}  {drawn.say.place(key)}" in said
        assert str(number) in said
    for support in drawn.bridge.supports:
        assert support.given.name in said
        assert drawn.says(drawn.plan_sheet, support.station)


def test_rails_lie_half_their_distance_from_the_track_centre(drawn):
    centre = drawn.crossing.centre
    z0 = complex(float(centre.x.value), float(centre.y.value))
    ends = position_at(drawn.upper, np.array([drawn.bridge.supports[k].station for k in (0, -1)]))[0]
    way = complex(*(ends[1] - ends[0]))
    found = {"upper": 0, "lower": 0}
    for item in drawn.plan_sheet.items:
        if not (
            isinstance(item, Path) and len(item.points) > 20 and item.role is Role.OUTLINE and not item.closed
        ):
            continue
        z = np.array(item.points) @ np.array([1.0, 1j]) / drawn.plan_sheet.scale * way / abs(way) + z0
        points = np.column_stack([z.real, z.imag])[1:-1]  # where a rail meets an edge it was cut
        gaps = {}
        for name, line in (("upper", drawn.upper), ("lower", drawn.lower)):
            foot = position_at(line, nearest_station(line, points))[0]
            off = np.hypot(*(points - foot).T) - 0.5 * float(line.head_distance.value)
            gaps[name] = float(np.abs(off).max()) * drawn.plan_sheet.scale
        name = min(gaps, key=gaps.get)
        assert gaps[name] < PAPER
        found[name] += 1
    assert found["upper"] == 2
    assert found["lower"] >= 2


def test_the_plan_gives_both_readings_of_the_angle(drawn):
    angle = abs(math.degrees(float(drawn.crossing.angle.value)))
    shown = next(t for t in texts(drawn.plan_sheet) if "off square" in t)
    between, off = (float(m[1]) for m in NUMBER.finditer(shown))
    assert between == pytest.approx(angle, abs=0.0051)
    assert off == pytest.approx(90.0 - angle, abs=0.0051)


def test_kinks_are_the_change_of_direction_of_the_spans(drawn):
    along = [complex(*s.axis.along.value) for s in drawn.bridge.spans]
    for a, b in itertools.pairwise(along):
        turn = math.degrees(np.angle(b / a))
        side = drawn.job.words.left if turn > 0.0 else drawn.job.words.right
        shown = [t for t in texts(drawn.plan_sheet) if t.startswith("kink ") and t.endswith(f" to {side}")]
        assert any(abs(float(NUMBER.search(t)[1]) - abs(turn)) < 0.0051 for t in shown)


def test_ellipse_of_a_known_covariance():
    # doubts of 3 and 1 along axes turned by 30 degrees
    c, s = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
    x, y = Derived(0.0, np.array([c, -s])), Derived(0.0, np.array([s, c]))
    say = SimpleNamespace(inputs=SimpleNamespace(spread=Spread(sds=np.array([3.0, 1.0]))), k=2.0)
    long, short, direction = ellipse(x, y, say)
    assert (long, short) == pytest.approx((6.0, 2.0))
    assert math.degrees(direction) % 180.0 == pytest.approx(30.0)


# ---------------------------------------------------------------- elevation


def pitches(drawn):
    at = position_at(drawn.upper, np.array([s.station for s in drawn.bridge.supports]))[0]
    return np.hypot(*np.diff(at, axis=0).T)


def test_the_unrolled_bridge_is_as_long_as_its_chords(drawn):
    view = unroll(drawn.upper, drawn.bridge)
    assert np.diff(view.at) == pytest.approx(pitches(drawn), abs=1e-6)
    for support, x in zip(drawn.bridge.supports, view.at, strict=True):
        assert view.along(support.station) == pytest.approx(x, abs=1e-6)
    inside = np.linspace(view.stations[0] - 30.0, view.stations[-1] + 30.0, 200)
    placed = np.array([view.along(s) for s in inside])
    assert np.all(np.diff(placed) > 0.0)


def test_levels_stand_at_their_heights(drawn):
    x = np.concatenate([[0.0], np.cumsum(pitches(drawn))]) * drawn.elevation.scale
    places = tips(drawn.elevation)
    heights = height_at(drawn.upper, np.array([s.station for s in drawn.bridge.supports]))
    for k, support in enumerate(drawn.bridge.supports):
        assert is_among((x[k], heights[k] * drawn.elevation.scale), places)
        for level in (support.cap_top, support.cuts[0].base):
            near = places[np.abs(places[:, 0] - x[k]) < 35.0]
            assert np.abs(near[:, 1] - float(level.value) * drawn.elevation.scale).min() < PAPER


def test_girders_are_drawn_as_long_as_they_are(drawn):
    start = np.concatenate([[0.0], np.cumsum(pitches(drawn))])
    runs = [
        (min(p[0] for p in i.points), max(p[0] for p in i.points))
        for i in drawn.elevation.items
        if isinstance(i, Path) and i.fill == 1.0
    ]
    for k, span in enumerate(drawn.bridge.spans):
        middle = 0.5 * (start[k] + start[k + 1]) + span.axis.slide
        half = 0.5 * float(span.axis.length.value)
        wanted = np.array([middle - half, middle + half]) * drawn.elevation.scale
        assert is_among(wanted, runs)


def test_the_elevation_says_the_plans_numbers(drawn):
    sheet = drawn.elevation
    for span, pitch in zip(drawn.bridge.spans, pitches(drawn), strict=True):
        assert drawn.says(sheet, float(span.axis.length.value), drawn.sd(span.axis.length))
        assert drawn.says(sheet, pitch)
        assert drawn.says(drawn.plan_sheet, pitch)
    for support in drawn.bridge.supports:
        assert support.given.name in texts(sheet)
        numbers = [support.cap_top, *(c.base for c in support.cuts)]
        if not frames_in(support):
            numbers += [b.seat for b in drawn.bridge.bearings if b.support == support.given.name]
        assert all(drawn.says(sheet, float(n.value), drawn.sd(n)) for n in numbers)
    separation = drawn.crossing.centre.separation
    high = height_at(drawn.upper, drawn.crossing.centre.upper_station.value)
    low = height_at(drawn.lower, drawn.crossing.centre.lower_station.value)
    assert drawn.says(sheet, float((high - low)[0]), drawn.sd(separation))


def test_clear_height_by_walking_along_the_girders(drawn):
    """The least height of girder undersides and a bent's cap over a finely drawn lower centre line."""
    s = np.arange(*drawn.lower.surveyed, 0.5)
    track = LineString(position_at(drawn.lower, s)[0])
    found = []
    for shape in drawn.bridge.shapes:
        if "/girder" in shape.part:
            top, bottom = (pieces(shape)[k] for k in (0, 1))
            start = bottom[[0, 2, 4, 6]].mean(axis=0)
            end = bottom[[1, 3, 5, 7]].mean(axis=0)
            under = [bottom[[0, 2]].mean(axis=0)[2], bottom[[1, 3]].mean(axis=0)[2]]
            assert top[:, 2].max() > max(under)
            axis = LineString([start[:2], end[:2]])
            if axis.intersects(track):
                meeting = axis.intersection(track)
                share = axis.project(meeting) / axis.length
                station = s[0] + track.project(meeting)
                height = under[0] + (under[1] - under[0]) * share
                found.append(height - float(height_at(drawn.lower, station)[0]))
        elif shape.part.endswith("/cap") and shape.part.rpartition("/")[0] == "bent":
            bent = next(p for p in drawn.bridge.supports if p.given.name == "bent")
            rail = float(height_at(drawn.lower, drawn.bridge.choices.lower_station)[0])
            found.append(float(bent.soffit.value) - rail)
    clear = clear_height(drawn.lines, drawn.bridge, drawn.job.structures)
    assert float(clear.height.value) == pytest.approx(min(found), abs=0.01)
    assert float(clear.height.value) < float(drawn.crossing.centre.separation.value)
    assert drawn.says(drawn.elevation, float(clear.height.value), drawn.sd(clear.height))


def test_the_doubt_of_the_clear_height_by_differences():
    """Derivatives of the clear height against a plan derived anew with one input moved."""
    drawn = drawing_of("oo")
    clear = clear_height(drawn.lines, drawn.bridge, drawn.job.structures)
    inputs = drawn.job.inputs
    ranked = np.argsort(-np.abs(clear.height.jac[: len(inputs)] * inputs.sds))[:3]
    values = np.array([i.value for i in inputs.items])
    trimmed = replace(drawn.job, clearance=None)
    for k in ranked:
        moved = []
        for sign in (1.0, -1.0):
            shifted = values.copy()
            shifted[k] += sign * 0.5 * inputs.sds[k]
            plan = derive(replace(trimmed, inputs=inputs.with_values(shifted)), drawn.plan.choices)
            again = clear_height(plan.alignment, plan.structures, trimmed.structures)
            assert again.part == clear.part
            moved.append(float(again.height.value))
        slope = (moved[0] - moved[1]) / inputs.sds[k]
        assert slope == pytest.approx(clear.height.jac[k], rel=0.02)


# ---------------------------------------------------------------- profile


def test_marks_stand_on_the_profile_where_they_are(drawn):
    view = profile_view(drawn.lines, drawn.bridge, drawn.profile.scale)
    circles = [c.centre for c in drawn.profile.items if isinstance(c, Circle)]
    known = {m.name: m for m in drawn.plan.survey.marks}
    given = {line.name: line for line in drawn.job.lines}
    at = {
        drawn.crossing.upper: float(drawn.crossing.centre.upper_station.value),
        drawn.crossing.lower: float(drawn.crossing.centre.lower_station.value),
    }
    count = 0
    for laid in drawn.lines.lines:
        found = marks_of(given[laid.line.name], laid, drawn.plan.survey, drawn.plan.inputs)
        assert len(found) == (0 if laid.stations is None else len(laid.mark_names))
        for mark, off in zip(found, laid.residuals, strict=False):
            point = [[float(drawn.plan.survey.value(f"{mark.name}.{a}").value) for a in "xy"]]
            station = float(nearest_station(laid.line, np.array(point))[0])
            assert mark.station == pytest.approx(station, abs=1e-6)
            x = (mark.station - at[laid.line.name]) * drawn.profile.scale
            # the rail that carries it lies below the centre by its share of the cant
            foot, heading = (v[0] for v in position_at(laid.line, np.array([station])))
            left = (point[0] - foot) @ np.array([-np.sin(heading), np.cos(heading)]) - off
            centre = float(height_at(laid.line, station)[0])
            cant = float(cant_at(laid.line, station)[0]) / float(laid.line.head_distance.value)
            rail = centre - cant * left
            assert mark.above == pytest.approx(float(mark.height.value) - rail, abs=1e-6)
            assert mark.centre == pytest.approx(centre + mark.above, abs=1e-6)
            y = mark.centre * drawn.profile.scale * view.taller
            assert is_among((x, y), circles)
            assert known[mark.name].line == laid.line.name
            assert mark.name in texts(drawn.profile)
            count += 1
    assert count == sum(len(laid.mark_names) for laid in drawn.lines.lines)
    assert len(circles) == 2 * count


def test_the_railheads_run_at_their_heights(drawn):
    view = profile_view(drawn.lines, drawn.bridge, drawn.profile.scale)
    tall = drawn.profile.scale * view.taller
    runs = [i for i in drawn.profile.items if isinstance(i, Path) and len(i.points) == 121]
    assert [r.role for r in runs] == [Role.REFERENCE, Role.OUTLINE, Role.REFERENCE] * 2
    for line, mine, at in (
        (drawn.upper, runs[:3], drawn.crossing.centre.upper_station),
        (drawn.lower, runs[3:], drawn.crossing.centre.lower_station),
    ):
        for run in mine:
            x, y = np.array(run.points).T
            s = x / drawn.profile.scale + float(at.value)
            assert y / tall == pytest.approx(height_at(line, s), abs=PAPER / tall)
        x = np.array(mine[1].points)[:, 0] / drawn.profile.scale + float(at.value)
        assert (x[0], x[-1]) == pytest.approx(line.surveyed, abs=1e-6)


def test_the_profile_says_separation_grades_and_how_tall_it_is(drawn):
    sheet = drawn.profile
    separation = drawn.crossing.centre.separation
    assert drawn.says(sheet, float(separation.value), drawn.sd(separation))
    view = profile_view(drawn.lines, drawn.bridge, sheet.scale)
    assert any(f"{view.taller:g} times as large" in note for note in sheet.notes)
    grades = [float(NUMBER.search(t)[1]) for t in texts(sheet) if t.endswith("%")]
    assert len(grades) >= 4
    for line in (drawn.upper, drawn.lower):
        s = np.linspace(*line.surveyed, 400)
        steps = 100.0 * np.diff(height_at(line, s)) / np.diff(s)
        assert any(steps.min() - 0.05 <= g <= steps.max() + 0.05 for g in grades)


# ---------------------------------------------------------------- build-ups


def test_layers_add_up_from_railhead_to_base(drawn):
    shown = build_ups(drawn.plan.inputs, drawn.bridge)
    assert [b.support.given.name for b in shown] == [s.given.name for s in drawn.bridge.supports]
    for b in shown:
        packing = {s.bearing: s.packing for s in b.support.seats}
        assert {bearing.id for bearing, _ in b.bearings} == set(packing)
        for bearing, courses in b.bearings:
            down = float(bearing.railhead.value) - sum(float(c.thickness.value) for c in courses)
            seat = bearing.seat
            if frames_in(b.support):
                dap = next((-float(c.thickness.value) for c in bearing.layers if c.name == "dap"), 0.0)
                seat = bearing.girder_top - dap
            assert down == pytest.approx(float((seat - packing[bearing.id]).value), abs=1e-9)
            if len(b.shafts) == 1:
                assert down == pytest.approx(float(b.support.cap_top.value), abs=1e-9)
            assert float(courses[-1].top.value) == pytest.approx(float(seat.value), abs=1e-9)
        for cut, (_, courses) in zip(b.support.cuts, b.shafts, strict=True):
            foot = sum(float(c.thickness.value) for c in courses)
            assert float(courses[0].top.value) == pytest.approx(float(cut.base.value) + foot, abs=1e-9)
            assert courses[-1].name == "base"


def test_the_build_ups_say_every_layer_of_every_bearing(drawn):
    where = {}
    for sheet in drawn.build_ups:
        for text in texts(sheet):
            where.setdefault(text, []).append(sheet)
    numbers = bearing_numbers(drawn.bridge)
    for b in build_ups(drawn.plan.inputs, drawn.bridge):
        sheet = where[b.support.given.name][0]
        for bearing, courses in b.bearings:
            assert str(numbers[bearing.id]) in texts(sheet)
            assert f"{bearing.span}, {drawn.say.side(bearing.side)}" in texts(sheet)
            for course in courses:
                assert drawn.says(sheet, float(course.top.value), drawn.sd(course.top))
                if course.name != "twist":  # in inches that is set in two lines
                    assert drawn.says(sheet, float(course.thickness.value), drawn.sd(course.thickness))
        for _, courses in b.shafts:
            assert all(drawn.says(sheet, float(c.top.value), drawn.sd(c.top)) for c in courses)


def test_lengths_of_the_inch_job_are_in_inches():
    drawn = drawing_of("oo")
    lengths = [float(s.axis.length.value) for s in drawn.bridge.spans]
    said = " ".join(texts(drawn.elevation))
    for length in lengths:
        assert f"{length / 25.4:.4f} ± " in said
        assert f"{length:.1f}" not in said
    for sheet in drawn.sheets:
        for text in (*texts(sheet), *sheet.notes):
            assert not re.search(r"\d mm\b", text), text
        heights = [
            float(m[1]) for t in texts(sheet) for m in NUMBER.finditer(t) if "%" not in t and "°" not in t
        ]
        assert max(heights) < 55.0  # a line of 1344 mm is 53 in


# ---------------------------------------------------------------- silhouettes


def block(deep, wide, height, turn=0.0):
    """A block of known size about the origin, its own length turned by an angle."""
    values = {"deep": deep, "wide": wide, "height": height}
    nil = dv.constant(0.0)
    pose = Pose(
        x=nil,
        y=nil,
        z=nil,
        ahead_x=dv.constant(math.cos(turn)),
        ahead_y=dv.constant(math.sin(turn)),
        slope=nil,
        roll=nil,
    )
    sizes = {name: dv.constant(v) for name, v in values.items()}
    return block_template().place("block", pose, sizes)


def from_the_side(corners):
    return np.column_stack([corners[:, 0], corners[:, 2], corners[:, 1]])


def test_a_block_on_edge_is_seen_as_wide_as_its_diagonal():
    (seen,) = outlines(block(10.0, 10.0, 4.0, math.radians(45.0)), from_the_side)
    assert np.ptp(seen.corners, axis=0) == pytest.approx([10.0 * math.sqrt(2.0), 4.0])
    assert seen.depth == pytest.approx(0.0)


def test_what_would_be_a_blot_is_left_out():
    assert outlines(block(0.3, 0.3, 0.2), from_the_side) == ()
    assert len(outlines(block(0.3, 0.3, 5.0), from_the_side)) == 1


def test_a_girder_is_flanges_web_stiffeners_and_rivets(drawn):
    span = drawn.job.structures.spans[0]
    girder = next(s for s in drawn.bridge.shapes if s.part == f"{span.name}/girder left")
    length = float(drawn.bridge.spans[0].axis.length.value)
    rivets = 2 * (int(length / span.rivet_pitch) - 1) if span.rivet_pitch > 0.0 else 0
    found = pieces(girder)
    assert len(found) == 3 + 2 * span.stiffeners + rivets
    assert sum(len(p) for p in found) == len(girder.vertices)


def test_the_nearer_is_painted_later():
    square = np.array([[0.0, 0.0], [5.0, 0.0], [5.0, 5.0], [0.0, 5.0]])
    seen = [Outline(part=str(d), corners=square + d, depth=d) for d in (1.0, 3.0, 2.0)]
    drawn = painted(seen)
    assert [p.points[0][0] for p in drawn] == [3.0, 2.0, 1.0]
    assert all(p.closed and p.fill == 1.0 for p in drawn)


def test_a_narrow_piece_is_one_line_along_its_middle():
    line = middle_line(np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 0.2], [0.0, 0.2]]))
    assert sorted(map(tuple, np.round(line, 9))) == [(0.0, 0.1), (10.0, 0.1)]
    assert middle_line(np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 1.0], [0.0, 1.0]])) is None


def test_a_line_is_parted_where_it_goes_beneath():
    seen, hidden = split(LineString([(0.0, 0.0), (10.0, 0.0)]), area(3.0, -1.0, 5.0, 1.0))
    assert sum(np.ptp(r[:, 0]) for r in seen) == pytest.approx(8.0)
    assert sum(np.ptp(r[:, 0]) for r in hidden) == pytest.approx(2.0)

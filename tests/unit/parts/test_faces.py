"""Unrolled shafts against solid geometry: true lengths, folding back, the cut line all round."""

import math
from itertools import combinations

import numpy as np
import pytest

from spanwright.parts.faces import FACES, along_edge, along_face, face_patterns
from spanwright.structures.given import TrimEnd
from truth.shaft_cases import on_a_pier

#: The foot corners of each face, left and right as seen from outside: (ahead, left) of the shaft's middle.
SEEN = {
    "right": ((-1, -1), (1, -1)),
    "finish": ((1, -1), (1, 1)),
    "left": ((1, 1), (-1, 1)),
    "start": ((-1, 1), (-1, -1)),
}
CASES = [
    (1.0 / 24.0, TrimEnd.FOOT, 66.0),
    (1.0 / 24.0, TrimEnd.TOP, 66.0),
    (1.0 / 6.0, TrimEnd.FOOT, None),
    (0.0, TrimEnd.FOOT, 66.0),
]


def middle_pattern(case):
    (found,) = [p for p in face_patterns(case.inputs, case.structures) if p.support == "q"]
    return found


def kept(face, trim):
    """What is left of a face: foot left, foot right, top right, top left."""
    if not len(face.waste):
        return face.corners
    if trim is TrimEnd.TOP:
        return np.array([*face.corners[:2], face.cut[1], face.cut[0]])
    return np.array([*face.cut, *face.corners[2:]])


def in_the_shape(case, looks):
    """The same four corners of the finished shape in space."""
    shape, place = case.shapes["q/shaft"], case.pier.footprint
    left = place.across.value
    ahead = np.array([left[1], -left[0]])
    gap = shape.vertices[:, :2] - np.array([float(place.x.value), float(place.y.value)])
    key = np.column_stack([np.sign(gap @ ahead), np.sign(gap @ left)])
    levels = shape.vertices[:, 2]
    foot, top = levels.min(), levels.max()
    order = [(SEEN[looks][0], foot), (SEEN[looks][1], foot), (SEEN[looks][1], top), (SEEN[looks][0], top)]
    rows = [
        int(np.flatnonzero((key == corner).all(axis=1) & np.isclose(levels, level))[0])
        for corner, level in order
    ]
    return shape.vertices[rows]


def test_a_face_of_the_demo_s_pier():
    """49.2 mm at 1:24 is 2.05 mm of run: Pythagoras in one plane, and in two for the edge."""
    assert along_face(49.2, 1.0 / 24.0) == pytest.approx(math.hypot(49.2, 2.05), abs=1e-12)
    assert along_edge(49.2, 1.0 / 24.0) == pytest.approx(math.dist((0, 0, 0), (2.05, 2.05, 49.2)), abs=1e-12)
    assert round(along_face(49.2, 1.0 / 24.0), 2) == 49.24
    assert round(along_edge(49.2, 1.0 / 24.0), 2) == 49.29


@pytest.mark.parametrize(("batter", "trim", "stock"), CASES)
def test_the_pattern_folds_back_to_the_shaft(batter, trim, stock):
    """Each face keeps all its six distances, so it is the face of the solid, not mirrored, laid flat."""
    case = on_a_pier(batter=batter, trim=trim, stock=stock)
    pattern = middle_pattern(case)
    assert tuple(f.looks for f in pattern.faces) == FACES
    for face in pattern.faces:
        flat, solid = kept(face, trim), in_the_shape(case, face.looks)
        for a, b in combinations(range(4), 2):
            assert math.dist(flat[a], flat[b]) == pytest.approx(math.dist(solid[a], solid[b]), abs=1e-9)
        (ax, ay), (bx, by) = flat[1] - flat[0], flat[3] - flat[0]
        turn = ax * by - ay * bx
        outward = np.cross(solid[1] - solid[0], solid[3] - solid[0])
        middle = solid.mean(axis=0) - case.shapes["q/shaft"].vertices.mean(axis=0)
        assert turn > 0.0
        assert outward @ middle > 0.0, "seen from outside, the corners go round to the left on paper too"


@pytest.mark.parametrize(("batter", "trim", "stock"), CASES)
def test_neighbours_share_their_edge(batter, trim, stock):
    pattern = middle_pattern(on_a_pier(batter=batter, trim=trim, stock=stock))
    for before, after in zip(pattern.faces, pattern.faces[1:], strict=False):
        assert before.corners[1:3] == pytest.approx(after.corners[[0, 3]], abs=1e-9)
        assert before.cut[1] == pytest.approx(after.cut[0], abs=1e-9)
    # where the wrap closes the two edges are as long, and so are both parts that the cut makes of them
    first, last = pattern.faces[0], pattern.faces[-1]
    assert math.dist(first.corners[0], first.cut[0]) == pytest.approx(
        math.dist(last.corners[1], last.cut[1]), abs=1e-9
    )
    # the fan is laid evenly about the upright: its first and last foot lines rise alike to both sides
    rise = [math.atan2(*(f.corners[1] - f.corners[0])[::-1]) for f in (first, last)]
    assert rise[0] == pytest.approx(-rise[1], abs=1e-12)
    assert rise[0] <= 0.0


@pytest.mark.parametrize("trim", list(TrimEnd))
def test_the_cut_line_is_level_all_round(trim):
    """It is square to the middle of every face, at the cut length from the end that is kept."""
    case = on_a_pier(stock=66.0, trim=trim)
    pattern = middle_pattern(case)
    run = case.cut.length / 24.0
    for face in pattern.faces:
        foot, top = face.corners[:2], face.corners[[3, 2]]
        whole = top.mean(axis=0) - foot.mean(axis=0)
        cut = face.cut[1] - face.cut[0]
        assert cut @ whole == pytest.approx(0.0, abs=1e-9)
        end = foot if trim is TrimEnd.TOP else top
        along = math.dist(face.cut.mean(axis=0), end.mean(axis=0))
        assert along == pytest.approx(math.hypot(case.cut.length, run), abs=1e-9)
        for k in (0, 1):
            edge = math.dist(face.cut[k], end[k])
            assert edge == pytest.approx(math.dist((0, 0, 0), (run, run, case.cut.length)), abs=1e-9)
        assert math.hypot(*whole) == pytest.approx(math.hypot(66.0, 66.0 / 24.0), abs=1e-9)
    assert pattern.true_length == pytest.approx(math.hypot(case.cut.length, run))


def test_what_comes_off_and_what_is_kept_make_the_shaft():
    def area(corners):
        x, y = corners.T
        return 0.5 * abs(x @ np.roll(y, -1) - y @ np.roll(x, -1))

    for trim in TrimEnd:
        for face in middle_pattern(on_a_pier(stock=66.0, trim=trim)).faces:
            assert area(kept(face, trim)) + area(face.waste) == pytest.approx(area(face.corners))


def test_a_shaft_that_is_made_to_size_has_no_waste():
    case = on_a_pier()
    pattern = middle_pattern(case)
    assert pattern.stock is None
    assert all(len(face.waste) == 0 for face in pattern.faces)
    heights = [math.dist(f.corners[:2].mean(axis=0), f.corners[2:].mean(axis=0)) for f in pattern.faces]
    assert heights == pytest.approx([math.hypot(case.cut.length, case.cut.length / 24.0)] * 4)


def test_a_shaft_that_is_too_short_has_a_finding_and_no_pattern():
    case = on_a_pier(stock=40.0)
    assert [f.where for f in case.structures.findings if f.code == "ST121"] == ["q/shaft"]
    assert "q" not in {p.support for p in face_patterns(case.inputs, case.structures)}


def test_bents_have_none(demo_plan):
    names = [p.support for p in face_patterns(demo_plan.inputs, demo_plan.structures)]
    assert names == ["town abutment", "pier 1", "yard abutment"]

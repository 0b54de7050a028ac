"""Jigs against closed forms: equal spans on an arc, on a grade, over a crest; against plain coordinates."""

import math
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest

from spanwright.parts.jigs import jig_sheets
from spanwright.structures.heights import span_heights
from spanwright.structures.numbers import FittedSpan
from spanwright.structures.spans import span_axis
from truth.line_scenes import Sizes, bridge, exact_line, pier, span

R, PITCH, LENGTH = 381.0, 97.0, 95.0


def unit(*, number=2, depth=(13.0, 13.0), **track):
    """Equal spans on exact supports, the chord between them PITCH long."""
    sizes = Sizes()
    line = exact_line(**track)
    bend = track.get("curvature", 0.0)
    arc = 2.0 / bend * math.asin(0.5 * PITCH * bend) if bend else PITCH
    names = "pqrst"[: number + 1]
    spans = [span(sizes, a + b, a, b, length=LENGTH, depth=depth) for a, b in pairwise(names)]
    given = bridge(sizes, spans, [pier(sizes, n, along=0.0) for n in names])
    inputs = sizes.inputs
    fitted = []
    for k, s in enumerate(spans):
        axis = span_axis(s, inputs, line, (300.0 + k * arc, 300.0 + (k + 1) * arc))
        heights = span_heights(given, inputs, line, axis)
        fitted.append(FittedSpan(axis=axis, heights=heights, tie_length=20.0))
    (jig,) = jig_sheets((tuple(s.name for s in spans),), inputs, SimpleNamespace(spans=tuple(fitted)))
    return jig, fitted, inputs


@pytest.mark.parametrize("bend", [1.0 / R, -1.0 / R, 1.0 / 900.0])
def test_equal_spans_on_an_arc(bend):
    """Neighbouring chords c of a circle turn by 2 asin(c / 2R); their axes stand a half-split further out."""
    jig, _, _ = unit(curvature=bend)
    radius = 1.0 / abs(bend)
    half = math.asin(PITCH / (2.0 * radius))  # half the angle that one span spans
    turn = math.copysign(2.0 * half, bend)
    (joint,) = jig.joints
    assert float(joint.kink.value) == pytest.approx(turn, abs=1e-9)
    assert float(joint.jog.value) == pytest.approx(0.0, abs=1e-9)
    # the axes lie at R - m/2 from the centre, m the middle ordinate R (1 - cos half)
    apart = radius * (1.0 + math.cos(half)) / 2.0
    ends = [
        np.array([apart * math.sin(a) + x * math.cos(a), apart * (1.0 - math.cos(a)) + x * math.sin(a)])
        for a, x in ((0.0, -LENGTH / 2.0), (2.0 * half, LENGTH / 2.0))
    ]
    reach = ends[1] - ends[0]
    assert float(jig.far_along.value) == pytest.approx(reach[0], abs=1e-6)
    assert float(jig.far_offset.value) == pytest.approx(math.copysign(reach[1], bend), abs=1e-6)
    assert float(jig.over_all.value) == pytest.approx(math.hypot(*reach), abs=1e-6)
    # at the joint the axes meet half a kink askew; ends of square girders open as a wedge
    width = 12.0 + 2.4
    meet = apart * math.tan(half) - LENGTH / 2.0  # from a girder's end to where the axes meet
    for gap, side in ((joint.gap_left, 1.0), (joint.gap_right, -1.0)):
        out = -side * math.copysign(1.0, bend) * width / 2.0  # towards the outside of the curve
        expected = 2.0 * (meet * math.cos(half) + out * math.sin(half))
        assert float(gap.value) == pytest.approx(expected, abs=1e-6)


def test_three_spans_turn_twice():
    jig, _, _ = unit(number=3, curvature=1.0 / R)
    kinks = [float(j.kink.value) for j in jig.joints]
    assert kinks == pytest.approx([2.0 * math.asin(PITCH / (2.0 * R))] * 2, abs=1e-9)
    (a, b) = (np.array([float(v.value) for v in e]) for e in jig.spans[-1].ends)
    assert math.atan2(*(b - a)[::-1]) == pytest.approx(sum(kinks), abs=1e-9)


def test_on_one_straight_grade_all_shoes_lie_on_the_board():
    jig, _, _ = unit(grade=0.021)
    for jig_span in jig.spans:
        for seat in jig_span.seats:
            assert float(seat.height.value) == pytest.approx(0.0, abs=1e-9)
            assert float(seat.packing.value) == pytest.approx(0.0, abs=1e-9)
    (joint,) = jig.joints
    assert float(joint.rise.value) == pytest.approx(0.0, abs=1e-9)
    assert float(jig.far_offset.value) == pytest.approx(0.0, abs=1e-9)


def test_a_girder_that_is_shallower_stands_higher_but_shoes_lie_level():
    """Seats differ between left and right by the girders' depths: the board tilts with them, once."""
    jig, _, _ = unit(depth=(13.0, 12.4))
    heights = [float(s.height.value) for jig_span in jig.spans for s in jig_span.seats]
    assert heights == pytest.approx([0.0] * 8, abs=1e-9)


@pytest.mark.parametrize(("second", "lowest_span"), [(0.01, "pq"), (-0.01, "qr")])
def test_a_change_of_grade_lifts_or_drops_the_far_shoes(second, lowest_span):
    """Spans on two straight grades: the far shoes stand second x 91 mm off the plane, the near 2 mm of it."""
    _, fitted, inputs = unit()
    _, after, _ = unit(grade=second)
    # the second span of a line with the other grade, set so that both railheads meet at the joint
    shift = second * (300.0 + PITCH)
    heights = after[1].heights
    heights = replace(heights, bearings=tuple(replace(b, seat=b.seat - shift) for b in heights.bearings))
    spans = (fitted[0], FittedSpan(axis=fitted[1].axis, heights=heights, tie_length=20.0))
    (jig,) = jig_sheets((("pq", "qr"),), inputs, SimpleNamespace(spans=spans))
    near, far = 0.5 * (PITCH - LENGTH) + 2.0, 0.5 * (PITCH + LENGTH) - 2.0  # shoes from the joint
    found = {(s.name, n): float(seat.height.value) for s in jig.spans for n, seat in enumerate(s.seats)}
    for n in (0, 1):
        assert found["qr", n] == pytest.approx(second * near, abs=1e-9)
        assert found["qr", n + 2] == pytest.approx(second * far, abs=1e-9)
    (joint,) = jig.joints
    assert float(joint.rise.value) == pytest.approx(second * (far - near), abs=1e-9)
    assert float(joint.rise_per_length.value) == pytest.approx(second, abs=1e-12)
    packings = [(float(seat.packing.value), s.name) for s in jig.spans for seat in s.seats]
    assert min(packings)[0] == pytest.approx(0.0, abs=1e-9)
    assert min(packings)[1] == lowest_span
    assert max(p for p, _ in packings) == pytest.approx(abs(second) * far, abs=1e-9)


def handed(points):
    """Positive where the second point lies to the right of the way from the first to the third."""
    (ax, ay), (bx, by) = points[2] - points[0], points[1] - points[0]
    return ay * bx - ax * by


def test_the_board_is_the_layout_turned(demo_plan):
    """Distances between any two shoes and girder corners are those of the layout."""
    (jig,) = jig_sheets((("span B", "span C"),), demo_plan.inputs, demo_plan.structures)
    bearings = {b.id: b for b in demo_plan.structures.bearings}
    board, layout, heights = [], [], []
    for jig_span in jig.spans:
        for seat in jig_span.seats:
            b = bearings[seat.bearing]
            board.append([float(seat.x.value), float(seat.y.value)])
            layout.append([float(b.x.value), float(b.y.value)])
            heights.append([float(seat.height.value), float(b.seat.value)])
    board, layout = np.array(board), np.array(layout)
    for k in range(len(board)):
        assert np.hypot(*(board - board[k]).T) == pytest.approx(np.hypot(*(layout - layout[k]).T), abs=1e-9)
    assert handed(board) * handed(layout) > 0.0  # not its mirror image
    # heights less those of a plane fitted to the first span's four seats by least squares
    heights = np.array(heights)
    plane = np.column_stack([np.ones(8), layout])
    fit, *_ = np.linalg.lstsq(plane[:4], heights[:4, 1], rcond=None)
    assert heights[:, 0] == pytest.approx(heights[:, 1] - plane @ fit, abs=1e-6)
    # its numbers are those that the structures stage lists under the support
    numbers = {q.id: float(q.value.value) for q in demo_plan.structures.quantities}
    (joint,) = jig.joints
    assert float(joint.kink.value) == pytest.approx(numbers["bent/kink"])
    assert float(joint.gap_left.value) == pytest.approx(numbers["bent/end gap left"])


def test_no_units_no_jigs(demo_plan):
    assert jig_sheets((), demo_plan.inputs, demo_plan.structures) == ()

"""The build-up at a bearing by hand, on straight track with grade and cant."""

import numpy as np
import pytest

from spanwright.alignment.line import Line
from spanwright.estimation.derived import constant
from spanwright.structures.heights import span_heights
from spanwright.structures.spans import span_axis
from truth.line_scenes import Sizes, bridge, exact_line, pier, span


def heights(line, depth=(13.0, 13.0)):
    sizes = Sizes()
    one = span(sizes, "A", "p", "q", depth=depth)
    given = bridge(sizes, [one], [pier(sizes, "p", along=0.0), pier(sizes, "q")])
    axis = span_axis(one, sizes.inputs, line, (300.0, 396.0))
    return span_heights(given, sizes.inputs, line, axis), sizes.inputs


def test_level_track():
    found, _ = heights(exact_line(height=80.0))
    for b in found.bearings:
        assert float(b.railhead.value) == pytest.approx(80.0)
        assert float(b.girder_top.value) == pytest.approx(80.0 - 1.4 - 1.6 + 0.2)
        assert float(b.seat.value) == pytest.approx(80.0 - 1.4 - 1.6 + 0.2 - 13.0 - 1.2)
    assert float(found.rocks_by.value) == pytest.approx(0.0, abs=1e-12)


def test_grade_and_cant_give_every_bearing_its_own_height():
    """Bearings 45.5 mm before and after mid span (348), girders 6 mm to each side; heads 10 mm apart.

    Right rail 0.5 mm above the left: the plane of the rail heads falls 0.05 a millimetre to the left.
    """
    found, _ = heights(exact_line(height=80.0, grade=0.02, cant=0.5))
    seats = {(b.end, b.side): float(b.railhead.value) for b in found.bearings}
    for (end, side), got in seats.items():
        station = 348.0 + (45.5 if end == "end" else -45.5)
        assert got == pytest.approx(80.0 + 0.02 * station + (-0.3 if side == "left" else 0.3), abs=1e-9)
    assert float(found.rocks_by.value) == pytest.approx(0.0, abs=1e-9)  # grade and constant cant: one plane


def test_girders_of_two_depths():
    found, _ = heights(exact_line(), depth=(13.0, 11.5))
    left, right = (float(b.seat.value) for b in found.bearings[:2])
    assert right - left == pytest.approx(1.5)


def test_twisted_track_rocks_a_rigid_span():
    """Cant running out over the span: corners differ by the change of cant over the girder spacing."""
    flat = exact_line()
    ramp = Line(
        name="upper", chain=flat.chain, plan=flat.plan, grade_knots=flat.grade_knots, profile=flat.profile,
        cant_knots=np.array([302.5, 393.5]), cant=constant(np.array([0.0, 0.9])),
        head_distance=flat.head_distance, surveyed=flat.surveyed,
    )  # fmt: skip
    found, _ = heights(ramp)
    t = 12.0 / 10.0 * 0.9  # the end corners differ by this, the start corners not at all
    assert float(found.rocks_by.value) == pytest.approx(t, abs=1e-9)
    tops = [float(b.girder_top.value) for b in found.bearings]
    assert tops[0] - tops[1] - tops[2] + tops[3] == pytest.approx(0.0, abs=1e-9)  # in one plane
    quarters = [next(x for x in b.layers if x.name.startswith("twist")) for b in found.bearings]
    assert [float(q.thickness.value) for q in quarters] == pytest.approx(
        [t / 4, -t / 4, -t / 4, t / 4], abs=1e-9
    )


def test_layers_add_up_and_carry_their_doubt():
    found, inputs = heights(exact_line(grade=0.01))
    b = found.bearings[0]
    total = sum((layer.thickness for layer in b.layers[1:]), b.layers[0].thickness)
    assert float((b.railhead - total - b.seat).value) == pytest.approx(0.0, abs=1e-9)
    # rail, tie, dap, girder, shoe at 0.05 each; the line has none, the places add 1 % of theirs
    assert float(b.seat.sd(inputs.sds)) == pytest.approx(0.05 * np.sqrt(5.0), rel=1e-3)


def test_vertical_curve_over_the_span():
    """A grade that eases from 2 % to 1 % along the span lifts mid span by L^2 dg / 8 of the bearings."""
    flat = exact_line()
    sag = Line(
        name="upper", chain=flat.chain, plan=flat.plan, grade_knots=np.array([302.5, 393.5]),
        profile=constant(np.array([80.0, 0.02, 0.01])), cant_knots=flat.cant_knots, cant=flat.cant,
        head_distance=flat.head_distance, surveyed=flat.surveyed,
    )  # fmt: skip
    found, _ = heights(sag)
    assert float(found.vertical_middle_ordinate.value) == pytest.approx(91.0 * 0.01 / 8.0, abs=1e-9)

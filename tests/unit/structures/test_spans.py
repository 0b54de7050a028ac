"""Straight girders under an arc against the closed forms of a circle, and by hand on straight track."""

import numpy as np
import pytest

from spanwright.errors import InputError
from spanwright.structures.given import CapForm, SupportKind
from spanwright.structures.spans import arrange, beside, end_gap, jog, kink, point_on_span, span_axis
from truth.line_scenes import Sizes, bridge, exact_line, pier, span

R = 381.0


def two_spans(curvature, length=95.0, **options):
    sizes = Sizes()
    spans = [span(sizes, "A", "p", "q", length), span(sizes, "B", "q", "r", length)]
    given = bridge(sizes, spans, [pier(sizes, "p", along=0.0), pier(sizes, "q"), pier(sizes, "r")], **options)
    line = exact_line(curvature=curvature)
    at = dict(arrange(given, sizes.inputs, line, (300.0, 0.0))[0])
    axes = [span_axis(s, sizes.inputs, line, (at[s.start], at[s.end])) for s in spans]
    return sizes.inputs, at, axes


def test_half_split_on_an_arc():
    """Middle ordinate R - sqrt(R^2 - p^2/4), half of it as shift: p^2 / 16 R to first order."""
    _, at, (a, _) = two_spans(1.0 / R)
    p = float(a.pitch.value)
    assert p == pytest.approx(2.0 * R * np.sin((at["q"] - at["p"]) / (2.0 * R)), abs=1e-9)
    exact = R - np.sqrt(R**2 - p**2 / 4.0)
    # a left curve bulges to the right of its chord
    assert float(a.middle_ordinate.value) == pytest.approx(-exact, abs=1e-6)
    assert float(a.shift.value) == pytest.approx(-exact / 2.0, abs=1e-6)
    assert abs(float(a.shift.value)) == pytest.approx(p**2 / (16.0 * R), rel=0.01)
    assert float(a.worst_offset.value) == pytest.approx(exact / 2.0, abs=1e-6)


def test_kink_of_two_chords():
    """Each chord turns by 2 asin(p / 2R) against the last; left turn positive."""
    _, _, (a, b) = two_spans(1.0 / R)
    expected = np.arcsin(float(a.pitch.value) / (2.0 * R)) + np.arcsin(float(b.pitch.value) / (2.0 * R))
    assert float(kink(a, b).value) == pytest.approx(expected, abs=1e-12)
    assert float(jog(a, b).value) == pytest.approx(0.0, abs=0.005)  # equal pitches to 0.1 mm: equal shifts


def test_inner_girder_ends_keep_the_gap():
    """Equal girders: the pitch is longer than they are, so that the inner corners clear by the gap."""
    inputs, _, (a, b) = two_spans(1.0 / R)
    inner, outer = (float(end_gap(a, b, side, inputs).value) for side in (1.0, -1.0))
    assert 0.45 <= inner < 1.0  # as wanted, rounded up to half a millimetre
    turn = float(kink(a, b).value)
    assert outer - inner == pytest.approx(2.0 * 14.4 * np.sin(turn / 2.0), abs=1e-6)


def test_straight_track_needs_no_shift():
    inputs, at, (a, b) = two_spans(0.0)
    assert float(a.shift.value) == pytest.approx(0.0, abs=1e-12)
    assert at["q"] - at["p"] == pytest.approx(95.5)
    assert float(kink(a, b).value) == pytest.approx(0.0, abs=1e-12)
    assert float(end_gap(a, b, 1.0, inputs).value) == pytest.approx(0.5, abs=1e-9)


def test_mirrored_curve_mirrors_everything():
    _, _, left = two_spans(1.0 / R)
    _, _, right = two_spans(-1.0 / R)
    for a, b in zip(left, right, strict=True):
        assert float(a.shift.value) == pytest.approx(-float(b.shift.value), abs=1e-9)
    assert float(kink(*left).value) == pytest.approx(-float(kink(*right).value), abs=1e-12)


def test_pitch_grows_where_girders_frame_into_a_skewed_cap():
    """Face distance (half cap + half width sin p) / cos p on that side; nothing on the other."""
    sizes = Sizes()
    bent = pier(sizes, "q", kind=SupportKind.STRADDLE_BENT, form=CapForm.LEVEL)
    spans = [span(sizes, "A", "p", "q"), span(sizes, "B", "q", "r")]
    given = bridge(sizes, spans, [pier(sizes, "p"), bent, pier(sizes, "r")])
    askew = np.radians(24.0)
    stations, slides = arrange(given, sizes.inputs, exact_line(), (300.0, askew))
    at = dict(stations)
    face = (6.0 + 7.2 * np.sin(askew)) / np.cos(askew)
    assert at["r"] - at["q"] == pytest.approx(np.ceil((95.5 + face) * 2.0) / 2.0, abs=0.06)
    assert at["q"] == pytest.approx(300.0)
    assert slides == pytest.approx([-face / 2.0, face / 2.0], abs=0.06)  # away from the cap on both sides


def test_a_point_beside_a_curve():
    line = exact_line(curvature=1.0 / R)
    _, _, (a, _) = two_spans(1.0 / R)
    x, y = point_on_span(a, 10.0, 3.0)
    station, offset, track = beside(line, x, y)
    normal = np.array([-np.sin(track.heading.value[0]), np.cos(track.heading.value[0])])
    foot = np.array([track.x.value[0], track.y.value[0]])
    assert np.array([float(x.value), float(y.value)]) == pytest.approx(
        foot + float(offset.value) * normal, abs=1e-9
    )
    assert 300.0 < float(station.value) < 400.0


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("nothing fixed", "ST001|nothing says where the supports stand"),
        ("out of order", "not in station order"),
        ("one span short", "do not form one bridge.*read 1"),
        ("wrong order", "must lead from each support to the next.*'q to p'"),
    ],
)
def test_what_does_not_form_a_bridge_is_refused(change, said):
    sizes = Sizes()
    spans = [span(sizes, "A", "p", "q"), span(sizes, "B", "q", "r")]
    supports = [pier(sizes, "p", along=0.0), pier(sizes, "q"), pier(sizes, "r")]
    if change == "nothing fixed":
        supports[0] = pier(sizes, "p")
    elif change == "out of order":
        supports[1] = pier(sizes, "q", along=-30.0)
    elif change == "one span short":
        spans = spans[:1]
    else:
        spans[0] = span(sizes, "A", "q", "p")
    given = bridge(sizes, spans, supports)
    with pytest.raises(InputError, match=said):
        arrange(given, sizes.inputs, exact_line(), (300.0, 0.0))

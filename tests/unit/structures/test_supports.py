"""Cut sizes, packing and room by hand; every finding; where supports stand."""

from dataclasses import replace

import numpy as np
import pytest

from spanwright.alignment.crossing import find_crossings
from spanwright.alignment.stage import Alignments, LaidLine
from spanwright.errors import InputError
from spanwright.estimation.derived import Derived
from spanwright.findings import Severity
from spanwright.structures.given import CapForm, Packing, SupportKind
from spanwright.structures.stage import fit_structures
from truth.line_scenes import Sizes, bridge, exact_line, pier, span


class Ground:
    """Stands in for the adjusted survey: heights of ground marks as base inputs."""

    def __init__(self, sizes, **heights):
        self.keys = {name: sizes.free(z, 0.25) for name, z in heights.items()}
        self.sizes = sizes

    def value(self, name) -> Derived:
        return self.sizes.inputs.derived(self.keys[name.partition(".")[0]])


def build(
    *,
    middle=None,
    upper=None,
    lower=None,
    packing=None,
    stock=None,
    end_gap=0.5,
    choices=None,
    turn_lines=False,
):
    """Two spans over a lower line at right angles (or as given); level straight track unless said."""
    sizes = Sizes()
    ground = Ground(sizes, g=1.0, h=2.0)
    extra = {} if stock is None else {"stock": sizes(stock)}
    centre = middle(sizes) if middle else pier(sizes, "q", **extra)
    spans = [span(sizes, "A", "p", "q"), span(sizes, "B", "q", "r")]
    ends = [
        pier(sizes, "p", kind=SupportKind.ABUTMENT, along=None if middle else -95.5),
        pier(sizes, "r", kind=SupportKind.ABUTMENT),
    ]
    given = bridge(sizes, spans, [ends[0], centre, ends[1]], end_gap=end_gap)
    given = replace(given, packing=packing or given.packing)
    above = upper or exact_line(height=80.0)
    below = lower or exact_line("lower", start=(500.0, -450.0), heading=np.radians(80.0), height=12.0)
    laid = tuple(
        LaidLine(
            line=x, mark_names=(), stations=None, residuals=np.zeros(0), description=(), shortest_wave=0.0
        )
        for x in (above, below)
    )
    lines = Alignments(
        inputs=sizes.inputs, lines=laid, crossings=find_crossings(above, below), choices=(), findings=()
    )
    return fit_structures(given, ground, lines, choices), sizes.inputs, given


def bent(form=CapForm.UNDER, **more):
    def make(sizes):
        return replace(
            pier(sizes, "q", kind=SupportKind.STRADDLE_BENT, form=form, **more),
            bases=("g", "h"), clear_left=sizes(16.0, 0.3), clear_right=sizes(15.0, 0.3), footing=sizes(1.5),
        )  # fmt: skip

    return make


def numbers(found):
    return {q.id: q.value for q in found.quantities}


SEAT = 80.0 - 1.4 - 1.6 + 0.2 - 13.0 - 1.2


def test_a_pier_is_cut_low_by_its_doubt_and_the_thinnest_packing():
    found, inputs, given = build()
    (_, q, _) = found.supports
    (cut,) = q.cuts
    assert float(cut.wanted.value) == pytest.approx(SEAT - 0.25 - 3.0 - 1.0)
    # five layers and the cap at 0.05, ground 0.25, the cut 0.2
    u = np.sqrt(6 * 0.05**2 + 0.25**2 + 0.2**2)
    assert cut.length == pytest.approx(np.floor((float(cut.wanted.value) - 2.0 * u) * 10.0) / 10.0, abs=0.1)
    for seat in q.seats:
        u_packing = float(seat.packing.sd(inputs.sds))
        assert u_packing == pytest.approx(u, rel=0.01)
        assert float(seat.packing.value) - given.k * u_packing >= 0.25 - 1e-9
    assert float(q.cap_top.value) == pytest.approx(1.0 + cut.length + 3.0)


def test_packing_takes_up_what_the_cut_left():
    found, _, _ = build()
    q = found.supports[1]
    for b, seat in zip([b for b in found.bearings if b.support == "q"], q.seats, strict=True):
        assert float(seat.packing.value) == pytest.approx(float(b.seat.value) - float(q.cap_top.value))


def test_a_kit_shaft_is_trimmed():
    found, _, _ = build(stock=60.0)
    (cut,) = found.supports[1].cuts
    assert float(cut.trimmed.value) == pytest.approx(60.0 - cut.length)
    assert not [f for f in found.findings if f.code == "ST121"]


def test_a_kit_shaft_that_is_too_short_stops():
    found, _, _ = build(stock=40.0)
    (finding,) = [f for f in found.findings if f.code == "ST121"]
    assert finding.severity is Severity.STOP
    assert finding.where == "q/shaft"


def test_no_height_left_stops_and_names_the_remedy():
    found, _, _ = build(
        upper=exact_line(height=19.0),
        lower=exact_line("lower", start=(500.0, -450.0), heading=1.4, height=2.0),
    )
    stops = [f for f in found.findings if f.code == "ST120"]
    assert stops
    assert all(f.severity is Severity.STOP for f in stops)
    assert "level with the girders" in stops[0].remedy


def test_packing_that_may_look_too_thick():
    found, _, _ = build(packing=Packing(thinnest=0.25, most=0.6))
    assert {f.where for f in found.findings if f.code == "ST122"} >= {"q/A/left", "q/B/right"}


def test_shoes_and_edges_on_a_square_pier():
    """Girders 95 on a pitch of 95.5: shoes stand 2.25 from the pier's middle, 1 each way; cap 12."""
    found, _, _ = build()
    n = numbers(found)
    assert float(n["q/A/left/edge"].value) == pytest.approx(6.0 - 2.25 - 1.0, abs=0.06)
    assert float(n["q/between shoes"].value) == pytest.approx(4.5 - 2.0, abs=0.06)
    assert not [f for f in found.findings if f.code in ("ST110", "ST111")]


def test_shoes_that_find_no_room():
    def narrow(sizes):
        return replace(pier(sizes, "q", along=0.0), cap_along=sizes(5.0))

    found, _, _ = build(middle=narrow)
    edges = {f.where for f in found.findings if f.code == "ST110"}
    assert edges == {"q/A/left", "q/A/right", "q/B/left", "q/B/right"}
    assert all(f.severity is Severity.STOP for f in found.findings if f.code == "ST110")  # beyond the edge


def test_a_cap_shorter_than_the_girders_are_apart():
    """Girders 12 apart with flanges 2.4 wide on a cap 9 across: shoes hang 2.7 mm past its ends."""

    def short(sizes):
        return replace(pier(sizes, "q", along=0.0), cap_across=sizes(9.0))

    found, _, _ = build(middle=short)
    stops = {f.where: f for f in found.findings if f.code == "ST110"}
    assert set(stops) == {"q/A/left", "q/A/right", "q/B/left", "q/B/right"}
    assert stops["q/A/left"].value == pytest.approx(4.5 - 6.0 - 1.2, abs=1e-6)
    assert stops["q/A/left"].severity is Severity.STOP


ASKEW = exact_line(
    "lower",
    start=(500.0 - 450.0 * np.cos(np.radians(24.0)), -450.0 * np.sin(np.radians(24.0))),
    heading=np.radians(24.0),
    height=12.0,
)


def test_girders_that_frame_into_a_skewed_cap_clear_its_face():
    found, _, given = build(middle=bent(CapForm.LEVEL), lower=ASKEW)
    n = numbers(found)
    faces = [float(n[f"q/{span}/{side}/face"].value) for span in "AB" for side in ("left", "right")]
    assert min(faces) == pytest.approx(given.end_gap / 2.0, abs=0.35)  # rounded up to half a millimetre
    assert min(faces) >= 0.1
    assert not [f for f in found.findings if f.code == "ST113" and f.severity is Severity.STOP]


def test_a_girder_that_runs_into_the_cap_stops():
    """A cap turned by 25 degrees after the pitch was decided."""
    first, *_ = build(middle=bent(CapForm.LEVEL), lower=ASKEW)
    turned, *_ = build(middle=bent(CapForm.LEVEL, turn=np.radians(15.0)), lower=ASKEW, choices=first.choices)
    assert any(f.code == "ST113" and f.severity is Severity.STOP for f in turned.findings)


def test_setting_out_sideways_moves_pier_and_span_ends():
    def doubtful(sizes):
        return replace(pier(sizes, "q", along=0.0), set_out_across=sizes.free(0.0, 0.3))

    found, inputs, _ = build(middle=doubtful)
    q = found.supports[1]
    assert float(q.footprint.y.sd(inputs.sds)) == pytest.approx(0.3, rel=1e-6)
    a = found.spans[0].axis
    assert float(a.middle[1].sd(inputs.sds)) == pytest.approx(0.15, rel=1e-6)  # one end of the span
    ends = {
        b.support: float(b.y.sd(inputs.sds)) for b in found.bearings if b.span == "A" and b.side == "left"
    }
    assert ends["q"] > 0.28 > 0.05 > ends["p"]


def test_ties_and_handrails_lie_in_the_plane_of_the_girder_tops():
    """Right rail 1 mm above the left on heads 10 mm apart: the deck falls to the left by 0.1."""
    canted = exact_line(height=80.0, cant=1.0)
    sizes = Sizes()
    ground = Ground(sizes, g=1.0)
    rail = {"handrail_side": "both", "handrail_offset": sizes(17.0), "handrail_height": sizes(6.0)}
    one = replace(span(sizes, "A", "p", "q"), **rail)
    ends = [pier(sizes, "p", along=-48.0), pier(sizes, "q", along=48.0)]
    given = bridge(sizes, [one], ends)
    lower = exact_line("lower", start=(500.0, -450.0), heading=np.radians(80.0), height=12.0)
    laid = tuple(
        LaidLine(
            line=x, mark_names=(), stations=None, residuals=np.zeros(0), description=(), shortest_wave=0.0
        )
        for x in (canted, lower)
    )
    lines = Alignments(
        inputs=sizes.inputs, lines=laid, crossings=find_crossings(canted, lower), choices=(), findings=()
    )
    found = fit_structures(given, ground, lines)
    parts = {s.part: s.vertices for s in found.shapes}
    tops = {b.side: float(b.girder_top.value) for b in found.bearings if b.end == "start"}
    slope = (tops["left"] - tops["right"]) / 12.0
    assert slope == pytest.approx(-0.1)
    ties = parts["A/ties"]
    low, high = ties[ties[:, 1] > 0.0], ties[ties[:, 1] < 0.0]  # left is +y
    assert low[:, 2].min() < high[:, 2].min()
    middle = 0.5 * (tops["left"] + tops["right"])
    angle = np.arcsin(slope)
    # the left handrail's near face at its foot: 17 out along the canted ties, a tie thick above
    # their undersides
    foot = np.array(
        [
            17.0 * np.cos(angle) - 1.6 * np.sin(angle),
            middle - 0.2 + 17.0 * np.sin(angle) + 1.6 * np.cos(angle),
        ]
    )
    rails = parts["A/handrail left"][:, 1:]
    assert np.min(np.linalg.norm(rails - foot, axis=1)) == pytest.approx(0.0, abs=1e-6)


def test_an_abutments_seat_reaches_from_the_backwall_under_the_span():
    found, _, _ = build()
    p = found.supports[0]
    wall = next(s for s in found.shapes if s.part == "p/backwall")
    cap = next(s for s in found.shapes if s.part == "p/cap")
    assert cap.vertices[:, 0].min() == pytest.approx(p.station, abs=1e-9)
    assert cap.vertices[:, 0].max() == pytest.approx(p.station + 12.0, abs=1e-9)
    assert wall.vertices[:, 0].max() == pytest.approx(p.station, abs=1e-9)
    assert wall.vertices[:, 2].max() == pytest.approx(80.0 - 1.4 - 1.6, abs=1e-9)


def test_a_bent_stands_square_to_the_lower_line_at_its_clear_distances():
    found, inputs, _ = build(middle=bent())
    q = found.supports[1]
    angle = np.radians(80.0)
    left = np.array([-np.sin(angle), np.cos(angle)])
    middle = (np.array([c.value for c in q.footprint.columns]) @ left) - np.array([500.0, -450.0]) @ left
    assert middle == pytest.approx([16.0 + 9.0, -(15.0 + 9.0)])  # shafts are 18 across
    columns = [s for s in found.shapes if "column" in s.part and "footing" not in s.part]
    faces = [(c.vertices[:, :2] - np.array([500.0, -450.0])) @ left for c in columns]
    assert [faces[0].min(), faces[1].max()] == pytest.approx([16.0, -15.0], abs=1e-6)
    # the near face is as doubtful as its setting out
    near = int(np.argmin(faces[0]))
    jac = np.einsum("im,mj->ij", columns[0].sensitivity[near], columns[0].controls.padded(len(inputs)).jac)
    assert np.sqrt(np.sum((np.array([*left, 0.0]) @ jac * inputs.sds[: jac.shape[1]]) ** 2)) == pytest.approx(
        0.3, rel=1e-6
    )


def test_a_shifted_bent_takes_its_columns_along():
    """30 mm along the upper line is 30 cos(80 deg) along the lower."""

    def shifted(sizes):
        return replace(bent()(sizes), shift=sizes.free(30.0))

    here, *_ = build(middle=bent())
    there, *_ = build(middle=shifted)
    moved = there.choices.lower_station - here.choices.lower_station
    assert moved == pytest.approx(30.0 * np.cos(np.radians(80.0)), abs=0.11)
    assert there.supports[1].station - here.supports[1].station == pytest.approx(30.0, abs=1e-9)


def test_the_caps_underside_is_the_soffit():
    found, _, _ = build(middle=bent())
    cap = next(s for s in found.shapes if s.part == "q/cap")
    q = found.supports[1]
    assert float(q.soffit.value) == pytest.approx(float(q.cap_top.value) - 3.0)
    lowest = cap.vertices[:, 2].min()
    assert (
        float(q.soffit.value) - 0.3 < lowest <= float(q.soffit.value) + 0.2
    )  # rivets, and columns a cut apart


def test_level_with_the_girders_lifts_the_soffit():
    under, *_ = build(middle=bent())
    level, *_ = build(middle=bent(CapForm.LEVEL))
    lift = float(level.supports[1].soffit.value) - float(under.supports[1].soffit.value)
    assert lift == pytest.approx(13.0 + 1.2, abs=0.21)  # girder and shoe
    assert all(s.edge is None for s in level.supports[1].seats)
    assert level.supports[1].between is None


def test_columns_on_uneven_ground_carry_a_level_cap():
    found, _, _ = build(middle=bent())
    left, right = found.supports[1].cuts
    assert left.length - right.length == pytest.approx(1.0, abs=0.11)  # ground at 1 and at 2
    assert (left.id, right.id) == ("q/column left", "q/column right")


def test_the_same_choices_give_the_same_bridge():
    first, *_ = build(middle=bent())
    again, *_ = build(middle=bent(), choices=first.choices)
    assert first.choices == again.choices
    for a, b in zip(first.quantities, again.quantities, strict=True):
        assert a.id == b.id
        assert float(a.value.value) == float(b.value.value)


@pytest.mark.parametrize(
    ("lower", "said"),
    [
        ({"start": (500.0, -450.0), "heading": 1.4, "height": 99.0}, "lies below the other"),
        ({"start": (500.0, 450.0), "heading": -1.8, "height": 12.0}, "opposite directions.*103 deg"),
        ({"start": (0.0, 300.0), "heading": 0.0, "height": 12.0}, "do not cross within the survey"),
    ],
)
def test_lines_that_cannot_be_bridged_are_refused(lower, said):
    with pytest.raises(InputError, match=said):
        build(lower=exact_line("lower", **lower))


def test_every_quantity_has_its_own_id():
    found, *_ = build(middle=bent())
    ids = [q.id for q in found.quantities]
    assert len(ids) == len(set(ids))
    assert len({s.part for s in found.shapes}) == len(found.shapes)

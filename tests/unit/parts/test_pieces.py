"""The parts list: every finished shape is listed, sizes go to the safe side by hand arithmetic."""

import math
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest

from spanwright.errors import InputError
from spanwright.parts.given import PartsInput
from spanwright.parts.pieces import How, list_pieces, made_last, uncounted
from spanwright.parts.safe_side import Correction, Way, cut_size, rounded, sixty_fourths
from truth.build_cases import JOBS, from_job, made_up


@pytest.fixture(scope="module", params=["demo", "oo", "h0", "one span", "level", "four spans"])
def case(request):
    return from_job(request.param) if request.param in JOBS else made_up(request.param)


def listed(case, **changes):
    parts = replace(case.parts, **changes)
    return {p.id: p for p in list_pieces(case.given, parts, case.inputs, case.structures)}


def sizes(piece):
    return {s.name: s for s in piece.sizes}


@pytest.mark.parametrize(
    ("finished", "wide", "correction", "thinnest", "cut"),
    [
        (50.0, 0.62, Correction.PACKED, 0.25, 49.1),  # 49.13 down
        (50.0, 0.0, Correction.PACKED, 0.0, 50.0),
        (49.2, 0.0, Correction.PACKED, 0.0, 49.2),  # on a step: neither down nor up
        (21.5, 0.62, Correction.TRIMMED_ON_BENCH, 0.0, 22.7),  # 22.62 up, with 0.5 for the saw
        (21.5, 0.62, Correction.TRIMMED_IN_PLACE, 9.0, 22.7),  # packing does not matter
        (12.34, 0.6, Correction.NONE, 0.25, 12.34),
        (12.34, 0.6, Correction.MADE_LAST, 0.25, 12.34),
    ],
)
def test_each_correction_has_its_safe_side(finished, wide, correction, thinnest, cut):
    assert cut_size(finished, wide, correction, thinnest=thinnest) == pytest.approx(cut, abs=1e-9)


def test_what_cannot_be_cut_is_refused():
    with pytest.raises(InputError, match="nothing is left") as caught:
        cut_size(0.6, 0.5, Correction.PACKED, thinnest=0.25)
    assert (caught.value.code, caught.value.value) == ("PA002", -0.2)
    with pytest.raises(InputError, match=r"negative; read -0\.1") as caught:
        cut_size(10.0, -0.1, Correction.NONE)
    assert caught.value.code == "PA001"


def test_inch_marks_go_to_the_safe_side():
    # a sixty-fourth is 0.396875 mm; 1 15/16 in is 49.2125 mm
    assert sixty_fourths(49.2125, Way.LOW) == sixty_fourths(49.2125, Way.LONG) == Fraction(31, 16)
    assert sixty_fourths(49.3, Way.LOW) == Fraction(124, 64)
    assert sixty_fourths(49.3, Way.LONG) == Fraction(125, 64)
    assert sixty_fourths(49.3, Way.TO_SIZE) == Fraction(124, 64)
    assert rounded(3.21, Way.LONG) == pytest.approx(3.3)
    assert rounded(3.29, Way.LOW) == pytest.approx(3.2)


def test_every_finished_shape_is_listed_once(case):
    pieces = listed(case)
    assert uncounted(tuple(pieces.values()), case.structures) == ()
    count = Counter(p.part for p in pieces.values() if p.part)
    # a handrail is two lines: its posts, and its two rails; all else is one line
    assert count == Counter({s.part: 2 if "/handrail" in s.part else 1 for s in case.structures.shapes})


def test_a_shape_that_is_forgotten_is_seen(case):
    pieces = [p for p in listed(case).values() if not p.id.endswith("girder left")]
    left = [f"{s.axis.given.name}/girder left" for s in case.structures.spans]
    assert list(uncounted((*pieces, pieces[0]), case.structures)) == [*left, pieces[0].id]


def test_counts(case):
    pieces = listed(case)
    for span in case.structures.spans:
        name, length = span.axis.given.name, float(span.axis.length.value)
        ties = pieces[f"{name}/ties"]
        assert ties.count == int(length / case.given.tie_pitch)
        assert ties.spare == max(2, math.ceil(ties.count / 10))
        assert pieces[f"{name}/shoes"].count == 4
        for side in ("left", "right"):
            posts = pieces.get(f"{name}/handrail {side}/posts")
            if posts:  # one every 8 mm
                assert posts.count == int(length / 8.0)
    numbers = [p.name.split(",")[0] for p in pieces.values() if "/girder " in p.id]
    assert numbers == [f"girder {n}" for n in range(1, 2 * len(case.structures.spans) + 1)]


def test_each_bearing_has_packing_and_a_pair_of_sticks(case):
    pieces = listed(case)
    for support in case.structures.supports:
        for seat in support.seats:
            packing = pieces[f"{seat.bearing}/packing"]
            assert sizes(packing)["thickness"].finished is seat.packing
            assert (packing.most_packing, packing.correction) == (
                case.given.packing.most,
                Correction.MADE_LAST,
            )
            assert pieces[f"stick/{seat.bearing}"].count == 2
        assert pieces[f"seat/{support.given.name}"].how is How.HOLD


def test_safe_side_by_hand():
    # level track 80 up; rail 1.4, tie 1.6 - 0.2, girder 13, shoe 1.2, packing 0.25, cap 3, base 1, k = 2:
    # the shaft may be 58.75; six sizes of 0.05 each, the base's 0.25 and the 0.2 of the cut itself make u
    pieces = listed(made_up("one span"))
    low = 58.75 - 2.0 * math.sqrt(6 * 0.05**2 + 0.25**2 + 0.2**2)
    shaft = sizes(pieces["p/shaft"])["height"]
    assert shaft.cut == pytest.approx(math.floor(low * 10.0) / 10.0) == pytest.approx(58.0)
    # ties: spacing 12 + flange 2.4 + twice an overhang of 1, up to 16.5; doubt of spacing and flange
    tie = sizes(pieces["P/ties"])["length"]
    long = 16.5 + 2.0 * math.sqrt(2 * 0.05**2) + 0.5
    assert float(tie.finished.value) == pytest.approx(16.5)
    assert tie.cut == pytest.approx(math.ceil(long * 10.0) / 10.0) == pytest.approx(17.2)
    # the backwall reaches from the underside of the cap (1 + 58) to that of the ties (80 - 3)
    wall = sizes(pieces["p/backwall"])["height"]
    assert float(wall.finished.value) == pytest.approx(77.0 - 59.0)
    wide = 2.0 * math.sqrt(2 * 0.05**2 + 0.25**2 + 0.2**2)
    assert wall.cut == pytest.approx(math.ceil((18.0 + wide + 0.5) * 10.0) / 10.0) == pytest.approx(19.2)


def test_packed_parts_are_cut_low_and_trimmed_ones_long(case):
    for piece in listed(case).values():
        for s in piece.sizes:
            value = float(s.finished.value)
            if s.cut is None:
                continue
            if s.correction in (Correction.TRIMMED_ON_BENCH, Correction.TRIMMED_IN_PLACE):
                assert s.cut >= value + 0.5, (piece.id, s.name)
            elif s.correction is Correction.PACKED:
                assert s.cut == pytest.approx(value)  # what will be built is what is cut: see its own test
    for support in case.structures.supports:
        for cut in support.cuts:  # the lowest seat keeps the thinnest packing with k times the doubt to spare
            spare = float(cut.wanted.value) - cut.length
            own = (cut.wanted - cut.built).sd(case.inputs.sds)
            assert spare >= case.given.k * float(own) - 1e-9


def test_what_is_still_to_be_made_says_so():
    pieces = listed(from_job("demo"))
    assert pieces["span A/frames"].to_be_made == ("bridge/spacing",)
    assert "supports/pier 1/cap" in pieces["pier 1/cap"].to_be_made
    assert pieces["pier 1/shaft"].how is How.TRIM
    assert "supports/pier 1/cut" in pieces["pier 1/shaft"].to_be_made
    assert pieces["span A/girder left"].to_be_made == ()
    assert pieces["span A/girder left"].how is How.FROM_KIT


def test_what_a_unit_spans_is_made_last():
    case = from_job("demo")
    unit = (("span B", "span C"),)
    assert made_last(case.given, PartsInput(units=unit)) == ("bent",)
    assert made_last(case.given, PartsInput()) == ()
    pieces = listed(case, units=unit)
    assert "jig/span B + span C" in pieces
    column = pieces["bent/column left"]
    assert column.correction is Correction.MADE_LAST
    assert sizes(column)["height"].cut is None
    cut = case.structures.supports[2].cuts[0]
    blank = float(cut.wanted.value) + case.given.k * float(cut.wanted.sd(case.inputs.sds)) + 0.5
    assert 0.0 <= float(sizes(column)["blank kept ready, at the least"].finished.value) - blank < 0.1
    assert listed(case, units=())["bent/column left"].correction is Correction.PACKED


@pytest.mark.parametrize(
    ("unit", "code", "value"),
    [(("span B", "span X"), "PA003", "span X"), (("span A", "span C"), "PA004", "span A, span C")],
)
def test_a_unit_that_cannot_be_meant_is_refused(unit, code, value):
    case = from_job("demo")
    with pytest.raises(InputError, match=value) as caught:
        made_last(case.given, PartsInput(units=(unit,)))
    assert (caught.value.code, caught.value.value) == (code, value)


def test_the_board_s_pieces_by_hand():
    case = from_job("demo")
    pieces = listed(case)
    board = case.parts.subroadbed
    thick = sum(case.inputs[k].value for k in board.thickness.ids) / len(board.thickness.ids)
    waste = sizes(pieces["board/opening"])[
        "kept back for blade lean and half the saw cut; the pattern adds its doubt"
    ]
    assert float(waste.finished.value) == pytest.approx(thick * math.tan(math.radians(2.0)) + 0.6)
    assert pieces["board/opening"].correction is Correction.TRIMMED_IN_PLACE
    stations = [s.station for s in case.structures.supports]
    back = sizes(pieces["board/strongback"])["length at the least"]
    assert float(back.finished.value) == pytest.approx(stations[-1] - stations[0] + 200.0)
    assert "board/opening" not in listed(case, subroadbed=None)


def test_every_piece_that_is_worked_has_a_caution(case):
    for piece in listed(case).values():
        if piece.how in (How.CUT, How.TRIM, How.MAKE):
            assert piece.cautions, piece.id
            assert all(len(line) < 120 for line in piece.cautions)

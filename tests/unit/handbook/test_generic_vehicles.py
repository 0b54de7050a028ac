"""Generic vehicles: sources, order of their sizes, and that they lie in the gauge of their region and era.

Plates of width and height as quoted, NEM 102 for continental Europe. For Great Britain no profile was found;
the height is held against the 13 ft 6 in that is quoted for the tallest engines.
"""

from fractions import Fraction

import numpy as np
import pytest
import shapely
from shapely.affinity import translate

from spanwright.errors import InputError
from spanwright.handbook.gauges import gauge
from spanwright.handbook.outlines import FiveNumbers, five_outline, raised
from spanwright.handbook.reducing import reduced
from spanwright.handbook.vehicles import (
    DOUBTS,
    RIDES_HIGHER,
    full_size,
    reduced_vehicle,
    vehicle_names,
)

SCALES = {"H0": (Fraction(87), 16.5), "N": (Fraction(160), 9.0)}


def area(outline):
    return shapely.Polygon([(-w / 2, h) for h, w in outline] + [(w / 2, h) for h, w in reversed(outline)])


def outlines(sizes):
    return [five_outline(sizes.five)] if sizes.five else [outline for _, _, outline in sizes.sections]


def test_there_are_some_for_every_region():
    regions = [full_size(name).region for name in vehicle_names()]
    assert {r: regions.count(r) for r in regions} == {
        "North America": 23,
        "continental Europe": 10,
        "Great Britain": 10,
        "Japan": 5,
    }


@pytest.mark.parametrize("name", vehicle_names())
def test_each_says_where_its_sizes_come_from(name):
    entry = full_size(name)
    assert entry.region in name
    assert entry.era in name
    assert entry.status in ("read", "secondary", "memory")
    assert bool(entry.address) == (entry.status != "memory")
    assert "memory" in entry.source, "what was not read is said to be from memory"
    if entry.status == "memory":
        assert entry.source == "from memory, no source seen"


@pytest.mark.parametrize("name", vehicle_names())
def test_each_can_be_built(name):
    sizes = reduced_vehicle(full_size(name), Fraction(160))
    assert (sizes.five is None) == bool(sizes.sections) == (sizes.length is None)
    ends = [e for rear, front, _ in sizes.sections for e in (rear, front)] or [0.0, sizes.length]
    assert 0 < sum(sizes.trucks) <= max(ends) - min(ends)
    assert sizes.truck_wheelbase < min(sizes.trucks)
    for outline in outlines(sizes):
        heights, widths = np.array(outline).T
        assert np.all(np.diff(heights) >= 0)
        top = int(np.argmax(widths))
        assert np.all(np.diff(widths[: top + 1]) >= 0), "widths grow, then shrink: what raising needs"
        assert np.all(np.diff(widths[top:]) <= 0)
    spans = sorted((rear, front) for rear, front, _ in sizes.sections)
    reach = spans[0][1] if spans else 0.0
    for rear, front in spans[1:]:
        assert rear <= reach + 1e-9, "no hole between sections"
        reach = max(reach, front)


@pytest.mark.parametrize("name", [n for n in vehicle_names() if full_size(n).gauge])
@pytest.mark.parametrize("scale", SCALES)
def test_each_lies_in_the_gauge_of_its_region_and_era(name, scale):
    ratio, track = SCALES[scale]
    entry = full_size(name)
    which = "NEM 102, straight" if entry.gauge == "NEM 102" else entry.gauge
    profile = shapely.Polygon(gauge(which, ratio, track).polygon).buffer(1e-6)
    for outline in outlines(reduced_vehicle(entry, ratio)):
        assert profile.covers(area(outline))


@pytest.mark.parametrize("name", [n for n in vehicle_names() if full_size(n).region == "Great Britain"])
def test_british_vehicles_are_not_taller_than_the_tallest_engines(name):
    sizes = reduced_vehicle(full_size(name), Fraction(1))
    assert max(h for outline in outlines(sizes) for h, _ in outline) <= 13.5 * 304.8


def test_reducing_divides_by_the_ratio():
    assert reduced("10 ft 8 in", Fraction(160)) == pytest.approx(10 * 1.905 + 8 * 0.15875)
    assert reduced("27.2 m", Fraction(87)) == pytest.approx(27200 / 87)
    sizes = reduced_vehicle(full_size("long passenger car 85 ft, North America, 1950s"), Fraction("304.8"))
    assert sizes.length == pytest.approx(85.0)  # feet as mm
    assert sizes.trucks == pytest.approx((59.5,))


def test_the_coach_of_group_c_has_the_length_that_nem_103_prints_for_h0():
    sizes = reduced_vehicle(
        full_size("long four-axle coach of 27.2 m, continental Europe, 1980s"), Fraction(87)
    )
    assert round(sizes.length) == 313


def test_three_trucks_are_two_distances():
    sizes = reduced_vehicle(
        full_size("six-axle electric engine on three trucks, continental Europe, 1990s"), Fraction(100)
    )
    assert sizes.trucks == pytest.approx((52.0, 52.0))


def test_five_numbers_are_four_corners_a_side():
    five = FiveNumbers(
        height=36.6, foot=17, waist=20.2, eaves=20, roof=13, foot_height=3, waist_height=6, eaves_height=33.5
    )
    assert five_outline(five) == ((3, 17), (6, 20.2), (33.5, 20), (36.6, 13))
    by_hand = (17 + 20.2) / 2 * 3 + (20.2 + 20) / 2 * 27.5 + (20 + 13) / 2 * 3.1  # three trapezia
    assert area(five_outline(five)).area == pytest.approx(by_hand)


def test_proportions_are_on_the_safe_side_of_measured_models():
    """A car carrier, a coach and a boxcar as measured: the outline by proportion holds them."""
    measured = [
        (((3, 17), (6, 20.2), (33.5, 20.2), (36.6, 13)), 36.6),
        (((2.5, 17), (5, 19.3), (20, 19.3), (26.4, 9)), 26.4),
        (((3, 16), (6, 19.8), (31.5, 19.8), (33.4, 14)), 33.4),
    ]
    for outline, height in measured:
        (_, foot), (_, waist), (_, eaves), (_, roof) = outline
        five = FiveNumbers(height=height, foot=foot, waist=waist, eaves=eaves, roof=roof)
        missed = area(outline).difference(area(five_outline(five)))
        assert missed.area < 0.015 * area(outline).area


@pytest.mark.parametrize(
    "outline",
    [
        ((1.0, 8.0), (3.0, 10.0), (9.0, 4.0)),
        ((1.0, 8.0), (3.0, 10.0), (5.0, 10.0), (5.0, 6.0), (9.0, 6.0)),
        ((1.0, 4.0), (3.0, 4.0), (3.0, 10.0), (5.0, 10.0)),
    ],
)
def test_a_raised_outline_holds_the_body_at_every_height_between(outline):
    moved = [translate(area(outline), 0.0, t) for t in np.linspace(0.0, 0.3, 61)]
    assert area(raised(outline, 0.3)).symmetric_difference(shapely.union_all(moved)).area < 0.01


def test_doubts_and_the_ride_are_stated():
    assert RIDES_HIGHER == 0.3
    assert set(DOUBTS) == {"width", "height", "length", "trucks"}
    assert all(d > 0 for d in DOUBTS.values())


@pytest.mark.parametrize(
    ("call", "code", "value"),
    [
        (lambda: full_size("boxcar"), "HB008", "'boxcar'"),
        (
            lambda: five_outline(FiveNumbers(height=20, foot=9, waist=9, eaves=9, roof=9, eaves_height=22)),
            "HB007",
            "1.6, 3, 22, 20",
        ),
        (
            lambda: five_outline(FiveNumbers(height=0, foot=9, waist=9, eaves=9, roof=9)),
            "HB007",
            "0, 0, 0, 0",
        ),
    ],
)
def test_what_cannot_be_meant_is_said(call, code, value):
    with pytest.raises(InputError, match=value) as error:
        call()
    assert error.value.code == code

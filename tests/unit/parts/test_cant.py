"""Cant by hand, and the plates that gauge it."""

import numpy as np
import pytest
import shapely

from spanwright.estimation.spread import Spread
from spanwright.parts.cant import plan_cant, plate
from spanwright.parts.cards import Feet
from truth.line_scenes import exact_line

FEET = Feet(gauge=16.5, head=0.9, deep=1.0, wide=2.6, play=0.3, rail=2.0)


def scene(upper=1.0, lower=0.0, n=0):
    """A bridge's places on exact lines; only what the stage reads stands in."""

    class Any:
        def __init__(self, **fields):
            self.__dict__.update(fields)

    lines = {
        "upper": exact_line("upper", cant=upper, head_distance=17.4),
        "lower": exact_line("lower", cant=lower, head_distance=17.4),
    }
    given = Any(upper="upper", lower="lower", k=2.0)
    supports = [Any(station=s, given=Any(name=name)) for name, s in (("p", 100.0), ("q", 300.0))]
    middle = Any(value=np.array([200.0, 0.0]))
    structures = Any(supports=supports, spans=[Any(axis=Any(middle=middle, given=Any(name="A")))])
    alignments = Any(line=lines.__getitem__, inputs=Any(spread=Spread(sds=np.zeros(n))))
    cards = (Any(stations=(150.0, 160.0), part="q"),)
    return plan_cant(given, structures, alignments, cards, feet={"upper": FEET, "lower": FEET})


def test_places_in_order_of_station_then_the_lower_line():
    places = scene().places
    assert [(p.id, p.kind, p.line, p.station) for p in places] == [
        ("p", "bearing line", "upper", 100.0),
        ("A", "mid span", "upper", pytest.approx(200.0)),
        ("q", "bearing line", "upper", 300.0),
        ("beside q", "beside", "lower", 155.0),
    ]


def test_cant_over_a_block_and_lean_by_hand():
    place = scene(upper=1.0).places[0]
    assert float(place.cant.value) == pytest.approx(1.0)
    assert float(place.over_block.value) == pytest.approx(30.0 / 17.4)
    assert float(place.lean.value) == pytest.approx(-np.arcsin(1.0 / 17.4))
    # at 74 mm above the rails, 74 / 17.4 = 4.25 mm to the side of the low rail
    assert 74.0 * np.sin(-float(place.lean.value)) == pytest.approx(4.2529, abs=1e-4)


@pytest.mark.parametrize(("cant", "high"), [(0.6, "right"), (-0.6, "left"), (0.04, "")])
def test_which_rail_is_high(cant, high):
    assert scene(upper=cant).places[0].high == high


def test_a_cant_that_is_not_proven_makes_no_card(demo_job, demo_plan):
    feet = {"upper": FEET, "lower": FEET}
    found = plan_cant(demo_job.structures, demo_plan.structures, demo_plan.alignment, (), feet=feet)
    assert found.cards
    for p in found.places:
        wide = demo_job.structures.k * float(p.cant.sd(demo_plan.inputs.sds))
        assert bool(p.high) == (abs(float(p.cant.value)) > max(wide, 0.05))


def test_one_card_for_each_line_and_rounded_cant():
    cards = scene(upper=0.97, lower=-1.04).cards
    assert [(c.id, c.cant, c.places) for c in cards] == [
        ("cant card/upper 1.0", 1.0, ("p", "A", "q")),
        ("cant card/lower 1.0", 1.0, ("beside q",)),
    ]
    assert scene(upper=0.0, lower=0.04).cards == ()


@pytest.mark.parametrize("cant", [0.2, 1.0, 2.4])
def test_on_rails_canted_by_so_much_the_top_is_level(cant):
    """The rail heads' middles lie b apart along the slope, one cant above the other."""
    apart = FEET.gauge + FEET.head
    area = shapely.Polygon(plate(FEET, np.arcsin(cant / apart)))
    assert area.is_valid
    assert area.exterior.is_ccw
    half = 0.5 * np.sqrt(apart**2 - cant**2)
    left, right = np.array([-half, -0.5 * cant]), np.array([half, 0.5 * cant])
    slope = (right - left) / apart
    square = np.array([-slope[1], slope[0]])
    for middle in (left, right):  # rests on both heads from edge to edge, and runs into neither
        head = np.array([middle + 0.5 * FEET.head * slope * t for t in (-1.0, 1.0)])
        rail = shapely.Polygon([*head, *(head[::-1] - 2.0 * square)])
        assert area.intersection(rail).area == pytest.approx(0.0, abs=1e-9)
        assert area.distance(shapely.Point(middle)) == pytest.approx(0.0, abs=1e-9)
        assert area.intersection(rail.buffer(1e-6)).area > 0.5e-6 * FEET.head
    top = np.array([p for p in area.exterior.coords if p[1] > 0.9 * area.bounds[3]])
    assert np.ptp(top[:, 1]) == pytest.approx(0.0, abs=1e-9)
    assert np.ptp(top[:, 0]) > 2.0 * apart * 0.9

"""Where the adjustment starts: sides, chains of marks, and marks that hang in the air."""

from itertools import combinations

import numpy as np
import pytest

from spanwright.errors import NoSolutionError
from spanwright.survey.network import build_network
from spanwright.survey.readings import Datum, DatumKind, Kind
from spanwright.survey.rough import reflect, rough_places
from spanwright.survey.stage import adjust_survey
from truth.whole.jobs import make_known

PEGS = {
    "A": (0.0, 0.0, 0.0),
    "B": (900.0, 0.0, 12.0),
    "C": (780.0, 420.0, -5.0),
    "D": (150.0, 510.0, 30.0),
    "E": (430.0, -260.0, 8.0),
}
MINIMAL = Datum(kind=DatumKind.MINIMAL, at="A", towards="B", height="A")


def home(found, places):
    for key in found.names:
        mark, axis = key.split(".")
        assert float(found.value(key).value) == pytest.approx(places[mark]["xyz".index(axis)], abs=1e-5), key


def distances_only(net, names="ABCDE", **options):
    survey = net(PEGS, datum=MINIMAL, **options)
    for a, b in combinations(names, 2):
        survey.read(Kind.LEVEL_DISTANCE, a, b)
    return survey


@pytest.mark.parametrize(
    ("kind", "marks"),
    [
        (Kind.OFFSET, "DAB"),
        (Kind.OFFSET, "EAB"),
        (Kind.OFFSET, "BDC"),
        (Kind.ANGLE, "ABC"),
        (Kind.ANGLE, "EDC"),
        (Kind.PLUMB_Y, "CB"),
    ],
)
def test_distances_and_one_signed_reading(net, kind, marks):
    home(distances_only(net).read(kind, *marks).adjust(), PEGS)


def test_slope_distances_heights_and_one_offset(net):
    survey = net(PEGS, datum=MINIMAL)
    for a, b in combinations("ABCDE", 2):
        survey.read(Kind.DISTANCE, a, b)
    for a in "BCDE":
        survey.read(Kind.HEIGHT, a, "A")
    home(survey.read(Kind.OFFSET, "C", "A", "B").adjust(), PEGS)


@pytest.mark.parametrize("turned", [False, True])
def test_the_sign_decides_the_side_of_the_whole_layout(net, turned):
    places = {m: (x, -y if turned else y, z) for m, (x, y, z) in PEGS.items()}
    survey = net(places, datum=MINIMAL)
    for a, b in combinations("ABCDE", 2):
        survey.read(Kind.LEVEL_DISTANCE, a, b)
    home(survey.read(Kind.OFFSET, "E", "A", "B").adjust(), places)


def test_the_hand_is_turned_where_the_reading_that_tells_it_came_late():
    """A whole sound survey: its angle put one peg on the other side of those placed before."""
    known = make_known(20261202, 168)
    found = adjust_survey(known.job.survey, known.job.inputs).adjustment
    assert found.chi_square < 2.0 * found.degrees_of_freedom


def test_without_a_signed_reading_the_layout_is_refused(net):
    with pytest.raises(NoSolutionError, match="allow the whole layout to lie on either side") as caught:
        distances_only(net).adjust()
    assert caught.value.code == "SU024"


def test_one_rough_place_settles_the_layout(net):
    home(distances_only(net, rough="D").adjust(), PEGS)


def test_a_mark_by_two_distances_is_refused_by_name(net):
    survey = distances_only(net, names="ABCD").read(Kind.OFFSET, "D", "A", "B")
    survey.read(Kind.LEVEL_DISTANCE, "E", "A").read(Kind.LEVEL_DISTANCE, "E", "C")
    with pytest.raises(NoSolutionError, match=r"^E: the readings allow E to lie on either side") as caught:
        survey.adjust()
    assert caught.value.code == "SU024"


def test_a_two_sided_mark_with_a_rough_place_is_where_the_builder_says(net):
    survey = distances_only(net, names="ABCD", rough="E").read(Kind.OFFSET, "D", "A", "B")
    survey.read(Kind.LEVEL_DISTANCE, "E", "A").read(Kind.LEVEL_DISTANCE, "E", "C")
    home(survey.adjust(), PEGS)


def test_a_third_distance_that_tells_the_sides_apart_is_enough(net):
    survey = distances_only(net, names="ABCD").read(Kind.OFFSET, "D", "A", "B")
    for peg in "ABC":
        survey.read(Kind.LEVEL_DISTANCE, "E", peg)
    home(survey.adjust(), PEGS)


def test_a_third_distance_along_the_mirror_line_is_not(net):
    """F lies on the string A-B, so its distance says nothing of the side."""
    places = {**PEGS, "F": (300.0, 0.0, 0.0)}
    survey = net(places, datum=MINIMAL)
    for a, b in combinations("ABCDF", 2):
        survey.read(Kind.LEVEL_DISTANCE, a, b)
    survey.read(Kind.OFFSET, "D", "A", "B")
    for peg in "ABF":
        survey.read(Kind.LEVEL_DISTANCE, "E", peg)
    with pytest.raises(NoSolutionError, match="allow E to lie on either side"):
        survey.adjust()


def test_marks_spread_from_one_to_the_next(net):
    """A chain of marks along a line of track, each by two distances and its offset."""
    places = {**PEGS, **{f"t{k}": (100.0 + 80.0 * k, 60.0 + 0.4 * k * k, 0.0) for k in range(8)}}
    survey = net(places, datum=MINIMAL)
    for a, b in combinations("ABCD", 2):
        survey.read(Kind.LEVEL_DISTANCE, a, b)
    survey.read(Kind.OFFSET, "D", "A", "B")
    names = [f"t{k}" for k in range(8)]
    for k, name in enumerate(names):
        survey.read(Kind.OFFSET, name, "A", "B").read(Kind.ALONG, name, "A", "B")
        if k:
            survey.read(Kind.LEVEL_DISTANCE, names[k - 1], name)
    home(survey.adjust(), places)


def test_a_mark_on_the_crossing_of_two_strings(net):
    """Square off one string and along another: no distance at all."""
    survey = distances_only(net, names="ABCD").read(Kind.OFFSET, "D", "A", "B")
    survey.read(Kind.OFFSET, "E", "A", "B").read(Kind.ALONG, "E", "D", "C")
    home(survey.adjust(), PEGS)


@pytest.mark.parametrize("marks", ["AE", "EA"])
def test_a_bearing_and_a_distance_either_way(net, marks):
    survey = net(PEGS, fixed="AB").read(Kind.BEARING, *marks).read(Kind.LEVEL_DISTANCE, "E", "A")
    home(survey.adjust(), PEGS)


def test_a_bearing_turns_a_net_that_hangs_on_one_mark(net):
    """Datum fixed at one mark far from the origin; no rough places at all."""
    places = {m: (x + 5000.0, y + 7000.0, z) for m, (x, y, z) in PEGS.items()}
    survey = net(places, fixed="A")
    survey.fixed = "A"
    for a, b in combinations("ABCD", 2):
        survey.read(Kind.LEVEL_DISTANCE, a, b)
    survey.read(Kind.BEARING, "A", "C").read(Kind.ANGLE, "A", "C", "B")
    home(survey.adjust(), places)


def test_a_mark_below_another_starts_there(net):
    places = {**PEGS, "P": (402.0, 305.0, 0.0)}
    survey = distances_only(net, names="ABCD").read(Kind.OFFSET, "D", "A", "B")
    survey.places = places
    survey.read(Kind.PLUMB_X, "P", "D").read(Kind.PLUMB_Y, "P", "D")
    home(survey.adjust(), places)


def test_heights_spread_up_and_down(net):
    survey = net(PEGS, datum=MINIMAL)
    survey.read(Kind.HEIGHT, "B", "A").read(Kind.STEPPED_BLOCK, "B", "C").read(Kind.HEIGHT, "D", "C")
    survey.read(Kind.COORDINATE_Z, "E", value=8.0)
    survey.datum = Datum(kind=DatumKind.FIXED, fixed=(("A", "z", 0.0),))
    given = survey.given
    start = dict(
        zip(
            build_network(given, survey.inputs).names,
            rough_places(given, build_network(given, survey.inputs)).start,
            strict=True,
        )
    )
    assert start == pytest.approx({f"{m}.z": PEGS[m][2] for m in "ABCDE"})


def test_a_mark_without_height_is_named(net):
    survey = net(PEGS, datum=MINIMAL)
    survey.read(Kind.HEIGHT, "B", "A").read(Kind.DISTANCE, "A", "B").read(Kind.DISTANCE, "A", "D")
    with pytest.raises(NoSolutionError, match=r"^D: mark D has no height") as caught:
        survey.adjust()
    assert caught.value.code == "SU020"


def test_a_mark_in_the_air_is_named(net):
    survey = distances_only(net, names="ABCD").read(Kind.OFFSET, "D", "A", "B")
    survey.read(Kind.LEVEL_DISTANCE, "E", "A")
    with pytest.raises(NoSolutionError, match=r"^E: no two readings tie mark E") as caught:
        survey.adjust()
    assert caught.value.code == "SU021"


def test_a_mark_in_the_air_with_a_rough_place_is_named_too(net):
    """The rough place starts it, but nothing fixes it: the adjustment says so."""
    survey = distances_only(net, names="ABCD", rough="E").read(Kind.OFFSET, "D", "A", "B")
    survey.read(Kind.LEVEL_DISTANCE, "E", "A")
    with pytest.raises(NoSolutionError, match="do not fix E") as caught:
        survey.adjust()
    assert caught.value.code == "ES001"


def test_a_datum_without_its_distance_is_said(net):
    survey = net(PEGS, datum=MINIMAL)
    survey.read(Kind.LEVEL_DISTANCE, "A", "C").read(Kind.LEVEL_DISTANCE, "B", "C")
    with pytest.raises(NoSolutionError, match=r"^datum: no distance was read between A and B") as caught:
        survey.adjust()
    assert caught.value.code == "SU022"


def test_mirror_image():
    image = reflect(np.array([3.0, 5.0]), np.array([0.0, 0.0]), np.array([10.0, 10.0]))
    np.testing.assert_allclose(image, [5.0, 3.0])

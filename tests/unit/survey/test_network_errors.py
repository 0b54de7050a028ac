"""Every refusal of the survey's set-up shows what was read, and where."""

from dataclasses import replace

import pytest

from spanwright.errors import InputError, NoSolutionError
from spanwright.estimation.inputs import Input, Inputs
from spanwright.survey.network import build_network
from spanwright.survey.readings import Datum, DatumKind, Kind, Mark, Reading, SurveyInput

READINGS = (
    Reading(id="d1", kind=Kind.LEVEL_DISTANCE, marks=("A", "B")),
    Reading(id="d2", kind=Kind.LEVEL_DISTANCE, marks=("A", "C")),
    Reading(id="d3", kind=Kind.LEVEL_DISTANCE, marks=("B", "C")),
    Reading(id="h1", kind=Kind.HEIGHT, marks=("B", "A")),
)
GIVEN = SurveyInput(
    marks=tuple(Mark(name=m) for m in "ABC"),
    readings=READINGS,
    datum=Datum(kind=DatumKind.MINIMAL, at="A", towards="B", height="A"),
)
INPUTS = Inputs(
    items=tuple(
        Input(id=k, value=100.0, sd=sd, unit="mm", label=k, kind="reading")
        for k, sd in (("d1", 0.5), ("d2", 0.5), ("d3", 0.5), ("h1", 0.2), ("x", 0.0))
    )
)


def fixed(*held):
    return replace(GIVEN, datum=Datum(kind=DatumKind.FIXED, fixed=held))


def reading(**changes):
    return replace(GIVEN, readings=(*READINGS, replace(READINGS[0], **{"id": "x", **changes})))


CASES = {
    "SU001": (replace(GIVEN, readings=(*READINGS, READINGS[0])), "^d1: two readings have the same id"),
    "SU002": (reading(marks=("A", "B", "C")), "^x: a level distance names 2 marks; read 'A, B, C'"),
    "SU003": (reading(marks=("A", "Z")), "^x: there is no mark of this name; read 'Z'"),
    "SU004": (reading(marks=("B", "B")), "^x: a reading names the same mark twice; read 'B'"),
    "SU005": (
        replace(GIVEN, set_aside=frozenset({"d1", "d2", "d3", "h1"})),
        "^survey: there are no readings",
    ),
    "SU006": (reading(), "^x: a reading needs a doubt above nil; read 0.0"),
    "SU007": (fixed(("A", "z", 0.0)), "^datum: the datum holds no place in plan"),
    "SU008": (fixed(("A", "x", 0.0), ("A", "y", 0.0), ("B", "y", 0.0)), "^datum: the datum holds no height"),
    "SU009": (fixed(("A", "x", 0.0), ("Q", "z", 0.0)), "^datum: .*not there; read 'Q'"),
    "SU009 empty": (
        replace(GIVEN, datum=Datum(at="A", towards="B")),
        r"^datum: .*not there; read '\(nothing\)'",
    ),
    "SU010": (
        replace(GIVEN, datum=Datum(at="A", towards="A", height="A")),
        "^datum: .*two different marks; read 'A'",
    ),
    "SU011": (
        replace(reading(kind=Kind.BEARING), datum=Datum(kind=DatumKind.FREE)),
        "^datum: a free datum cannot be used with bearings, coordinates or plumbs",
    ),
    "SU012": (
        replace(GIVEN, datum=Datum(kind=DatumKind.FREE)),
        "^datum: a free datum needs a rough place for every mark",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_cannot_be_meant_is_said(name):
    given, said = CASES[name]
    with pytest.raises(InputError, match=said) as caught:
        build_network(given, INPUTS)
    assert caught.value.code == name.split()[0]


def test_a_reading_without_its_input_is_said():
    with pytest.raises(InputError, match=r"^x2: there is no input of this name"):
        build_network(reading(id="x2"), INPUTS)


def test_what_is_set_aside_is_not_used_and_its_marks_may_go():
    network = build_network(replace(GIVEN, set_aside=frozenset({"h1"})), INPUTS)
    assert [r.id for r in network.readings] == ["d1", "d2", "d3"]
    assert "B.z" not in network.names


def test_a_shared_error_that_no_reading_uses_is_no_unknown():
    network = build_network(replace(GIVEN, shared=("x",)), INPUTS)
    assert network.shared == ()
    assert "x" not in network.names


def test_a_number_that_nothing_leads_to(net):
    survey = net({"A": (0.0, 0.0, 0.0), "P": (3.0, 4.0, 5.0)}, fixed="A").read(Kind.HEIGHT, "P", "A").adjust()
    assert survey.has("P.z")
    assert not survey.has("P.x")
    with pytest.raises(NoSolutionError, match=r"^P: nothing was read that gives P\.x"):
        survey.value("P.x")

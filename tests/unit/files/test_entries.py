"""One line as a builder says it becomes an entry of the job file, and nothing else changes."""

import tomllib

import pytest

from spanwright.errors import InputError
from spanwright.files.entries import Decided, with_reading, with_state
from spanwright.measured.given import Made, PartState
from spanwright.measured.there import Leans

TEXT = 'name = "x"   # its name\n'
DECIDED = (
    Decided(name="Pier 1", lengths=(49.2,), station=431.23456),
    Decided(name="bent", lengths=(50.80004, 51.3), station=540.0),
)


@pytest.mark.parametrize(
    ("said", "entry"),
    [
        (
            "pier 2 / seat aisle above P1 = 84.2 mm by caliper",
            {"what": "pier 2 / seat aisle", "above": "P1", "is": "84.2 mm", "by": "caliper"},
        ),
        (
            "pier 1/shaft, length=49.1 by Caliper",
            {"what": "pier 1/shaft, length", "is": "49.1", "by": "caliper"},
        ),
        (
            'pier 1/shaft, length = 1 15/16" by depth gauge, certain',
            {"what": "pier 1/shaft, length", "is": '1 15/16"', "by": "depth gauge", "certain": True},
        ),
        ("a = 3 by depth gauge certain", {"what": "a", "is": "3", "by": "depth gauge", "certain": True}),
    ],
)
def test_a_reading_becomes_an_entry(said, entry):
    edited = with_reading(TEXT, said)
    assert edited.startswith(TEXT)
    assert tomllib.loads(edited)["measured"] == [entry]


def test_readings_follow_one_another():
    twice = with_reading(with_reading(TEXT, "a = 1 by caliper"), "b = 2 by rule")
    assert [e["what"] for e in tomllib.loads(twice)["measured"]] == ["a", "b"]
    assert '\n\n[[measured]]\nwhat = "b"' in twice


@pytest.mark.parametrize("said", ["", "pier 1", "pier 1 = 3", "= 3 by caliper", "a = b = 3 by caliper"])
def test_what_is_no_reading_is_one_clear_error(said):
    with pytest.raises(InputError) as caught:
        with_reading(TEXT, said)
    assert caught.value.code == "ME010"
    assert caught.value.value == said


def test_a_support_that_is_cut_keeps_what_was_decided():
    (entry,) = tomllib.loads(with_state(TEXT, "pier 1  cut", DECIDED, ()))["made"]
    assert entry == {"part": "Pier 1", "state": "cut", "cut_to": "49.2 mm"}


def test_a_support_that_stands_keeps_its_place_too():
    (entry,) = tomllib.loads(with_state(TEXT, "bent built", DECIDED, ()))["made"]
    assert entry == {
        "part": "bent",
        "state": "built",
        "cut_to": ["50.8 mm", "51.3 mm"],
        "station": "540 mm",
    }


def test_a_state_is_changed_where_it_stands():
    cut = with_state(TEXT, "pier 1 cut", DECIDED, ())
    made = (Made(part="Pier 1", state=PartState.CUT, lengths=(48.0,)),)
    (entry,) = tomllib.loads(with_state(cut, "pier 1 dry-fitted", DECIDED, made))["made"]
    assert entry["state"] == "dry-fitted"
    assert entry["cut_to"] == "49.2 mm"
    assert entry["station"] == "431.235 mm"


@pytest.mark.parametrize(
    ("state", "former"),
    [("cut", [False, True, False]), ("built", [False, False, False]), ("spoiled", [True, True, False])],
)
def test_what_was_read_of_a_part_that_is_gone_is_former(state, former):
    entries = "".join(f'\n[[measured]]\nwhat = "n{k}"\nis = "1 mm"\nby = "rule"\n' for k in range(3))
    text = with_state(TEXT, "pier 1 dry-fitted", DECIDED, ()) + entries
    made = (Made(part="Pier 1", state=PartState.DRY_FITTED, lengths=(48.0,), station=431.0),)
    leaning = (
        (Leans(support="Pier 1"), 0),
        (Leans(support="Pier 1", place=True), 1),
        (Leans(support="bent", place=True), 2),
    )
    after = tomllib.loads(with_state(text, f"pier 1 {state}", DECIDED, made, leaning))
    assert [m.get("former", False) for m in after["measured"]] == former


@pytest.mark.parametrize("said", ["", "pier 1", "pier 1 glued", "pier 9 cut", "cut"])
def test_what_is_no_state_is_one_clear_error(said):
    with pytest.raises(InputError) as caught:
        with_state(TEXT, said, DECIDED, ())
    assert caught.value.code == "ME011"


def test_an_inch_job_is_written_in_inches():
    inches = (Decided(name="pier", lengths=(61.8,), station=431.2, unit="inch"),)
    (entry,) = tomllib.loads(with_state(TEXT, "pier built", inches, ()))["made"]
    assert (entry["cut_to"], entry["station"]) == ("2.4331 in", "16.9764 in")

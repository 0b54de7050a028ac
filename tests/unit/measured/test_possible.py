"""What no tool can have shown is refused with what, where, the value and what to do."""

import re
from dataclasses import replace

import pytest

from spanwright.errors import InputError
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.job import derive

pytestmark = pytest.mark.slow

END = "town abutment"


def told(what, value, by="caliper", above=""):
    entry = f'\n[[measured]]\nwhat = "{what}"\nis = "{value}"\nby = "{by}"\nabove = "{above}"\n'
    job = job_of(template_text() + entry, "job.toml")
    bare = all(" on " not in m.number for m in job.measured)
    with pytest.raises(InputError) as caught:
        derive(replace(job, clearance=None) if bare else job)
    return caught.value


@pytest.fixture(scope="module")
def pier():
    return next(s.name for s in job_of(template_text(), "job.toml").structures.supports if s.clear_left)


@pytest.mark.parametrize("value", ["-4 mm", "0 mm", "0"])
def test_a_length_is_more_than_nothing(value):
    for number in (f"{END} shaft length", f"{END} shaft railhead over base", f"opened/{END}/shaft"):
        error = told(number, value)
        assert error.code == "ME007"
        assert number in error.where
        assert error.value == ("-4 mm" if value.startswith("-") else "0 mm")
        assert error.limit == "more than 0"
        assert error.hint


@pytest.mark.parametrize("value", ["49.2 m", "3000", "999 mm"])
def test_a_length_many_times_too_long_is_a_slip(value):
    error = told(f"{END} shaft length", value)
    assert error.code == "ME007"
    assert re.fullmatch(r"about \d+(\.\d+)? mm", error.limit)


def test_finished_work_is_held_to_the_same(pier):
    assert told(f"{END} / span A / aisle / seat", "-3").code == "ME007"
    assert told(f"{END} / span A / aisle / seat", "3 m").code == "ME007"
    assert told(f"{END} / span A / aisle / seat", "3 deg", "digital level").code == "ME006"


def test_a_height_may_be_below_the_datum_but_not_by_a_metre():
    assert told("P2", "-1200", "level").code == "ME007"
    job = job_of(template_text() + '\n[[measured]]\nwhat = "P2"\nis = "-2"\nby = "level"\n', "job.toml")
    assert derive(replace(job, clearance=None)).choices.taught.tested[0].reading.value == -2.0


def test_an_angle_is_not_read_of_a_length(pier):
    error = told(f"{END} shaft length", "1 deg", "digital level")
    assert (error.code, error.value) == ("ME006", "digital level")
    assert "this is a length, and the tool measures angles" in str(error)
    assert "this is an angle, and the tool measures lengths" in str(told(f"{pier}/kink", "1 mm"))


def test_a_gap_is_never_below_nothing():
    job = job_of(template_text(), "job.toml")
    run = next(run for run in job.clearance.runs if run.line == "upper")
    error = told(f"{run.vehicle.id} on {run.line}, bent cap", "-0.1 mm")
    assert (error.code, error.limit) == ("ME007", "0 where they touch, or more")


@pytest.mark.parametrize(("what", "axis"), [("P1", "height"), ("P1 height", "height"), ("P1/x", "x")])
def test_the_datum_is_not_measured(what, axis):
    error = told(what, "3 mm", "level")
    assert error.code == "ME008"
    assert f"P1 is the datum: its {axis} is 0 mm by definition and cannot be measured" in str(error)
    assert 'above = "P1"' in error.hint


def test_nothing_is_read_from_itself():
    error = told("P2", "3 mm", "level", above="P2 height")
    assert (error.code, error.what) == ("ME008", "this is read from itself")


def test_the_datum_may_be_read_from_another_mark():
    entry = '\n[[measured]]\nwhat = "P1"\nabove = "P2"\nis = "0.5"\nby = "level"\n'
    job = job_of(template_text() + entry, "job.toml")
    assert derive(replace(job, clearance=None)).choices.taught.tested[0].reading.above == "P2"


def test_a_reading_of_the_survey_is_not_read_as_a_number_of_the_plan():
    """The tape's own errors are in it already; and a slip in it would be held against itself."""
    error = told("d01", "1060", "tape")
    assert (error.code, error.value) == ("ME009", "1060 mm")
    assert "[survey]" in error.hint


def test_what_is_decided_is_not_measured():
    error = told("lines lower raise", "0.5", "rule")
    assert (error.code, error.limit) == ("ME012", "0 mm, as the job file says")


def test_an_angle_is_within_half_a_turn(pier):
    error = told(f"{pier} kink", "400 deg", "bevel")
    assert (error.code, error.value) == ("ME007", "400 deg")

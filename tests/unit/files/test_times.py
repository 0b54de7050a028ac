"""The table of the job file that says how the work is planned."""

import pytest

from spanwright.build.planning.given import EVENING, BuildInput
from spanwright.build.planning.tasks import left_of
from spanwright.build.step import Cure
from spanwright.errors import InputError

BUILD = """
[build]
evening  = "2 h 30 min"
reading  = "10 min"
hands_on = { cut = "45 min", "glue/pier" = "1 h" }
cures    = { glue = "8 h", rail_glue = "2 days" }
done     = ["settle", "calibrate"]
curing   = { prime = "90 min" }
"""


def test_what_was_written_is_what_the_stage_gets(job):
    job.text += BUILD
    found = job.load().build
    assert found == BuildInput(
        evening=2.5,
        reading=10 / 60,
        hands_on=(("cut", 0.75), ("glue/pier", 1.0)),
        cures=((Cure.GLUE, 8.0), (Cure.RAIL_GLUE, 48.0)),
        done=("settle", "calibrate"),
        curing=(("prime", 1.5),),
    )


def test_without_the_table_times_are_those_of_common_practice(job):
    assert job.load().build == BuildInput()
    assert BuildInput().evening == EVENING


@pytest.mark.parametrize(
    ("old", "new", "code", "says"),
    [
        ('"2 h 30 min"', '"0 min"', "JO096", ["build.evening", "'0 min'", "more than 0 h"]),
        ('"2 h 30 min"', '"30 h"', "JO096", ["build.evening", "'30 h'", "at most 24 h"]),
        ('"2 h 30 min"', "2", "UN007", ["build.evening", "2", "90 min"]),
        ('"10 min"', '"-10 min"', "UN007", ["build.reading", "'-10 min'"]),
        ('"10 min"', '"10 mm"', "UN007", ["build.reading", "'10 mm'"]),
        ('"45 min"', '"900 days"', "JO096", ["build.hands_on.cut", "'900 days'"]),
        ("rail_glue", "rail_glu", "JO001", ["rail_glu", "rail_glue"]),
        ('"calibrate"]', '"settle"]', "JO064", ["build.done", "'settle'"]),
        ('"90 min" }', '"soon" }', "UN007", ["build.curing.prime", "'soon'"]),
    ],
)
def test_what_cannot_be_meant_is_one_clear_error(job, old, new, code, says):
    assert old in BUILD
    job.text += BUILD.replace(old, new)
    error = job.error()
    assert error.code == code
    assert [s for s in says if s not in str(error)] == []


def test_a_table_without_a_bridge(job):
    start = job.text.index("[bridge]")
    job.text = job.text[:start] + BUILD
    error = job.error()
    assert error.code == "JO050"
    assert "[build]" in str(error)


def test_it_is_known_where_each_step_is_named(job):
    """Which steps there are is known only once the plan is derived; the error names the line."""
    job.text += BUILD.replace('"calibrate"', '"cutt/pier 1"')
    found = job.load().build
    line = job.text.splitlines().index('done     = ["settle", "cutt/pier 1"]') + 1
    assert found.place("done", "cutt/pier 1").endswith(f"line {line}, build.done[2]")
    assert found.place("curing", "prime").endswith("build.curing.prime")
    assert found.place("hands_on", "glue/pier").endswith("build.hands_on.glue/pier")
    assert found.place("done", "never said") == "[build] done"
    with pytest.raises(InputError) as caught:
        left_of((), found)
    assert (caught.value.code, caught.value.where) == ("BU004", found.place("done", "settle"))

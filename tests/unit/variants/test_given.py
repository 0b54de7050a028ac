"""Whether two jobs rest on the same readings, and what they decide otherwise; read, not derived."""

import tomllib

import pytest

from spanwright.book.words import USUAL_K
from spanwright.drawings.speech import Speech
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.variants.given import decided_otherwise, other_readings, other_sizes

TEXT = template_text()


def changed(old, new):
    assert old in TEXT, old
    return TEXT.replace(old, new, 1)


def hold(other, one=TEXT):
    """Return readings, sizes, decisions that differ."""
    jobs = job_of(one, "one"), job_of(other, "other")
    values = tomllib.loads(one), tomllib.loads(other)
    say = Speech(words=jobs[0].words, inputs=jobs[0].inputs, k=USUAL_K)
    return other_readings(*jobs, values, say), other_sizes(*jobs, say), decided_otherwise(*jobs, values)


def test_the_same_file():
    assert hold(TEXT) == ((), (), ())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('to = "P3", is = "943"', f'to = "P3", is = "{943 / 25.4!r} in"'),
        ('flange        = "2.4"', f'flange        = "{2.4 / 25.4!r} in"'),
    ],
)
def test_another_way_to_write_the_same_length_is_the_same(old, new):
    assert hold(changed(old, new)) == ((), (), ())


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ('to = "P3", is = "943"', 'to = "P3", is = "944"', "distance P1 to P3"),
        ('to = "P3", is = "943", by = "tape"', 'to = "P3", is = "943", by = "rule"', "distance P1 to P3"),
        ('rail       = ["1.40", "1.42"]', 'rail       = ["1.40", "1.52"]', "thickness of rail"),
        ('length  = "115"', 'length  = "116"', "vehicle tall boxcar"),
        ('pegs   = ["P1", "P2", "P3", "P4"]', 'pegs   = ["P1", "P2", "P3", "P4", "P5"]', "mark P5"),
    ],
)
def test_other_readings_make_it_unfair(old, new, what):
    text = changed(old, new)
    if "P5" in new:
        one = '{ id = "d05", from = "P1", to = "P3"'
        more = (
            one.replace("d05", "d95").replace("P3", "P5") + ', is = "400", by = "tape", held = "level" },\n  '
        )
        more += more.replace("d95", "d96").replace('from = "P1"', 'from = "P2"').replace("400", "600")
        text = text.replace(one, more + one)
    readings, sizes, decided = hold(text)
    assert any(what in row.what for row in readings), readings
    assert all(row.one != row.other for row in readings)
    assert (sizes, decided) == ((), ())


def test_a_measured_size_of_a_part_may_be_another_part():
    readings, sizes, decided = hold(changed('flange        = "2.4"', 'flange        = "2.9"'))
    assert (readings, decided) == ((), ())
    assert [row.what for row in sizes] == ["flange width of all spans, by caliper"]
    assert sizes[0].one.startswith("2.40 ± ")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('edge    = "0.4"', 'edge    = "0.9"', ("bridge, edge", "0.4", "0.9")),
        (
            'spacing       = { is = "12", by',
            'spacing       = { is = "13", by',
            ("bridge, spacing", "12, by to be cut", "13, by to be cut"),
        ),
        (
            'runs_on = ["lower", "upper"]',
            'runs_on = "upper"',
            ("vehicles, tall boxcar, runs_on", "lower, upper", "upper"),
        ),
        ("k      = 2 ", "k      = 3 ", ("k", "2", "3")),
    ],
)
def test_decisions_are_told_in_the_words_of_the_file(old, new, told):
    readings, sizes, decided = hold(changed(old, new))
    assert (readings, sizes) == ((), ())
    assert [(row.what, row.one, row.other) for row in decided] == [told]


def test_what_only_one_file_has_is_a_dash():
    _, _, decided = hold(changed('edge    = "0.4"', 'edge    = "0.4"\nunits = [["span A", "span B"]]'))
    assert [(row.what, row.one) for row in decided] == [("bridge, units", "-")]
    assert "span A, span B" in decided[0].other


@pytest.mark.parametrize(("by", "is_reading"), [("to be built", False), ("to be cut", False), ("rule", True)])
def test_a_portal_that_is_still_to_be_built_is_a_decision(by, is_reading):
    portal = f"""
[[portals]]
name   = "mouth"
line   = "upper"
mark   = "b3"
along  = {{ town = "3", yard = "3" }}
by     = "{by}"
clear  = {{ aisle = "14", wall = "13" }}
"""
    readings, sizes, decided = hold(TEXT + portal.replace('"14"', '"15"'), TEXT + portal)
    assert (bool(readings), bool(decided)) == (is_reading, not is_reading)
    assert sizes == ()
    told = readings[0].what if is_reading else decided[0].what
    assert "mouth" in told


def test_readings_of_built_parts_are_readings():
    read = '\n[[measured]]\nwhat = "town abutment/shaft/length"\nis = "{}"\nby = "caliper"\n'
    readings, _, decided = hold(TEXT + read.format("49.1"), TEXT + read.format("49.3"))
    assert len(readings) == 1
    assert "town abutment/shaft/length" in readings[0].what
    assert hold(TEXT + read.format("49.1"), TEXT + read.format("49.1")) == ((), (), ())
    assert decided == ()

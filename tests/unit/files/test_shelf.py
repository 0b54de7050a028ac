"""The shelf and the limits of the railhead, read from the job file; nonsense is one clear error."""

import math

import pytest

from spanwright.packing.shelf import Limits

SHELF = """
[shelf]
by     = "caliper"
glue   = { is = "0.03", sd = "0.01" }
layers = 4
near   = "0.04"
sheets = [
  { name = "tape", thickness = { is = "0.13", sd = "0.01" } },
  { name = "styrene 10", thickness = ["0.25", "0.26"], count = 6 },
]

[profile]
grade_change = "0.8 %"
twist = "0.08"
step  = "0.2"
known = "0.15"
"""


@pytest.fixture
def shelf(job):
    job.text += SHELF
    return job


def test_what_was_written_is_what_the_stage_gets(shelf):
    loaded = shelf.load()
    found = loaded.packing
    assert found.limits == Limits(grade_change=pytest.approx(0.008), twist=0.08, step=0.2, known=0.15)
    tape, styrene = found.shelf.sheets
    assert (tape.name, tape.count, styrene.name, styrene.count) == ("tape", None, "styrene 10", 6)
    assert [loaded.inputs[key].value for key in styrene.thickness.ids] == [0.25, 0.26]
    assert (loaded.inputs[tape.thickness.ids[0]].value, loaded.inputs[tape.thickness.ids[0]].sd) == (
        0.13,
        0.01,
    )
    assert loaded.inputs[found.shelf.glue.ids[0]].value == 0.03
    assert (found.shelf.layers, found.shelf.near) == (4, 0.04)


def test_what_is_left_out_follows_the_scale(job):
    found = job.load().packing
    assert found.shelf is None
    assert found.limits == Limits(grade_change=0.01, twist=0.1, step=0.25, known=0.2)  # 1:160
    job.text += '\n[shelf]\nsheets = [{ name = "card", thickness = { is = "0.3", by = "caliper" } }]\n'
    shelf = job.load().packing.shelf
    assert (shelf.glue, shelf.layers, shelf.near) == (None, 3, 0.0)


@pytest.mark.parametrize(("written", "is_"), [("1:80", 1 / 80), ("0.5 deg", math.tan(math.radians(0.5)))])
def test_a_change_of_grade_may_be_a_ratio_or_an_angle(shelf, written, is_):
    shelf.replace('"0.8 %"', f'"{written}"')
    assert shelf.load().packing.limits.grade_change == pytest.approx(is_)


@pytest.mark.parametrize(
    ("old", "new", "code", "says"),
    [
        ('"0.8 %"', '"0 %"', "JO087", ["profile.grade_change", "'0 %'", "10 % at most"]),
        ('"0.8 %"', '"-1 %"', "JO087", ["'-1 %'"]),
        ('"0.8 %"', '"80 %"', "JO087", ["'80 %'"]),
        ('twist = "0.08"', 'twist = "0"', "JO012", ["profile.twist", "more than 0"]),
        ('twist = "0.08"', 'twist = "8"', "JO087", ["profile.twist", "'8'", "quarter of the gauge"]),
        ('step  = "0.2"', 'step = "-0.2"', "JO012", ["profile.step", "'-0.2'"]),
        ('step  = "0.2"', 'step = "lots"', "UN001", ["'lots'"]),
        ('known = "0.15"', 'known = "1 in"', "JO087", ["profile.known", "1 in"]),
        ("layers = 4", "layers = 0", "JO088", ["shelf.layers", "read 0", "1 to 6"]),
        ("layers = 4", "layers = 7", "JO088", ["shelf.layers", "read 7"]),
        ("layers = 4", 'layers = "four"', "JO004", ["'four'", "whole number"]),
        ('near   = "0.04"', 'near = "4"', "JO088", ["shelf.near", "'4'", "0.5 mm at most"]),
        ('near   = "0.04"', 'near = "-0.1"', "JO012", ["shelf.near", "'-0.1'"]),
        ("count = 6", "count = -1", "JO004", ["count", "read -1", "0 or more"]),
        ("count = 6", "count = 1.5", "JO004", ["1.5", "whole number"]),
        ('name = "styrene 10"', 'name = "tape"', "JO016", ["tape", "twice"]),
        ('name = "styrene 10"', 'name = "a/b"', "JO013", ["a/b"]),
        ('["0.25", "0.26"]', '["25.4", "25.5"]', "JO088", ["sheets[2]", "too thick", "10 mm at most"]),
        ('["0.25", "0.26"]', '"-0.25"', "JO012", ["'-0.25'"]),
        ('["0.25", "0.26"]', '{ is = "0.25", by = "eye" }', "JO014", ["eye"]),
        ('by     = "caliper"\nglue', "glue", "JO017", ["measured with"]),
        ('is = "0.03"', 'is = "3"', "JO088", ["shelf.glue", "glue line", "0.5 mm at most"]),
        ("glue   = {", "gleu   = {", "JO001", ["gleu", "Did you mean 'glue'?"]),
        ('twist = "0.08"', 'tvist = "0.08"', "JO001", ["tvist", "Did you mean 'twist'?"]),
    ],
)
def test_nonsense_is_one_clear_error(shelf, old, new, code, says):
    error = shelf.replace(old, new).error()
    assert error.code == code
    for word in says:
        assert word in str(error)


def test_an_empty_shelf_is_refused(job):
    job.text += "\n[shelf]\nsheets = []\n"
    assert "one value at least" in str(job.error())


def test_a_shelf_that_cannot_be_gone_through_is_refused(job):
    sheets = ", ".join(f'{{ name = "s{n}", thickness = "0.{n:02}" }}' for n in range(1, 14))
    job.text += f'\n[shelf]\nby = "caliper"\nsheets = [{sheets}]\n'
    error = job.error()
    assert (error.code, error.value) == ("JO088", 13)


def test_the_sample_in_the_template_can_be_used_as_it_stands(job):
    head, _, tail = job.text.partition("# [shelf]")
    sample = "[shelf]" + tail.partition("# [build]")[0]
    job.text = (
        head + tail + "\n" + "\n".join(line.removeprefix("# ") for line in sample.splitlines()).rstrip("#")
    )
    assert [s.count for s in job.load().packing.shelf.sheets] == [None, 12]


@pytest.mark.parametrize("table", ["shelf", "profile"])
def test_tables_without_a_bridge_are_refused(shelf, table):
    head = shelf.text[: shelf.text.index("[bridge]")]
    own = {
        "shelf": '[shelf]\nsheets = [{ name = "card", thickness = { is = "0.3", by = "caliper" } }]\n',
        "profile": '[profile]\ntwist = "0.1"\n',
    }
    shelf.text = head + own[table]
    error = shelf.error()
    assert error.code == "JO050"
    assert f"[{table}]" in str(error)

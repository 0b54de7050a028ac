"""`spanwright remedies`: text and JSON of a tunnel mouth that is too narrow, in a job without a bridge."""

import json
import tomllib
from importlib import resources
from pathlib import Path

import jsonschema
import pytest

from spanwright.files.template import template_text

PORTAL = """
[[portals]]
name   = "mouth"
line   = "upper"
mark   = "b3"
along  = { town = "3", yard = "3" }
by     = "to be built"
clear  = { aisle = "11", wall = "20" }
height = "45"
"""
STANDS = """
[[portals]]
name   = "cutting"
line   = "upper"
mark   = "b5"
along  = { town = "3", yard = "3" }
by     = "caliper"
clear  = { wall = "9" }
"""


@pytest.fixture
def narrow(make_job):
    text = template_text()
    start, end = text.index("[bridge]"), text.index("[clearance]")
    return make_job(text=text[:start] + text[end:] + PORTAL)


def schema():
    file = resources.files("spanwright.files").joinpath("published", "remedies-1.schema.json")
    return json.loads(file.read_text(encoding="utf-8"))


def test_text_and_json_tell_the_same(cli, narrow):
    told, document = cli("remedies", narrow), cli("remedies", narrow, "--json")
    assert told.status == document.status == 1
    found = json.loads(document.out)
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.validate(found, schema())
    (gap,) = found["gaps"]
    assert gap["id"] == "clearance/upper/tall boxcar/mouth/jamb left"
    first = gap["remedies"][0]
    assert first["id"] == "mouth/jamb left"
    by = first["by"]["value"]
    assert f"1. Build the aisle jamb of mouth {by:.1f} mm further out." in told.out
    assert first["text"] == "Build the {left} jamb of mouth {by} further out"
    assert f'+clear  = {{ aisle = "{11 + by:g} mm", wall = "20" }}' in first["change"]
    assert {pair["id"] for pair in first["better"]} == {gap["id"]}
    assert first["better"][0]["after"]["verdict"] == "clear"
    assert (first["worse"], first["cuts"], first["findings"]) == ([], [], [])
    assert found["laid"] == ["upper"]
    assert "line upper is laid" in told.out


def test_what_is_taken_stands_in_the_file(cli, narrow):
    by = json.loads(cli("remedies", narrow, "--json").out)["gaps"][0]["remedies"][0]["by"]["value"]
    done = cli("remedies", narrow, "--take", "1")
    assert done.status == 0, done.err
    file = Path(narrow)
    text = (file / "job.toml" if file.is_dir() else file).read_text(encoding="utf-8")
    assert tomllib.loads(text)["portals"][0]["clear"] == {"aisle": f"{11 + by:g} mm", "wall": "20"}
    after = json.loads(cli("remedies", narrow, "--json").out)
    jsonschema.validate(after, schema())
    assert (after["gaps"], after["mended"], after["laid"]) == ([], [], [])


def test_a_remedy_is_not_taken_and_told_as_json_at_once(cli, narrow):
    done = cli("remedies", narrow, "--take", "1", "--json")
    assert done.status == 2
    assert "not both at once" in done.err


def test_what_overlaps_is_told_too(cli, make_job):
    text = template_text()
    start, end = text.index("[bridge]"), text.index("[clearance]")
    found = json.loads(cli("remedies", make_job(text=text[:start] + text[end:] + STANDS), "--json").out)
    jsonschema.validate(found, schema())
    (gap,) = found["gaps"]
    assert gap["verdict"] == "foul"
    assert gap["gap"]["value"] < 0.0
    assert gap["why"] is None
    assert [r["id"] for r in gap["remedies"]] == ["tall boxcar/leave off"]

"""``check --draws``: whole plans with drawn inputs, in text and as a document."""

import json

import jsonschema
import pytest

from spanwright.estimation.drawing.surface import FEWEST
from spanwright.files.plan_json import schema
from spanwright.findings import Verdict


@pytest.fixture
def job(make_job):
    """One where a train touches: gaps are tried as well."""
    return make_job(('aisle = "22", wall = "22"', 'aisle = "3", wall = "10.5"'))


def test_trials_are_told(cli, job):
    plain = cli("check", job)
    result = cli("check", job, "--draws", "9")
    assert result.status == plain.status
    assert "Whole plans with drawn inputs" not in plain.out
    text = " ".join(result.out.split())
    assert "10 whole plans were derived" in text  # in pairs
    assert "numbers are where derivatives foretold" in text
    assert max(len(line) for line in result.out.splitlines()) <= 100


def test_the_document_of_trials_holds_to_the_schema_and_is_the_same_again(cli, job):
    first = cli("check", job, "--draws", "20", "--json")
    document = json.loads(first.out)
    jsonschema.Draft202012Validator(schema()).validate(document)
    trials = document["trials"]
    assert trials["made"] == 20
    # at some draws the fit of the template's upper line, which has few marks, does not settle
    assert 20 - trials["failed"] >= FEWEST
    assert {t["what"] for t in trials["numbers"]} >= {"number", "gap"}
    told = {t["id"] for t in trials["numbers"] if t["what"] == "gap"}
    open_ = {g["id"] for g in document["clearance"]["gaps"] if g["verdict"] != Verdict.CLEAR.value}
    assert told & open_
    for one in trials["numbers"]:
        assert one["low"] < one["high"]
        assert one["method"] == "draws" or one["departs"] is None or one["departs"] <= 0.1
    assert cli("check", job, "--draws", "20", "--json").out == first.out


def test_a_survey_alone_can_be_tried(cli, make_job, without_bridge):
    result = cli("check", make_job(text=without_bridge), "--draws", "2")
    assert "2 whole plans were derived" in " ".join(result.out.split())


@pytest.mark.parametrize("count", ["-2", "10001"])
def test_a_number_that_cannot_be_meant_is_refused(cli, make_job, count):
    result = cli("check", make_job(), "--draws", count)
    assert result.status == 2
    assert count in result.err
    assert "0 to 10000" in result.err

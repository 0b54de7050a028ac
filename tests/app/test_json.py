"""The document for other programs holds to the published schema; its ids are unique and stable."""

import json

import jsonschema
import pytest

from spanwright.files.plan_json import schema
from spanwright.files.template import template_text

MADE = """
[[made]]
part   = "town abutment"
state  = "cut"
cut_to = "40 mm"

[[measured]]
what = "town abutment shaft length"
is   = "38 mm"
by   = "caliper"

[[measured]]
what = "town abutment shaft length"
is   = "40.1 mm"
by   = "caliper"

[[measured]]
what = "town abutment, span A, aisle, seat"
is   = "12 mm"
by   = "depth gauge"
"""
VERBS = {"survey", "alignment", "structures", "clearance"}


def strict(text):
    def refuse(word):
        raise AssertionError(word)

    return json.loads(text, parse_constant=refuse)


@pytest.fixture(scope="module")
def validator():
    found = schema()
    jsonschema.Draft202012Validator.check_schema(found)
    return jsonschema.Draft202012Validator(found)


@pytest.mark.parametrize("verb", ["check", *sorted(VERBS)])
def test_the_template_holds_to_the_schema(cli, make_job, validator, verb):
    result = cli(verb, make_job(), "--json")
    assert (result.status, result.err) == (0, "")
    document = strict(result.out)
    validator.validate(document)
    assert VERBS & set(document) == (VERBS if verb == "check" else {verb})
    assert (document["format"], document["version"], document["k"]) == ("spanwright-plan", 1, 2.0)


def test_gaps_that_are_not_clear_hold_to_the_schema_too(cli, make_job, validator):
    changes = (('aisle = "22", wall = "22"', 'aisle = "3", wall = "10.5"'), ('above = "2"', 'above = "17"'))
    result = cli("check", make_job(*changes), "--json")
    assert result.status == 1
    document = strict(result.out)
    validator.validate(document)
    assert document["clearance"]["verdicts"]["foul"] > 0
    assert document["clearance"]["advice"]


GAUGES = ("[clearance]\n", '[clearance]\ngauges = ["NEM 102, group B", "AAR plate F"]\n')


def test_gauges_are_told_and_hold_to_the_schema(cli, make_job, validator):
    job = make_job(GAUGES)
    document = strict(cli("clearance", job, "--json").out)
    validator.validate(document)
    gaps = document["clearance"]["gauge_gaps"]
    assert len({g["gauge"] for g in gaps}) == 2
    assert all((g["gap"]["value"] is None) == ("more_than" in g) for g in gaps)
    told = cli("clearance", job).out
    assert "no verdict rests on them" in told
    for of in {(g["gauge"], g["line"]) for g in gaps}:
        assert f"{of[0]} on {of[1]} (mm)" in told
    near = [g for g in gaps if "more_than" not in g]
    assert near
    assert f"{near[0]['gap']['value']:.1f}" in told


def test_gauges_alone_need_no_trains(cli, make_job, without_trains, validator):
    job = make_job(text=f'{without_trains}[clearance]\ngauges = ["AAR plate F"]\n')
    result = cli("clearance", job, "--json")
    assert result.status == 1
    document = strict(result.out)
    validator.validate(document)
    assert document["clearance"]["gaps"] == []
    near = [g for g in document["clearance"]["gauge_gaps"] if "more_than" not in g]
    told = cli("clearance", job).out
    assert "Nothing is judged yet: the job has gauges but no trains." in told
    assert "AAR plate F on lower (mm)" in told
    assert f"{near[0]['gap']['value']:.1f}" in told
    assert "Wanted margin" not in told
    check = cli("check", job).out
    assert "add [[vehicles]]" in check
    assert "The least clear gap" not in check
    for verb in ("card", "remedies"):
        refused = cli(verb, job)
        assert refused.status == 2
        assert "this job has no trains yet" in refused.err


def test_without_bridge_the_stages_that_are_there_are_told(cli, make_job, without_bridge, validator):
    document = strict(cli("check", make_job(text=without_bridge), "--json").out)
    validator.validate(document)
    assert VERBS & set(document) == {"survey", "alignment"}


def test_ids_are_unique_and_known(cli, make_job):
    document = strict(cli("check", make_job(), "--json").out)
    inputs = [i["id"] for i in document["inputs"]]
    assert len(set(inputs)) == len(inputs)
    quantities = [q["id"] for stage in sorted(VERBS - {"clearance"}) for q in document[stage]["quantities"]]
    assert len(set(quantities)) == len(quantities)
    assert {"P2/x", "b3/c", "a4/z", "crossing/upper/lower/1/separation"} <= set(quantities)
    for bearing in document["structures"]["bearings"]:
        assert f"{bearing['id']}/seat" in quantities
        assert bearing["budget"]
    gaps = document["clearance"]["gaps"]
    assert len({g["id"] for g in gaps}) == len(gaps) == 24
    assert {r["id"] for r in document["survey"]["readings"]} <= set(inputs)


def test_layers_lead_from_the_railhead_to_the_seat(cli, make_job):
    document = strict(cli("structures", make_job(), "--json").out)
    value = {q["id"]: q["value"] for q in document["structures"]["quantities"]}
    for bearing in document["structures"]["bearings"]:
        off = sum(layer["thickness"]["value"] for layer in bearing["layers"])
        assert value[f"{bearing['id']}/railhead"] - off == pytest.approx(bearing["seat"]["value"], abs=1e-9)


def test_the_same_job_gives_the_same_text(cli, make_job):
    job = make_job()
    assert cli("alignment", job, "--json").out == cli("alignment", job, "--json").out


@pytest.mark.parametrize(
    "number",
    [
        {"value": None, "unit": "mm", "u": None},
        {"value": 1.0, "unit": "mm", "u": None},
        {"value": 1.0, "unit": "inch", "u": 0.1},
        {"value": 1.0, "unit": "mm", "u": -0.1},
        {"value": 1.0, "unit": "mm"},
    ],
)
def test_the_schema_refuses_a_number_without_unit_doubt_or_reason(number):
    found = schema()
    part = {"$schema": found["$schema"], "$ref": "#/$defs/number", "$defs": found["$defs"]}
    assert list(jsonschema.Draft202012Validator(part).iter_errors(number))


def test_the_docs_name_every_part_of_the_document(request):
    page = (request.config.rootpath / "docs" / "json.md").read_text(encoding="utf-8")
    found = schema()
    for key in found["properties"]:
        assert f"`{key}`" in page, key
    for stage in VERBS:
        for key in found["properties"][stage]["properties"]:
            assert f"`{key}`" in page, f"{stage}: {key}"


def test_what_is_made_and_measured_is_told(cli, make_job, validator):
    text = template_text() + MADE
    document = json.loads(cli("check", make_job(text=text), "--json").out)
    validator.validate(document)
    found = document["measured"]
    assert found["made"][0]["cut_to"][0]["value"] == 40.0
    assert [r["used"] for r in found["readings"]] == [False, True]
    assert abs(found["readings"][0]["misses"]["value"]) > 3.29
    assert found["unknown"] == []
    assert [o["passes"] for o in found["outcomes"]] == [False]

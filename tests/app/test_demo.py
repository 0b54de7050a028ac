"""The shipped demo from its file to the printed answer; derived once, since its sweeps take a while."""

import json
from importlib import resources

import jsonschema
import pytest

from spanwright.cli import commands
from spanwright.files.job_file import load_job
from spanwright.files.plan_json import schema
from spanwright.job import derive

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def plan():
    with resources.as_file(resources.files("spanwright.files").joinpath("demo", "job.toml")) as path:
        return derive(load_job(path))


@pytest.fixture
def derived(plan, monkeypatch):
    """Let the commands use the plan that was derived before."""
    monkeypatch.setattr(commands, "derive", lambda _job, **_: plan)


def test_the_demo_runs_and_names_what_is_wrong(cli, derived):
    result = cli("demo")
    assert (result.status, result.err) == (0, "")
    said = " ".join(result.out.split())
    assert "Not all clear: " in said
    assert "NOT PROVEN: " in said
    assert "Suspect readings" in said
    assert "You read" in said
    assert "the other readings say" in said
    for title in ("What to measure next", "Heights at every bearing", "Cut sizes"):
        assert title in said
    assert max(len(line) for line in result.out.splitlines() if not line.startswith("Its file")) <= 100


def test_the_sections_come_in_the_order_of_need(cli, derived):
    text = cli("demo").out
    titles = [
        "Not all clear: ",
        "Suspect readings",
        "Not clear, the worst first",
        "The least clear gap of each part",
        "Heights at every bearing",
        "Cut sizes",
        "Room on the caps",
        "What to measure next",
        "Notes",
    ]
    places = [text.index(f"\n{title}") for title in titles]
    assert places == sorted(places)


def test_all_12_bearings_are_told(cli, derived, plan):
    assert len(plan.structures.bearings) == 12
    text = cli("demo").out.partition("Heights at every bearing")[2].partition("Cut sizes")[0]
    assert text.count("= seat") == 4
    assert sum(line.count("±") for line in text.splitlines() if "= seat" in line) == 12


def test_the_document_holds_to_the_schema(cli, derived):
    document = json.loads(cli("demo", "--json").out)
    jsonschema.Draft202012Validator(schema()).validate(document)
    assert document["clearance"]["verdicts"]["not proven"] >= 1
    assert document["survey"]["suspects"]


def test_check_of_the_same_job_is_1(cli, derived, make_job):
    assert cli("check", make_job()).status == 1


def test_what_to_measure_next_is_in_the_builders_words(cli, derived):
    text = cli("demo").out.partition("What to measure next")[2].partition("\nMind")[0]
    assert "{" not in text
    assert text.count("\n  * ") >= 1

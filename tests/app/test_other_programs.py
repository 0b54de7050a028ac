"""`why --json` and `build --tonight --json`: both hold to their schemas and say what the text says."""

import json
from pathlib import Path

import jsonschema
import pytest

from spanwright.files.documents.tonight_json import tonight_schema
from spanwright.files.documents.why_json import why_schema
from truth import demo

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def demo_text():
    return (Path(demo.SHIPPED).parent / "job.toml").read_text(encoding="utf-8")


def checked(schema, text):
    found = schema()
    jsonschema.Draft202012Validator.check_schema(found)
    document = json.loads(text)
    jsonschema.Draft202012Validator(found).validate(document)
    return document


@pytest.mark.parametrize(
    ("number", "verdict"),
    [
        ("pier 1, shaft, wanted", None),
        ("pier 1/kink", None),
        ("well car with two boxes on lower against bent, cap", "not proven"),
    ],
)
def test_why_holds_to_its_schema(cli, demo_text, make_job, number, verdict):
    job = make_job(text=demo_text)
    done = cli("why", job, number, "--json")
    assert (done.status, done.err) == (0, "")
    found = checked(why_schema, done.out)
    assert found["verdict"] == verdict
    assert 0.8 < sum(s["share"] for s in found["shares"]) <= 1.0 + 1e-9  # the least are left out
    assert all(s["share"] >= 0.01 for s in found["shares"])
    after = [r["u_after"]["value"] for r in found["readings"]]
    assert after == sorted(after, reverse=True)
    assert all(u < found["number"]["u"] for u in after)
    assert found["number"]["unit"] == ("rad" if "kink" in number else "mm")
    if verdict is None:
        return
    told = cli("why", job, number).out
    assert f"{found['number']['value']:.2f} ± {2.0 * found['number']['u']:.2f}" in told


def test_tonight_holds_to_its_schema_and_says_what_the_text_says(cli, demo_text, make_job):
    job = make_job(text=demo_text)
    done, text = cli("build", job, "--tonight", "--json"), cli("build", job, "--tonight")
    assert (done.status, done.err) == (text.status, "")
    found, told = checked(tonight_schema, done.out), " ".join(text.out.split())
    left = found["left"]
    assert f" {left['of']} tasks" in told
    assert left["tasks"] == left["of"]
    assert f"needs {left['evenings']} evenings" in told
    assert f"to done: {', '.join(json.dumps(key) for key in found['enter']['done'])}" in told
    assert found["work"]
    for row in found["work"]:
        assert row["task"]["title"] in told
    assert sum(row["hours"] for row in found["work"]) <= found["evening"]
    assert {row["task"]["kind"] for row in found["measure"]} <= {"step", "reading", "doubt", "size"}


def test_tonight_with_nothing_left(cli, demo_text, make_job):
    job = make_job(
        text=demo_text + '\n[build]\ndone = ["calibrate"]\ncuring = { "board/strongback" = "9 h" }\n'
    )
    found = checked(tonight_schema, cli("build", job, "--tonight", "--json").out)
    assert found["left"]["tasks"] < found["left"]["of"]
    assert [row["task"]["id"] for row in found["cures"]][:1] == ["board/strongback"]


@pytest.mark.parametrize("words", [("--json",), ("--tonight", "--json", "--made", "pier 1 cut")])
def test_only_tonight_is_a_document(cli, demo_text, make_job, words):
    job = make_job(text=demo_text)
    before = (job / "job.toml").read_text(encoding="utf-8")
    done = cli("build", job, *words)
    assert done.status == 2
    assert "--tonight --json" in done.err
    assert (job / "job.toml").read_text(encoding="utf-8") == before

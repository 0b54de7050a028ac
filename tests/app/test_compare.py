"""Two jobs side by side as a user sees them: the page, the document, what is refused."""

import json

import jsonschema
import pytest

from spanwright.files.versions.comparison_json import comparison_schema


@pytest.fixture
def jobs(make_job, tmp_path):
    """Write the template, and a copy of it with changes beside it."""
    job = make_job()

    def beside(*changes, name="thin cap.toml"):
        text = (job / "job.toml").read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        other = tmp_path / name
        other.write_text(text, encoding="utf-8")
        return job, other

    return beside


@pytest.fixture(scope="module")
def validator():
    found = comparison_schema()
    jsonschema.Draft202012Validator.check_schema(found)
    return jsonschema.Draft202012Validator(found)


def cap(job):
    text = (job / "job.toml").read_text(encoding="utf-8")
    line = next(
        row for row in text.splitlines() if row.startswith("cap ") and "straddle" in text.partition(row)[0]
    )
    return line, 'cap          = "1.5"'


def test_a_job_beside_itself(cli, jobs, validator):
    job, other = jobs()
    result = cli("compare", job, other)
    assert (result.status, result.err) == (0, "")
    assert result.out.startswith("Two plans: job against thin cap\n")
    assert f"  thin cap: {other}\n" in result.out
    assert "Nothing differs" in result.out
    document = json.loads(cli("compare", job, other, "--json").out)
    validator.validate(document)
    assert document["same"]
    assert document["fair"]
    assert document["cuts"] == document["words"] == document["lost"] == []


def test_another_cap_in_text_and_document(cli, jobs, validator):
    job, _ = jobs()
    job, other = jobs(cap(job))
    result = cli("compare", job, other)
    assert (result.status, result.err) == (0, "")
    assert "Both rest on the same readings." in result.out
    assert "supports, bent, cap" in result.out
    assert "From job to thin cap:" in result.out
    document = json.loads(cli("compare", job, other, "--json").out)
    validator.validate(document)
    assert document["names"] == ["job", "thin cap"]
    assert not document["same"]
    assert document["fair"]
    depth = next(c for c in document["cuts"] if c["id"] == "bent/cap" and c["name"] == "depth")
    assert depth["cut_to"]["other"]["value"] == 1.5
    assert f"{depth['cut_to']['one']['value']:.1f}" in result.out


def test_other_readings_are_said_first(cli, jobs, validator):
    job, other = jobs(('to = "P3", is = "943"', 'to = "P3", is = "944"'))
    result = cli("compare", job, other)
    assert result.status == 0
    lines = result.out.splitlines()
    first = next(k for k, line in enumerate(lines) if not line.strip()) + 1
    assert lines[first].startswith("NOT A FAIR COMPARISON")
    assert "943.0 ± " in result.out
    assert "944.0 ± " in result.out
    document = json.loads(cli("compare", job, other, "--json").out)
    validator.validate(document)
    assert not document["fair"]


def test_a_made_support_that_would_be_otherwise(cli, jobs, validator):
    job, _ = jobs()
    thinner = cap(job)
    job, other = jobs(thinner)
    plan = json.loads(cli("structures", job, "--json").out)["structures"]
    cuts = next(s for s in plan["supports"] if s["name"] == "bent")["cuts"]
    lengths = [c["cut_to"]["value"] for c in cuts]
    file = job / "job.toml"
    made = f'\n[[made]]\npart = "bent"\nstate = "built"\ncut_to = {[str(x) for x in lengths]}\n'.replace(
        "'", '"'
    )
    file.write_text(file.read_text(encoding="utf-8") + made, encoding="utf-8")
    result = cli("compare", job, other)
    assert (result.status, result.err) == (0, "")
    assert "Parts made already" in result.out
    document = json.loads(cli("compare", job, other, "--json").out)
    validator.validate(document)
    assert [lost["made"]["value"] for lost in document["lost"]] == lengths
    assert all(lost["wanted"]["value"] > lost["made"]["value"] for lost in document["lost"])


def test_what_cannot_be_compared_is_refused_with_its_name(cli, jobs, without_bridge, tmp_path):
    job, _ = jobs()
    bare = tmp_path / "bare.toml"
    bare.write_text(without_bridge, encoding="utf-8")
    for arguments, told in (
        ((job, bare), "bare.toml: this job has no bridge yet"),
        ((bare, job), "bare.toml: this job has no bridge yet"),
        ((job, tmp_path / "away"), "away: there is no such file"),
        ((job,), "needs OTHER"),
    ):
        result = cli("compare", *arguments)
        assert result.status == 2
        assert told in result.err
        assert result.err.count("\n") == 1


def test_an_error_on_the_way_names_the_job(cli, jobs):
    job, other = jobs()
    text = other.read_text(encoding="utf-8")
    other.write_text(
        text.replace('upper   = "upper"\nlower   = "lower"', 'upper   = "lower"\nlower   = "upper"')
    )
    result = cli("compare", job, other)
    assert result.status == 2
    assert f"This is of {other}." in result.err

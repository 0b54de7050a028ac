"""0 all clear, 1 something is not, 2 the input is bad, 3 the program failed."""

import pytest

from spanwright.cli import commands
from spanwright.errors import NotConvergedError
from spanwright.files.template import template_text

STAGES = ["survey", "alignment", "structures", "clearance"]


def test_all_clear_is_0(cli, make_job):
    result = cli("check", make_job())
    assert (result.status, result.err) == (0, "")
    assert "All 24 gaps clear, but 1 thing to mind: see the end." in result.out


def test_the_job_may_be_the_file_itself(cli, make_job):
    assert cli("survey", make_job() / "job.toml").status == 0


@pytest.mark.parametrize("verb", STAGES)
def test_every_stage_prints_itself(cli, make_job, verb):
    result = cli(verb, make_job())
    assert (result.status, result.err) == (0, "")
    assert result.out.startswith("Template crossing: scale 1:160, gauge 9 mm\n")


def test_a_margin_that_is_not_proven_is_1(cli, make_job):
    result = cli("check", make_job(('above = "2"', 'above = "17"')))
    assert result.status == 1
    assert "Not all clear:" in result.out
    assert "TIGHT: tall boxcar on lower, against" in result.out
    assert "What to measure next" in result.out


def test_a_train_that_touches_is_1(cli, make_job):
    job = make_job(('clear        = { aisle = "22", wall = "22" }', 'clear = { aisle = "3", wall = "22" }'))
    result = cli("clearance", job)
    assert result.status == 1
    assert "foul" in result.out.splitlines()[1]
    said = " ".join(cli("check", job).out.split())
    assert "the part would have to move" in said
    assert "to the aisle side just to come free" in said


def test_a_job_with_no_height_for_a_shaft_is_1(cli, make_job):
    result = cli("structures", make_job(('cap        = "3"\n', 'cap        = "80"\n')))
    assert result.status == 1
    assert "STOP: mend these before building" in result.out


def test_a_suspect_reading_makes_survey_1(cli, make_job):
    text = template_text()
    line = next(one for one in text.splitlines() if 'id = "d16"' in one)
    result = cli("survey", make_job((line, line.replace("522.0", "532.0"))))
    assert result.status == 1
    assert "d16: distance P2 to b3 by tape. You read 532.00 mm; the other readings say 52" in result.out
    assert "more than it should be" in result.out


def test_a_suspect_reading_is_told_by_every_stage(cli, make_job):
    text = template_text()
    line = next(one for one in text.splitlines() if 'id = "d16"' in one)
    job = make_job((line, line.replace("522.0", "532.0")))
    for verb in ("alignment", "structures"):
        assert "\n1 suspect reading is still in: run spanwright survey.\n" in cli(verb, job).out
    assert "1 suspect reading: still in, run spanwright survey." in " ".join(
        cli("clearance", job).out.split()
    )
    assert "1 suspect reading: see below." in cli("check", job).out


def test_the_demo_says_that_it_returns_0(cli):
    assert "Exit status 0 once it has run" in cli("demo", "--help").out


def test_without_bridge_survey_and_alignment_work(cli, make_job, without_bridge):
    job = make_job(text=without_bridge)
    assert cli("survey", job).status == 0
    alignment = cli("alignment", job)
    assert alignment.status == 0
    assert "Crossing: upper over lower" in alignment.out
    check = cli("check", job)
    assert check.status == 1
    assert "Nothing is judged yet." in check.out
    assert "add [bridge], [[supports]] and [[spans]]" in check.out
    for verb in ("structures", "clearance"):
        refused = cli(verb, job)
        assert refused.status == 2
        assert "this job has no bridge yet" in refused.err


def test_without_trains_the_heights_are_told(cli, make_job, without_trains):
    job = make_job(text=without_trains)
    check = cli("check", job)
    assert check.status == 1
    assert "add [[vehicles]]" in check.out
    assert "Heights at every bearing" in check.out
    assert cli("structures", job).status == 0
    refused = cli("clearance", job)
    assert refused.status == 2
    assert "this job has no trains yet" in refused.err


@pytest.mark.parametrize(
    "arguments", [["chek", "x"], ["check"], ["check", "a", "b"], ["survey", "a", "--bogus"]]
)
def test_wrong_arguments_are_2_in_one_line(cli, arguments):
    result = cli(*arguments)
    assert (result.status, result.out) == (2, "")
    assert result.err.startswith("spanwright: ")
    assert result.err.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["check", "a", "b"], "there is no argument 'b' here"),
        (["check", "a", "b", "c"], "there are no arguments 'b', 'c' here"),
        (["survey"], "survey needs JOB after it"),
    ],
)
def test_wrong_arguments_are_told_in_plain_words(cli, arguments, said):
    message = cli(*arguments).err
    assert said in message
    assert "Tokens" not in message


@pytest.mark.parametrize("code", ["AL001", "AL002", "ES001", "ES002"])
def test_where_the_reckoning_stops_the_way_out_follows(cli, make_job, monkeypatch, code):
    def stop(_job, **_):
        raise NotConvergedError("it does not settle", code=code, where="upper")

    monkeypatch.setattr(commands, "derive", stop)
    job = make_job()
    result = cli("check", job)
    assert (result.status, result.out) == (2, "")
    first, way_out = result.err.splitlines()
    assert first == "spanwright: upper: it does not settle"
    if code.startswith("AL"):
        assert way_out == f"Run: spanwright survey {job} to see which readings disagree."
    else:
        assert way_out.endswith(".")


@pytest.mark.parametrize("arguments", [[], ["--help"], ["check", "--help"], ["--version"]])
def test_help_and_version_are_0(cli, arguments):
    result = cli(*arguments)
    assert result.status == 0
    assert result.out


@pytest.fixture
def broken(monkeypatch):
    def fail(_job, **_):
        raise RuntimeError("two and two")

    monkeypatch.setattr(commands, "derive", fail)


def test_a_failure_of_the_program_is_3_and_asks_for_a_report(cli, make_job, broken):
    result = cli("check", make_job())
    assert (result.status, result.out) == (3, "")
    assert result.err.count("\n") == 1
    assert "RuntimeError: two and two" in result.err
    assert "--debug" in result.err


def test_debug_shows_where(cli, make_job, broken):
    result = cli("check", make_job(), "--debug")
    assert result.status == 3
    assert "Traceback" in result.err


def test_stopped_by_the_user_is_130(cli, make_job, monkeypatch):
    def stop(_job, **_):
        raise KeyboardInterrupt

    monkeypatch.setattr(commands, "derive", stop)
    result = cli("check", make_job())
    assert (result.status, result.err) == (130, "Stopped.\n")

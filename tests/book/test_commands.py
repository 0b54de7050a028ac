"""The commands that make something: what they print, where they write, what they refuse."""

import pytest

from spanwright.cli import making_commands
from spanwright.cli.main import run

pytestmark = pytest.mark.slow


@pytest.fixture
def made(books, monkeypatch):
    """Let the commands use the demo that was worked through before."""
    book = books("demo")
    monkeypatch.setattr(making_commands, "derived", lambda _job, _verb: book.plan)
    monkeypatch.setattr(making_commands, "tried", lambda plan: (plan, book.trials))
    monkeypatch.setattr(making_commands, "make", lambda _plan: book.making)
    return book


@pytest.fixture
def job(tmp_path):
    from importlib import resources

    folder = tmp_path / "job"
    folder.mkdir()
    text = resources.files("spanwright.files").joinpath("demo", "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("verb", "wanted"),
    [
        ("parts", ("To buy", "To cut", "cut to", "correction")),
        ("drawings", ("Patterns and gauges", "full size", "patterns/pattern opening top.pdf")),
        ("build", ("Settle", "1. ", "CAUTION: ", "Read the line again after opening", "Evening by evening")),
        ("build --tonight", ("Measure first", "Tonight, 2 h", "add to [build] in the job file")),
    ],
)
def test_each_stage_prints_itself(made, job, capsys, verb, wanted):
    assert run([*verb.split(), str(job)]) == 1  # the demo is not all clear
    said = capsys.readouterr()
    assert said.err == ""
    for words in wanted:
        assert words in said.out
    assert max(len(line) for line in said.out.splitlines()) <= 100


def test_the_book_is_written_and_its_place_told(made, job, tmp_path, capsys):
    out = tmp_path / "out"
    assert run(["book", str(job), "--out", str(out)]) == 1
    said = capsys.readouterr().out
    assert (out / "book.pdf").read_bytes() == made.files["book.pdf"]
    assert {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()} == {
        *made.files,
        "contents.txt",
    }
    tried = "Tried on 8 whole plans with drawn inputs"
    for words in ("book.pdf", "Revision ", "calibration.pdf", "Not all clear", tried):
        assert words in said


def test_an_older_book_is_replaced(made, job, tmp_path):
    out = tmp_path / "out"
    for _ in range(2):
        assert run(["book", str(job), "--out", str(out)]) == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["job", "out"]


def test_a_folder_of_somebody_else_is_refused_before_the_work(job, tmp_path, monkeypatch, capsys):
    def never(*_):
        raise AssertionError

    monkeypatch.setattr(making_commands, "derived", never)
    assert run(["book", str(job), "--out", str(job)]) == 2
    assert "job.toml" in capsys.readouterr().err
    assert (job / "job.toml").exists()


@pytest.mark.parametrize("arguments", [["book"], ["book", "x"], ["book", "x", "--out", " "]])
def test_what_is_missing_is_said(arguments, capsys):
    assert run(arguments) == 2
    assert capsys.readouterr().err.startswith("spanwright: ")


def test_a_job_without_a_bridge_has_nothing_to_make(tmp_path, capsys):
    from spanwright.files.template import template_text

    mark = "# ---------------------------------------------------------------- the bridge"
    (tmp_path / "job.toml").write_text(template_text().partition(mark)[0], encoding="utf-8")
    for verb in ("parts", "drawings", "build"):
        assert run([verb, str(tmp_path)]) == 2
        assert "no bridge yet" in capsys.readouterr().err

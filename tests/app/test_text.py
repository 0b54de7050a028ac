"""What a builder reads: his own words, give or take, a page of 100 columns."""

import re
import shlex
from dataclasses import replace
from types import SimpleNamespace

import pytest

from spanwright.book.blocks import heading, paragraph, shown, table, texts
from spanwright.book.clearance_text import answer
from spanwright.cli import commands
from spanwright.cli.layout import plain
from spanwright.drawings.speech import Speech, Words
from spanwright.estimation.inputs import Inputs
from spanwright.files.job_file import load_job
from spanwright.findings import Finding, Severity, Verdict
from truth import oo

VERBS = ["check", "survey", "alignment", "structures", "clearance"]
#: Our own words for sides where they stand for a side: "right 19 times" and "just right" are no sides.
INNER = re.compile(
    r"\b(left|right) (girder|column|rail|side|end)\b|\b(column|girder|rail) (left|right)\b|/(left|right)"
)


@pytest.mark.parametrize("verb", VERBS)
def test_sides_and_ends_are_the_builders(cli, make_job, other_words, verb):
    text = cli(verb, make_job(text=other_words)).out
    assert "Sides: window is left, door is right, looking from coast to hills." in " ".join(text.split())
    rest = text.replace("window is left", "").replace("door is right", "")
    assert "window" in rest or verb == "survey"
    assert not INNER.search(rest), INNER.search(rest)


@pytest.mark.parametrize("verb", VERBS)
def test_no_line_is_wider_than_the_page(cli, make_job, verb):
    text = cli(verb, make_job()).out
    assert max(len(line) for line in text.splitlines()) <= 100
    assert not any(line != line.rstrip() for line in text.splitlines())
    assert "\x1b" not in text


@pytest.mark.parametrize("verb", VERBS)
def test_give_or_take_is_explained_once(cli, make_job, verb):
    text = cli(verb, make_job()).out
    assert text.count("19 times in 20") == 1
    assert " ± " in text


@pytest.fixture
def shown_in_inches(monkeypatch):
    """Show the template in inches; its own sizes stay millimetres."""

    def load(path):
        job = load_job(path)
        return replace(job, words=replace(job.words, unit="inch"))

    monkeypatch.setattr(commands, "load_job", load)


@pytest.mark.parametrize("verb", VERBS)
def test_inches_keep_to_the_page(cli, make_job, shown_in_inches, verb):
    text = cli(verb, make_job()).out
    assert max(len(line) for line in text.splitlines()) <= 100
    numbers = text.partition("Sides: ")[2].partition("Mind")[0].partition("Notes")[0]
    assert not re.search(r"\d mm\b|\(mm\)", numbers)


def test_inches_are_said_with_the_fraction_to_cut(cli, make_job, shown_in_inches):
    text = cli("structures", make_job()).out
    assert "Cut sizes (in)" in text
    assert re.search(r'town abutment, shaft +\d+\.\d{3} \(\d+( \d+/\d+)?"\)', text)


@pytest.mark.parametrize(
    ("size", "said"), [(50.8, '2.000 (2")'), (51.1, '2.012 (2")'), (51.2, '2.016 (2 1/64")')]
)
def test_a_fraction_to_cut_is_rounded_down(size, said):
    words = Words(left="l", right="r", start="s", finish="f", unit="inch")
    assert Speech(words=words, inputs=Inputs(items=()), k=2.0).cut(size) == said


@pytest.mark.parametrize(
    ("value", "u", "said"),
    [
        (43.1234, 0.155, "43.12 ± 0.31"),
        (0.0, 0.0, "0.000"),
        (12.0, 1e-9, "12.000"),
        (-0.0001, 0.1, "0.00 ± 0.20"),
    ],
)
def test_lengths_are_said_with_two_figures_of_give_or_take(value, u, said):
    words = Words(left="l", right="r", start="s", finish="f")
    assert Speech(words=words, inputs=Inputs(items=()), k=2.0).length(value, u) == said


def test_every_bearing_has_its_heights(cli, make_job):
    text = cli("check", make_job()).out
    heights = text.partition("Heights at every bearing")[2].partition("Cut sizes")[0]
    for support, bearings in (
        ("town abutment", ["span A aisle", "span A wall"]),
        ("bent", ["span A aisle", "span A wall", "span B aisle", "span B wall"]),
        ("yard abutment", ["span B aisle", "span B wall"]),
    ):
        block = heights.partition(f"\n  {support} (mm)\n")[2].partition("\n\n")[0]
        head, *rows = block.splitlines()
        assert re.split(r" {2,}", head.strip()) == bearings
        names = [re.split(r" {2,}", row.strip())[0] for row in rows]
        wanted = ["railhead over bearing", "- rail", "- tie", "+ dap of the tie", "- twist, under the ties"]
        wanted += ["= top of girder", "- girder", "- shoe", "= seat", "packing", "track beside girder"]
        assert names[: len(wanted)] == wanted
        assert all(row.count("±") in (0, len(bearings)) for row in rows[: len(wanted)])


def test_where_the_text_tells_to_cut_it_cautions(cli, make_job):
    job = make_job()
    for verb in ("check", "structures"):
        assert "CAUTION: measure before you cut." in cli(verb, job).out


def test_a_thing_that_must_be_mended_leads_the_answer(cli, make_job):
    """A cap that is shorter than the girders are apart: clear of the trains, but no bridge."""
    result = cli("check", make_job(('cap_across = "22"', 'cap_across = "9"')))
    assert result.status == 1
    assert result.out.splitlines()[1].startswith("Not ready: ")
    assert "beyond the cap's edge" in result.out


@pytest.mark.parametrize("verb", ["check", "structures", "clearance"])
def test_nothing_is_called_all_clear_above_a_thing_to_mend(cli, make_job, verb):
    """A cap that is shorter than the girders are apart: clear of the trains, but no bridge."""
    result = cli(verb, make_job(('cap_across = "22"', 'cap_across = "9"')))
    assert result.status == 1
    assert re.match(
        r"Not ready: \d+ things? must be mended before building, see STOP", result.out.split("\n")[1]
    )
    assert "All clear" not in result.out
    assert "STOP: mend these before building" in result.out


def few_findings(*findings):
    gaps = (SimpleNamespace(verdict=Verdict.CLEAR),)
    return SimpleNamespace(
        findings=findings, survey=SimpleNamespace(suspects=()), clearance=SimpleNamespace(gaps=gaps)
    )


def finding(code, severity):
    return Finding(code=code, severity=severity, where="bent", text="something")


def test_the_answer_says_all_clear_only_if_there_is_nothing_else():
    note, mind = finding("ST101", Severity.NOTE), finding("ST103", Severity.WARNING)
    stop = finding("ST102", Severity.STOP)
    assert plain(answer(few_findings(note))) == ["All clear: the only gap keeps its margin."]
    assert plain(answer(few_findings(mind))) == ["The only gap is clear, but 1 thing to mind: see the end."]
    two = plain(answer(few_findings(mind, mind)))
    assert two == ["The only gap is clear, but 2 things to mind: see the end."]
    lead, rest = plain(answer(few_findings(stop, mind)))
    assert lead == "Not ready: 1 thing must be mended before building, see STOP below."
    assert rest == "The gap as such keeps its margin."


def rows_of(text):
    """Rows of the table of least clear gaps: part -> cells."""
    block = text.partition("The least clear gap of each part")[2].partition("\n\n")[0]
    rows = [re.split(r" {2,}", line.strip()) for line in block.splitlines()[3:]]
    return {row[0]: row[1:] for row in rows if len(row) == 7}


def test_a_measured_gap_stands_before_one_that_is_only_known_to_be_more(cli, make_job):
    job = make_job()
    rows = rows_of(cli("check", job).out)
    assert rows["bent, aisle column"][2].count("±") == 1
    blocks = re.split(r"\n\n(?=.* \(mm\)\n-)", cli("clearance", job).out)[1:]
    assert blocks
    for block in blocks:
        part = block.partition(" (mm)")[0]
        assert block.count(": over ") <= 1
        assert ("±" in block) == ("Largest parts of the doubt" in block)
        if part in rows:
            assert ("±" in rows[part][2]) == ("±" in block)


def test_a_margin_is_not_asked_for_below(cli, make_job):
    row = rows_of(cli("check", make_job()).out)["town abutment, backwall"]
    assert (row[3], row[4]) == ("-", "below")


def test_names_cannot_steer_the_terminal():
    assert shown("a\x1b[31m\nb\u202e") == "a\\x1b[31m\\nb\\u202e"
    assert shown("Br\u00fccke \u00b1", keep="\n") == "Br\u00fccke \u00b1"
    assert shown("a\nb", keep="\n") == "a\nb"
    assert plain(heading("a\x07")) == ["", "a\\x07", "-----"]
    assert plain(table(texts("t\x1b"), [("c\x9b",)])) == ["  t\\x1b", "  c\\x9b"]


def test_a_coordinate_stays_with_its_letter():
    for filler in range(60, 100):
        lines = plain(paragraph(f"{'w' * filler} y 12.3 mm"))
        assert not any(line.endswith((" y", " y 12.3")) or line == "y" for line in lines)


def test_a_crossing_tells_its_angle_both_ways_and_all_four_rails(cli, make_job):
    text = cli("alignment", make_job()).out
    assert re.search(
        r"Angle: \d+\.\d+ ± \d+\.\d+° between the lines, \d+\.\d+ ± \d+\.\d+° off square\.", text
    )
    for upper in ("aisle", "wall"):
        for lower in ("aisle", "wall"):
            assert re.search(rf"^  {upper} rail +{lower} rail +\d+\.\d+ ± \d", text, re.MULTILINE)


def test_new_prints_sheets_and_what_was_made(cli, tmp_path):
    result = cli("new", tmp_path / "mine")
    assert result.status == 0
    assert "READING SHEETS: Template crossing" in result.out
    assert sorted(p.name for p in (tmp_path / "mine").iterdir()) == ["job.toml", "reading-sheets.txt"]
    assert result.out.rstrip().endswith(f"Then run: spanwright check {tmp_path / 'mine'}")
    assert cli("check", tmp_path / "mine").status == 0


def test_a_path_with_blanks_can_be_copied_from_the_hint(cli, tmp_path):
    folder = tmp_path / "my bridge"
    hint = cli("new", folder).out.splitlines()[-1]
    assert shlex.split(hint.removeprefix("Then run: ")) == ["spanwright", "check", str(folder)]


def test_sheets_are_blank(cli, make_job):
    result = cli("sheets", make_job())
    assert result.status == 0
    assert "__________" in result.out
    assert "943" not in result.out


def test_a_doubt_that_is_not_the_gaps_own_is_named(cli):
    """The advice shrinks the doubt of what is left beyond the margin; the table gives that of the gap."""
    text = " ".join(cli("clearance", oo.FILE.parent).out.split())
    row = re.search(
        r"wagon with a wide boiler lower [\d.]+ ± ([\d.]+) [\d.]+ [\d.-]+ ± ([\d.]+) \S+ tight", text
    )
    assert row, text
    own, beyond = row.groups()
    assert own != beyond
    assert re.search(
        rf"pier, shaft \(tight\): .*?\(doubt beyond the margin {re.escape(beyond)} -> [\d.]+\)", text
    )

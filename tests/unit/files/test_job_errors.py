"""Each thing that can be wrong in a job file: the line, what was read, what was expected, what to do.

The cases stand in ``wrong.toml``: a text of the template, what is put in its place, what the message says.
"""

import random
import re
import tomllib
from pathlib import Path

import pytest

from spanwright.errors import InputError

CASES = tomllib.loads(Path(__file__).with_name("wrong.toml").read_text(encoding="utf-8"))["case"]

# Where something is absent or at odds, the message names the table or the list that should hold it.
LINE_OF_THE_TABLE = {"JO014", "JO017", "JO018", "JO026", "JO034", "JO036", "JO047", "JO048", "JO053", "JO055"}
LINE_OF_THE_TABLE |= {"JO058", "JO060", "JO065"}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_the_message_says_where_what_and_what_instead(job, case):
    first = job.line_of(case["old"])
    last = first + case["new"].count("\n")
    job.replace(case["old"], case["new"])
    if "also" in case:
        job.replace(*case["also"])
    error = job.error()
    assert error.code == case["code"], str(error)
    assert [word for word in case["says"] if word not in str(error)] == [], str(error)
    assert error.limit or error.hint or len(error.what) > 20
    named = re.search(r", line (\d+)", str(error))
    assert named, str(error)
    if "missing" not in error.what and error.code not in LINE_OF_THE_TABLE:
        assert first <= int(named[1]) <= last, str(error)


def test_margins_without_vehicles(job):
    job.text = job.text[: job.text.index("[[vehicles]]")]
    assert "no vehicles" in str(job.error())


@pytest.mark.parametrize(
    ("table", "words"),
    [("bridge", "no [bridge]"), ("supports", "no [[supports]]"), ("spans", "no [[spans]]")],
)
def test_a_bridge_needs_all_its_tables(job, table, words):
    tables = re.split(r"(?m)^(?=\[)", job.text)
    job.text = "".join(t for t in tables if not re.match(rf"\[+{table}\]", t))
    assert words in str(job.error())


def test_a_missing_span(job):
    start = job.text.index('[[spans]]\nname   = "span B"')
    job.text = job.text[:start] + job.text[job.text.index("[clearance]") :]
    assert "1 spans and 3 supports" in str(job.error())


def test_no_readings(job):
    start, end = job.text.index("distances = ["), job.text.index("# More kinds")
    job.text = job.text[:start] + job.text[end:]
    job.replace('cant      = "measured"', 'cant = "not measured"')
    assert "there are no readings" in str(job.error())


def test_the_first_of_two_mistakes_is_told(job):
    job.replace('towards = "P2"', "towards = 2").replace('name   = "Template', 'nome = "Template')
    assert "'nome'" in str(job.error())


def outcome(job):
    try:
        job.load()
    except InputError as error:
        return str(error)
    return str(job.path)


@pytest.mark.parametrize("seed", range(20))
def test_a_damaged_file_is_read_or_refused_but_never_breaks(job, seed):
    chance = random.Random(seed)
    lines = job.text.splitlines()
    places = [k for k, line in enumerate(lines) if line and not line.startswith("#")]
    for _ in range(15):
        damaged = list(lines)
        k = chance.choice(places)
        at = chance.randrange(len(damaged[k]))
        put = chance.choice(['"', "[", "]", "}", "=", ",", "x", "-", "0", ""])
        damaged[k] = damaged[k][:at] + put + damaged[k][at + 1 :]
        if chance.random() < 0.3:
            del damaged[chance.choice(places)]
        job.text = "\n".join(damaged)
        assert outcome(job).startswith(str(job.path))

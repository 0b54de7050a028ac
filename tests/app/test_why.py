"""spanwright why: the doubt of one number, in the builder's words."""

import re
from pathlib import Path

import pytest

from truth import demo

pytestmark = pytest.mark.slow


def test_a_size_to_cut(cli, make_job):
    job = make_job()
    support = re.search(
        r"^name += \"(.*abutment.*)\"", (job / "job.toml").read_text(encoding="utf-8"), re.MULTILINE
    )
    result = cli("why", job, f"{support[1]}, shaft, wanted")
    assert result.status == 0
    assert re.search(rf"{support[1]}, shaft, wanted: \d+\.\d+ ± \d\.\d+ mm", result.out)
    assert "Where the doubt comes from" in result.out
    shares = [int(part) for part in re.findall(r"^ +(\d+) %  ", result.out, re.MULTILINE)]
    assert 95 <= sum(shares) <= 105
    assert re.search(r"1\. [A-Z].*: the number is then good to ± \d", " ".join(result.out.split()))


def test_a_gap_that_is_not_clear_tells_its_chances(cli):
    result = cli("why", Path(demo.SHIPPED).parent, "well car with two boxes on lower against bent, cap")
    assert (result.status, result.err) == (0, "")
    text = " ".join(result.out.split())
    assert "The word: not proven." in text
    assert "How likely each word is then" in text
    assert re.search(r"\d+ % that it is then tight", text)


def test_a_number_that_is_not_there(cli, make_job):
    result = cli("why", make_job(), "no such thing")
    assert result.status == 2
    assert "no number of this name" in result.err

"""What is made and measured, read from the job file; nonsense is one clear error."""

import pytest

from spanwright.errors import InputError
from spanwright.files.builders.tools import UNREAD
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.measured.given import PartState

MADE = '\n[[made]]\npart = "{part}"\nstate = "{state}"\ncut_to = {cut}\n'
READ = '\n[[measured]]\nwhat = "pier 1/shaft/length"\nis = "{value}"\nby = "{by}"\n{more}\n'


def job_with(*more):
    return job_of(template_text() + "".join(more), "job.toml")


@pytest.fixture(scope="module")
def names():
    return [s.name for s in job_with().structures.supports], next(
        s.name for s in job_with().structures.supports if s.clear_left
    )


def test_a_support_that_is_cut_holds_its_lengths(names):
    job = job_with(MADE.format(part=names[0][0], state="cut", cut='"40 mm"'))
    assert job.made[0].state is PartState.CUT
    assert job.structures.standing[0].lengths == (40.0,)


@pytest.mark.parametrize("state", ["taken out", "spoiled"])
def test_a_support_that_is_gone_is_decided_anew(names, state):
    job = job_with(MADE.format(part=names[0][0], state=state, cut='"40 mm"'))
    assert job.structures.standing == ()


def test_a_reading_takes_the_doubt_of_its_tool():
    (reading,) = job_with(READ.format(value="49.1", by="caliper", more="")).measured
    assert (reading.value, reading.sd, reading.certain) == (49.1, 0.05, False)
    (own,) = job_with(READ.format(value="49.1", by="caliper", more='sd = "0.1 mm"')).measured
    assert own.sd == 0.1


@pytest.mark.parametrize(("by", "code"), [("eye", "JO014"), ("to be built", "JO094"), ("nominal", "JO094")])
def test_only_tools_are_offered_where_something_was_read(by, code):
    with pytest.raises(InputError) as caught:
        job_with(READ.format(value="49.1", by=by, more=""))
    assert caught.value.code == code
    assert "caliper" in caught.value.limit
    for none in UNREAD:
        assert none not in caught.value.limit


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (MADE.format(part="nobody", state="cut", cut='"40 mm"'), "JO092"),
        (MADE.format(part="{end}", state="cut", cut='"40 mm"') * 2, "JO092"),
        (MADE.format(part="{bent}", state="cut", cut='"40 mm"'), "JO093"),
        (MADE.format(part="{end}", state="glued", cut='"40 mm"'), "JO003"),
        (MADE.format(part="{end}", state="cut", cut='"-4 mm"'), "JO012"),
        (MADE.format(part="{end}", state="cut", cut='"49.2 m"'), "JO093"),
        (READ.format(value="49.1", by="nominal", more=""), "JO094"),
        (READ.format(value="49.1", by="to be cut", more=""), "JO094"),
        (READ.format(value="49.1", by="about 10 %", more=""), "JO094"),
        (READ.format(value="49.1", by="eye", more=""), "JO014"),
        (READ.format(value="much", by="caliper", more=""), "UN"),
        (READ.format(value="49.1", by="caliper", more='sd = "1 deg"'), "JO011"),
        (READ.format(value="49.1", by="caliper", more='sd = "-1"'), "JO010"),
    ],
)
def test_nonsense_is_one_clear_error(names, text, code):
    with pytest.raises(InputError) as caught:
        job_with(text.replace("{end}", names[0][0]).replace("{bent}", names[1]))
    assert caught.value.code.startswith(code)
    assert "job.toml" in str(caught.value)

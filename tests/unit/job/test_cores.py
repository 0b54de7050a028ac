"""The trains may be worked through side by side: the plan is the same to the last bit."""

import operator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from spanwright.cli import cores
from spanwright.files.job_file import load_job
from spanwright.job import derive, same

OO = Path(__file__).resolve().parents[2] / "jobs" / "oo"


@pytest.mark.slow
def test_several_processes_give_the_same_plan(monkeypatch):
    monkeypatch.setattr(cores, "_cores", lambda: 2)
    monkeypatch.setattr(cores, "_FEWEST", 2)
    job = load_job(OO)
    job = replace(job, clearance=replace(job.clearance, runs=job.clearance.runs[:2]))
    told = []
    side_by_side = derive(job, each=cores.on_all_cores(lambda done, total: told.append((done, total))))
    assert same(side_by_side.clearance, derive(job).clearance)
    assert told == [(1, 2), (2, 2)]


def test_a_single_thing_needs_no_process():
    told = []
    each = cores.on_all_cores(lambda done, total: told.append((done, total)))
    assert list(each(lambda x: x + 1, [4])) == [5]
    assert told == [(1, 1)]


def test_nothing_is_shown_where_nobody_looks_on(capsys):
    with cores.progress("working") as tell:
        tell(1, 2)
    assert capsys.readouterr() == ("", "")


def test_what_all_trains_share_travels_once_to_each_process(monkeypatch):
    monkeypatch.setattr(cores, "_cores", lambda: 2)
    each = cores.on_all_cores(lambda _done, _total: None)
    assert list(each(partial(operator.add, 1000), range(100))) == list(range(1000, 1100))
    assert set(each(_Counted(), range(100))) == {0}  # unpacked once in each process, not for each thing


class _Counted:
    """Tells how often it was unpacked in its process before."""

    seen = 0

    def __init__(self, before=0):
        self.before = before

    def __reduce__(self):
        return _unpacked, ()

    def __call__(self, _thing):
        return self.before


def _unpacked():
    _Counted.seen += 1
    return _Counted(_Counted.seen - 1)

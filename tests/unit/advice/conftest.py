"""The demo, derived once, and what has been done of it."""

from dataclasses import replace
from pathlib import Path

import pytest

from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.measured.given import Made, PartState
from truth import demo


@pytest.fixture(scope="session")
def plan():
    """Without its slip of the tape, so that no verdict hangs on it."""
    job = load_job(Path(demo.SHIPPED).parent)
    given = replace(job.survey, set_aside=frozenset({demo.BLUNDER}))
    return derive(replace(job, survey=given))


@pytest.fixture(scope="session")
def worked(plan):
    """The plan with supports in a state and steps done; its numbers are left as they are."""

    def work(states=(), done=()):
        cuts = dict(plan.structures.choices.cuts)
        made = tuple(Made(part=name, state=PartState(state), lengths=cuts[name]) for name, state in states)
        job = replace(plan.job, made=made, build=replace(plan.job.build, done=tuple(done)))
        return replace(plan, job=job)

    return work

"""The books of the demo and of the other two jobs, each made once."""

import sys
from dataclasses import replace
from importlib import resources
from pathlib import Path
from types import SimpleNamespace

import pytest

from spanwright.book.compose import book_files
from spanwright.book.making import make
from spanwright.cli.commands import advices
from spanwright.drawn.stage import try_plan, widened
from spanwright.files.job_file import load_job
from spanwright.job import derive

TESTS = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(TESTS / "drawings"))  # the checks of pages


def load(name):
    if name != "demo":
        return load_job(TESTS / "jobs" / name)
    with resources.as_file(resources.files("spanwright.files").joinpath("demo", "job.toml")) as path:
        return load_job(path)


@pytest.fixture(scope="session")
def books():
    """Name of the job -> plan, what is made from it, and its files; the demo with its trains."""
    made = {}

    def of(name):
        if name not in made:
            job = load(name)
            plan = derive(job if name == "demo" else replace(job, clearance=None))
            trials = None
            if name == "demo":
                trials = try_plan(plan, pairs=4)  # few, for speed
                plan = widened(plan, trials)
            making = make(plan)
            files = book_files(plan, making, advices(plan), trials=trials)
            made[name] = SimpleNamespace(plan=plan, making=making, files=files, trials=trials)
        return made[name]

    return of

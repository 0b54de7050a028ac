"""Lets these tests share the lines and vehicles of the clearance tests; the demo without its trains."""

import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "clearance"))

from spanwright.files.job_file import load_job
from spanwright.job import derive
from truth import demo


@pytest.fixture(scope="session")
def demo_job():
    return load_job(Path(demo.SHIPPED).parent)


@pytest.fixture(scope="session")
def demo_plan(demo_job):
    """The demo's bridge; its gaps are not reckoned."""
    return derive(replace(demo_job, clearance=None))

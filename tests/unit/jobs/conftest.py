"""The two jobs of these tests, each derived once."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from spanwright.files.job_file import load_job
from spanwright.files.template import template_text
from spanwright.job import derive
from truth import h0, oo


@pytest.fixture(scope="session")
def derived(tmp_path_factory):
    """Derive a job from its text."""

    def make(text):
        path = tmp_path_factory.mktemp("job") / "job.toml"
        path.write_text(text, encoding="utf-8")
        return derive(load_job(path))

    return make


@pytest.fixture(scope="session")
def oo_plan():
    return derive(load_job(oo.FILE))


@pytest.fixture(scope="session")
def h0_plan():
    return derive(load_job(h0.FILE))


@pytest.fixture
def load(tmp_path):
    """Load a job from its text, some of it replaced."""

    def make(text, *changes):
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new)
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        return load_job(path)

    return make


@pytest.fixture
def template():
    return template_text()

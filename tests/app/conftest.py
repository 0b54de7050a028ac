"""Jobs made from the template, and the command line run in this process."""

import re
from types import SimpleNamespace

import pytest

from spanwright.cli.main import run
from spanwright.files.template import template_text

BRIDGE = "# ---------------------------------------------------------------- the bridge"
TRAINS = "# ---------------------------------------------------------------- clearance"


@pytest.fixture
def cli(capsys):
    """Run the program with some arguments: exit status, standard output, standard error."""

    def call(*arguments):
        capsys.readouterr()
        status = run([str(a) for a in arguments])
        said = capsys.readouterr()
        return SimpleNamespace(status=status, out=said.out, err=said.err)

    return call


@pytest.fixture
def make_job(tmp_path):
    """Write a job made from the template: pairs of old and new text, or the text itself."""

    def make(*changes, text=None):
        text = template_text() if text is None else text
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new)
        folder = tmp_path / "job"
        folder.mkdir()
        (folder / "job.toml").write_text(text, encoding="utf-8")
        return folder

    return make


@pytest.fixture
def without_bridge():
    return template_text().partition(BRIDGE)[0]


@pytest.fixture
def without_trains():
    return template_text().partition(TRAINS)[0]


@pytest.fixture
def other_words():
    """Return the template with other words for its sides and ends."""
    text = template_text()
    for old, new in (("aisle", "window"), ("wall", "door"), ("town", "coast"), ("yard", "hills")):
        text = re.sub(rf"\b{old}\b", new, text)
    return text

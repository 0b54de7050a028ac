"""The demo, and the demo with a thinner cap on its bent: both worked through once."""

import tomllib
from dataclasses import replace

import pytest

from spanwright.book.words import speech
from spanwright.files.job_file import job_of
from spanwright.job import derive
from spanwright.parts.given import PartsInput
from spanwright.parts.stage import Asked, make_parts
from spanwright.variants.compare import Variant, compare
from truth import demo

CAP = 'cap          = "4.0"'
THIN = 'cap          = "2.1"'


def variant_of(text, *, trains=True):
    job = job_of(text, "job.toml")
    if not trains:
        job = replace(job, clearance=None)
    plan = derive(job)
    asked = Asked(
        lines=job.lines, structures=job.structures, clearance=job.clearance, parts=job.parts or PartsInput()
    )
    parts = make_parts(asked, plan.survey, plan.alignment, plan.structures, plan.clearance)
    return Variant(
        plan=plan,
        pieces=parts.pieces,
        findings=plan.findings + parts.findings,
        say=speech(plan),
        values=tomllib.loads(text),
    )


@pytest.fixture(scope="session")
def text():
    return demo.shipped_text()


@pytest.fixture(scope="session")
def variant():
    """Return what makes a variant of a text."""
    return variant_of


@pytest.fixture(scope="session")
def thick(text):
    return variant_of(text)


@pytest.fixture(scope="session")
def thin(text):
    assert text.count(CAP) == 1
    return variant_of(text.replace(CAP, THIN))


@pytest.fixture(scope="session")
def found(thick, thin):
    return compare(thick, thin)

"""Each job and each made-up bridge, once."""

import pytest

from spanwright.parts.given import Subroadbed
from truth.build_cases import JOBS, from_job, made_up
from truth.line_scenes import Sizes


@pytest.fixture(scope="session", params=["demo", "oo", "h0", "one span", "level", "four spans"])
def case(request):
    """Each job and each made-up bridge."""
    return from_job(request.param) if request.param in JOBS else made_up(request.param)


@pytest.fixture(scope="session")
def demo():
    return from_job("demo")


@pytest.fixture(scope="session")
def board():
    """A subroadbed 12 mm thick."""
    sizes = Sizes()
    return Subroadbed(thickness=sizes(12.0), kerf=1.2, lean=0.035, room=3.0, slot=4.0)

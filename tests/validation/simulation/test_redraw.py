"""A thousand re-drawn demos: slips are named, clean surveys are let pass, intervals hold what they promise.

Independent check: the truth is known because it was made up (tests/truth), with geometry of its own.
"""

from __future__ import annotations

import os
from concurrent.futures import ProcessPoolExecutor
from math import sqrt

import pytest

from truth import redraw

DRAWS = int(os.environ.get("SPANWRIGHT_DRAWS", "1000"))
_SETTING: list[redraw.Setting] = []


def _given() -> redraw.Setting:
    if not _SETTING:
        _SETTING.append(redraw.setting())
    return _SETTING[0]


def _names(seed: int) -> tuple[bool, bool]:
    return redraw.names_it(_given(), seed)


def _covers(seed: int) -> dict[str, tuple[int, int]]:
    found = redraw.coverage(_given(), seed)
    return {k: (sum(abs(e) < redraw.K95 * u for e, u in v), len(v)) for k, v in found.items()}


def _all(work):
    with ProcessPoolExecutor(max_workers=os.cpu_count()) as pool:
        return list(pool.map(work, range(DRAWS), chunksize=10))


@pytest.fixture(scope="module")
def named():
    return _all(_names)


@pytest.fixture(scope="module")
def covered():
    return _all(_covers)


def test_the_slip_is_named(named):
    """Alone or in "cannot tell which of these"."""
    assert sum(hit for hit, _ in named) >= 0.95 * DRAWS


def test_a_clean_survey_is_let_pass(named):
    """At most one in twenty; a shorter run is given its sampling error."""
    slack = 0.0 if DRAWS >= 1000 else 3.0 * sqrt(0.05 * 0.95 * DRAWS)
    assert sum(false for _, false in named) <= 0.05 * DRAWS + slack


@pytest.mark.parametrize("what", ["lateral", "height", "throw", "separation"])
def test_intervals_cover(covered, what):
    """Of the 95 % intervals at least 93 % hold the truth."""
    inside = sum(draw[what][0] for draw in covered)
    assert inside >= 0.93 * sum(draw[what][1] for draw in covered)

"""Shares of a variance, and what one more reading would bring, against conditioning a whole covariance."""

import numpy as np
import pytest

from spanwright.estimation.budget import Candidate, budget, doubt_after, next_reading, shares
from spanwright.estimation.inputs import Input, Inputs

SDS = np.array([0.1, 0.5, 0.2, 0.4])
TARGET = np.array([1.0, -1.0, 2.0])


def test_shares_add_up_to_one():
    part = shares(TARGET, SDS)
    np.testing.assert_allclose(part, np.array([0.01, 0.25, 0.16]) / 0.42)
    assert shares(np.zeros(3), SDS).sum() == 0.0


def test_unseen_parts_are_added_by_group_and_small_ones_left_out():
    def one(key, kind):
        return Input(id=key, value=0.0, sd=1.0, unit="mm", label=key, kind=kind, remedy="read it again")

    inputs = Inputs(
        items=(one("wave/1", "unseen"), one("wave/2", "unseen"), one("tape", "shared"), one("tiny", "size"))
    )
    found = budget(np.array([1.0, 1.0, 1.5, 0.01]), inputs)
    assert [s.id for s in found] == ["tape", "wave"]
    assert found[1].share == pytest.approx(2.0 / (2.0 + 2.25 + 1e-4))


@pytest.mark.parametrize("seed", range(5))
def test_doubt_after_a_reading_against_the_joint_covariance(seed):
    rng = np.random.default_rng(seed)
    target, read, sd = rng.normal(size=3), rng.normal(size=4), 0.3
    rows = np.vstack([np.append(target, 0.0), read])
    joint = rows @ np.diag(SDS**2) @ rows.T + np.diag([0.0, sd**2])
    wanted = 1.0 / np.sqrt(np.linalg.inv(joint)[0, 0])  # given the other
    candidate = Candidate(id="r", text="", jac=read, sd=sd)
    assert doubt_after(target, candidate, SDS) == pytest.approx(wanted)


def test_the_best_reading_is_chosen():
    def on(k, sd):
        return Candidate(id=f"{k}", text="", jac=np.eye(4)[k], sd=sd)

    best, after = next_reading(TARGET, (on(0, 0.01), on(1, 0.01), on(2, 0.3), on(3, 0.0)), SDS)
    assert best.id == "1"
    assert after == pytest.approx(np.sqrt(0.42 - 0.25**2 / (0.25 + 1e-4)))
    assert next_reading(TARGET, (), SDS) is None
    exact = Candidate(id="x", text="", jac=np.zeros(4), sd=0.0)
    assert doubt_after(TARGET, exact, SDS) == pytest.approx(np.sqrt(0.42))

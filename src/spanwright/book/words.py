"""How the numbers of a plan are said: its words, its base inputs, its coverage factor."""

from __future__ import annotations

from spanwright.drawings.speech import Speech
from spanwright.job import Plan

USUAL_K = 2.0


def coverage(plan: Plan) -> float:
    """Return the factor by which the job widens its doubts.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    float
        From the bridge or the clearances; 2 if the job has neither. [1]
    """
    for given in (plan.job.clearance, plan.job.structures):
        if given is not None:
            return given.k
    return USUAL_K


def speech(plan: Plan) -> Speech:
    """Return how the numbers of a plan are said.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    Speech
        With the plan's words, inputs and factor.
    """
    return Speech(words=plan.job.words, inputs=plan.inputs, k=coverage(plan))

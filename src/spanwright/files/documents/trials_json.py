"""What whole plans with drawn inputs have shown, as a part of the plan's document."""

from __future__ import annotations

from spanwright.drawn.stage import Trials, Tried
from spanwright.files.plan_stages import Document


def trials_document(trials: Trials | None) -> Document:
    """Return the trials of a plan.

    Parameters
    ----------
    trials : Trials or None
        None if there were none.

    Returns
    -------
    dict
        One key, ``trials``, to be put into the plan's document; empty without trials.
    """
    if trials is None:
        return {}
    return {
        "trials": {
            "made": trials.made,
            "failed": trials.failed,
            "numbers": [_tried(t) for t in trials.numbers],
            "wider": [{"gap": key, "factor": factor} for key, factor in trials.wider],
        }
    }


def _tried(tried: Tried) -> Document:
    return {
        "id": tried.id,
        "what": tried.what,
        "method": tried.method.value,
        "value": tried.value,
        "u": tried.u,
        "mean": tried.told.mean,
        "low": tried.told.low,
        "high": tried.told.high,
        "departs": None if tried.surface is None else tried.surface.bend,
    }

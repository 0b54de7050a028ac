"""What leaving out a suspect reading would do to the base inputs, to first order."""

from __future__ import annotations

import numpy as np

from spanwright.clearance.stage import SuspectShift
from spanwright.estimation.inputs import Inputs
from spanwright.survey.stage import AdjustedSurvey


def suspect_shifts(survey: AdjustedSurvey, inputs: Inputs) -> tuple[SuspectShift, ...]:
    """Return one shift for each reading under suspicion, and one for all first suspects together.

    Parameters
    ----------
    survey : AdjustedSurvey
        With its contradictions.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    tuple of SuspectShift
        Empty if the readings agree.

    Notes
    -----
    Leaving a reading out is the same as reading what the others foretell: it moves by
    ``-v / r``, v its residual and r its redundancy number.
    """
    shifts = []
    together = np.zeros(len(inputs))
    for suspicion in survey.suspects:
        for number, (key, slip) in enumerate(zip(suspicion.readings, suspicion.slips, strict=True)):
            delta = np.zeros(len(inputs))
            delta[inputs.column(key)] = -slip
            shifts.append(SuspectShift(id=key, delta=delta))
            if number == 0:
                together = together + delta
    if len(survey.suspects) > 1:
        shifts.append(SuspectShift(id=" and ".join(s.readings[0] for s in survey.suspects), delta=together))
    return tuple(shifts)

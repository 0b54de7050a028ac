"""What leaving out a suspect reading would do to the base inputs, to first order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.survey.stage import AdjustedSurvey

FloatArray = np.ndarray

#: Part of its redundancy that must be left of a reading, the others out, for its slip to be told. [1]
_CHECKED = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SuspectShift:
    """What leaving out one suspect reading, or several at once, would change.

    Parameters
    ----------
    id : str
        The suspect reading, or several joined by "and".
    columns : tuple of int
        Their base inputs.
    slips : Derived
        By how much each would be wrong, shape (m,): a gap changes by minus its derivative to the
        reading times the slip, in value and in doubt.
    moves : ndarray, shape (m,)
        The slips as lengths; that of an angle is what it moves at a metre. [mm]
    """

    id: str
    columns: tuple[int, ...]
    slips: Derived
    moves: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trust:
    """How far what was measured can be trusted.

    Parameters
    ----------
    suspects : tuple of SuspectShift
        Suspect readings; a word that leaving one out would change is *not proven*.
    untrusted : str
        Why the lines cannot be trusted at all, if so: nothing is *clear* or *tight* then.
    """

    suspects: tuple[SuspectShift, ...] = ()
    untrusted: str = ""


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
    Leaving readings out is the same as reading what the others foretell. With v the residuals and R
    their derivatives to the readings, the slips that do so are ``R_cc^-1 v_c`` (one reading: its
    residual over its redundancy number); they rest on the other readings and carry their doubt.
    """
    found = []
    for suspicion in survey.suspects:
        found += [_shift(survey, inputs, (key,)) for key in suspicion.readings]
    if len(survey.suspects) > 1:
        firsts = tuple(dict.fromkeys(s.readings[0] for s in survey.suspects))
        found.append(_shift(survey, inputs, _apart(survey, firsts)))
    return tuple(found)


def _apart(survey: AdjustedSurvey, keys: tuple[str, ...]) -> tuple[str, ...]:
    """Keep of some readings those that the others still check once the ones before are left out.

    Two readings of one thing check only one another: with one of them out, the other has no slip to be told.
    """
    by = survey.adjustment.residual_by_observed
    kept: list[int] = []
    for key in keys:
        row = survey.reading_ids.index(key)
        before = by[np.ix_(kept, kept)]
        left = by[row, row] - by[row, kept] @ np.linalg.solve(before, by[kept, row]) if kept else by[row, row]
        if left > _CHECKED * by[row, row]:
            kept.append(row)
    return tuple(survey.reading_ids[row] for row in kept)


def _shift(survey: AdjustedSurvey, inputs: Inputs, keys: tuple[str, ...]) -> SuspectShift:
    rows = [survey.reading_ids.index(key) for key in keys]
    own = survey.adjustment.residual_by_observed[np.ix_(rows, rows)]
    slips = np.linalg.solve(own, survey.adjustment.residuals[rows])
    levers = [1000.0 if inputs[key].unit == "rad" else 1.0 for key in keys]
    return SuspectShift(
        id=" and ".join(keys),
        columns=tuple(inputs.column(key) for key in keys),
        slips=Derived(
            slips,
            np.linalg.solve(own, survey.residual_by_input[rows]),
        ),
        moves=slips * np.array(levers),
    )

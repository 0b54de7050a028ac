"""A line moved from where its marks put it: by what may move, without doubt, and by what was learnt later."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from spanwright.alignment.given import LineInput
from spanwright.alignment.line import Line
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.geometry.chain import Chain

#: How the ids of what the marks cannot see begin; no other input is added to a fitted line afterwards.
UNSEEN = "unseen/"


def moved(given: LineInput, line: Line, inputs: Inputs) -> Line:
    """Return a line where it will lie after it has been packed up or let down, and its cant changed.

    Parameters
    ----------
    given : LineInput
        Names the base inputs of both moves, if there are any.
    line : Line
        The line as it lies.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    Line
        The same numbers where nothing is moved; the derivatives to the moves are there in any case.
    """
    if given.raised:
        line = replace(line, profile=_added(line.profile, inputs.derived(given.raised), rows=slice(0, 1)))
    if given.canted:
        line = replace(line, cant=_added(line.cant, inputs.derived(given.canted), rows=slice(None)))
    return line


def taught(line: Line, inputs: Inputs) -> Line:
    """Return a line where later readings put it between its marks.

    Parameters
    ----------
    line : Line
        The line through its marks.
    inputs : Inputs
        The base inputs; the unseen ones are nought unless something was learnt of them.

    Returns
    -------
    Line
        The same line where nothing was learnt.

    Notes
    -----
    The line's numbers are straight in its unseen inputs. What was learnt of the others has moved the readings
    and is in the marks already.
    """
    unseen = np.array([item.value if item.id.startswith(UNSEEN) else 0.0 for item in inputs.items])
    if not unseen.any():
        return line

    def on(numbers: Derived) -> Derived:
        wide = numbers.padded(len(inputs))
        return Derived(wide.value + wide.jac @ unseen, wide.jac)

    plan = on(line.plan)
    x, y, heading, *curvature = plan.value
    chain = Chain(
        start=(float(x), float(y)),
        heading=float(heading),
        knots=line.chain.knots,
        curvature=np.array(curvature),
    )
    return replace(line, chain=chain, plan=plan, profile=on(line.profile), cant=on(line.cant))


def _added(numbers: Derived, move: Derived, *, rows: slice) -> Derived:
    """Add a move to some of a row of numbers."""
    factor = np.zeros(numbers.shape)
    factor[rows] = 1.0
    wide = max(numbers.jac.shape[-1], move.jac.shape[-1])
    jac = numbers.padded(wide).jac + factor[:, None] * move.padded(wide).jac
    return Derived(numbers.value + factor * float(move.value), jac)

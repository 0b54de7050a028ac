"""Whether a laid line follows its marks: a line that does not is no ground for any verdict."""

from __future__ import annotations

import numpy as np

from spanwright.alignment.line import Line
from spanwright.errors import InputError
from spanwright.findings import Finding, Severity

FloatArray = np.ndarray

#: A mark may lie so many of its own doubts beside the fitted line. In re-drawn surveys the worst mark
#: stays below 2; the line bends to its marks.
MOST = 3.0
#: A cant above this part of the rail-head distance is a slip, not a cant.
STEEPEST = 1.0 / 3.0


def misfit_findings(
    line: str, marks: tuple[str, ...], residuals: FloatArray, doubts: FloatArray, *, heights: bool
) -> list[Finding]:
    """Say which mark lies too far from the fitted line, if any does.

    Parameters
    ----------
    line : str
        The line's name.
    marks : tuple of str
        Marks in the order of the residuals.
    residuals : ndarray, shape (n,)
        Marks less fitted line. [mm]
    doubts : ndarray, shape (n,)
        Standard uncertainties of what was measured. [mm]
    heights : bool
        True for heights, False for offsets in plan.

    Returns
    -------
    list of Finding
        The worst mark's finding, or nothing.
    """
    worst = int(np.argmax(np.abs(residuals) / doubts))
    off, ratio = float(residuals[worst]), float(abs(residuals[worst]) / doubts[worst])
    if ratio <= MOST:
        return []
    where = "above or below" if heights else "beside"
    return [
        Finding(
            code="AL104" if heights else "AL103",
            severity=Severity.STOP,
            where=line,
            text=(
                f"the fitted line does not follow its marks: {marks[worst]} lies {abs(off):.1f} mm "
                f"{where} it, {ratio:.0f} times its doubt; nothing that rests on this line can be trusted"
            ),
            value=off,
            limit=MOST * float(doubts[worst]),
            remedy=(
                "Look for a slip in the heights of that mark and its neighbours"
                if heights
                else "Look for a slip at that mark, a wrong order of the marks, or more curves than were said"
            ),
            source="re-drawn surveys of the demo",
        )
    ]


def doubts_of(weight_matrix: FloatArray) -> FloatArray:
    """Return standard uncertainties from an inverse covariance.

    Parameters
    ----------
    weight_matrix : ndarray, shape (n, n)
        Inverse covariance. [any]

    Returns
    -------
    ndarray, shape (n,)
        Standard uncertainties. [any]
    """
    return np.sqrt(np.diag(np.linalg.solve(weight_matrix, np.eye(len(weight_matrix)))))


def check_cant(line: Line) -> None:
    """Refuse a cant that no track has.

    Parameters
    ----------
    line : Line
        The line.

    Raises
    ------
    InputError
        If one rail stands higher above the other than a third of their distance.
    """
    most = float(np.max(np.abs(line.cant.value)))
    limit = STEEPEST * float(line.head_distance.value)
    if most > limit:
        raise InputError(
            "one rail would stand far above the other",
            code="AL024",
            where=line.name,
            value=f"{most:.1f} mm",
            limit=f"{limit:.1f} mm at most",
            hint="Look for a slip in the cross levels of this line",
        )

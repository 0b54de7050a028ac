"""Heights that are gauged directly between two surfaces: railheads over bases, a cap over the rails below.

Each is the difference of two heights of the plan, under an id of its own, so that the reading which the next
measurement names can be entered by the name that it has there.
"""

from __future__ import annotations

import numpy as np

from spanwright.alignment.line import track_point
from spanwright.alignment.stage import Alignments
from spanwright.estimation.derived import Derived
from spanwright.structures.given import SupportKind
from spanwright.structures.stage import Structures


def lower_line(structures: Structures) -> str:
    """Return the line that the bridge crosses.

    Parameters
    ----------
    structures : Structures
        The bridge.

    Returns
    -------
    str
        Its name.
    """
    return structures.choices.crossing.split("/")[2]


def gauged_heights(structures: Structures, alignments: Alignments) -> dict[str, Derived]:
    """List the heights that a stepped block can gauge at the supports.

    Parameters
    ----------
    structures : Structures
        The bridge.
    alignments : Alignments
        The lines.

    Returns
    -------
    dict of str to Derived
        ``<shaft>/railhead over base`` at each support; at a bent ``<column>/lower railhead over base`` and
        ``<bent>/soffit over lower railhead`` too.
    """
    lower = alignments.line(lower_line(structures))
    beside = track_point(lower, np.array([structures.choices.lower_station])).z[0]
    found = {}
    for support in structures.supports:
        name = support.given.name
        above = next(b.railhead for b in structures.bearings if b.support == name)
        is_bent = support.given.kind is SupportKind.STRADDLE_BENT
        for cut in support.cuts:
            found[f"{cut.id}/railhead over base"] = above - cut.base
            if is_bent:
                found[f"{cut.id}/lower railhead over base"] = beside - cut.base
        if is_bent:
            found[f"{name}/soffit over lower railhead"] = support.soffit - beside
    return found

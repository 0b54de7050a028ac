"""Gauge sticks: a go and a no-go length for the height of every bearing over what its support is glued to.

A seat is set by packing, and a height that is set is gauged, not read off paper: both sticks are made by
caliper. The go stick is the wanted height less the tolerance, the no-go stick the wanted height and the
tolerance, each rounded towards the wanted height, so that rounding never lets a bad seat pass.

The wanted height is itself only known so well, and often worse than the tolerance. Then the sticks hold
the seats of one span true to each other, and the height is to be gauged anew at the track: from railhead
to base, in one reading.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Finding, Severity
from spanwright.parts.given import PartsInput
from spanwright.structures.given import CapForm, StructuresInput, SupportKind
from spanwright.structures.heights import Bearing
from spanwright.structures.stage import Structures
from spanwright.structures.supports import FittedSupport

#: Sticks are made to this (common practice, no source: what a caliper shows). [mm]
STICK_STEP = 0.05


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stick:
    """The go and the no-go stick of one bearing.

    Parameters
    ----------
    id : str
        Stable id, ``stick/`` and the bearing's id.
    bearing : str
        The bearing's id: support, span, side.
    support : str
        The support.
    shaft : str
        Id of the shaft or column beside which it stands.
    base : str
        Mark on the surface that it stands on.
    top : str
        What it reaches: ``seat`` (top of the packing, under the shoe) or ``girder top``.
    length : Derived
        The wanted height of that over the base.
    go : float
        Length of the go stick. [mm]
    no_go : float
        Length of the no-go stick. [mm]
    tolerance : float
        How far the height may be off, either way. [mm]
    doubtful : bool
        Whether the wanted height is known less well (k times) than the tolerance.
    """

    id: str
    bearing: str
    support: str
    shaft: str
    base: str
    top: str
    length: Derived
    go: float
    no_go: float
    tolerance: float
    doubtful: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sticks:
    """All gauge sticks.

    Parameters
    ----------
    sticks : tuple of Stick
        One a bearing, support by support.
    findings : tuple of Finding
        What the builder should know.
    """

    sticks: tuple[Stick, ...]
    findings: tuple[Finding, ...]


def gauge_sticks(given: StructuresInput, asked: PartsInput, inputs: Inputs, structures: Structures) -> Sticks:
    """Find both lengths for every bearing.

    Parameters
    ----------
    given : StructuresInput
        Supports and their marks; the coverage factor.
    asked : PartsInput
        The tolerance.
    inputs : Inputs
        The base inputs.
    structures : Structures
        Bearings and supports.

    Returns
    -------
    Sticks
        Sticks and findings.
    """
    sticks: list[Stick] = []
    findings: list[Finding] = []
    for fitted in structures.supports:
        for bearing in structures.bearings:
            if bearing.support != fitted.given.name:
                continue
            stick = _stick(fitted, bearing, asked.tolerance, inputs, k=given.k)
            if stick.go <= 0.0:
                findings.append(_no_height(stick))
            else:
                sticks.append(stick)
                if stick.no_go - stick.go < asked.tolerance:
                    findings.append(_too_fine(stick))
    return Sticks(sticks=tuple(sticks), findings=tuple(findings))


def _stick(fitted: FittedSupport, bearing: Bearing, tolerance: float, inputs: Inputs, *, k: float) -> Stick:
    support = fitted.given
    level = support.kind is SupportKind.STRADDLE_BENT and support.form is CapForm.LEVEL
    number = _nearest(fitted, bearing)
    cut = fitted.cuts[number]
    length = (bearing.girder_top if level else bearing.seat) - cut.base
    wanted = float(length.value)
    return Stick(
        id=f"stick/{bearing.id}",
        bearing=bearing.id,
        support=support.name,
        shaft=cut.id,
        base=support.bases[min(number, len(support.bases) - 1)],
        top="girder top" if level else "seat",
        length=length,
        go=_rounded(np.ceil((wanted - tolerance) / STICK_STEP - 1e-9)),
        no_go=_rounded(np.floor((wanted + tolerance) / STICK_STEP + 1e-9)),
        tolerance=tolerance,
        doubtful=k * float(length.sd(inputs.spread)) > tolerance,
    )


def _rounded(steps: np.floating) -> float:
    return round(float(steps) * STICK_STEP, 6)


def _nearest(fitted: FittedSupport, bearing: Bearing) -> int:
    """Return the number of the shaft or column that is nearest to a bearing in plan."""
    at = np.array([float(bearing.x.value), float(bearing.y.value)])
    return int(np.argmin([np.linalg.norm(c.value - at) for c in fitted.footprint.columns]))


def _no_height(stick: Stick) -> Finding:
    return Finding(
        code="PA142",
        severity=Severity.STOP,
        where=stick.bearing,
        text="the seat does not lie above what its support is glued to, so there is no stick to make",
        value=float(stick.length.value),
        limit=stick.tolerance,
        remedy="Look for a slip in the heights, or choose a shallower girder or cap",
    )


def _too_fine(stick: Stick) -> Finding:
    return Finding(
        code="PA143",
        severity=Severity.WARNING,
        where=stick.bearing,
        text="the go and the no-go stick are hardly apart: the tolerance is finer than sticks can be made",
        value=round(stick.no_go - stick.go, 6),
        limit=stick.tolerance,
        remedy=f"Allow {2.0 * STICK_STEP:g} mm or more either way",
        source="common practice, no source",
    )

"""The build stage: the fitted bridge in, its parts list, steps and blank as-built sheets out.

Order to read: :func:`plan_build`, then ``steps`` (what waits for what), ``as_built`` (what is read when
a part stands), ``planning.schedule`` (when it can be done), ``telling`` (how a sentence gets its numbers),
``cautions``.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.alignment.given import LineInput
from spanwright.build.as_built import AsBuilt, list_readings
from spanwright.build.cautions import Caution, list_cautions
from spanwright.build.planning.given import BuildInput, with_times
from spanwright.build.planning.schedule import Schedule, plan_times
from spanwright.build.planning.trial import list_trials
from spanwright.build.step import Access, Step
from spanwright.build.steps import plan_steps
from spanwright.build.work import Work, under, ways_in
from spanwright.clearance.stage import ClearanceResult
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Finding, Severity
from spanwright.parts.given import PartsInput
from spanwright.parts.pieces import Piece, list_pieces
from spanwright.structures.given import StructuresInput
from spanwright.structures.stage import Structures

SOURCE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Build:
    """All that the build stage knows.

    Parameters
    ----------
    pieces : tuple of Piece
        The parts list.
    steps : tuple of Step
        In working order.
    as_built : tuple of AsBuilt
        Blank rows, in the order of the bridge, then of the test run; a step's ``gives`` names them.
    schedule : Schedule
        When what is left can be done.
    cautions : tuple of Caution
        All that can hurt in such work, with sources; each step has the lines of its own.
    findings : tuple of Finding
        What the builder should know.
    """

    pieces: tuple[Piece, ...]
    steps: tuple[Step, ...]
    as_built: tuple[AsBuilt, ...]
    schedule: Schedule
    cautions: tuple[Caution, ...]
    findings: tuple[Finding, ...]


def plan_build(
    given: StructuresInput,
    parts: PartsInput,
    inputs: Inputs,
    structures: Structures,
    clearance: ClearanceResult | None = None,
    *,
    lower: LineInput | None = None,
    asked: BuildInput | None = None,
) -> Build:
    """Plan how the bridge is built.

    Parameters
    ----------
    given : StructuresInput
        Spans, supports, layers.
    parts : PartsInput
        Board, units, settings.
    inputs : Inputs
        The base inputs, with the unseen ones.
    structures : Structures
        The fitted bridge.
    clearance : ClearanceResult or None
        Gaps, if trains were reckoned.
    lower : LineInput or None
        The line that is crossed, for its gauge.
    asked : BuildInput or None
        Evenings, times, what is done; None for nothing done and times of common practice.

    Returns
    -------
    Build
        Parts, steps, as-built rows.

    Raises
    ------
    InputError
        If a step cannot be done, or a unit, a time, or what is told to be done cannot be meant.
    """
    pieces = list_pieces(given, parts, inputs, structures)
    readings = list_readings(given, parts, inputs, structures, lower)
    readings += list_trials(clearance, k=given.k)
    work = Work(
        given=given,
        parts=parts,
        inputs=inputs,
        structures=structures,
        clearance=clearance,
        pieces=pieces,
        readings=readings,
    )
    asked = asked or BuildInput()
    steps = with_times(plan_steps(work), asked)
    schedule = plan_times(work, steps, asked)
    return Build(
        pieces=pieces,
        steps=steps,
        as_built=readings,
        schedule=schedule,
        cautions=list_cautions(),
        findings=_findings(work) + schedule.findings,
    )


def _findings(work: Work) -> tuple[Finding, ...]:
    found = []
    if work.clearance is None:
        found.append(
            Finding(
                code="BU103",
                severity=Severity.NOTE,
                where="clearance",
                text="the steps do not know the trains: none were reckoned",
                remedy="Give the vehicles and margins, or push every vehicle through by hand before glue",
            )
        )
    for fitted in work.structures.supports:
        name = fitted.given.name
        ways = ways_in(work, fitted)[1:] if name in work.last else ways_in(work, fitted)
        if not any(w.admits_hand for w in ways):
            found.append(
                _narrow(
                    "BU101", name, ways, "no hand gets to where it is glued", "Glue it with long tweezers"
                )
            )
    for fitted in work.structures.supports[1:-1]:
        way = under(work, fitted)
        if not way.admits_hand:
            text = "no hand gets under the girders here, to a derailed train"
            found.append(
                _narrow("BU102", fitted.given.name, (way,), text, "Leave a span beside it free to lift off")
            )
    return tuple(found)


def _narrow(code: str, where: str, ways: tuple[Access, ...], text: str, remedy: str) -> Finding:
    widest = max(min(w.width, w.height) for w in ways)
    return Finding(
        code=code,
        severity=Severity.NOTE,
        where=where,
        text=f"{text}: {widest:.0f} mm at the most",
        value=widest,
        limit=ways[0].hand,
        remedy=remedy,
        source=SOURCE,
    )

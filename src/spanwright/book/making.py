"""What is made from a plan for the layout: parts, sheets to print, steps."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace

from spanwright.book.words import speech
from spanwright.build.as_built import list_readings
from spanwright.build.room.beside import with_room
from spanwright.build.stage import Build, plan_build
from spanwright.build.work import CALIBRATION
from spanwright.clearance.fixed.things import corners_of
from spanwright.drawings.calibration import TITLE
from spanwright.drawings.display import Sheet
from spanwright.drawings.frame import Stamp
from spanwright.drawings.sheets.arrangement.build_up import build_up_sheets
from spanwright.drawings.sheets.arrangement.elevation import elevation_sheet
from spanwright.drawings.sheets.arrangement.plan import plan_sheet
from spanwright.drawings.sheets.arrangement.profile import profile_sheet
from spanwright.drawings.sheets.gauges import cant_sheets, card_sheets, stick_sheets
from spanwright.drawings.sheets.jig import jig_drawings
from spanwright.drawings.sheets.opening import opening_sheets
from spanwright.drawings.sheets.piers import pier_sheets
from spanwright.drawings.sheets.portals import portal_sheets
from spanwright.drawings.sheets.seats import seat_sheets
from spanwright.drawings.sheets.section import section_sheet
from spanwright.drawings.sheets.swept import gap_sheet, swept_sheet
from spanwright.drawings.speech import Speech
from spanwright.errors import InputError
from spanwright.findings import Finding
from spanwright.job import Plan
from spanwright.measured.taken import with_entered
from spanwright.packing.gaps import PackedGap, gaps_as_packed, packed_findings
from spanwright.packing.stage import PackingResult, pack
from spanwright.parts.cards import track_feet
from spanwright.parts.given import PartsInput
from spanwright.parts.stage import Asked, Parts, make_parts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Making:
    """Everything that is made from a plan.

    Parameters
    ----------
    parts : Parts
        Pieces, patterns, gauges.
    arrangement : tuple of Sheet
        General arrangement: plan, elevation, section, profile, height build-ups.
    patterns : tuple of Sheet
        What is printed and held against the work.
    build : Build
        Steps and as-built sheets.
    packing : PackingResult or None
        Packing of each bearing and the railhead that comes of it.
    findings : tuple of Finding
        Of parts and steps.
    """

    parts: Parts
    arrangement: tuple[Sheet, ...]
    patterns: tuple[Sheet, ...]
    build: Build
    packing: PackingResult | None
    findings: tuple[Finding, ...]

    @property
    def titles(self) -> dict[str, str]:
        """Title of every sheet by its id, the calibration print first."""
        every = (*self.patterns, *self.arrangement)
        return {CALIBRATION: TITLE, **{sheet.id: sheet.title for sheet in every}}


def make(plan: Plan) -> Making:
    """Make parts, sheets and steps from a plan.

    Parameters
    ----------
    plan : Plan
        With a bridge.

    Returns
    -------
    Making
        All of it.

    Raises
    ------
    InputError
        If the plan has no bridge.
    """
    job, bridge = plan.job, plan.structures
    if job.structures is None or bridge is None:
        raise InputError(
            "this job has no bridge yet",
            code="JO070",
            where=job.name,
            hint="Add [bridge], [[supports]] and [[spans]]; survey and alignment work without them",
        )
    settings = job.parts or PartsInput()
    trains = job.clearance if job.clearance and job.clearance.runs else None  # gauges alone are no trains
    gaps = plan.clearance if trains else None
    asked = Asked(lines=job.lines, structures=job.structures, clearance=trains, parts=settings)
    parts = make_parts(asked, plan.survey, plan.alignment, bridge, gaps)
    lower = asked.line(job.structures.lower)
    rows = list_readings(job.structures, settings, plan.inputs, bridge, lower)
    build = plan_build(
        job.structures,
        settings,
        plan.inputs,
        bridge,
        gaps,
        lower=lower,
        asked=with_entered(job.build, rows, made=job.made, readings=job.measured, words=job.words),
    )
    build = with_room(
        build,
        bridge,
        {thing.name: corners_of(thing, plan.alignment) for thing in job.fixed},
        hand=settings.hand,
    )
    say = speech(plan)
    return Making(
        parts=parts,
        arrangement=_arrangement(plan, asked, say),
        patterns=_patterns(parts, say),
        build=build,
        packing=packed(plan),
        findings=parts.findings + build.findings,
    )


def packed(plan: Plan) -> PackingResult | None:
    """Choose packing from the builder's shelf for every bearing that is known.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    PackingResult or None
        None without a bridge.
    """
    given, structures, bridge = plan.job.packing, plan.job.structures, plan.structures
    if given is None or structures is None or bridge is None:
        return None
    say, upper = speech(plan), plan.alignment.line(structures.upper)
    result = pack(given, plan.inputs, bridge, upper, say.doubt, k=say.k)
    under = gaps_under(plan, result)
    return replace(result, findings=result.findings + packed_findings(under)) if under else result


def gaps_under(plan: Plan, result: PackingResult) -> tuple[PackedGap, ...]:
    """Return the gaps under the spans as they are packed.

    Parameters
    ----------
    plan : Plan
        The plan.
    result : PackingResult
        What the packing stage found.

    Returns
    -------
    tuple of PackedGap
        Those that change; none if no trains were reckoned.
    """
    asked, bridge, trains = plan.job.structures, plan.structures, plan.clearance
    if asked is None or bridge is None or trains is None:
        return ()
    return gaps_as_packed(
        result, bridge.bearings, trains, bridge.shapes, plan.inputs, upper=asked.upper, k=speech(plan).k
    )


def _arrangement(plan: Plan, asked: Asked, say: Speech) -> tuple[Sheet, ...]:
    bridge = plan.structures
    if bridge is None:
        return ()
    given = asked.structures
    feet = {name: track_feet(asked.line(name), given, plan.inputs) for name in (given.upper, given.lower)}
    section = section_sheet(
        given, bridge, plan.alignment, say, feet=feet, asked=asked.clearance, result=plan.clearance
    )
    return (
        plan_sheet(given, plan.survey, plan.alignment, bridge, say),
        elevation_sheet(given, plan.alignment, bridge, say),
        section,
        *_trains(plan, asked, say),
        *portal_sheets(
            plan.job.portals, plan.portals, plan.alignment, asked.clearance, plan.clearance, say=say
        ),
        profile_sheet(asked.lines, plan.survey, plan.alignment, bridge, say),
        *build_up_sheets(plan.inputs, bridge, say),
    )


def _trains(plan: Plan, asked: Asked, say: Speech) -> tuple[Sheet, ...]:
    """Return the pictures of the sweep; none without trains."""
    bridge, settings, result = plan.structures, asked.clearance, plan.clearance
    if bridge is None or settings is None or result is None:
        return ()
    found: list[Sheet] = []
    if any(run.line == asked.structures.lower for run in settings.runs):
        found.append(swept_sheet(asked.structures, bridge, plan.alignment, settings, say))
    graph = gap_sheet(bridge.shapes + plan.portals, plan.alignment, settings, result, say)
    return (*found, graph) if graph else tuple(found)


def _patterns(parts: Parts, say: Speech) -> tuple[Sheet, ...]:
    opening = opening_sheets(parts.opening, say) if parts.opening else ()
    return (
        *opening,
        *pier_sheets(parts.shafts, say),
        *seat_sheets(parts.seats, say),
        *jig_drawings(parts.jigs, say),
        *stick_sheets(parts.sticks.sticks, say),
        *(card_sheets(parts.cards.cards, say) if parts.cards else ()),
        *cant_sheets(parts.cant, say),
    )


def stamp_of(plan: Plan) -> Stamp:
    """Return the revision stamp of a plan: the same inputs give the same stamp.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    Stamp
        A check sum over everything that was given, and how many readings there are.
    """
    digest = hashlib.sha256()
    for item in plan.job.inputs.items:
        digest.update(f"{item.id}\0{item.value!r}\0{item.sd!r}\n".encode())
    job = plan.job
    made = (job.made, job.measured) if job.made or job.measured else ()
    for given in (job.name, job.scale, job.words, job.survey, job.lines, job.structures, job.parts, *made):
        digest.update(repr(given).encode())
    if job.portals:
        digest.update(repr(job.portals).encode())
    for run in job.clearance.runs if job.clearance else ():
        digest.update(f"{run.line}\0{run.vehicle.id}\0{run.vehicle.play!r}\n".encode())
        for body in run.vehicle.bodies:
            digest.update(f"{body.truck_spacing!r} {body.truck_wheelbase!r}".encode())
            for prism in body.prisms:
                digest.update(prism.section.tobytes() + repr((prism.rear, prism.front)).encode())
    count = len(plan.job.survey.readings) - len(plan.job.survey.set_aside)
    suspects = len(plan.survey.suspects)
    doubt = f", {suspects} of them suspect" if suspects else ""
    return Stamp(job=plan.job.name, revision=digest.hexdigest()[:8], made_from=f"{count} readings{doubt}")

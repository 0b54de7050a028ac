"""START HERE. The whole job, top to bottom, one call a stage.

``derive(job)`` takes a frozen job and returns a complete plan: where both lines really are, the
bridge that fits them, the gap of every train to every part, and a verdict on each, all with their
derivatives to the base inputs. Data flows one way; a later reading of anything in the plan moves the base
inputs that it rests on, and the plan is derived again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from threadpoolctl import threadpool_limits

from spanwright.alignment import stage as alignment
from spanwright.alignment.given import LineInput
from spanwright.build.as_built import AsBuilt, list_readings
from spanwright.build.planning.given import BuildInput
from spanwright.clearance import stage as clearance
from spanwright.clearance.fixed.things import FixedGap, FixedThing, fixed_findings, fixed_gaps
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.kept import Former, kept_vehicles
from spanwright.clearance.searching import HeldGap, unjudged_findings
from spanwright.clearance.suspects import Trust, suspect_shifts
from spanwright.drawings.printer import Printer
from spanwright.drawings.speech import Words
from spanwright.errors import InputError, NotConvergedError
from spanwright.estimation.inputs import Inputs
from spanwright.estimation.keeping import carry_over, same
from spanwright.findings import Finding
from spanwright.measured.fared import teaching_findings
from spanwright.measured.given import Made, Measured
from spanwright.measured.numbers import names_gap, readable
from spanwright.measured.teach import Known, Taught, taught_inputs, teach
from spanwright.measured.there import what_is_there
from spanwright.packing.shelf import PackingInput
from spanwright.parts.given import PartsInput
from spanwright.structures import stage as structures
from spanwright.structures.given import StructuresInput
from spanwright.structures.portals import Portal, portal_shapes
from spanwright.structures.shapes import Shape
from spanwright.survey import stage as survey
from spanwright.survey.readings import SurveyInput


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything the builder has given, ready for the stages.

    Parameters
    ----------
    name : str
        The job's name.
    scale : Fraction
        Full size over model size, such as 160 for 1:160.
    gauge : float
        Nominal track gauge; scale and gauge are two facts. [mm]
    words : Words
        The builder's own words.
    inputs : Inputs
        Every base input with its doubt.
    survey : SurveyInput
        Marks, readings, datum.
    lines : tuple of LineInput
        The lines of track.
    structures : StructuresInput or None
        The bridge; None if only a survey is wanted.
    clearance : ClearanceInput or None
        Vehicles and margins; None if only a structure is wanted.
    parts : PartsInput or None
        The board to open, units, settings; None without a bridge.
    packing : PackingInput or None
        Sheets on the builder's shelf, limits of the railhead; None without a bridge.
    fixed : tuple of FixedThing
        What stands fast beside a track.
    portals : tuple of Portal
        What stands around a track, which its trains must pass.
    printer : Printer
        Paper, and what the calibration print measured.
    build : BuildInput
        Evenings, times of the work, what is done.
    made : tuple of Made
        Supports whose shafts have been cut.
    measured : tuple of Measured
        Readings of the plan's own numbers, in the order in which they were taken.
    tools : dict of str to float
        How well each tool that measures lengths can be read, its own zero in it. [mm]
    """

    name: str
    scale: Fraction
    gauge: float
    words: Words
    inputs: Inputs
    survey: SurveyInput
    lines: tuple[LineInput, ...]
    structures: StructuresInput | None = None
    clearance: ClearanceInput | None = None
    parts: PartsInput | None = None
    packing: PackingInput | None = None
    fixed: tuple[FixedThing, ...] = ()
    portals: tuple[Portal, ...] = ()
    printer: Printer = field(default_factory=Printer)
    build: BuildInput = field(default_factory=BuildInput)
    made: tuple[Made, ...] = ()
    measured: tuple[Measured, ...] = ()
    tools: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """Everything discrete that a plan rests on, and what its derivatives hold fixed.

    Parameters
    ----------
    alignment : tuple
        Frames, knots and waviness weights of each laid line.
    structures : Arrangement or None
        Crossing, stations of the supports, cut lengths.
    clearance : dict or None
        Witnesses of every gap.
    taught : Taught or None
        What readings of the plan's numbers have taught; None if there are none.
    """

    alignment: tuple[tuple[str, alignment.LineChoices], ...]
    structures: structures.Arrangement | None
    clearance: dict[str, HeldGap] | None
    taught: Taught | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """The derived plan, complete.

    Parameters
    ----------
    job : Job
        What it was derived from.
    survey : AdjustedSurvey
        Stage 1.
    alignment : Alignments
        Stage 2; carries the longer list of base inputs.
    structures : Structures or None
        Stage 3.
    portals : tuple of Shape
        Stage 3 too: the finished shapes of tunnel mouths, portals and walls.
    clearance : ClearanceResult or None
        Stage 4.
    fixed : tuple of FixedGap
        Stage 4 too: parts against what stands fast.
    choices : Choices
        To derive the same plan again.
    findings : tuple of Finding
        Of all stages, in order.
    is_working : bool
        Whether a former plan's choices are held although the survey or a line has changed: right to what was
        decided, until the plan itself comes.
    """

    job: Job
    survey: survey.AdjustedSurvey
    alignment: alignment.Alignments
    structures: structures.Structures | None
    portals: tuple[Shape, ...]
    clearance: clearance.ClearanceResult | None
    fixed: tuple[FixedGap, ...]
    choices: Choices
    findings: tuple[Finding, ...]
    is_working: bool = False

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Plan) and same(self, other)

    __hash__ = None  # type: ignore[assignment]

    @property
    def shapes(self) -> tuple[Shape, ...]:
        """All finished parts that trains must pass."""
        return (self.structures.shapes if self.structures else ()) + self.portals

    @property
    def inputs(self) -> Inputs:
        """Every base input, the unseen ones of the lines included."""
        return self.alignment.inputs


def derive(
    job: Job, choices: Choices | None = None, each: clearance.Mapping = map, before: Plan | None = None
) -> Plan:
    """Derive the plan from the job.

    Parameters
    ----------
    job : Job
        Everything the builder has given.
    choices : Choices, optional
        Decisions of an earlier plan; ``derive(job, plan.choices)`` gives the same plan again.
    each : callable
        Works through the trains as ``map`` does; that of a pool of processes uses several cores.
    before : Plan, optional
        A plan that was derived with the same choices (none, as a rule) before the job was edited: what
        has not changed is kept from it, and the plan is the same as without.

    Returns
    -------
    Plan
        Every stage's result.

    Raises
    ------
    InputError
        If what was given cannot be meant.
    NoSolutionError
        If the readings leave something undetermined.
    NotConvergedError
        If an iteration does not settle.
    """
    with threadpool_limits(1):  # many small solves: more threads only wait for one another
        held = choices or Choices(alignment=(), structures=None, clearance=None)
        if job.measured and held.taught is None:
            held = _taught(job, held, each)
        if before is not None and not (job.measured or before.job.measured or before.is_working):
            return _derive(_with_former(job, before.job), held, each, before)
        return _derive(job, held, each)


def derive_again(job: Job, before: Plan, each: clearance.Mapping = map) -> Iterator[Plan]:
    """Derive the plan after an edit twice: what can be told at once, then the plan itself.

    Of the first plan, gaps are taken at the former plan's witnesses, right to first order, and *not proven
    (working)* wherever a search might find less. All else is that of the second, unless the survey or a line
    has changed: then all that the former plan had decided is held (waviness, stations, cut lengths), each gap
    is *not proven (working)*, and the plan is working too. Where a pair has no former witness (a vehicle or a
    part is new) only the second comes.

    Parameters
    ----------
    job : Job
        The job as edited.
    before : Plan
        The plan before the edit, derived without choices.
    each : callable
        Works through the trains as ``map`` does.

    Yields
    ------
    Plan
        One or two; the last is that of :func:`derive`.
    """
    quick = _at_once(job, before)
    if quick is not None:
        yield quick
        if quick.clearance is not None and not quick.is_working:
            held = {g.id: quick.clearance.choices[g.id] for g in quick.clearance.gaps if not g.is_working}
            before = replace(quick, clearance=replace(quick.clearance, choices=held))
    yield derive(job, each=each, before=before)


def _at_once(job: Job, before: Plan) -> Plan | None:
    if job.measured or before.job.measured or before.is_working:
        return None
    held = Choices(alignment=(), structures=None, clearance=None)
    try:
        with threadpool_limits(1):
            return _derive(_with_former(job, before.job), held, map, before, at_once=True)
    except NotConvergedError:  # too far from the former plan
        return None
    except InputError as error:
        if error.code == "CL014":  # no witness of some pair
            return None
        raise


def _decided(job: Job, adjusted: survey.AdjustedSurvey, before: Plan) -> Choices:
    """Hold what the former plan had decided of lines and bridge, where it still means the same."""
    none, old = Choices(alignment=(), structures=None, clearance=None), before.job
    if adjusted.names != before.survey.names or not same(job.lines, old.lines):
        return none
    bridge = carry_over(old.inputs, job.inputs).keeps(job.structures, old.structures)
    return replace(
        none,
        alignment=before.choices.alignment,
        structures=before.choices.structures if bridge else None,
    )


def _with_former(job: Job, before: Job) -> Job:
    """Return the job with vehicles that are as they were as the objects that they were."""
    if job.clearance is None or before.clearance is None:
        return job
    return replace(job, clearance=kept_vehicles(job.clearance, before.clearance))


def _taught(job: Job, held: Choices, each: clearance.Mapping) -> Choices:
    """Let the readings of the plan's own numbers teach, with everything held that the plan had chosen."""
    bare = job if any(names_gap(m.number, job.lines) for m in job.measured) else replace(job, clearance=None)
    first = _derive(replace(bare, measured=()), replace(held, clearance=None), each)

    def numbers(taught: Taught | None) -> Known:
        plan = first if taught is None else _derive(bare, replace(first.choices, taught=taught), each)
        rows = as_built_rows(plan)
        found = readable(plan.survey, plan.alignment, plan.structures, plan.clearance, rows)
        return Known(numbers=found, rows=rows, inputs=plan.inputs)

    taught = teach(job.measured, numbers, job.words, what_is_there(job.structures, job.made, job.survey))
    return replace(held, alignment=first.choices.alignment, taught=taught)


def as_built_rows(plan: Plan) -> tuple[AsBuilt, ...]:
    """Return the rows of a plan's as-built sheets.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    tuple of AsBuilt
        None without a bridge.
    """
    given, bridge = plan.job.structures, plan.structures
    if given is None or bridge is None:
        return ()
    lower = next((line for line in plan.job.lines if line.name == given.lower), None)
    return list_readings(given, plan.job.parts or PartsInput(), plan.inputs, bridge, lower)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Kept:
    """Stages of a former plan that hold for the new job too."""

    survey: survey.AdjustedSurvey | None = None
    alignment: alignment.Alignments | None = None
    structures: structures.Structures | None = None
    gaps: Former | None = None


def _kept(job: Job, inputs: Inputs, before: Plan | None) -> _Kept:
    """Keep each stage whose own values, and all before it, are as they were."""
    if before is None:
        return _Kept()
    old, carry = before.job, carry_over(before.job.inputs, inputs)
    former = None
    if old.clearance is not None and before.clearance is not None:
        former = Former(
            carry=carry,
            lines={},
            shapes=(),
            settings=old.clearance,
            held=before.clearance.choices,
            triangles={shape.part: shape.triangles for shape in before.shapes},
        )
    if not carry.keeps(job.survey, old.survey):
        return _Kept(gaps=former)
    adjusted = replace(
        carry.carried(before.survey),
        residual_by_input=carry.array(before.survey.residual_by_input),
        computed_by_input=carry.array(before.survey.computed_by_input),
    )
    if not carry.keeps(job.lines, old.lines):
        return _Kept(survey=adjusted, gaps=former)
    unseen = before.inputs.items[len(old.inputs) :]
    lines = replace(carry.carried(before.alignment), inputs=inputs.extended(unseen))
    bridge = carry.carried(before.structures)
    if former is not None:
        former = replace(
            former,
            lines={laid.line.name: laid.line for laid in lines.lines},
            shapes=(bridge.shapes if bridge else ()) + carry.carried(before.portals),
        )
    holds = carry.keeps(job.structures, old.structures)
    return _Kept(survey=adjusted, alignment=lines, structures=bridge if holds else None, gaps=former)


def _unjudged(job: Job) -> tuple[Finding, ...]:
    bridge, trains = job.structures, job.clearance
    return unjudged_findings(trains.runs, (bridge.upper, bridge.lower)) if bridge and trains else ()


def _derive(
    job: Job,
    held: Choices,
    each: clearance.Mapping,
    before: Plan | None = None,
    *,
    at_once: bool = False,
) -> Plan:
    """One line a stage; what a former plan has of the same values is kept."""
    inputs = taught_inputs(job.inputs, held.taught)
    kept = _kept(job, inputs, before)
    former = replace(kept.gaps, at_once=at_once) if kept.gaps else None
    near = before if at_once and kept.alignment is None else None
    adjusted = kept.survey or survey.adjust_survey(job.survey, inputs, near.survey if near else None)
    if near is not None:
        held = _decided(job, adjusted, near)
    lines = kept.alignment or alignment.align(job.lines, adjusted, inputs, held.alignment)
    bridge = kept.structures or (
        structures.fit_structures(job.structures, adjusted, lines, held.structures)
        if job.structures
        else None
    )
    portals = portal_shapes(job.portals, lines)
    gaps = (
        clearance.assess(
            lines.inputs,
            {laid.line.name: laid.line for laid in lines.lines},
            (bridge.shapes if bridge else ()) + portals,
            job.clearance,
            choices=former if held.clearance is None else held.clearance,
            trust=Trust(suspects=suspect_shifts(adjusted, lines.inputs), untrusted=lines.untrusted),
            each=each,
        )
        if (bridge or portals) and job.clearance
        else None
    )
    k = job.structures.k if job.structures else 2.0
    fixed = fixed_gaps(job.fixed, lines, bridge.shapes, k=k, working=near is not None) if bridge else ()
    return Plan(
        job=job,
        survey=adjusted,
        alignment=lines,
        structures=bridge,
        portals=portals,
        clearance=gaps,
        fixed=fixed,
        choices=Choices(
            alignment=lines.choices,
            structures=bridge.choices if bridge else None,
            clearance=gaps.choices if gaps else None,
            taught=held.taught,
        ),
        findings=adjusted.findings
        + lines.findings
        + (bridge.findings if bridge else ())
        + (gaps.findings if gaps else ())
        + _unjudged(job)
        + fixed_findings(fixed)
        + teaching_findings(held.taught),
        is_working=near is not None,
    )

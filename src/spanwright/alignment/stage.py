"""The alignment stage: adjusted marks in, lines and crossings out.

Order to read: :func:`align`, then ``plan_fit`` and ``profile_fit`` (the laid line), ``design`` (a line
by its elements), ``crossing``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from spanwright.alignment.crossing import Crossing, find_crossings
from spanwright.alignment.design import designed_line
from spanwright.alignment.fit_check import check_cant, doubts_of, misfit_findings
from spanwright.alignment.given import LineInput, TrackKind
from spanwright.alignment.line import Line
from spanwright.alignment.moved import UNSEEN, moved, taught
from spanwright.alignment.plan_fit import PlanChoices, PlanFit, Waviness, fit_plan
from spanwright.alignment.profile_fit import ProfileChoices, ProfileData, ProfileFit, fit_profile
from spanwright.alignment.rough_line import PER_CURVE
from spanwright.errors import InputError, NotConvergedError
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Input, Inputs, size
from spanwright.estimation.spread import Spread
from spanwright.findings import Finding, Severity
from spanwright.survey.readings import Face, Mark, Rail
from spanwright.survey.stage import AdjustedSurvey

FloatArray = np.ndarray

#: Waviness by kind of track (floors: common practice, no source). Rails that ties hold all along bend
#: smoothly; where each rail is spiked by hand, a short wave may be as strong as a long one.
WAVINESS = {
    TrackKind.SECTIONAL: Waviness(floor=0.05, fall=1.5),
    TrackKind.FLEXIBLE: Waviness(floor=0.08, fall=1.5),
    TrackKind.HAND_LAID: Waviness(floor=0.12, fall=0.0),
}
FEWEST_MARKS = 3
#: Marks that it takes to see one wave.
MARKS_A_WAVE = 4.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineChoices:
    """What is held of one laid line.

    Parameters
    ----------
    plan : PlanChoices
        Of the plan fit.
    profile : ProfileChoices
        Of the profile fit.
    """

    plan: PlanChoices
    profile: ProfileChoices


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One element of the description of a laid line; a description, never its definition.

    Parameters
    ----------
    kind : str
        ``tangent``, ``easement`` or ``arc``.
    start : float
        Station of its start. [mm]
    end : float
        Station of its end. [mm]
    radius : float
        Of an arc, left turn positive; infinite otherwise. [mm]
    radius_doubt : float
        Standard uncertainty of the radius; 0 otherwise. [mm]
    """

    kind: str
    start: float
    end: float
    radius: float
    radius_doubt: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidLine:
    """A line and how it was found.

    Parameters
    ----------
    line : Line
        Plan, height and cant.
    mark_names : tuple of str
        Marks it was fitted to; empty for a designed line.
    stations : Derived or None
        Their stations.
    residuals : ndarray, shape (n,)
        Marks' offsets from the fitted line, left positive. [mm]
    description : tuple of Stretch
        Tangent, easement and arc, as far as the marks tell.
    shortest_wave : float
        Waves shorter than this cannot be seen by the marks. [mm]
    """

    line: Line
    mark_names: tuple[str, ...]
    stations: Derived | None
    residuals: FloatArray
    description: tuple[Stretch, ...]
    shortest_wave: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alignments:
    """All that the alignment stage knows.

    Parameters
    ----------
    inputs : Inputs
        The base inputs, with the unseen ones of each line at the end.
    lines : tuple of LaidLine
        In the order of the job.
    crossings : tuple of Crossing
        Of every pair of lines.
    choices : tuple of (str, LineChoices)
        What was held of each laid line.
    findings : tuple of Finding
        What the builder should know.
    """

    inputs: Inputs
    lines: tuple[LaidLine, ...]
    crossings: tuple[Crossing, ...]
    choices: tuple[tuple[str, LineChoices], ...]
    findings: tuple[Finding, ...]

    @property
    def untrusted(self) -> str:
        """Why nothing that rests on these lines can be trusted; empty if they follow their marks."""
        names = dict.fromkeys(f.where for f in self.findings if f.severity is Severity.STOP)
        return f"line {' and '.join(names)} does not follow its marks" if names else ""

    def line(self, name: str) -> Line:
        """Return a line by its name.

        Parameters
        ----------
        name : str
            The line's name.

        Returns
        -------
        Line
            The line.

        Raises
        ------
        InputError
            If there is no such line.
        """
        for laid in self.lines:
            if laid.line.name == name:
                return laid.line
        raise InputError(
            "there is no line of this name",
            code="AL020",
            value=name,
            limit=", ".join(laid.line.name for laid in self.lines),
        )


def align(
    given: tuple[LineInput, ...],
    survey: AdjustedSurvey,
    inputs: Inputs,
    choices: tuple[tuple[str, LineChoices], ...] = (),
) -> Alignments:
    """Find every line and every crossing.

    Parameters
    ----------
    given : tuple of LineInput
        The lines.
    survey : AdjustedSurvey
        The adjusted marks.
    inputs : Inputs
        The base inputs.
    choices : tuple of (str, LineChoices)
        Held from an earlier run.

    Returns
    -------
    Alignments
        Lines, crossings, the longer list of base inputs.

    Raises
    ------
    InputError
        If a line has too few marks.
    NotConvergedError
        If a fit does not settle.
    """
    held = dict(choices)
    lines: list[LaidLine] = []
    kept: list[tuple[str, LineChoices]] = []
    findings: list[Finding] = []
    for entry in given:
        gauge, head = size(inputs, entry.gauge), size(inputs, entry.rail_head)
        head_distance = gauge + head
        if entry.design is not None:
            line = moved(entry, designed_line(entry, inputs, head_distance), inputs)
            lines.append(
                LaidLine(
                    line=line,
                    mark_names=(),
                    stations=None,
                    residuals=np.zeros(0),
                    description=(),
                    shortest_wave=0.0,
                )
            )
            continue
        laid, line_choices, inputs, misfits = _laid(
            entry, survey, inputs, (gauge, head), held.get(entry.name)
        )
        line = moved(entry, taught(laid.line, inputs), inputs)
        lines.append(replace(laid, line=line))
        kept.append((entry.name, line_choices))
        findings += misfits + _findings(entry, laid)
    crossings = [c for a, b in combinations(lines, 2) for c in find_crossings(a.line, b.line)]
    return Alignments(
        inputs=inputs,
        lines=tuple(lines),
        crossings=tuple(crossings),
        choices=tuple(kept),
        findings=tuple(findings),
    )


def mark_offset(mark: Mark, gauge: Derived, head: Derived) -> Derived:
    """Return how far a mark lies to the left of its track's centre.

    Parameters
    ----------
    mark : Mark
        A mark on track.
    gauge : Derived
        Distance of the inner faces.
    head : Derived
        Width of the rail head.

    Returns
    -------
    Derived
        Offset, left positive.

    Raises
    ------
    InputError
        If the mark does not say which rail or which face.
    """
    if mark.rail is Rail.BOTH:
        return gauge * 0.0 + mark.reach
    reach = {
        Face.INNER: gauge * 0.5,
        Face.HEAD_CENTRE: (gauge + head) * 0.5,
        Face.OUTER: gauge * 0.5 + head,
    }
    if mark.rail is None or mark.face is None:
        raise InputError(
            "a mark on track must say its rail and face",
            code="AL021",
            where=mark.name,
            limit="rail left, right or both; face inner, head centre or outer",
        )
    return reach[mark.face] * (1.0 if mark.rail is Rail.LEFT else -1.0)


def _laid(
    given: LineInput,
    survey: AdjustedSurvey,
    inputs: Inputs,
    sizes: tuple[Derived, Derived],
    choices: LineChoices | None,
) -> tuple[LaidLine, LineChoices, Inputs, list[Finding]]:
    marks = {m.name: m for m in survey.marks}
    named = [marks[name] for name in given.marks if name in marks and survey.has(f"{name}.x")]
    if len(named) < FEWEST_MARKS:
        raise InputError(
            "a line needs three placed marks at least",
            code="AL022",
            where=given.name,
            value=", ".join(m.name for m in named) or "none",
            hint="Mark and measure more points along it",
        )
    gauge, head = sizes
    points = dv.stack([dv.stack([survey.value(f"{m.name}.x"), survey.value(f"{m.name}.y")]) for m in named])
    wanted = dv.stack([mark_offset(m, gauge, head) for m in named])
    try:
        fit = fit_plan(
            points,
            wanted,
            inputs.sds,
            curves=given.curves,
            waviness=WAVINESS[given.track],
            choices=choices.plan if choices else None,
        )
    except NotConvergedError as error:
        raise NotConvergedError(error.what, code=error.code, where=given.name, hint=error.hint) from error
    profile = _profile(
        named,
        survey,
        fit,
        wanted,
        head_distance=gauge + head,
        gauge=float(gauge.value),
        held=(inputs.sds, choices, inputs.derived(given.cant_assumed) if given.cant_assumed else None),
    )
    plan_unseen, profile_unseen = fit.unseen.shape[1], profile.unseen.shape[1]
    before = len(inputs)
    inputs = inputs.extended(
        tuple(_unseen(given.name, "waviness", k, "sideways between the marks") for k in range(plan_unseen))
        + tuple(
            _unseen(given.name, "profile", k, "in height and cant between the marks")
            for k in range(profile_unseen)
        )
    )
    total = len(inputs)
    plan_state = fit.state.padded(total)
    plan_jac = plan_state.jac.copy()
    plan_jac[:, before : before + plan_unseen] = fit.unseen
    stack = dv.stack(
        [
            *(profile.profile[k] for k in range(len(profile.profile))),
            *(profile.cant[k] for k in range(len(profile.cant))),
        ]
    ).padded(total)
    profile_jac = stack.jac.copy()
    profile_jac[:, before + plan_unseen :] = profile.unseen
    m = len(profile.profile)
    cant = Derived(stack.value[m:], profile_jac[m:])
    if given.cant_assumed:
        cant = cant + inputs.derived(given.cant_assumed)
    line = Line(
        name=given.name,
        chain=fit.chain,
        plan=Derived(plan_state.value, plan_jac),
        grade_knots=profile.choices.grade_knots,
        profile=Derived(stack.value[:m], profile_jac[:m]),
        cant_knots=profile.choices.cant_knots,
        cant=cant,
        head_distance=gauge + head,
        surveyed=(float(fit.stations.value.min()), float(fit.stations.value.max())),
    )
    elements = fit.elements.padded(total)
    element_jac = elements.jac.copy()
    element_jac[:, before : before + plan_unseen] = fit.unseen_elements
    laid = LaidLine(
        line=line,
        mark_names=tuple(p.name for p in named),
        stations=fit.stations,
        residuals=fit.residuals,
        description=_describe(Derived(elements.value, element_jac), inputs.spread, line.surveyed),
        shortest_wave=MARKS_A_WAVE * float(np.max(np.diff(np.sort(fit.stations.value)))),
    )
    check_cant(line)
    high = tuple(m.name for m in named if survey.has(f"{m.name}.z"))
    plan_doubts, doubts = doubts_of(fit.choices.weight_matrix), doubts_of(profile.choices.weight_matrix)
    n = len(high)
    misfits = [
        *misfit_findings(given.name, laid.mark_names, laid.residuals, plan_doubts, heights=False),
        *misfit_findings(given.name, high, profile.residuals[:n], doubts[:n], heights=True),
    ]
    return laid, LineChoices(plan=fit.choices, profile=profile.choices), inputs, misfits


def _unseen(line: str, what: str, number: int, where: str) -> Input:
    return Input(
        id=f"{UNSEEN}{line}/{what}/{number:02d}",
        value=0.0,
        sd=1.0,
        unit="1",
        label=f"what the marks cannot see of line {line} {where}",
        kind="unseen",
        remedy=(
            "a versine at the structure, on a chord as long as the truck spacing"
            if what == "waviness"
            else "a height or a cross level at the structure"
        ),
    )


def _profile(
    named: list[Mark],
    survey: AdjustedSurvey,
    fit: PlanFit,
    wanted: Derived,
    *,
    head_distance: Derived,
    gauge: float,
    held: tuple[FloatArray, LineChoices | None, Derived | None],
) -> ProfileFit:
    sds, choices, assumed = held
    high = [k for k, m in enumerate(named) if survey.has(f"{m.name}.z")]
    tilted = [k for k, m in enumerate(named) if survey.has(f"{m.name}.c")]
    if len(high) < 2:
        raise InputError(
            "a line needs two heights at least",
            code="AL023",
            where=named[0].line,
            value=", ".join(named[k].name for k in high) or "none",
            hint="Read heights of its rails",
        )
    empty = Derived(np.zeros(0), np.zeros((0, len(sds))))
    levers = dv.stack([wanted[k] / head_distance for k in high])
    heights = dv.stack([survey.value(f"{named[k].name}.z") for k in high])
    if assumed is not None:  # the rail that was read stands half the assumed cant off the centre
        heights = heights + levers * assumed
    data = ProfileData(
        stations=fit.stations[np.array(high)],
        heights=heights,
        levers=levers,
        cant_stations=fit.stations[np.array(tilted)] if tilted else empty,
        cants=dv.stack([survey.value(f"{named[k].name}.c") for k in tilted]) if tilted else empty,
        cant_assumed=assumed is not None,
    )
    return fit_profile(data, sds, gauge=gauge, choices=choices.profile if choices else None)


def _describe(elements: Derived, spread: Spread, surveyed: tuple[float, float]) -> tuple[Stretch, ...]:
    """Say what the elements look like; parts shorter than 5 mm and parts beyond the survey are left out."""
    found: list[Stretch] = []
    at = surveyed[0]

    def add(kind: str, start: float, end: float, radius: float = np.inf, doubt: float = 0.0) -> None:
        low, high = max(start, surveyed[0]), min(end, surveyed[1])
        if high - low > 5.0:
            found.append(Stretch(kind=kind, start=low, end=high, radius=radius, radius_doubt=doubt))

    doubts = elements.sd(spread)
    for c in range(len(elements) // PER_CURVE):
        kappa, middle1, log1, middle2, log2 = elements.value[PER_CURVE * c : PER_CURVE * (c + 1)]
        half1, half2 = 0.5 * np.exp(log1), 0.5 * np.exp(log2)
        u = doubts[PER_CURVE * c]
        straight = abs(kappa) < 2.0 * u
        add("tangent", at, middle1 - half1)
        add("easement", middle1 - half1, middle1 + half1)
        radius = np.inf if straight else 1.0 / kappa
        add(
            "tangent" if straight else "arc",
            middle1 + half1,
            middle2 - half2,
            radius,
            0.0 if straight else u / kappa**2,
        )
        add("easement", middle2 - half2, middle2 + half2)
        at = middle2 + half2
    add("tangent", at, surveyed[1])
    return tuple(found)


def _findings(given: LineInput, laid: LaidLine) -> list[Finding]:
    found = []
    if laid.shortest_wave > 350.0:
        found.append(
            Finding(
                code="AL101",
                severity=Severity.NOTE,
                where=given.name,
                text=f"the marks are too far apart to see waves shorter than {laid.shortest_wave:.0f} mm",
                value=laid.shortest_wave,
                limit=350.0,
                remedy=(
                    "Put marks closer together near the structure, or read versines there; where such "
                    'waves are seen on the track, say track = "hand-laid"'
                ),
                source="four to five marks a wave, from simulation",
            )
        )
    if given.cant_assumed:
        found.append(
            Finding(
                code="AL102",
                severity=Severity.WARNING,
                where=given.name,
                text="cant was not measured: taken as nil, with the largest usual cant as its doubt",
                remedy="Read cross levels at the structure with a block and a feeler",
                source="MOROP NEM 114 (2007), u_max = G/15",
            )
        )
    return found

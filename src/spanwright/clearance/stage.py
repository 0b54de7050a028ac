"""Stage 4: every vehicle on its line against every part; gaps with doubt, margins, verdicts.

``assess`` searches and holds the witnesses; given ``choices`` of an earlier run it only evaluates them
again, so that the numbers are smooth functions of the base inputs with the Jacobian that they carry.

Read :func:`assess` first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.engine.following import following_findings
from spanwright.clearance.gauges.gaps import GaugeGap
from spanwright.clearance.gauges.overlay import gauge_findings, lay_gauges
from spanwright.clearance.given import ClearanceInput, Run
from spanwright.clearance.held import Held, held_gaps
from spanwright.clearance.kept import Former, former_witnesses, kept_gaps, kept_shapes
from spanwright.clearance.searching import HeldGap, Wanted, gap_id, parts_beside, search_run
from spanwright.clearance.suspects import SuspectShift, Trust
from spanwright.clearance.verdict import decide
from spanwright.clearance.witness import stands_beyond
from spanwright.errors import InputError
from spanwright.estimation.derived import Derived, dot
from spanwright.estimation.inputs import Inputs
from spanwright.estimation.spread import Spread
from spanwright.findings import Finding, Severity, Verdict
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray

#: Applies a function to each of some things, in order, as ``map`` does; others may use several cores.
Mapping = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]

#: A vehicle on its line, and what is held of it and each of some parts.
_Kept = tuple[Run, tuple[tuple[Shape, HeldGap], ...]]

#: Gaps and their doubts, in the order of a train's numbers.
_Told = tuple[list[float], list[float]]

_NOWHERE = np.full(3, np.nan)
_NOWHERE.flags.writeable = False
_WORKING = "working"  # the reason of a gap that is still to be searched
_KEPT = 3.0  # witnesses within so many u of the least are kept


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gap:
    """The closest approach of a vehicle and a part, judged.

    Parameters
    ----------
    id : str
        ``clearance/<line>/<vehicle>/<part>``.
    line : str
        Name of the line.
    vehicle : str
        The vehicle's id.
    part : str
        The part's id.
    gap : Derived
        Signed: negative is the least travel of the part that frees it; ``-inf`` where none does within
        the limit; the reach, as a lower bound, where ``beyond_reach``.
    u : float
        Standard uncertainty of the gap, made wider if so. [mm]
    margin_gap : Derived
        The same for the vehicle grown by its margins: 0 or more means that they are kept.
    margin_u : float
        Standard uncertainty of the margin gap. [mm]
    verdict : Verdict
        The word.
    reason : str
        Why a verdict is not proven although the numbers alone would say more.
    suspects : tuple of str
        Suspect readings whose removal would change the word.
    side : str
        Side of the vehicle.
    travel : str
        Direction of the least travel where they overlap.
    station : float
        Pose station. [mm]
    where : ndarray, shape (3,)
        Closest point of the part. [mm]
    surveyed : bool
        Whether all witnesses are on surveyed track.
    beyond_reach : bool
        The gap is only known to be more than the value.
    witness_gaps : tuple of Derived
        Signed gap at each near-equal witness, the least first.
    witness_margins : tuple of Derived
        The same for the vehicle grown by its margins.
    wider : float
        How many times their first-order doubt u and margin_u are: more than 1 where draws of the whole plan
        said so. [1]
    """

    id: str
    line: str
    vehicle: str
    part: str
    gap: Derived
    u: float
    margin_gap: Derived
    margin_u: float
    verdict: Verdict
    reason: str
    suspects: tuple[str, ...]
    side: str
    travel: str
    station: float
    where: FloatArray
    surveyed: bool
    beyond_reach: bool
    witness_gaps: tuple[Derived, ...]
    witness_margins: tuple[Derived, ...] = ()
    wider: float = 1.0

    @property
    def is_working(self) -> bool:
        """Whether it is told at a former plan's witness, until it has been searched."""
        return self.reason.startswith(_WORKING)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClearanceResult:
    """All gaps.

    Parameters
    ----------
    gaps : tuple of Gap
        By run, then by part.
    findings : tuple of Finding
        One for each gap that is not clear; notes on vehicles, and on parts that stand in a gauge.
    choices : dict of str to HeldGap
        The witnesses, by gap id, for replay.
    gauge_gaps : tuple of GaugeGap
        Least gaps of the parts to the gauges, by gauge, line and part; no verdict rests on them.
    """

    gaps: tuple[Gap, ...]
    findings: tuple[Finding, ...]
    choices: dict[str, HeldGap]
    gauge_gaps: tuple[GaugeGap, ...] = ()


def assess(
    inputs: Inputs,
    lines: dict[str, Line],
    shapes: tuple[Shape, ...],
    settings: ClearanceInput,
    *,
    choices: dict[str, HeldGap] | Former | None = None,
    trust: Trust | None = None,
    each: Mapping = map,
) -> ClearanceResult:
    """Judge every vehicle on its line against every part that matters to that line.

    Parameters
    ----------
    inputs : Inputs
        The base inputs.
    lines : dict of str to Line
        The lines by name.
    shapes : tuple of Shape
        The finished parts; one that is ``over`` a line matters to the trains of that line only.
    settings : ClearanceInput
        Vehicles, margins, coverage.
    choices : dict of str to HeldGap, or Former, optional
        Witnesses of an earlier result; with them nothing is searched. A former plan's: searched is what has
        changed since.
    trust : Trust, optional
        Suspect readings, and lines that cannot be trusted; none if left out.
    each : callable
        Searches run by run, as ``map`` does; that of a pool of processes uses several cores.

    Returns
    -------
    ClearanceResult
        Gaps, findings and choices.

    Raises
    ------
    InputError
        If a vehicle runs on a line that is not there.
    """
    for run in settings.runs:
        if run.line not in lines:
            raise InputError(
                "a vehicle runs on a line that is not there",
                code="CL013",
                where=run.vehicle.id,
                value=run.line,
                limit=", ".join(lines),
                hint="Name one of the job's lines",
            )
    trust = trust or Trust()
    spread = inputs.spread
    working: frozenset[str] = frozenset()
    if isinstance(choices, Former):
        shapes = kept_shapes(choices, shapes, inputs)
        known = kept_gaps(choices, lines, shapes, settings, inputs)
        if choices.at_once:
            choices = former_witnesses(choices, shapes, settings) | known
            working = frozenset(choices) - frozenset(known)
            trust = trust if known else replace(trust, suspects=())  # which could change a word, once said
        else:
            choices = _searched(inputs, lines, shapes, settings, known=known, each=each)
    elif choices is None:
        choices = _searched(inputs, lines, shapes, settings, known={}, each=each)
    matter = {name: parts_beside(shapes, name) for name in lines}
    kept = [tuple((s, _replayed(choices, gap_id(run, s))) for s in matter[run.line]) for run in settings.runs]
    gaps: list[Gap] = []
    held: dict[str, HeldGap] = {}
    trains = _evaluated(inputs, lines, list(zip(settings.runs, kept, strict=True)), settings)
    for run, train in zip(settings.runs, trains, strict=True):
        told = [_listed(*_values(train.numbers, spread, without)) for without in (None, *trust.suspects)]
        for shape, one in zip(matter[run.line], train.gaps, strict=True):
            key = gap_id(run, shape)
            held[key] = one.held
            beyond = stands_beyond(lines[run.line], run.vehicle, shape, settings.search.reach)
            place = _Place(
                key=key,
                line=run.line,
                vehicle=run.vehicle.id,
                shape=shape,
                surveyed=not beyond,
                untrusted=trust.untrusted,
                working=key in working,
            )
            gaps.append(_judge(one, place, train, told, settings=settings, suspects=trust.suspects))
    overlays = lay_gauges(inputs, lines, shapes, settings.gauges)
    findings = tuple(_finding(g, settings) for g in gaps if g.verdict is not Verdict.CLEAR)
    findings += tuple(_widened(g) for g in gaps if g.wider > 1.0)
    findings += _of_vehicles(settings.runs)
    for run in settings.runs:
        findings += following_findings(lines[run.line], run.vehicle, inputs, k=settings.k)
    findings += gauge_findings(overlays, settings.gauges)
    return ClearanceResult(gaps=tuple(gaps), findings=findings, choices=held, gauge_gaps=overlays)


def _of_vehicles(runs: tuple[Run, ...]) -> tuple[Finding, ...]:
    """Note what is to be said of the vehicles' sizes, once for each vehicle."""
    vehicles = {run.vehicle.id: run.vehicle for run in runs}
    return tuple(
        Finding(code="CL104", severity=Severity.NOTE, where=key, text=note)
        for key, vehicle in vehicles.items()
        for note in vehicle.notes
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Valued:
    """Held witnesses and where their gaps stand among the numbers of the train; a bound if there are none."""

    held: HeldGap
    gaps: slice
    margins: slice


@dataclass(frozen=True, slots=True, eq=False)
class _Train:
    """The gaps of one vehicle on its line, those of all witnesses in one array."""

    numbers: Derived
    gaps: list[_Valued]

    def each(self, rows: slice) -> tuple[Derived, ...]:
        """Return numbers one by one."""
        value, jac = self.numbers.value, self.numbers.jac
        return tuple(Derived(value[k], jac[k]) for k in range(rows.start, rows.stop))


def _searched(
    inputs: Inputs,
    lines: dict[str, Line],
    shapes: tuple[Shape, ...],
    settings: ClearanceInput,
    *,
    known: dict[str, HeldGap],
    each: Mapping,
) -> dict[str, HeldGap]:
    """Search every pair of which nothing is known; only what is near enough to the least is held."""
    matter = {name: parts_beside(shapes, name) for name in lines}
    alone = replace(settings, runs=(), gauges=())  # what every search is sent
    asked = []
    for run in settings.runs:
        parts = frozenset(s.part for s in matter[run.line] if gap_id(run, s) in known)
        if len(parts) < len(matter[run.line]):
            asked.append(Wanted(run=run, known=parts))
    results = each(partial(search_run, inputs, lines, shapes, alone), asked)
    pairs = [
        (one.run, tuple(zip([s for s in matter[one.run.line] if s.part not in one.known], kept, strict=True)))
        for one, kept in zip(asked, results, strict=True)
    ]
    held = dict(known)
    for (run, own), train in zip(pairs, _evaluated(inputs, lines, pairs, settings), strict=True):
        # thinned; they are reckoned again as a replay will, to the last bit
        kept = _thinned(train, inputs.spread)
        held |= {gap_id(run, shape): one for (shape, _), one in zip(own, kept, strict=True)}
    return held


def _evaluated(
    inputs: Inputs, lines: dict[str, Line], runs: list[_Kept], settings: ClearanceInput
) -> Iterator[_Train]:
    """Reckon the gaps of every vehicle at all held witnesses, in the order of the runs."""
    found = {}
    for name, line in lines.items():
        trains = [
            (run.vehicle, [(shape, one) for shape, held in own for one in (*held.gap, *held.margin)])
            for run, own in runs
            if run.line == name
        ]
        found[name] = held_gaps(line, trains, inputs=inputs)
    for run, own in runs:
        yield _with_bounds(next(found[run.line]), tuple(held for _, held in own), settings)


def _with_bounds(numbers: Derived, kept: tuple[HeldGap, ...], settings: ClearanceInput) -> _Train:
    """Put the bounds of what has no witness behind the numbers of the witnesses: they have no doubt."""
    reach, first = settings.search.reach, len(numbers)
    bounds = [reach, reach - float(np.hypot(settings.margin_side, settings.margin_above)), -np.inf]
    beyond, margin_beyond, never_free = (slice(first + k, first + k + 1) for k in range(3))
    value = np.concatenate([numbers.value, bounds])
    jac = np.concatenate([numbers.jac, np.zeros((3, numbers.jac.shape[1]))])
    gaps, start = [], 0
    for held in kept:
        middle, end = start + len(held.gap), start + len(held.gap) + len(held.margin)
        own = slice(start, middle) if held.gap else (beyond if held.beyond_reach else never_free)
        margin = slice(middle, end) if held.margin else (margin_beyond if held.beyond_reach else never_free)
        gaps.append(_Valued(held, own, margin))
        start = end
    return _Train(Derived(value, jac), gaps)


def _replayed(choices: dict[str, HeldGap], key: str) -> HeldGap:
    if key not in choices:
        raise InputError(
            "no witness is held for a vehicle and part",
            code="CL014",
            where=key,
            hint="Reckon the clearances anew without choices",
        )
    return choices[key]


def _thinned(train: _Train, spread: Spread) -> tuple[HeldGap, ...]:
    """Keep the witnesses of each gap that are within a few doubts of the least."""
    values, doubts = _values(train.numbers, spread, None)

    def near(witnesses: tuple[Held, ...], rows: slice) -> tuple[Held, ...]:
        if not witnesses:
            return ()
        v, u = values[rows], doubts[rows]
        kept = v - v[0] <= _KEPT * np.maximum(u, u[0])
        return tuple(w for w, keep in zip(witnesses, kept, strict=True) if keep)

    return tuple(
        replace(one.held, gap=near(one.held.gap, one.gaps), margin=near(one.held.margin, one.margins))
        for one in train.gaps
    )


def _values(gaps: Derived, spread: Spread, without: SuspectShift | None) -> tuple[FloatArray, FloatArray]:
    """Return gaps and their doubts, as they are or without a suspect reading."""
    if without is not None:
        gaps = gaps - dot(gaps.jac[:, list(without.columns)], without.slips)
    return gaps.value, gaps.sd(spread)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Place:
    """Which vehicle and part, and whether the part stands beside surveyed track only."""

    key: str
    line: str
    vehicle: str
    shape: Shape
    surveyed: bool
    untrusted: str
    working: bool


def _listed(values: FloatArray, doubts: FloatArray) -> _Told:
    """Return plain numbers: one at a time they are several times as fast as those of arrays."""
    return values.tolist(), doubts.tolist()


def _could_close(without: SuspectShift, room: float) -> bool:
    """Tell whether slips might, with a lever of two, use up room that has no witness to follow.

    A slip of an angle counts by what it moves at a metre.
    """
    return bool(max(map(abs, without.moves)) * 2.0 > room)


def _touched(shape: Shape, witness: Held) -> FloatArray:
    return witness.weights @ shape.vertices[shape.triangles[witness.triangle]]


def _judge(
    one: _Valued,
    place: _Place,
    train: _Train,
    told: list[_Told],
    *,
    settings: ClearanceInput,
    suspects: tuple[SuspectShift, ...],
) -> Gap:
    """Judge a gap; what is told of the train's numbers is so as they are, then without each suspect."""

    def word(values: list[float], doubts: list[float]) -> Verdict:
        own, grown = one.gaps, one.margins
        u, v = doubts[own], doubts[grown]
        if wider != 1.0:
            u, v = [wider * d for d in u], [wider * d for d in v]
        return decide(values[own], u, values[grown], v, k=settings.k)

    gaps, margins = train.each(one.gaps), train.each(one.margins)
    wider, (values, doubts) = one.held.wider, told[0]
    verdict = word(values, doubts)
    far = one.held.beyond_reach
    room = values[one.margins][0]
    changing = tuple(
        suspect.id
        for suspect, left in zip(suspects, told[1:], strict=True)
        if (_could_close(suspect, room) if far else word(*left) is not verdict)
    )
    surveyed = place.surveyed and all(w.surveyed for w in (*one.held.gap, *one.held.margin))
    reasons = [_WORKING] if place.working else []
    if changing:
        reasons.append(f"rests on suspect readings: {', '.join(changing)}")
    if verdict in (Verdict.CLEAR, Verdict.TIGHT) and not surveyed:
        reasons.append("not surveyed")
    if verdict in (Verdict.CLEAR, Verdict.TIGHT) and place.untrusted:
        reasons.append(place.untrusted)
    first = one.held.gap[0] if one.held.gap else None
    return Gap(
        id=place.key,
        line=place.line,
        vehicle=place.vehicle,
        part=place.shape.part,
        gap=gaps[0],
        u=wider * doubts[one.gaps][0],
        margin_gap=margins[0],
        margin_u=wider * doubts[one.margins][0],
        verdict=Verdict.NOT_PROVEN if reasons else verdict,
        reason="; ".join(reasons),
        suspects=changing,
        side=first.side if first else "",
        travel=first.travel if first else "",
        station=first.station if first else float("nan"),
        where=_touched(place.shape, first) if first else _NOWHERE,
        surveyed=surveyed,
        beyond_reach=one.held.beyond_reach,
        witness_gaps=gaps,
        witness_margins=margins,
        wider=wider,
    )


def _finding(gap: Gap, settings: ClearanceInput) -> Finding:
    code, severity, text = {
        Verdict.FOUL: ("CL101", Severity.STOP, "the train touches"),
        Verdict.TIGHT: ("CL102", Severity.WARNING, "the train passes, the margin is not proven"),
        Verdict.NOT_PROVEN: ("CL103", Severity.WARNING, "not proven that the train passes"),
    }[gap.verdict]
    if gap.verdict is Verdict.FOUL and np.isneginf(gap.gap.value):
        text += f", and no travel up, left or right within {settings.freeing_limit:g} mm frees it"
    if gap.reason:
        text += f" ({gap.reason})"
    return Finding(
        code=code,
        severity=severity,
        where=gap.id,
        text=text,
        value=float(gap.gap.value),
        limit=0.0,
        remedy=f"Move it {gap.travel}" if gap.travel else "",
        source="the margins wanted by the job",
    )


def _widened(gap: Gap) -> Finding:
    return Finding(
        code="CL109",
        severity=Severity.NOTE,
        where=gap.id,
        text="draws of the whole plan say that derivatives alone promise too much here; the doubt is taken"
        f" {gap.wider:.2f} times as large",
        value=gap.wider,
        limit=1.0,
        source="JCGM 101:2008, clause 8",
    )

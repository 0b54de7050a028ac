"""What to measure next: the one reading, doable now, that would settle a gap that is not settled.

Candidates are readings of what the plan already foretells: any reading taken once more, a stepped block
from a base to the rail above it, a block between the two lines' rail heads at the crossing, a versine
and a cross level on the lower line at the structure. Each is tried by linear conditioning; the one that
shrinks the gap's doubt most is named, with the doubt that it would leave.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line, track_point
from spanwright.alignment.stage import Alignments
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.clearance.vehicles import Vehicle
from spanwright.estimation import derived as dv
from spanwright.estimation.budget import Candidate, budget, next_reading
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Verdict
from spanwright.structures.given import SupportKind
from spanwright.structures.stage import Structures
from spanwright.survey.stage import AdjustedSurvey

FloatArray = np.ndarray

#: How well these can be read (common practice, no source). [mm]
BLOCK, VERSINE, CROSS_LEVEL, CALIPER = 0.15, 0.1, 0.04, 0.03
#: A new reading must shrink the doubt to less than this part of it to be worth naming. [1]
WORTH = 0.97


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The next measurement for one gap.

    Parameters
    ----------
    gap : str
        The gap's id.
    reading : str
        Id of what to read.
    text : str
        What to do, in plain words; empty if no reading helps.
    before : float
        Standard uncertainty of the gap now. [mm]
    after : float
        Standard uncertainty once it is read. [mm]
    settles : bool
        Whether the verdict would then be clear or foul, should the gap stay what it is.
    """

    gap: str
    reading: str
    text: str
    before: float
    after: float
    settles: bool


def advise(
    survey: AdjustedSurvey,
    alignments: Alignments,
    structures: Structures | None,
    clearance: ClearanceResult,
    *,
    settings: ClearanceInput,
) -> tuple[Advice, ...]:
    """Name the next measurement for every gap that is tight or not proven.

    Parameters
    ----------
    survey : AdjustedSurvey
        The adjusted survey.
    alignments : Alignments
        The lines.
    structures : Structures or None
        The bridge; None where there are portals only.
    clearance : ClearanceResult
        The gaps.
    settings : ClearanceInput
        Vehicles and coverage factor.

    Returns
    -------
    tuple of Advice
        In the order of the gaps, closest first.
    """
    inputs, k = alignments.inputs, settings.k
    chords = {run.vehicle.id: _chord(run.vehicle) for run in settings.runs}
    open_gaps = [
        g for g in clearance.gaps if g.verdict in (Verdict.TIGHT, Verdict.NOT_PROVEN) and not g.beyond_reach
    ]
    open_gaps.sort(key=lambda g: float(g.gap.value) - k * g.u)
    common = _repeats(survey, inputs) + _blocks(alignments) + _sizes(inputs)
    if structures is not None:
        common += _bases(alignments, structures)
    found = []
    for gap in open_gaps:
        own = _at_structure(alignments.line(gap.line), gap, chords[gap.vehicle])
        found.append(_advice(gap, common + own, inputs, k))
    return tuple(found)


def _advice(gap: Gap, candidates: tuple[Candidate, ...], inputs: Inputs, k: float) -> Advice:
    if gap.suspects:
        names = ", ".join(gap.suspects)
        return Advice(
            gap=gap.id,
            reading=gap.suspects[0],
            text=f"Read {names} again: the verdict hangs on it",
            before=gap.u,
            after=gap.u,
            settles=False,
        )
    if not gap.surveyed:
        return Advice(
            gap=gap.id,
            reading="",
            text=f"Put marks on line {gap.line} further out: the train stands beyond the last one",
            before=gap.u,
            after=gap.u,
            settles=False,
        )
    # the margin is what is wanted, so its doubt is what must shrink
    number, now = (gap.margin_gap, gap.margin_u) if float(gap.margin_gap.value) > 0.0 else (gap.gap, gap.u)
    best = next_reading(number.jac, candidates, inputs.spread)
    if best is None or best[1] > WORTH * now:
        largest = budget(number.jac, inputs, most=1)
        text = "No reading taken now would help much"
        if largest:
            text += f": {100.0 * largest[0].share:.0f} % of the doubt is {largest[0].label}"
            text += f". {largest[0].remedy[:1].upper()}{largest[0].remedy[1:]}" if largest[0].remedy else ""
        return Advice(gap=gap.id, reading="", text=text, before=now, after=now, settles=False)
    candidate, after = best
    value, margin = float(gap.gap.value), float(gap.margin_gap.value)
    settles = (margin > 0.0 and margin - k * after >= 0.0) or value + k * after < 0.0
    return Advice(
        gap=gap.id, reading=candidate.id, text=candidate.text, before=now, after=after, settles=settles
    )


def _repeats(survey: AdjustedSurvey, inputs: Inputs) -> tuple[Candidate, ...]:
    """Any reading once more: what the adjusted marks say would be read, with the same tool."""
    n = len(inputs)
    found = []
    for row, key in enumerate(survey.reading_ids):
        item = inputs[key]
        if item.kind != "reading":
            continue
        jac = np.zeros(n)
        jac[: survey.computed_by_input.shape[1]] = survey.computed_by_input[row]
        found.append(Candidate(id=key, text=f"Take reading {key} again ({item.label})", jac=jac, sd=item.sd))
    return tuple(found)


def _sizes(inputs: Inputs) -> tuple[Candidate, ...]:
    """Sizes that are doubtful because they are nominal or not made yet: caliper the real piece."""
    found = []
    for k, item in enumerate(inputs.items):
        if item.kind == "size" and item.sd > 2.0 * CALIPER and item.unit == "mm":
            jac = np.zeros(len(inputs))
            jac[k] = 1.0
            if item.id.startswith("portals/"):  # not a piece that can be taken into the hand
                if item.sd > 1.5 * BLOCK:
                    text = f"Gauge with a stepped block from the rails, where it stands: {item.label}"
                    found.append(Candidate(id=item.id, text=text, jac=jac, sd=BLOCK))
                continue
            found.append(
                Candidate(
                    id=item.id,
                    text=f"Measure the real piece with a caliper: {item.label}",
                    jac=jac,
                    sd=CALIPER,
                )
            )
    return tuple(found)


def _blocks(alignments: Alignments) -> tuple[Candidate, ...]:
    """Rails over rails at the crossings, gauged directly with a stepped block."""
    n = len(alignments.inputs)
    found = []
    for crossing in alignments.crossings:
        found += [
            Candidate(
                id=f"{crossing.id}/{rail.upper_rail} over {rail.lower_rail}",
                text=(
                    f"At the crossing, gauge from the {{{rail.lower_rail}}} rail of line {crossing.lower} "
                    f"straight up to the {{{rail.upper_rail}}} rail of line {crossing.upper} "
                    "with a stepped block"
                ),
                jac=rail.separation.padded(n).jac,
                sd=BLOCK,
            )
            for rail in crossing.rails
        ]
    return tuple(found)


def _bases(alignments: Alignments, structures: Structures) -> tuple[Candidate, ...]:
    """Railheads over the bases of the supports, gauged directly with a stepped block."""
    n = len(alignments.inputs)
    found = []
    bearings = {b.support: b for b in structures.bearings}
    lower = structures.choices.crossing.split("/")[2]
    for support in structures.supports:
        above = bearings.get(support.given.name)
        if above is None:
            continue
        for cut in support.cuts:
            found.append(
                Candidate(
                    id=f"{cut.id}/railhead above base",
                    text=(
                        f"Gauge with a stepped block from the base of {cut.id.replace('/', ', ')} "
                        "to the railhead above it, before the shaft is cut"
                    ),
                    jac=(above.railhead - cut.base).padded(n).jac,
                    sd=BLOCK,
                )
            )
            if support.given.kind is SupportKind.STRADDLE_BENT:
                at = track_point(alignments.line(lower), np.array([structures.choices.lower_station]))
                found.append(
                    Candidate(
                        id=f"{cut.id}/lower railhead above base",
                        text=(
                            f"Gauge with a stepped block from the base of {cut.id.replace('/', ', ')} "
                            f"up to the railhead of line {lower} beside it"
                        ),
                        jac=(at.z[0] - cut.base).padded(n).jac,
                        sd=BLOCK,
                    )
                )
    return tuple(found)


def _chord(vehicle: Vehicle) -> float:
    """Return a chord as long as the vehicle's widest truck spacing, to the next 10 mm."""
    return 10.0 * float(np.ceil(max(body.truck_spacing for body in vehicle.bodies) / 10.0))


def _at_structure(line: Line, gap: Gap, chord: float) -> tuple[Candidate, ...]:
    """Offer a versine and a cross level on the train's own line where the closest point is."""
    if not np.isfinite(gap.station):
        return ()
    low, high = line.surveyed
    half = 0.5 * chord
    if not low + half < gap.station < high - half:
        return ()
    n = line.plan.jac.shape[-1]
    s = np.array([gap.station - half, gap.station, gap.station + half])
    track = track_point(line, s)
    dx, dy = track.x[2] - track.x[0], track.y[2] - track.y[0]
    ordinate = ((track.y[1] - track.y[0]) * dx - (track.x[1] - track.x[0]) * dy) / dv.sqrt(dx * dx + dy * dy)
    return (
        Candidate(
            id=f"versine/{line.name}",
            text=(
                f"Read the versine of line {line.name} at the structure, "
                f"on a chord of {chord:.0f} mm along one rail"
            ),
            jac=ordinate.padded(n).jac,
            sd=VERSINE,
        ),
        Candidate(
            id=f"cross level/{line.name}",
            text=f"Read the cross level of line {line.name} at the structure with block and feeler",
            jac=track.cant[1].padded(n).jac,
            sd=CROSS_LEVEL,
        ),
    )

"""Each stage as a part of the document for other programs.

Every number is ``{"value", "unit", "u"}`` with its standard uncertainty (k = 1); a number that has no
finite value is null and says why. Ids are stable: they are those that a later reading may name.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from spanwright.advice.given import Advice, Step
from spanwright.alignment.crossing import Crossing, off_square
from spanwright.alignment.line import track_point
from spanwright.alignment.stage import Alignments, LaidLine, Stretch
from spanwright.clearance.chance.joint import GapChance, JointRisk, gap_chances, joint_risk
from spanwright.clearance.gauges.gaps import GaugeGap
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.estimation.budget import budget
from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.coverage import Chance
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Verdict
from spanwright.structures.stage import Structures
from spanwright.survey.stage import AdjustedSurvey

_AXES = {
    "x": ("first coordinate", "mm"),
    "y": ("second coordinate", "mm"),
    "z": ("height", "mm"),
    "c": ("cant, right rail above left", "mm"),
}

Document = dict[str, Any]


def number(value: float, unit: str, u: float | None = 0.0, *, why: str = "") -> Document:
    """Return one number with its unit and standard uncertainty.

    Parameters
    ----------
    value : float
        The value; not finite gives null. [any]
    unit : str
        ``mm``, ``rad``, ``1`` or ``1/mm``.
    u : float or None
        Standard uncertainty; 0 for what is exact or decided, None where it is not reckoned. [any]
    why : str
        Why it has no value, or no uncertainty.

    Returns
    -------
    dict
        ``value``, ``unit``, ``u``, and ``reason`` where one of them is null.
    """
    held = float(value) if np.isfinite(value) else None
    doubt = float(u) if u is not None and held is not None and np.isfinite(u) else None
    found: Document = {"value": held, "unit": unit, "u": doubt}
    if held is None or doubt is None:
        found["reason"] = why or "not known"
    return found


def _of(number_: Derived, unit: str, inputs: Inputs) -> Document:
    return number(float(number_.value), unit, float(number_.sd(inputs.spread)))


def _quantity(key: str, label: str, held: Document) -> Document:
    return {"id": key, "label": label, **held}


def _shares(number_: Derived, inputs: Inputs) -> list[Document]:
    return [{"id": s.id, "label": s.label, "share": s.share} for s in budget(number_.jac, inputs)]


# ---------------------------------------------------------------- survey


def survey_document(survey: AdjustedSurvey, inputs: Inputs) -> Document:
    """Return the survey stage.

    Parameters
    ----------
    survey : AdjustedSurvey
        The stage's result.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    dict
        Quantities, readings, suspects, and which scale of the doubts is used.
    """
    found = survey.adjustment
    spread = 1.0 / np.sqrt(2.0 * found.degrees_of_freedom) if found.degrees_of_freedom > 0 else None
    return {
        "quantities": [_adjusted(name, k, survey, inputs) for k, name in enumerate(survey.names)],
        "marks": [
            {
                "name": m.name,
                "line": m.line,
                "rail": m.rail.value if m.rail else "",
                "face": m.face.value if m.face else "",
            }
            for m in survey.marks
        ],
        "readings": _readings(survey, inputs),
        "suspects": [
            {
                "readings": [
                    {
                        "id": key,
                        "standardised": number(w, "1", 1.0),
                        "slip": number(slip, inputs[key].unit, None, why="not reckoned"),
                    }
                    for key, w, slip in zip(s.readings, s.standardised, s.slips, strict=True)
                ]
            }
            for s in survey.suspects
        ],
        "limit": number(survey.limit, "1"),
        "doubts": {
            "used": "declared",
            "degrees_of_freedom": found.degrees_of_freedom,
            "posterior_scale": number(
                found.scale if spread is not None else np.nan,
                "1",
                None if spread is None else spread * found.scale,
                why="no reading to spare",
            ),
        },
    }


def _adjusted(name: str, column: int, survey: AdjustedSurvey, inputs: Inputs) -> Document:
    held = survey.values[column]
    mark, _, axis = name.rpartition(".")
    if mark and axis in _AXES:
        label, unit = _AXES[axis]
        return _quantity(f"{mark}/{axis}", f"{label} of {mark}", _of(held, unit, inputs))
    return _quantity(f"adjusted/{name}", inputs[name].label, _of(held, inputs[name].unit, inputs))


def _readings(survey: AdjustedSurvey, inputs: Inputs) -> list[Document]:
    found = survey.adjustment
    doubts = Derived(found.residuals, survey.residual_by_input).sd(inputs.spread)
    readings = []
    for k, key in enumerate(survey.reading_ids):
        item = inputs[key]
        checked = key not in survey.unchecked
        readings.append(
            {
                "id": key,
                "label": item.label,
                "read": number(item.value, item.unit, item.sd),
                "residual": number(float(found.residuals[k]), item.unit, float(doubts[k])),
                "redundancy": number(float(found.redundancy[k]), "1"),
                "standardised": number(
                    float(found.standardised[k]) if checked else np.nan,
                    "1",
                    1.0,
                    why="nothing else checks it",
                ),
                "checked": checked,
            }
        )
    return readings


# ---------------------------------------------------------------- alignment


def alignment_document(alignment: Alignments) -> Document:
    """Return the alignment stage.

    Parameters
    ----------
    alignment : Alignments
        The stage's result.

    Returns
    -------
    dict
        Quantities, lines, crossings.
    """
    return {
        "quantities": [q for c in alignment.crossings for q in _crossing(c, alignment)],
        "lines": [_line(laid, alignment.inputs) for laid in alignment.lines],
        "crossings": [
            {"id": c.id, "upper": c.upper, "lower": c.lower, "surveyed": c.surveyed}
            for c in alignment.crossings
        ],
    }


def _line(laid: LaidLine, inputs: Inputs) -> Document:
    marks: list[Document] = []
    if laid.stations is not None:
        for k, name in enumerate(laid.mark_names):
            offset = number(float(laid.residuals[k]), "mm", None, why="not reckoned")
            marks.append({"name": name, "station": _of(laid.stations[k], "mm", inputs), "offset": offset})
    return {
        "name": laid.line.name,
        "laid": laid.stations is not None,
        "surveyed": [number(s, "mm") for s in laid.line.surveyed],
        "shortest_wave": number(laid.shortest_wave, "mm"),
        "description": [_stretch(s) for s in laid.description],
        "marks": marks,
    }


def _stretch(stretch: Stretch) -> Document:
    found: Document = {
        "kind": stretch.kind,
        "start": number(stretch.start, "mm", None, why="not reckoned"),
        "end": number(stretch.end, "mm", None, why="not reckoned"),
    }
    if np.isfinite(stretch.radius):
        found["radius"] = number(stretch.radius, "mm", stretch.radius_doubt)
    return found


def _crossing(crossing: Crossing, alignment: Alignments) -> Iterable[Document]:
    inputs, key, centre = alignment.inputs, crossing.id, crossing.centre
    between, askew = off_square(crossing)
    told = [
        ("angle between", "angle between the lines", "rad", between),
        ("angle off square", "angle off square", "rad", askew),
        ("upper station", f"station on {crossing.upper}", "mm", centre.upper_station),
        ("lower station", f"station on {crossing.lower}", "mm", centre.lower_station),
        ("x", "first coordinate of the crossing", "mm", centre.x),
        ("y", "second coordinate of the crossing", "mm", centre.y),
        ("separation", "railhead above railhead at the track centres", "mm", centre.separation),
    ]
    for rail in crossing.rails:
        over = f"{rail.upper_rail} over {rail.lower_rail}"
        told.append((over, f"railhead above railhead, {over}", "mm", rail.separation))
    for word, name, station in (
        ("upper", crossing.upper, centre.upper_station),
        ("lower", crossing.lower, centre.lower_station),
    ):
        there = track_point(alignment.line(name), station.value.reshape(1))
        grade, cant = there.grade[0], there.cant[0]
        told.append((f"{word} grade", f"grade of {name} there, rising with station", "1", grade))
        told.append((f"{word} cant", f"cant of {name} there, right rail above left", "mm", cant))
    return (_quantity(f"{key}/{end}", label, _of(held, unit, inputs)) for end, label, unit, held in told)


# ---------------------------------------------------------------- structures


def structures_document(structures: Structures, inputs: Inputs) -> Document:
    """Return the structures stage.

    Parameters
    ----------
    structures : Structures
        The stage's result.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    dict
        Quantities, spans, supports, bearings with layers and budgets, cuts.
    """
    return {
        "quantities": [_quantity(q.id, q.label, _of(q.value, q.unit, inputs)) for q in structures.quantities],
        "spans": [
            {
                "name": s.axis.given.name,
                "start": s.axis.given.start,
                "end": s.axis.given.end,
                "tie_length": number(s.tie_length, "mm"),
            }
            for s in structures.spans
        ],
        "supports": [
            {
                "name": s.given.name,
                "kind": s.given.kind.value,
                "station": number(s.station, "mm"),
                "x": _of(s.footprint.x, "mm", inputs),
                "y": _of(s.footprint.y, "mm", inputs),
                "cuts": [{"id": c.id, "cut_to": number(c.length, "mm")} for c in s.cuts],
            }
            for s in structures.supports
        ],
        "bearings": [
            {
                "id": b.id,
                "span": b.span,
                "support": b.support,
                "end": b.end,
                "side": b.side,
                "x": _of(b.x, "mm", inputs),
                "y": _of(b.y, "mm", inputs),
                "station": _of(b.station, "mm", inputs),
                "seat": _of(b.seat, "mm", inputs),
                "layers": [
                    {"name": layer.name, "thickness": _of(layer.thickness, "mm", inputs)}
                    for layer in b.layers
                ],
                "budget": _shares(b.seat, inputs),
            }
            for b in structures.bearings
        ],
    }


# ---------------------------------------------------------------- clearance


def clearance_document(
    clearance: ClearanceResult, settings: ClearanceInput, inputs: Inputs, advices: tuple[Advice, ...] = ()
) -> Document:
    """Return the clearance stage.

    Parameters
    ----------
    clearance : ClearanceResult
        The stage's result.
    settings : ClearanceInput
        The margins.
    inputs : Inputs
        The base inputs.
    advices : tuple of Advice
        What to measure next.

    Returns
    -------
    dict
        Counts of the verdicts, margins, gaps with budgets, advice.
    """
    return {
        "verdicts": {v.value: sum(g.verdict is v for g in clearance.gaps) for v in Verdict},
        "margin_side": number(settings.margin_side, "mm"),
        "margin_above": number(settings.margin_above, "mm"),
        "joint_risk": _joint_risk(joint_risk(clearance, inputs.spread)),
        "gaps": [_gap(g, settings, inputs) for g in clearance.gaps],
        "gauge_gaps": [_gauge_gap(g, inputs) for g in clearance.gauge_gaps],
        "advice": [_advice(a) for a in advices],
    }


def _advice(advice: Advice) -> Document:
    step = advice.next
    found: Document = {
        "gap": advice.gap,
        "reading": advice.reading,
        "text": step.text if step else advice.text,
        "u_before": number(advice.before, "mm"),
        "u_after": number(advice.after, "mm"),
        "settles": bool(step and step.outlook and step.outlook.as_is in (Verdict.CLEAR, Verdict.FOUL)),
        "chance": advice.settled,
        "chance_of_all": advice.chance_of_all,
        "no_reading_settles": advice.hopeless,
        "plan": [_step(one) for one in advice.steps],
    }
    return found | ({"later": _step(advice.beyond)} if advice.beyond else {})


def _step(step: Step) -> Document:
    return {
        "reading": step.reading,
        "text": step.text,
        "tool": step.tool,
        "when": step.later,
        "to": number(step.sd, step.unit),
        "u_after": number(step.after, "mm"),
        "chances": {word.value: part for word, part in step.outlook.chances.items()} if step.outlook else {},
    }


def _gap(gap: Gap, settings: ClearanceInput, inputs: Inputs) -> Document:
    found: Document = {
        "id": gap.id,
        "line": gap.line,
        "vehicle": gap.vehicle,
        "part": gap.part,
        "verdict": gap.verdict.value,
        "reason": gap.reason,
        "suspects": list(gap.suspects),
        "side": gap.side,
        "travel": gap.travel,
        "surveyed": gap.surveyed,
    }
    if gap.beyond_reach:
        why = "beyond the reach of the search: see more_than"
        found |= {
            "gap": number(np.nan, "mm", None, why=why),
            "beyond_margin": number(np.nan, "mm", None, why=why),
        }
        found["more_than"] = number(float(gap.gap.value), "mm")
    else:
        why = f"it touches, and no travel up, left or right within {settings.freeing_limit:g} mm frees it"
        found["gap"] = number(float(gap.gap.value), "mm", gap.u, why=why)
        found["beyond_margin"] = number(float(gap.margin_gap.value), "mm", gap.margin_u, why=why)
    if np.isfinite(gap.station) and np.all(np.isfinite(gap.where)):
        found["station"] = number(gap.station, "mm")
        found["where"] = _point(gap.where)
    for told in gap_chances((gap,), inputs.spread, k=settings.k):
        found["chance"] = _gap_chance(told)
    found["budget"] = _shares(gap.gap, inputs)
    return found


def _gap_chance(told: GapChance) -> Document:
    return {
        "method": told.method.value,
        "places": told.places,
        "least": number(told.least.mean, "mm", told.least.u),
        "low": number(told.least.low, "mm"),
        "high": number(told.least.high, "mm"),
        "touches": _chance(told.touches),
        "short_of_margin": _chance(told.short),
    }


def _chance(told: Chance) -> Document:
    return {"part": told.part, "at_most": told.at_most, "draws": told.draws}


def _joint_risk(risk: JointRisk) -> Document:
    return {
        "clear": risk.clear,
        "clear_or_tight": risk.passing,
        "short_of_margin": _chance(risk.short),
        "touches": _chance(risk.touches),
        "short_of_margin_sum": number(risk.short_sum, "1"),
        "touches_sum": number(risk.touches_sum, "1"),
    }


def _point(where: Iterable[float]) -> Document:
    return {
        axis: number(float(value), "mm", None, why="not reckoned")
        for axis, value in zip(("x", "y", "z"), where, strict=True)
    }


def _gauge_gap(gap: GaugeGap, inputs: Inputs) -> Document:
    why = "beyond the reach of the search: see more_than" if gap.beyond_reach else ""
    found: Document = {
        "id": gap.id,
        "gauge": gap.gauge,
        "line": gap.line,
        "part": gap.part,
        "gap": number(np.nan if why else float(gap.gap.value), "mm", gap.u, why=why),
        "within": gap.is_inside,
        "side": gap.side,
        "surveyed": gap.surveyed,
        "widened_each_side": number(gap.each_side, "mm"),
        "note": gap.note,
        "budget": _shares(gap.gap, inputs),
    }
    if gap.beyond_reach:
        return {**found, "more_than": number(float(gap.gap.value), "mm")}
    return {**found, "station": number(gap.station, "mm"), "where": _point(gap.where)}

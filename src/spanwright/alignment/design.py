"""A line that is not laid yet: its elements are its definition."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from spanwright.alignment.given import ElementKind, LineInput
from spanwright.alignment.line import Line
from spanwright.errors import InputError
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.geometry.chain import Chain

FloatArray = np.ndarray

#: A jump of curvature or grade is a ramp of this length. [mm]
JUMP = 1e-4


def _curvature_knots(given: LineInput) -> tuple[FloatArray, FloatArray]:
    design = given.design
    if design is None or not design.elements:
        raise InputError("a designed line needs elements", code="AL010", where=given.name)
    levels: list[tuple[float, float, float]] = []
    s = 0.0
    for element in design.elements:
        if not element.length > 0:
            raise InputError(
                "an element needs a length", code="AL011", where=given.name, value=element.length
            )
        if element.kind is ElementKind.ARC and not np.isfinite(element.radius):
            raise InputError("an arc needs a radius", code="AL012", where=given.name, value=element.radius)
        level = 1.0 / element.radius if element.kind is ElementKind.ARC else 0.0
        levels.append((s, s + element.length, level))
        s += element.length
    kinds = [e.kind for e in design.elements]
    knots, values = [], []
    for k, (start, end, level) in enumerate(levels):
        if kinds[k] is ElementKind.EASEMENT:
            before = levels[k - 1][2] if k > 0 and kinds[k - 1] is not ElementKind.EASEMENT else 0.0
            after = (
                levels[k + 1][2] if k + 1 < len(levels) and kinds[k + 1] is not ElementKind.EASEMENT else 0.0
            )
            ends = (before, after)
        else:
            ends = (level, level)
        knots += [start + JUMP, end - JUMP] if k else [start, end - JUMP]
        values += list(ends)
    knots[-1] = s
    return np.array(knots), np.array(values)


def _profile(given: LineInput, length: float) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Grade knots and values, cant knots and values; the centre lies half the cant above the low rail."""
    design = given.design
    if design is None or len(design.heights) < 2:
        raise InputError("a designed line needs two heights at least", code="AL013", where=given.name)
    at = np.array([s for s, _ in design.heights])
    z = np.array([h for _, h in design.heights])
    if np.any(np.diff(at) <= 0):
        raise InputError(
            "heights must come in station order", code="AL014", where=given.name, value=at.tolist()
        )
    grades = np.diff(z) / np.diff(at)
    half = max(design.vertical_curve / 2.0, JUMP)
    knots: list[float] = [float(at[0])]
    values: list[float] = [float(grades[0])]
    for k in range(1, len(at) - 1):
        knots += [float(at[k] - half), float(at[k] + half)]
        values += [float(grades[k - 1]), float(grades[k])]
    knots.append(max(float(at[-1]), length))
    values.append(float(grades[-1]))
    if np.any(np.diff(knots) <= 0):
        raise InputError(
            "vertical curves overlap",
            code="AL015",
            where=given.name,
            value=design.vertical_curve,
            hint="Shorten the vertical curve or move the heights apart",
        )
    cants = _with_level_places(design.cants or ((0.0, 0.0), (length, 0.0)))
    cant_knots = np.array([s for s, _ in cants])
    cant = np.array([e for _, e in cants])
    union = set(knots)
    for s in cant_knots.tolist():
        union |= {s - JUMP, s + JUMP}
    grid = np.array(sorted(u for u in union if knots[0] <= u <= knots[-1]))
    lift = np.interp(grid, knots, values)
    slope = np.diff(np.abs(cant)) / np.diff(cant_knots) if len(cant_knots) > 1 else np.zeros(0)
    for k, steep in enumerate(slope):
        inside = (grid >= cant_knots[k]) & (grid <= cant_knots[k + 1])
        edge = (grid == cant_knots[k] - JUMP) | (grid == cant_knots[k + 1] + JUMP)
        lift = lift + np.where(inside & ~edge, 0.5 * steep, 0.0)
    return grid, lift, cant_knots, cant


def _with_level_places(cants: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """Add a corner where the cant changes sides: there the other rail becomes the low one."""
    found = list(cants[:1])
    for (s, e), (t, f) in pairwise(cants):
        if e * f < 0.0:
            found.append((s + (t - s) * e / (e - f), 0.0))
        found.append((t, f))
    return tuple(found)


def designed_line(given: LineInput, inputs: Inputs, head_distance: Derived) -> Line:
    """Build a line from its elements.

    Parameters
    ----------
    given : LineInput
        With a design.
    inputs : Inputs
        The base inputs.
    head_distance : Derived
        Distance of the rail-head centres.

    Returns
    -------
    Line
        The designed line; its doubts are those of laying it.

    Raises
    ------
    InputError
        If the design is incomplete or contradicts itself.
    """
    design = given.design
    if design is None:
        raise InputError("this line has no design", code="AL016", where=given.name)
    knots, curvature = _curvature_knots(given)
    chain = Chain(start=(design.x, design.y), heading=design.heading, knots=knots, curvature=curvature)
    grade_knots, grades, cant_knots, cant = _profile(given, float(knots[-1]))
    low = design.heights[0][1] + 0.5 * abs(float(np.interp(grade_knots[0], cant_knots, cant)))
    n = len(inputs)
    plan = dv.constant(np.concatenate([[design.x, design.y, design.heading], curvature]), n)
    profile = dv.constant(np.concatenate([[low], grades]), n)
    plan_jac, profile_jac = plan.jac.copy(), profile.jac.copy()
    if design.plan_doubt:
        column = inputs.column(design.plan_doubt)
        plan_jac[0, column], plan_jac[1, column] = -np.sin(design.heading), np.cos(design.heading)
    if design.along_doubt:
        column = inputs.column(design.along_doubt)
        plan_jac[0, column], plan_jac[1, column] = np.cos(design.heading), np.sin(design.heading)
    if design.height_doubt:
        profile_jac[0, inputs.column(design.height_doubt)] = 1.0
    return Line(
        name=given.name,
        chain=chain,
        plan=Derived(plan.value, plan_jac),
        grade_knots=grade_knots,
        profile=Derived(profile.value, profile_jac),
        cant_knots=cant_knots,
        cant=dv.constant(cant, n),
        head_distance=head_distance,
        surveyed=(0.0, float(knots[-1])),
    )

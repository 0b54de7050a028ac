"""The laid line in plan, as it is: elements, waviness and honest doubt.

The curvature at each knot of a chain of short clothoids is the sum of

* the widest family of elements (tangent, easement, arc, easement, tangent for each curve; an easement
  may shrink to nothing), averaged over the width of a knot so that it varies smoothly, and
* a waviness whose strength and length are averaged over, not picked, with a floor by kind of track.

All is found at once by the marks' offsets from the chain, weighted by the survey's covariance
(maximum a posteriori, Newton with the full second derivatives). What the marks cannot see is handed
on as *unseen* base inputs, so that doubt between marks is as large as it should be.

Read :func:`fit_plan`, then ``geometry.offsets``, then :func:`_curvature`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.rough_line import PER_CURVE, rough_line
from spanwright.errors import NotConvergedError
from spanwright.estimation.averaged import Averaged, average_priors, compressed, symmetric_root
from spanwright.estimation.derived import Derived
from spanwright.geometry.chain import Chain
from spanwright.geometry.offsets import Offsets, offsets, second_by_state

FloatArray = np.ndarray

#: Strengths (rms sideways, at the length :data:`AT_LENGTH`) and lengths of waviness that are thought possible
#: (common practice, no source). A length l belongs to waves of about pi times l.
STRENGTHS = (0.03, 0.06, 0.12, 0.25, 0.5, 1.0)
LENGTHS = (45.0, 75.0, 120.0, 200.0)
AT_LENGTH = 120.0
KNOT_SPACING = 32.0
#: Longest step at once, in units of the prior's own doubts; beyond it the quadratic model means nothing.
LONGEST_STEP = 2.0
#: Marks are believed to this at first, then with doubts smaller by the root of CLOSER each time. [mm]
LOOSEST, CLOSER = 3.0, 8.0
#: Largest turn between two knots that a step may try. [rad]
SHARPEST = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Waviness:
    """What is believed of how track wanders sideways, before its marks are looked at.

    Parameters
    ----------
    floor : float
        Least strength, rms of waves that belong to :data:`AT_LENGTH`. [mm]
    fall : float
        The strength of waves goes with this power of their length: 0 where short ones may be as strong as
        long ones, 1.5 where every short piece is bent a little wrong by itself. [1]
    """

    floor: float
    fall: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanChoices:
    """What is held when the fit is differentiated or replayed.

    Parameters
    ----------
    origin : tuple of float
        Station nought lies on the normal through this point. [mm]
    direction : float
        Direction of the line there, roughly. [rad]
    knots : ndarray, shape (k,)
        Stations of the knots. [mm]
    centre : ndarray, shape (p,)
        Centre of the priors: rough elements, no waviness. [any]
    root : ndarray, shape (p, r)
        Root of the prior covariance. [any]
    spread : ndarray, shape (p, t)
        Spread of the members of the average. [any]
    mix : ndarray, shape (t, u), or None
        What each unseen input is made of; None until it is decided. [1]
    weights : ndarray, shape (m,)
        Weights of the members, strengths first, then lengths. [1]
    weight_matrix : ndarray, shape (n, n)
        Inverse covariance of the marks' offsets. [1/mm]
    start : ndarray, shape (p,)
        Where Newton starts. [any]
    """

    origin: tuple[float, float]
    direction: float
    knots: FloatArray
    centre: FloatArray
    root: FloatArray
    spread: FloatArray
    mix: FloatArray | None
    weights: FloatArray
    weight_matrix: FloatArray
    start: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanFit:
    """The fitted plan.

    Parameters
    ----------
    chain : Chain
        At best values.
    state : Derived
        ``x0, y0, heading0, curvature at the knots``, without the unseen inputs.
    elements : Derived
        ``curvature, middle and log length of the first easement, of the second`` for each curve.
    unseen : ndarray, shape (k + 3, t)
        Effect on the state of each unseen input of doubt 1. [any]
    unseen_elements : ndarray, shape (e, t)
        Effect on the elements. [any]
    stations : Derived
        Station of each mark's foot.
    residuals : ndarray, shape (n,)
        Marks' offsets less those of the fitted line, left positive. [mm]
    choices : PlanChoices
        What was held.
    """

    chain: Chain
    state: Derived
    elements: Derived
    unseen: FloatArray
    unseen_elements: FloatArray
    stations: Derived
    residuals: FloatArray
    choices: PlanChoices


def waviness_priors(knots: FloatArray, waviness: Waviness) -> tuple[FloatArray, FloatArray]:
    """Return the covariance of knot curvatures for each strength and length of waviness.

    Parameters
    ----------
    knots : ndarray, shape (k,)
        Stations. [mm]
    waviness : Waviness
        Least strength, and how it goes with the length.

    Returns
    -------
    covariances : ndarray, shape (m, k, k)
        One for each member. [any]
    log_prior : ndarray, shape (m,)
        Log weights before the data, equal. [1]

    Notes
    -----
    The sideways waviness is a stationary process with covariance ``a^2 exp(-r^2 / 2 l^2)``; its
    curvature is the second derivative, with covariance
    ``a^2 / l^4 (3 - 6 r^2 / l^2 + r^4 / l^4) exp(-r^2 / 2 l^2)``.

    Curvature that errs by itself in every short piece has an even spectrum; the sideways spectrum, twice
    integrated, then falls with the fourth power of the wave number, and the rms of an octave of waves
    grows with their length to the power 1.5. So does the spectrum of the alignment of full-size track at its
    short waves (US Federal Railroad Administration, from memory). See
    ``docs/decisions/0021-short-waves-are-weaker.md``.
    """
    r = knots[:, None] - knots[None, :]
    found = []
    for a in STRENGTHS:
        for length in LENGTHS:
            q = (r / length) ** 2
            strength = max(a, waviness.floor) * (length / AT_LENGTH) ** waviness.fall
            found.append(strength**2 / length**4 * (3.0 - 6.0 * q + q**2) * np.exp(-0.5 * q))
    return np.array(found), np.zeros(len(found))


def _curvature(p: FloatArray, knots: FloatArray, curves: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Curvature at the knots by parameters: value (k,), derivatives (k, p), second (k, e, e)."""
    k = len(knots)
    e = PER_CURVE * curves
    value = p[2 + e :].copy()
    first = np.zeros((k, len(p)))
    first[:, 2 + e :] = np.eye(k)
    second = np.zeros((k, e, e))
    for c in range(curves):
        low = PER_CURVE * c
        kappa = p[2 + low]
        for own, sign in ((low + np.array([1, 2]), 1.0), (low + np.array([3, 4]), -1.0)):
            ramp, slope, bend = _ramp(knots, *p[2 + own])
            value = value + sign * kappa * ramp
            first[:, 2 + low] += sign * ramp
            first[:, 2 + own] = sign * kappa * slope
            second[:, low, own] = second[:, own, low] = sign * slope
            second[:, own[:, None], own] = sign * kappa * bend
    return value, first, second


def _ramp(s: FloatArray, middle: float, log_length: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Easement from 0 to 1 about its middle, averaged over hats; first and second derivatives.

    They are to the middle and to the log of the length: shapes (k,), (k, 2), (k, 2, 2).
    """
    length = np.exp(log_length)
    from_ends = s - middle + np.array([[0.5], [-0.5]]) * length
    over = np.maximum(np.stack([from_ends + KNOT_SPACING, from_ends, from_ends - KNOT_SPACING]), 0.0)

    def averaged(of: FloatArray) -> FloatArray:
        return (of[0] - 2.0 * of[1] + of[2]) / (6.0 * KNOT_SPACING**2)

    a, slope, bend = averaged(over**3), averaged(3.0 * over**2), averaged(6.0 * over)
    ramp = (a[0] - a[1]) / length
    by_middle, by_log = (slope[1] - slope[0]) / length, 0.5 * (slope[0] + slope[1]) - ramp
    mixed = -0.5 * (bend[0] + bend[1]) - by_middle
    by_both = np.array(
        [[(bend[0] - bend[1]) / length, mixed], [mixed, 0.25 * length * (bend[0] - bend[1]) - by_log]]
    )
    return ramp, np.stack([by_middle, by_log], axis=1), by_both.transpose(2, 0, 1)


def _chain_of(p: FloatArray, choices: PlanChoices, curvature: FloatArray) -> Chain:
    nx, ny = -np.sin(choices.direction), np.cos(choices.direction)
    return Chain(
        start=(choices.origin[0] + p[0] * nx, choices.origin[1] + p[0] * ny),
        heading=choices.direction + p[1],
        knots=choices.knots,
        curvature=curvature,
    )


def _state_by_parameters(p: FloatArray, choices: PlanChoices, first: FloatArray) -> FloatArray:
    k = len(choices.knots)
    by = np.zeros((k + 3, len(p)))
    by[0, 0], by[1, 0] = -np.sin(choices.direction), np.cos(choices.direction)
    by[2, 1] = 1.0
    by[3:] = first
    return by


def _system(
    p: FloatArray, points: FloatArray, wanted: FloatArray, choices: PlanChoices, curves: int
) -> tuple[float, FloatArray, FloatArray, FloatArray, Offsets, Chain, FloatArray]:
    """Cost, gradient and full Hessian of the data part in p, and what they were made from."""
    curvature, first, second = _curvature(p, choices.knots, curves)
    bend = float(np.max(np.abs(curvature))) * float(np.max(np.diff(choices.knots)))
    if bend > SHARPEST:  # a step too far: no track turns by so much between two knots
        raise NotConvergedError("the line curls up", code="AL002", value=bend, limit=SHARPEST)
    chain = _chain_of(p, choices, curvature)
    o = offsets(chain, points)
    r = o.offset - wanted
    pull = choices.weight_matrix @ r
    by = _state_by_parameters(p, choices, first)
    design = o.by_state @ by
    gradient_state = o.by_state.T @ pull
    hessian = design.T @ choices.weight_matrix @ design + by.T @ second_by_state(chain, o, pull) @ by
    e = PER_CURVE * curves
    hessian[2 : 2 + e, 2 : 2 + e] += np.einsum("k,kij->ij", gradient_state[3:], second)
    return float(0.5 * r @ pull), design.T @ pull, hessian, design, o, chain, by


def _damped(full: FloatArray, gauss: FloatArray, damping: float) -> FloatArray:
    """Damp the full second derivatives where they bend upwards all round; else those of Gauss-Newton.

    In the narrow valley of an easement that nearly leaves the survey the latter only zigzag.
    """
    try:
        np.linalg.cholesky(full)
    except np.linalg.LinAlgError:
        full = gauss
    return np.asarray(full + damping * np.diag(np.diag(full)))


def _newton(
    points: FloatArray,
    wanted: FloatArray,
    choices: PlanChoices,
    curves: int,
    *,
    tolerance: float = 1e-9,
    most: int = 200,
) -> tuple[FloatArray, tuple[float, FloatArray, FloatArray, FloatArray, Offsets, Chain, FloatArray]]:
    """Minimise over whitened parameters x: p = centre + root x."""
    root = choices.root
    x = np.linalg.lstsq(root, choices.start - choices.centre, rcond=None)[0]
    damping = 0.0
    system = _system(choices.centre + root @ x, points, wanted, choices, curves)
    cost = system[0] + 0.5 * x @ x
    step_size = np.inf
    for _ in range(most):
        _, gradient, hessian, design, *_ = system
        g = root.T @ gradient + x
        full = root.T @ hessian @ root + np.eye(len(x))
        gauss = root.T @ (design.T @ choices.weight_matrix @ design) @ root + np.eye(len(x))
        matrix = full if damping == 0.0 else _damped(full, gauss, damping)
        step = -np.linalg.solve(matrix, g)
        if damping == 0.0 and step @ g > 0.0:
            damping = 1e-3
            continue
        step = step * min(1.0, LONGEST_STEP / max(float(np.max(np.abs(step))), 1e-300))
        trial = x + step
        step_size = float(np.max(np.abs(step)))
        if damping == 0.0 and step_size < tolerance:
            x = trial
            return choices.centre + root @ x, _system(
                choices.centre + root @ x, points, wanted, choices, curves
            )
        try:
            new = _system(choices.centre + root @ trial, points, wanted, choices, curves)
            new_cost = new[0] + 0.5 * trial @ trial
        except NotConvergedError:
            new_cost = np.inf
        if not new_cost <= cost + 1e-9 * (1.0 + abs(cost)):
            damping = max(damping * 10.0, 1e-3)
            if damping > 1e14:
                break
            continue
        x, cost, system = trial, new_cost, new
        damping = 0.0 if damping < 1e-3 else damping / 10.0
    raise NotConvergedError(
        "the line through the marks does not settle",
        code="AL001",
        hint=(
            "Look for a slip among the readings of its marks (the survey names what disagrees), "
            "for marks in the wrong order, or a wrong number of curves"
        ),
    )


def _choose(
    points: FloatArray, wanted: FloatArray, noise: FloatArray, curves: int, waviness: Waviness
) -> PlanChoices:
    """Find what is to be held: frame, knots, mean prior and weights of the waviness."""
    rough = rough_line(points, wanted, curves)
    knots = np.linspace(0.0, rough.length, max(5, int(np.ceil(rough.length / KNOT_SPACING)) + 1))
    k, e = len(knots), PER_CURVE * curves
    centre = np.concatenate([[0.0, 0.0], rough.elements, np.zeros(k)])
    length = rough.length
    loose = [50.0**2, 0.5**2]
    loose += [0.01**2, (0.4 * length) ** 2, 0.8**2, (0.4 * length) ** 2, 0.8**2] * curves
    waves, log_prior = waviness_priors(knots, waviness)
    priors = np.zeros((len(waves), len(centre), len(centre)))
    priors[:, np.arange(2 + e), np.arange(2 + e)] = loose
    priors[:, 2 + e :, 2 + e :] = waves
    weight_matrix = np.linalg.solve(noise, np.eye(len(noise)))
    weight_matrix = 0.5 * (weight_matrix + weight_matrix.T)
    averaged = Averaged(
        weights=np.zeros(0), root=symmetric_root(priors.mean(axis=0)), spread=np.zeros((len(centre), 0))
    )
    choices = PlanChoices(
        origin=rough.origin,
        direction=rough.direction,
        knots=knots,
        centre=centre,
        root=averaged.root,
        spread=averaged.spread,
        mix=None,
        weights=averaged.weights,
        weight_matrix=weight_matrix,
        start=centre,
    )
    try:
        start, _ = _newton(points, wanted, choices, curves, tolerance=1e-2, most=40)
    except NotConvergedError:
        start = _approach(points, wanted, choices, curves)
    for _ in range(2):  # a pilot with equal weights, then one with the data's weights
        start, system = _newton(points, wanted, replace(choices, start=start), curves, tolerance=1e-4)
        _, _, _, design, o, _, _ = system
        z = -(o.offset - wanted) + design @ (start - centre)
        averaged = average_priors(z, design, noise, priors, log_prior)
        choices = replace(choices, root=averaged.root, spread=averaged.spread, weights=averaged.weights)
        start = centre + _answer(z, design, weight_matrix, averaged.root)
    return replace(choices, start=start)


def _answer(z: FloatArray, design: FloatArray, weight_matrix: FloatArray, root: FloatArray) -> FloatArray:
    """Answer the linear model with another prior.

    The line of the former prior may be far out of what the new one thinks possible: a start there, written
    in the new one's own doubts, is out of reach of Newton's steps.
    """
    seen = design @ root
    matrix = np.eye(root.shape[1]) + seen.T @ weight_matrix @ seen
    return np.asarray(root @ np.linalg.solve(matrix, seen.T @ weight_matrix @ z))


def _approach(points: FloatArray, wanted: FloatArray, choices: PlanChoices, curves: int) -> FloatArray:
    """Walk from the rough line to the marks: believed to millimetres first, then ever more closely."""
    start = choices.start
    sharpest = float(np.max(np.linalg.eigvalsh(choices.weight_matrix)))
    factor = 1.0
    while sharpest * factor > 1.0 / LOOSEST**2:
        factor /= CLOSER
    while factor < 1.0:
        held = replace(choices, weight_matrix=choices.weight_matrix * factor, start=start)
        start, _ = _newton(points, wanted, held, curves, tolerance=0.05)
        factor *= CLOSER
    return start


def fit_plan(
    points: Derived,
    wanted: Derived,
    sds: FloatArray,
    *,
    curves: int,
    waviness: Waviness,
    choices: PlanChoices | None = None,
) -> PlanFit:
    """Fit the laid line to marks at known offsets from it.

    Parameters
    ----------
    points : Derived
        Adjusted marks in station order, shape (n, 2).
    wanted : Derived
        Offset of each mark from the track centre, left positive, shape (n,).
    sds : ndarray, shape (m,)
        Doubts of the base inputs. [any]
    curves : int
        How many separate curves the stretch holds.
    waviness : Waviness
        What is believed of it before the marks are looked at.
    choices : PlanChoices, optional
        Held from an earlier fit.

    Returns
    -------
    PlanFit
        The line with derivatives to the base inputs and the unseen inputs' effects.

    Raises
    ------
    NotConvergedError
        If Newton's steps do not settle.
    """
    width = max(points.jac.shape[-1], wanted.jac.shape[-1])
    points, wanted = points.padded(width), wanted.padded(width)
    if choices is None:
        choices = _choose(points.value, wanted.value, _offset_noise(points, wanted, sds), curves, waviness)
    try:
        p, system = _newton(points.value, wanted.value, choices, curves)
    except NotConvergedError:  # held from an earlier fit, and the marks have moved: too far to step at once
        near = _approach(points.value, wanted.value, choices, curves)
        p, system = _newton(points.value, wanted.value, replace(choices, start=near), curves)
    _, _, hessian, design, o, chain, by = system
    root = choices.root
    full = root.T @ hessian @ root + np.eye(root.shape[1])
    r = o.offset - wanted.value
    pull = choices.weight_matrix @ r
    # dp = -H^-1 [ design^T W dr + (d design)^T W r ] for what was measured
    slope = o.curvature[:, None] * o.ahead_by_state - o.turn_by_state
    turned = (slope / (1.0 - o.curvature * o.offset)[:, None] * pull[:, None]) @ by
    by_point = (design.T @ choices.weight_matrix)[:, :, None] * o.normal[None] + turned.T[
        :, :, None
    ] * o.tangent[None]
    right_points = np.einsum("pni,nij->pj", by_point, points.jac)
    right = right_points - design.T @ choices.weight_matrix @ wanted.jac
    jac = -root @ np.linalg.solve(full, root.T @ right)
    state_value = np.concatenate([chain.start, [chain.heading], chain.curvature])
    gauss = root.T @ (design.T @ choices.weight_matrix @ design) @ root + np.eye(root.shape[1])
    unseen_parameters = np.hstack([root @ np.linalg.solve(gauss, np.eye(root.shape[1])), choices.spread])
    e = PER_CURVE * curves
    effects = np.vstack([by @ unseen_parameters, unseen_parameters[2 : 2 + e]])
    both, mix = compressed(effects, mix=choices.mix)
    state = Derived(state_value, by @ jac)
    station_jac = _station_jac(o, points.jac, state.jac)
    return PlanFit(
        chain=chain,
        state=state,
        elements=Derived(p[2 : 2 + e], jac[2 : 2 + e]),
        unseen=both[: len(state_value)],
        unseen_elements=both[len(state_value) :],
        stations=Derived(o.stations, station_jac),
        residuals=r,
        choices=replace(choices, mix=mix),
    )


def _station_jac(o: Offsets, by_points: FloatArray, state_jac: FloatArray) -> FloatArray:
    by_state = o.turn_by_state * o.offset[:, None] - o.ahead_by_state
    moved = np.einsum("ni,nij->nj", o.tangent, by_points) + by_state @ state_jac
    return moved / (1.0 - o.curvature * o.offset)[:, None]


def _offset_noise(points: Derived, wanted: Derived, sds: FloatArray) -> FloatArray:
    """Covariance of the marks' offsets across the line, direction from neighbour to neighbour."""
    ahead = np.gradient(points.value, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    normal = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    across = Derived(np.zeros(len(normal)), np.einsum("ni,nij->nj", normal, points.jac)) - wanted
    noise = across.covariance(sds)
    return noise + np.eye(len(noise)) * 0.02**2

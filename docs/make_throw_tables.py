"""Write docs/throw_and_lean.md: the engine's throw and lean beside closed forms, and throw beside NEM 103.

Run ``python docs/make_throw_tables.py`` after a change of the sweep. ``tests/unit/docs/test_throw_tables.py`` fails
when the page is stale.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.sweep import body_points, poses
from spanwright.clearance.vehicles import Body, Prism
from spanwright.estimation.derived import constant
from spanwright.geometry.chain import Chain
from spanwright.handbook.tables import table

PAGE = Path(__file__).resolve().parent / "throw_and_lean.md"
HEADS = 17.4  # mm between rail-head centres, 16.5 mm gauge and a head of 0.9 mm
WIDTH, HEIGHT = 33.0, 46.0
CASES = (
    (1200.0, 160.0, 278.0),
    (900.0, 160.0, 278.0),
    (600.0, 160.0, 278.0),
    (600.0, 224.0, 313.0),
    (450.0, 100.0, 140.0),
)
CANTS = (0.3, 0.5, 1.0, 1.5)
HEIGHTS = (10.0, 30.0, 46.0, 74.0)


def arc(radius: float, cant: float = 0.0) -> Line:
    """A long arc that turns left; straight for an infinite radius."""
    curvature = np.zeros(2) if np.isinf(radius) else np.full(2, 1.0 / radius)
    length = 1000.0 if np.isinf(radius) else min(1000.0, 1.5 * radius)
    return Line(
        name="arc",
        chain=Chain(start=(0.0, 0.0), heading=0.0, knots=np.array([0.0, length]), curvature=curvature),
        plan=constant(np.concatenate([np.zeros(3), curvature])),
        grade_knots=np.array([0.0, length]),
        profile=constant(np.zeros(3)),
        cant_knots=np.array([0.0]),
        cant=constant(np.array([cant])),
        head_distance=constant(np.array(HEADS)),
        surveyed=(0.0, length),
    )


def body(spacing: float, length: float) -> Body:
    """A box."""
    half = 0.5 * WIDTH
    section = np.array([[-half, 2.0], [half, 2.0], [half, HEIGHT], [-half, HEIGHT]])
    return Body(
        name="box",
        truck_spacing=spacing,
        prisms=(Prism(rear=-0.5 * length, front=0.5 * length, section=section),),
    )


def swept_throw(radius: float, spacing: float, length: float) -> tuple[float, float]:
    """Throw inside at the middle and outside at the corner, from the engine's pose."""
    line = arc(radius)
    at = poses(line, body(spacing, length), np.array([0.5 * line.surveyed[1]]))
    centre = np.array([0.0, radius])
    inside = body_points(at, np.array([[0.0, 0.5 * WIDTH, 10.0]]))[0, :2]
    outside = body_points(at, np.array([[0.5 * length, -0.5 * WIDTH, 10.0]]))[0, :2]
    return (
        float(radius - 0.5 * WIDTH - np.hypot(*(inside - centre))),
        float(np.hypot(*(outside - centre)) - radius - 0.5 * WIDTH),
    )


def closed_throw(radius: float, spacing: float, length: float) -> tuple[float, float]:
    """The same from the chord between the pivots: Pythagoras twice."""
    chord = np.sqrt(radius**2 - 0.25 * spacing**2)
    return float(radius - chord), float(np.hypot(chord + 0.5 * WIDTH, 0.5 * length) - radius - 0.5 * WIDTH)


def lean(cant: float, height: float) -> tuple[float, float]:
    """Sideways shift at a height: the engine's, and height times cant over the rail-head distance."""
    at = poses(arc(np.inf, cant), body(160.0, 278.0), np.array([500.0]))
    return float(body_points(at, np.array([[0.0, 0.0, height]]))[0, 1]), height * cant / HEADS


def page() -> str:
    """The page."""
    lines = [
        "# Throw and lean: the engine beside closed forms and a norm",
        "",
        "Made by `python docs/make_throw_tables.py`. All in mm.",
        "",
        "## Throw on an arc",
        "",
        f"A box {WIDTH:g} wide whose truck centres stand on an arc. Closed forms: inside, at the middle, `R - sqrt(R^2 - a^2/4)`;",
        "outside, at the corner, `hypot(sqrt(R^2 - a^2/4) + w/2, L/2) - R - w/2` (a truck spacing, L length, w width). The usual",
        "first order, `a^2/8R` and `(L^2 - a^2)/8R`, stands beside them.",
        "",
        "| radius | truck spacing | length | inside, engine | closed form | a²/8R | outside, engine | closed form | (L² - a²)/8R |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for radius, spacing, length in CASES:
        swept, closed = swept_throw(radius, spacing, length), closed_throw(radius, spacing, length)
        first = spacing**2 / (8 * radius), (length**2 - spacing**2) / (8 * radius)
        cells = [f"{v:.4f}" for pair in zip(swept, closed, first, strict=True) for v in pair]
        row = [f"{radius:g}", f"{spacing:g}", f"{length:g}", *cells]
        lines.append(f"| {' | '.join(row)} |")
    lines += [
        "",
        "## Lean by cant",
        "",
        f"Sideways shift of a point h above the railhead, rail heads {HEADS:g} apart; in brackets h e/b.",
        "",
        f"| cant e | {' | '.join(f'h = {h:g}' for h in HEIGHTS)} |",
        f"| --- | {' | '.join('---' for _ in HEIGHTS)} |",
    ]
    for cant in CANTS:
        cells = []
        for height in HEIGHTS:
            swept, first = lean(cant, height)
            cells.append(f"{swept:.3f} ({first:.3f})")
        lines.append(f"| {cant:g} | {' | '.join(cells)} |")
    return "\n".join([*lines, *_norm()]) + "\n"


def _norm() -> list[str]:
    """Throw beside the widening of NEM 103, H0, group C."""
    length = table("NEM 103 body lengths").values["H0"][2]
    pivots = length * 19.5 / 27.2
    lines = [
        "",
        "## Throw beside NEM 103",
        "",
        f"H0, coach group C: a body of {length:g} on pivots {pivots:.0f} apart (27.2 and 19.5 m at full size). E is the widening of the",
        "gauge on each side that NEM 103 (2016) prints.",
        "",
        "| radius | throw inside | throw outside | E | throw less E |",
        "| --- | --- | --- | --- | --- |",
    ]
    for row in table("NEM 103 widening").values["H0"]:
        if len(row) < 4 or row[3] is None:
            continue
        inside, outside = swept_throw(float(row[0]), pivots, float(length))
        more = max(inside, outside) - row[3]
        lines.append(f"| {row[0]:g} | {inside:.1f} | {outside:.1f} | {row[3]:g} | {more:.1f} |")
    lines += [
        "",
        "E is smaller than the throw in every row. It is not a throw: the gauge leaves room beside a vehicle on straight track,",
        "some 2 mm in H0, and the norm lets the curve use part of that room up. So E is never added to a vehicle's own throw:",
        "that would count it twice, and a gauge widened by E is compared, not obeyed. See [handbook](handbook.md).",
    ]
    return lines


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")

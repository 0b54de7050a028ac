"""Time the search for the least gap beside what a user would otherwise write; try it against brute force.

Run by ``python3 go.py bench clearance``; ``python benchmarks/clearance.py --cases 200`` tries that many
generated cases against every pose at 0.1 mm first. Machines are shared and noisy: read the ratios.
``docs/clearance_speed.md`` records one run.
"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
from clearance_others import footprints, has_mesh_library, part_trees, pose_by_pose, swept_in_plan
from clearance_scene import make_line, make_parts, make_vehicles
from threadpoolctl import threadpool_limits

from spanwright.clearance.engine.search import collect
from spanwright.clearance.least_gap import find, prepare
from spanwright.clearance.witness import SearchSettings

SETTINGS = SearchSettings(reach=25.0)
CORES = 2
SEED = 20261125
TESTS = Path(__file__).resolve().parents[1] / "tests"


def least_gaps(line, vehicles, parts, settings=SETTINGS, cores: int = 1) -> list:
    """Witnesses of each vehicle, from nothing: poses, tables and all."""
    collect.cache_clear()

    def one(vehicle):
        return find(prepare(line, vehicle, settings), parts)

    if cores == 1:
        return [one(v) for v in vehicles]
    with ThreadPoolExecutor(cores) as pool:
        return list(pool.map(one, vehicles))


def seconds(work, repeats: int = 3) -> float:
    """Best of a few runs."""
    best = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def say(*columns: object) -> None:
    """Print a row of a table."""
    print("| " + " | ".join(str(c) for c in columns) + " |", flush=True)


def head(title: str, *columns: str) -> None:
    """Print the head of a table."""
    print(f"\n{title}\n")
    say(*columns)
    say(*("---" for _ in columns))


def beside_others(triangles: int, every: int) -> None:
    """Twenty vehicles: this engine, the mesh library at each 1 mm pose, polygons swept in plan."""
    line, parts, vehicles = make_line(), make_parts(make_line(), triangles), make_vehicles(20)
    count = sum(len(p.triangles) for p in parts)
    ours = seconds(lambda: least_gaps(line, vehicles, parts))
    head(f"20 vehicles, 20 parts, {count:,} triangles, one core", "what", "seconds", "ratio")
    say("this engine, from nothing", f"{ours:.3f}", 1)
    if has_mesh_library():
        trees = part_trees(parts)
        spent = sum(pose_by_pose(line, v, trees, every=every)[0] for v in vehicles)
        told = f"mesh library at 1 mm poses (1 in {every} of them measured)"
        say(told, f"{spent:.1f}", f"{spent / ours:.0f}")
    plans = footprints(parts)
    swept = sum(swept_in_plan(line, v, plans)[0] for v in vehicles)
    say("swept polygons in plan, 1 mm poses", f"{swept:.2f}", f"{swept / ours:.1f}")


def growth() -> None:
    """How the time grows with triangles, vehicles and length."""
    line, vehicles = make_line(), make_vehicles(20)
    head("Growth, one core", "triangles", "vehicles", "length [mm]", "seconds", "ms a vehicle")
    for triangles in (5_000, 20_000, 50_000, 200_000):
        parts = make_parts(line, triangles)
        spent = seconds(lambda parts=parts: least_gaps(line, vehicles, parts))
        say(sum(len(p.triangles) for p in parts), 20, 1200, f"{spent:.3f}", f"{1e3 * spent / 20:.1f}")
    parts = make_parts(line, 5_000)
    for count in (1, 5, 100, 500):
        some = make_vehicles(count)
        spent = seconds(lambda some=some: least_gaps(line, some, parts), 1 if count > 20 else 3)
        say(sum(len(p.triangles) for p in parts), count, 1200, f"{spent:.3f}", f"{1e3 * spent / count:.1f}")
    for length in (2400.0, 4800.0, 9600.0):
        longer = make_line(length)
        parts = make_parts(longer, 5_000)
        spent = seconds(lambda longer=longer, parts=parts: least_gaps(longer, vehicles, parts))
        say(
            sum(len(p.triangles) for p in parts),
            20,
            f"{length:.0f}",
            f"{spent:.3f}",
            f"{1e3 * spent / 20:.1f}",
        )


def goals() -> None:
    """Time the two cases with a goal of their own, and the price of the tolerance."""
    line = make_line()
    parts = make_parts(line, 5_000)
    club = make_vehicles(500)
    head("Goals", "what", "seconds")
    for cores in (1, CORES):
        spent = seconds(lambda cores=cores: least_gaps(line, club, parts, cores=cores), 1)
        say(
            f"500 vehicles, {sum(len(p.triangles) for p in parts):,} triangles, {cores} thread(s)",
            f"{spent:.2f}",
        )
    ready = [prepare(line, v, SETTINGS) for v in club[:20]]
    moves = iter(np.linspace(0.01, 1.0, 1000))

    def edit() -> None:
        part = replace(parts[3], vertices=parts[3].vertices + np.array([0.0, 0.0, next(moves)]))
        for one in ready:
            find(one, (part,))

    say("one part moved, 20 vehicles, warm", f"{seconds(edit, 9):.4f}")
    for tolerance in (0.1, 0.005, 0.0005):
        settings = replace(SETTINGS, tolerance=tolerance)
        spent = seconds(lambda settings=settings: least_gaps(line, club[:20], parts, settings))
        say(f"20 vehicles, tolerance {tolerance:g} mm", f"{spent:.3f}")
    settings = replace(SETTINGS, also_within=1.5)
    say(
        "20 vehicles, other near places too",
        f"{seconds(lambda: least_gaps(line, club[:20], parts, settings)):.3f}",
    )


def cases(count: int) -> None:
    """Try generated cases against every pose at 0.1 mm; print the worst error of each kind."""
    sys.path[:0] = [str(TESTS / "validation" / "clearance"), str(TESTS / "unit" / "clearance"), str(TESTS)]
    from clearance_cases import KINDS, Maker
    from clearance_oracle import least

    errors: dict[str, list[float]] = {kind: [] for kind in KINDS}
    touching = 0
    for number in range(count):
        case = Maker(SEED, number).make()
        true, *_ = least(case.line, case.vehicle, case.pieces, reach=SETTINGS.reach)
        found = find(prepare(case.line, case.vehicle, SETTINGS), (case.shape,))[0].gap
        errors[case.kind].append(found - true)
        touching += true == 0.0
        if abs(found - true) > SETTINGS.tolerance:
            print(f"case {number}, {case.kind}: {true:.5f} true, {found:.5f} found", flush=True)
    title = f"{count} cases of seed {SEED} ({touching} touching) against every pose at 0.1 mm, in micrometres"
    head(title, "kind", "cases", "most too large", "most too small")
    for kind, some in errors.items():
        if some:
            say(kind, len(some), f"{1e3 * max(*some, 0.0):.3f}", f"{-1e3 * min(*some, 0.0):.3f}")


def main() -> None:
    """Run it."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--cases", type=int, default=0)
    wanted = parser.parse_args().cases
    with threadpool_limits(1):  # the matrices are small: more threads only wait for one another
        if wanted:
            cases(wanted)
        beside_others(5_000, every=20)
        beside_others(200_000, every=100)
        growth()
        goals()


if __name__ == "__main__":
    main()

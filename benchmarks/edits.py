"""Time edits of the demo job, by stage, and how they grow with the readings. Prints; judges nothing.

Run by ``python3 go.py bench edits``. Processor time of one core, best of a few runs, in one process and warm;
beside it the same plan from nothing in the same run, and the time by the clock with one thread and with two.
Machines are shared and noisy: read the ratios. The first line tells how much of a second core was free.
"""

from __future__ import annotations

import hashlib
import time
from collections import defaultdict
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from importlib.resources import files

from spanwright.alignment import stage as alignment
from spanwright.clearance import stage as clearance
from spanwright.estimation.inputs import Inputs
from spanwright.files.job_file import load_job
from spanwright.job import derive, derive_again
from spanwright.structures import stage as structures
from spanwright.survey import stage as survey

STAGES = {
    "survey": (survey, "adjust_survey"),
    "alignment": (alignment, "align"),
    "structures": (structures, "fit_structures"),
    "search": (clearance, "_searched"),
    "gaps": (clearance, "assess"),
}


def moved(job, key, by):
    """Move one base input."""
    items = tuple(replace(i, value=i.value + by) if i.id == key else i for i in job.inputs.items)
    return replace(job, inputs=Inputs(items=items))


def with_margin(job, by):
    """Widen the margin to the side."""
    return replace(job, clearance=replace(job.clearance, margin_side=job.clearance.margin_side + by))


def with_wider_train(job):
    """Make the last vehicle a hundredth wider."""
    *others, last = job.clearance.runs
    body = last.vehicle.bodies[0]
    body = replace(body, prisms=tuple(replace(p, section=p.section * [1.01, 1.0]) for p in body.prisms))
    vehicle = replace(last.vehicle, bodies=(body, *last.vehicle.bodies[1:]))
    return replace(job, clearance=replace(job.clearance, runs=(*others, replace(last, vehicle=vehicle))))


def read_again(job, times):
    """Take every reading several times; those after the first say what the adjusted marks would show."""
    items, readings = list(job.inputs.items), list(job.survey.readings)
    found = survey.adjust_survey(job.survey, job.inputs)
    misses = dict(zip(found.reading_ids, found.adjustment.residuals, strict=True))
    for n in range(2, times + 1):
        for reading in job.survey.readings:
            again, first = f"{reading.id}/{n}", job.inputs[reading.id]
            items.append(replace(first, id=again, value=first.value - float(misses[reading.id])))
            readings.append(replace(reading, id=again))
    given = replace(job.survey, readings=tuple(readings))
    return replace(job, survey=given, inputs=Inputs(items=tuple(items)))


@contextmanager
def watched():
    """Add up the processor time of each stage."""
    spent, kept = defaultdict(float), {}

    def watch(name, function):
        def timed(*arguments, **named):
            start = time.process_time()
            try:
                return function(*arguments, **named)
            finally:
                spent[name] += time.process_time() - start

        return timed

    for name, (module, function) in STAGES.items():
        kept[name] = getattr(module, function)
        setattr(module, function, watch(name, kept[name]))
    try:
        yield spent
    finally:
        for name, (module, function) in STAGES.items():
            setattr(module, function, kept[name])


def best(work, repeats):
    """Return the least processor time of a few runs, and that of its stages, in ms."""
    least, stages = float("inf"), {}
    for _ in range(repeats):
        with watched() as spent:
            start = time.process_time()
            work()
            total = time.process_time() - start
        if total < least:
            least, stages = total, dict(spent)
    stages["gaps"] = stages.get("gaps", 0.0) - stages.get("search", 0.0)
    return 1000.0 * least, {name: 1000.0 * stages.get(name, 0.0) for name in STAGES}


def by_clock(work, repeats):
    """Return the least time by the clock of a few runs, in ms."""
    least = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        least = min(least, time.perf_counter() - start)
    return 1000.0 * least


def second_core(pool):
    """Return how much faster two threads hash than one, both without the interpreter's lock: 2 at best."""
    stuff = bytes(50_000_000)
    one = by_clock(lambda: [hashlib.sha256(stuff) for _ in range(2)], 3)
    return one / by_clock(lambda: list(pool.map(hashlib.sha256, [stuff, stuff])), 3)


def show(title, total, stages, *, anew, clock=()):
    """Print one line of the table."""
    cells = "".join(f"{stages[name]:12.0f}" for name in STAGES)
    print(f"{title:<38}{total:8.0f}{cells}{total / anew:10.2f}" + "".join(f"{ms:10.0f}" for ms in clock))


def table(job, edits, repeats, pool):
    """Time edits of one job, at once and until all is searched."""
    before = derive(job)
    for title, edited in edits.items():
        anew, stages = best(lambda e=edited: derive(e), max(1, repeats // 2))
        show(f"{title}: from nothing", anew, stages, anew=anew)
        clock = [
            by_clock(lambda e=edited, m=each: derive(e, before=before, each=m), repeats)
            for each in (map, pool.map)
        ]
        searched = best(lambda e=edited: derive(e, before=before), repeats)
        show("  after the plan before", *searched, anew=anew, clock=clock)
        at_once = [by_clock(lambda e=edited: next(derive_again(e, before)), repeats)]
        show(
            "  at once",
            *best(lambda e=edited: next(derive_again(e, before)), repeats),
            anew=anew,
            clock=at_once,
        )


def main(repeats: int = 5) -> None:
    """Run all of them once over."""
    job = load_job(str(files("spanwright").joinpath("files", "demo")))
    pool = ThreadPoolExecutor(2)
    print(f"two threads do {second_core(pool):.2f} times the work of one on this machine now")
    clocks = f"{'clock':>10}{'2 threads':>10}"
    head = f"{'ms of processor time':<38}{'all':>8}{''.join(f'{name:>12}' for name in STAGES)}"
    print(f"{head}{'ratio':>10}{clocks}")
    edits = {
        "vehicle": with_wider_train(job),
        "handrail": moved(job, "spans/span A/handrail/offset", 1.0),
        "cap": moved(job, "supports/bent/cap", 0.3),
        "clear": moved(job, "supports/bent/clear/left", 1.0),
        "shift": moved(job, "supports/pier 1/shift", 1.0),
        "margin": with_margin(job, 0.2),
        "line raised": moved(job, "lines/upper/raise", 0.4),
        "reading": moved(job, "d05", 0.2),
    }
    table(job, edits, repeats, pool)
    for times in (2, 4):
        more = read_again(job, times)
        count = len(more.survey.readings)
        edits = {
            f"cap, {count} readings": moved(more, "supports/bent/cap", 0.3),
            f"reading, {count} readings": moved(more, "d05", 0.2),
        }
        table(more, edits, max(1, repeats // 2), pool)


if __name__ == "__main__":
    main()

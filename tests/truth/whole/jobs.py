"""The job that a builder would write of a random place: readings, sizes, work and trains, with their truth.

What is read is drawn about its true value with the doubt that the job file declares; what is still to be made comes
out otherwise than planned by as much as the job file says it may.
"""

from __future__ import annotations

import re
from copy import deepcopy
from dataclasses import dataclass, replace

import numpy as np

from spanwright.estimation.inputs import Input, Inputs
from spanwright.files.job_file import job_of
from spanwright.job import Job
from truth import demo
from truth.whole.world import WAVES, World, make_world

TRAINS = 3  # of the demo's, a job
_CALIPER, _STEP = 0.1, 0.01  # what has less doubt was read with a caliper, to this step
_TRULY = {"gauge": demo.GAUGE, "rail_head": demo.HEAD}  # what the marks on the rails were placed with
_OFF = 0.3  # mm that a piece may be otherwise than the demo's


@dataclass
class Known:
    """A job and what is true of it."""

    number: int
    world: World
    job: Job
    true_inputs: Inputs
    would_read: dict[str, float]  # what each reading of the survey would show without its own error
    rng: np.random.Generator


def make_known(date: int, number: int, *, trains: int = TRAINS, waves=WAVES) -> Known:
    """Draw a whole job; every second one has waves."""
    rng = np.random.default_rng([date, number])
    world = make_world(rng, has_waves=number % 2 == 1, waves=waves)
    scale = deepcopy(rng).normal(0.0, demo.TAPE_SCALE)  # as the next line draws it
    shown = demo.draw(world.truth, rng, blunder=False)
    turned = _turn_round(world.truth, shown)
    job = job_of(demo.job_text(world.truth, shown), "job.toml")
    given, true = _inputs(job.inputs, rng)
    runs = job.clearance.runs
    some = sorted(rng.choice(len(runs), size=min(trains, len(runs)), replace=False))
    clearance = replace(job.clearance, runs=tuple(runs[k] for k in some))
    would_read = _would_read(world.truth, job, scale, turned)
    return Known(number, world, replace(job, inputs=given, clearance=clearance), true, would_read, rng)


def _turn_round(truth: demo.Truth, shown: dict[str, float]) -> set[str]:
    """Write a small reading that came out to the other side as the builder sees it, with the sides swapped."""
    turned = set()
    others = {'"aisle"': '"wall"', '"wall"': '"aisle"'}
    for kind in ("cross_levels", "versines"):
        rows = truth.rows[kind]
        for number, (key, row) in enumerate(rows):
            if shown[key] < 0.0:
                turned.add(key)
                shown[key] = -shown[key]
                word = re.search(r'"(aisle|wall)"', row)[0]
                rows[number] = (key, row.replace(word, others[word]))
    return turned


def _would_read(truth: demo.Truth, job: Job, scale: float, turned: set[str]) -> dict[str, float]:
    """Give what was written without a sign the sign that the job holds it with."""
    found = {}
    for key, value in truth.values.items():
        value *= 1.0 + scale if truth.tool[key] == "tape" else 1.0
        if key[0] in "ovc":
            value = np.copysign(value, job.inputs[key].value) * (-1.0 if key in turned else 1.0)
        found[key] = float(value)
    return found


def _inputs(inputs: Inputs, rng: np.random.Generator) -> tuple[Inputs, Inputs]:
    """Return the inputs as the builder knows them and as they are.

    Readings keep the value that the job file gives them; nothing but the survey rests on them.
    """
    given, true, pieces = [], [], {}
    for item in inputs.items:
        value, real = item.value, item.value
        if item.kind == "size" and item.value != 0.0 and item.sd < _CALIPER:
            piece = re.sub(r"/\d+$", "", item.id)
            if piece not in pieces:
                pieces[piece] = _piece(item, piece, rng)
            real = pieces[piece]
            value = round((real + rng.normal(0.0, item.sd)) / _STEP) * _STEP
        elif item.kind in ("size", "cut", "setting out"):
            real = item.value + rng.normal(0.0, item.sd)
        given.append(value)
        true.append(real)
    return inputs.with_values(np.array(given)), inputs.with_values(np.array(true))


def _piece(item: Input, piece: str, rng: np.random.Generator) -> float:
    known = _TRULY.get(piece.rpartition("/")[2])
    off = min(_OFF, 0.1 * item.value)
    return known if known is not None else item.value + rng.uniform(-off, off)

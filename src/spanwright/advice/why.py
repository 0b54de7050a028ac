"""Why a number is as doubtful as it is, and which readings would make it less so.

Any number of the plan may be asked for: a height, an offset, a size to cut, a gap. Its doubt is shared out
over the base inputs; of the readings that can be taken in the state of the work those that shrink it most are
named, one after the other. Read :func:`why` first.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from spanwright.advice.candidates import chord_of, common_candidates, own_candidates, plain_id
from spanwright.advice.given import EASIER, MOST, WORTH, Step, Why
from spanwright.advice.outlook import with_reading
from spanwright.advice.stage import Readable, readable_now_and_later, step
from spanwright.advice.state import work_state
from spanwright.clearance.stage import Gap
from spanwright.estimation.budget import Share, shares
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.job import Plan
from spanwright.measured.numbers import find, plain, readable

FloatArray = np.ndarray

#: Shares below this are not told. [1]
_SMALL = 0.01


def known_numbers(plan: Plan) -> dict[str, tuple[Derived, str]]:
    """List every number of a plan that can be asked for.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    dict of str to tuple
        Number and unit by id: all that can be read, and what the finished work comes to besides.
    """
    units = {item.id: item.unit for item in plan.inputs.items}
    listed = readable(plan.survey, plan.alignment, plan.structures, plan.clearance)
    found = {key: (number, units.get(key, "mm")) for key, number in listed.items()}
    for quantity in plan.structures.quantities if plan.structures else ():
        found[quantity.id] = (quantity.value, quantity.unit)
    for crossing in plan.alignment.crossings:
        found[f"{crossing.id}/angle"] = (crossing.angle, "rad")
    for one in plan.fixed:
        found[one.id] = (one.gap, "mm")
    return found


def gap_of(plan: Plan, key: str) -> Gap | None:
    """Return the gap of an id.

    Parameters
    ----------
    plan : Plan
        The plan.
    key : str
        Id of a number, or the train and the part.

    Returns
    -------
    Gap or None
        None if it is another number.
    """
    gaps = plan.clearance.gaps if plan.clearance else ()
    return next((g for g in gaps if key in (g.id, f"{g.vehicle} on {g.line}/{g.part}")), None)


def why(plan: Plan, written: str, said: Callable[[str], str] = str) -> Why:
    """Tell where the doubt of a number comes from and what would make it smaller.

    Parameters
    ----------
    plan : Plan
        The plan.
    written : str
        The number as the builder calls it, such as ``pier 1, shaft, wanted`` or
        ``tall van on lower against bent, cap``.
    said : callable
        Says an id in the builder's words, which may then be used too.

    Returns
    -------
    Why
        Value, doubt, shares, readings.

    Raises
    ------
    InputError
        If no number of the plan is called so, or more than one.
    """
    numbers = known_numbers(plan)
    named = {key: number for key, (number, _) in numbers.items()}
    asked = written.replace(" against ", ", ")
    in_words = {plain(said(key)): key for key in named}
    number = (
        named[in_words[plain(asked)]]
        if plain(asked) in in_words
        else find(named, asked, plan.job.words, where="why")
    )
    key = next(key for key, one in named.items() if one is number)
    gap = gap_of(plan, key)
    target = plan.inputs.spread.scaled(number.padded(len(plan.inputs)).jac)
    state = work_state(plan)
    candidates = common_candidates(plan, state)
    if gap is not None and plan.job.clearance is not None:
        target = gap.wider * target
        vehicle = next(run.vehicle for run in plan.job.clearance.runs if run.vehicle.id == gap.vehicle)
        candidates += own_candidates(plan, gap, chord_of(vehicle), state)
    now, later = readable_now_and_later(candidates, plan.inputs.spread)
    steps = _shrinking(target, now)
    u = float(np.linalg.norm(target))
    least = steps[0].after if steps else WORTH * u
    beyond = _shrinking(target, later, most=1)
    return Why(
        id=gap.id if gap else key,
        value=float(number.value),
        u=u,
        unit=numbers[key][1],
        shares=_shares(number, plan.inputs),
        shared=_shared(number, plan.inputs),
        steps=steps,
        later=beyond[0] if beyond and beyond[0].after < least else None,
    )


def _shares(number: Derived, inputs: Inputs) -> tuple[Share, ...]:
    """Share out a variance; inputs of one label, such as the unseen ones of a line, count as one."""
    groups: dict[str, Share] = {}
    for item, part in zip(inputs.items, shares(number.jac, inputs.spread), strict=False):
        before = groups[item.label].share if item.label in groups else 0.0
        groups[item.label] = Share(
            id=item.id, label=item.label, share=before + float(part), remedy=item.remedy
        )
    ranked = sorted(groups.values(), key=lambda one: -one.share)
    return tuple(one for one in ranked if one.share >= _SMALL)


def _shared(number: Derived, inputs: Inputs) -> float:
    part = shares(number.jac, inputs.spread)
    return float(sum(p for item, p in zip(inputs.items, part, strict=False) if item.kind == "shared"))


def _shrinking(target: FloatArray, read: Readable, most: int = MOST) -> tuple[Step, ...]:
    """Name the readings that shrink a doubt most, each after those before it, while it is worth it."""
    once = [plain_id(candidate) for candidate in read.candidates]
    harder = np.array([EASIER * (c.id != one) for c, one in zip(read.candidates, once, strict=True)])
    rows, free = read.rows, np.ones(len(once), dtype=bool)
    found: list[Step] = []
    while len(found) < most and free.any():
        now = float(target @ target)
        wide = np.einsum("cn,cn->c", rows, rows) + read.sds**2
        gain = np.divide((rows @ target) ** 2, wide, out=np.zeros(len(wide)), where=wide > 0.0)
        after = np.sqrt(np.maximum(now - gain, 0.0))
        pick = int(np.argmin(np.where(free, after * (1.0 + harder), np.inf)))
        if now <= 0.0 or after[pick] > WORTH * np.sqrt(now):
            break
        sd = float(read.sds[pick])
        target = with_reading(target[None], rows[pick], sd)[0]
        rows = with_reading(rows, rows[pick], sd)
        free &= np.array([one != once[pick] for one in once])
        found.append(step(read.candidates[pick], float(after[pick])))
    return tuple(found)

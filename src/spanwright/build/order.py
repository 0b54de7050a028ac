"""The order of the steps, and whether it is possible at all.

A step is impossible without what it needs: a step that is not there, a ring of steps that wait for one
another, a cut before the reading that it needs. Read :func:`in_order`.
"""

from __future__ import annotations

from spanwright.build.planning.network import find_ring
from spanwright.build.step import Step
from spanwright.errors import InputError

CODE = "BU001"


def in_order(steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """Put steps in an order in which each finds what it needs; the order given is kept where it can be.

    Parameters
    ----------
    steps : tuple of Step
        The steps.

    Returns
    -------
    tuple of Step
        In working order.

    Raises
    ------
    InputError
        If a step cannot be done: see :func:`check_steps`.
    """
    _check_ids(steps)
    done: set[str] = set()
    left, ordered = list(steps), []
    while left:
        ready = next((s for s in left if done.issuperset(s.needs)), None)
        if ready is None:
            raise InputError(
                "steps wait for one another in a ring",
                code=CODE,
                where="steps",
                value=" after ".join(find_ring({s.id: s.needs for s in left})),
                hint="One of them must do without what it waits for",
            )
        left.remove(ready)
        done.add(ready.id)
        ordered.append(ready)
    check_readings(tuple(ordered))
    return tuple(ordered)


def _check_ids(steps: tuple[Step, ...]) -> None:
    ids = [s.id for s in steps]
    for key in ids:
        if ids.count(key) > 1:
            raise InputError("two steps have one id", code=CODE, where=key, value=ids.count(key), limit=1)
    for step in steps:
        for key in step.needs:
            if key not in ids:
                raise InputError("a step needs one that is not there", code=CODE, where=step.id, value=key)


def before(steps: tuple[Step, ...], key: str) -> frozenset[str]:
    """Return every step that must be done before one.

    Parameters
    ----------
    steps : tuple of Step
        The steps, without rings.
    key : str
        The step's id.

    Returns
    -------
    frozenset of str
        Ids, whatever the number of steps between.
    """
    needs = {s.id: s.needs for s in steps}
    found: set[str] = set()
    ahead = list(needs[key])
    while ahead:
        one = ahead.pop()
        if one not in found:
            found.add(one)
            ahead += needs[one]
    return frozenset(found)


def check_readings(steps: tuple[Step, ...]) -> None:
    """See that each step, and each cut above all, waits for the readings that it needs.

    Parameters
    ----------
    steps : tuple of Step
        The steps, without rings.

    Raises
    ------
    InputError
        If a reading is taken nowhere or too late, twice, or a cut waits for none.
    """
    taken: dict[str, str] = {}
    for step in steps:
        for reading in step.gives:
            if reading in taken:
                raise InputError(
                    "a reading is taken in two steps",
                    code=CODE,
                    where=reading,
                    value=f"{taken[reading]}, {step.id}",
                )
            taken[reading] = step.id
    for step in steps:
        earlier = before(steps, step.id)
        for reading in step.waits_for:
            if taken.get(reading) not in earlier:
                raise InputError(
                    "a step waits for a reading that no earlier step takes",
                    code=CODE,
                    where=step.id,
                    value=reading,
                    hint="Take it in a step that this one needs",
                )
        if step.cuts and not step.waits_for:
            raise InputError(
                "a cut waits for no reading",
                code=CODE,
                where=step.id,
                value=", ".join(step.cuts),
                hint="Say which reading proves that it can be cut",
            )

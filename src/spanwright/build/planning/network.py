"""The critical path: how early and how late each activity of a network can be done.

Forward from the start for the earliest times, back from the end for the latest; what lies between is the
float. Work needs hands, a wait (glue, paint, plaster) needs none; hands are not counted here, any number of
activities runs at once. Read :func:`critical_path`.

The method is that of Kelley and Walker (1959), activities on the nodes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from spanwright.errors import InputError

CODE = "BU002"
#: Below this share of the whole length a float is none: what adding up times leaves behind.
_NONE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Activity:
    """One piece of work, and what it waits for.

    Parameters
    ----------
    id : str
        Its id.
    work : float
        Time that it takes a hand. [any]
    wait : float
        Time after the work until what needs the activity can begin. [any]
    needs : tuple of str
        Activities whose work and wait must be over before.
    follows : tuple of str
        Activities whose work must be over before, but not their wait.
    """

    id: str
    work: float
    wait: float = 0.0
    needs: tuple[str, ...] = ()
    follows: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """How early and how late an activity can be done.

    Parameters
    ----------
    activity : Activity
        The activity.
    earliest_start : float
        From the beginning of all. [any]
    latest_start : float
        The same, if the whole is not to take longer. [any]
    """

    activity: Activity
    earliest_start: float
    latest_start: float

    @property
    def earliest_finish(self) -> float:
        """When its work can be over."""
        return self.earliest_start + self.activity.work

    @property
    def latest_finish(self) -> float:
        """When its work must be over."""
        return self.latest_start + self.activity.work

    @property
    def slack(self) -> float:
        """How much later it can be done, all before it at the earliest, the whole no longer."""
        return self.latest_start - self.earliest_start


@dataclass(frozen=True, slots=True, kw_only=True)
class CriticalPath:
    """What a network comes to.

    Parameters
    ----------
    length : float
        From the first start until all is done and waited for. [any]
    timed : tuple of Timed
        Each activity, in the order given.
    chain : tuple of str
        One longest chain, from its first to its last activity; others may be as long.
    """

    length: float
    timed: tuple[Timed, ...]
    chain: tuple[str, ...]

    @property
    def work(self) -> float:
        """Time that it takes one pair of hands, without a wait."""
        return sum(t.activity.work for t in self.timed)

    @property
    def critical(self) -> tuple[str, ...]:
        """Activities without float, in the order given."""
        return tuple(t.activity.id for t in self.timed if t.slack <= _NONE * self.length)


def critical_path(activities: Sequence[Activity]) -> CriticalPath:
    """Find how early and how late each activity can be done.

    Parameters
    ----------
    activities : sequence of Activity
        In any order.

    Returns
    -------
    CriticalPath
        Times, float and a longest chain.

    Raises
    ------
    InputError
        If a time cannot be meant, an id stands twice or is not there, or activities wait for one another
        in a ring.

    Notes
    -----
    With work *d* and wait *w*: ES = max(EF + w of what it needs, EF of what it follows, 0), EF = ES + d;
    backwards LF = min(T - w, LS - w of what needs it, LS of what follows it), LS = LF - d, where T is the
    greatest EF + w. Float is LS - ES.

    References
    ----------
    .. [1] J. E. Kelley, M. R. Walker, "Critical-path planning and scheduling", Proceedings of the Eastern
       Joint Computer Conference, 1959, pp. 160-173. DOI 10.1145/1460299.1460318.

    Examples
    --------
    >>> glue, paint = Activity(id="glue", work=1, wait=24), Activity(id="paint", work=2, needs=("glue",))
    >>> critical_path([glue, paint, Activity(id="sand", work=3)]).length
    27
    """
    ordered = in_sequence(activities)
    early: dict[str, float] = {}
    for one in ordered:
        early[one.id] = max((at for _, at in _held_by(one, early, ordered)), default=0.0)
    length = max((early[a.id] + a.work + a.wait for a in ordered), default=0.0)
    late = _latest(ordered, length)
    timed = tuple(Timed(activity=a, earliest_start=early[a.id], latest_start=late[a.id]) for a in activities)
    return CriticalPath(length=length, timed=timed, chain=_chain(ordered, early))


def in_sequence(activities: Sequence[Activity]) -> tuple[Activity, ...]:
    """Put activities in an order in which each comes after what it waits for; the order given is kept.

    Parameters
    ----------
    activities : sequence of Activity
        In any order.

    Returns
    -------
    tuple of Activity
        In sequence.

    Raises
    ------
    InputError
        As :func:`critical_path` does.
    """
    _check(activities)
    left, done = list(activities), dict[str, Activity]()
    while left:
        ready = next((a for a in left if done.keys() >= {*a.needs, *a.follows}), None)
        if ready is None:
            ring = find_ring({a.id: (*a.needs, *a.follows) for a in left})
            raise InputError(
                "these wait for one another in a ring",
                code=CODE,
                where="what waits for what",
                value=" after ".join(ring),
                hint="One of them must do without what it waits for",
            )
        left.remove(ready)
        done[ready.id] = ready
    return tuple(done.values())


def find_ring(needs: dict[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Return one ring of ids that wait for one another.

    Parameters
    ----------
    needs : dict of str to tuple of str
        What each waits for.

    Returns
    -------
    tuple of str
        From one id back to itself, each after it what it waits for; empty if there is no ring.
    """
    cleared: set[str] = set()
    for start in needs:
        way = [start]
        while way:
            ahead = next((n for n in needs[way[-1]] if n in needs and n not in cleared), None)
            if ahead is None:
                cleared.add(way.pop())
            elif ahead in way:
                return (*way[way.index(ahead) :], ahead)
            else:
                way.append(ahead)
    return ()


def _check(activities: Sequence[Activity]) -> None:
    ids = {a.id for a in activities}
    if len(ids) < len(activities):
        every = [a.id for a in activities]
        twice = next(key for key in every if every.count(key) > 1)
        raise InputError("two activities have one id", code=CODE, where=twice, value=every.count(twice))
    for one in activities:
        for name, time in (("work", one.work), ("wait", one.wait)):
            if not (isfinite(time) and time >= 0.0):
                raise InputError(
                    f"this time of {name} cannot be meant",
                    code=CODE,
                    where=one.id,
                    value=time,
                    limit="a finite time, 0 or more",
                    hint="Correct the time of this step",
                )
        for key in (*one.needs, *one.follows):
            if key not in ids:
                raise InputError(
                    "this waits for something that is not there",
                    code=CODE,
                    where=one.id,
                    value=key,
                    hint="Name something that is, or take it out",
                )


def _held_by(
    one: Activity, early: dict[str, float], ordered: Sequence[Activity]
) -> list[tuple[Activity, float]]:
    """Return what an activity waits for, each with the time until which it holds it up."""
    waiting, following = set(one.needs), set(one.follows)
    held = [(a, early[a.id] + a.work + a.wait) for a in ordered if a.id in waiting]
    return held + [(a, early[a.id] + a.work) for a in ordered if a.id in following]


def _latest(ordered: Sequence[Activity], length: float) -> dict[str, float]:
    finish = {a.id: length - a.wait for a in ordered}
    wait = {a.id: a.wait for a in ordered}
    late: dict[str, float] = {}
    for one in reversed(ordered):
        late[one.id] = finish[one.id] - one.work
        for key in one.needs:
            finish[key] = min(finish[key], late[one.id] - wait[key])
        for key in one.follows:
            finish[key] = min(finish[key], late[one.id])
    return late


def _chain(ordered: Sequence[Activity], early: dict[str, float]) -> tuple[str, ...]:
    """Walk back from what is done last, each time to what held it up."""
    if not ordered:
        return ()
    last = max(ordered, key=lambda a: early[a.id] + a.work + a.wait)
    chain = [last.id]
    while True:
        held = _held_by(last, early, ordered)
        if not held:
            return tuple(reversed(chain))
        last, _ = max(held, key=lambda h: h[1])
        chain.append(last.id)

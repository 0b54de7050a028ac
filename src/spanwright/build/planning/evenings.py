"""The work of one pair of hands, evening by evening.

Hands do one thing at a time and only in an evening; glue and paint go on curing through night and day. Which
order takes the fewest evenings is a hard problem, so :func:`share_out` follows a rule of thumb (a
heuristic): of what can be begun first, begin what has the least slack. :func:`least_evenings` says how few
evenings no order can do without, so it is seen how much the rule can have lost.

Evenings are a day apart and equally long; time counts from the first one's beginning.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf

from spanwright.build.planning.network import Activity, critical_path, in_sequence
from spanwright.errors import InputError

DAY = 24.0  # hours
#: Hours; less is what adding up leaves behind.
_NONE = 1e-9
CODE = "BU003"


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """When an activity, or one evening's part of it, is worked at.

    Parameters
    ----------
    id : str
        The activity.
    start : float
        Hours from the beginning of the first evening. [any]
    end : float
        The same, when the work is over, or laid aside. [any]
    left : float
        Hours of work that are left after it; 0 when it is over. [any]
    ready : float
        When its wait is over too; infinite while work is left. [any]
    """

    id: str
    start: float
    end: float
    left: float
    ready: float

    @property
    def evening(self) -> int:
        """Number of its evening, from 1."""
        return int((self.start + _NONE) // DAY) + 1


def share_out(activities: Sequence[Activity], evening: float) -> tuple[Slot, ...]:
    """Share work out over evenings, one thing at a time, the least slack first.

    Work that fits into one evening is not broken off. Longer work is laid aside at the end of an evening,
    and taken up again when nothing has less slack. What follows an activity without its wait, and waits for
    nothing else, is done at once after it.

    Parameters
    ----------
    activities : sequence of Activity
        Work and waits in hours.
    evening : float
        Hours of an evening. [any]

    Returns
    -------
    tuple of Slot
        In the order in which they are worked at.

    Raises
    ------
    InputError
        If an evening cannot be meant, or the network cannot.

    Notes
    -----
    List scheduling without idle time that could be used, by the latest start of the critical path method
    (minimum slack). A heuristic: it need not be the best order.
    """
    check_evening(evening)
    late = {t.activity.id: t.latest_finish for t in critical_path(activities).timed}
    bench = _Bench(evening)
    waiting: list[Activity] = []
    for one in in_sequence(activities):
        if len(one.follows) == 1 and not one.needs:
            bench.at_once.setdefault(one.follows[0], []).append(one)
        else:
            waiting.append(one)
    while waiting:
        able = [
            (start, late[a.id] - bench.rest.get(a.id, a.work), k)
            for k, a in enumerate(waiting)
            if (start := bench.begin(a)) is not None
        ]
        first = min(able)[0]
        start, _, k = min((o for o in able if o[0] <= first + _NONE), key=lambda o: o[1:])
        if bench.work_at(waiting[k], start):
            del waiting[k]
    return tuple(bench.slots)


class _Bench:
    """One pair of hands: what it has worked at, and until when."""

    def __init__(self, evening: float) -> None:
        self.evening, self.now = evening, 0.0
        self.at_once: dict[str, list[Activity]] = {}
        self.slots: list[Slot] = []
        self.done: dict[str, Slot] = {}
        self.rest: dict[str, float] = {}

    def begin(self, one: Activity) -> float | None:
        """Return when it could be worked at; None while something that it waits for is not done."""
        if not self.done.keys() >= {*one.needs, *one.follows}:
            return None
        free = _free(one, self.done)
        if not one.work:
            return free
        at = max(self.now, free)
        if one.work > self.evening + _NONE:
            return placed(at, one.work, self.evening)[0]
        return placed(at, sum(a.work for a in self.with_followers(one)), self.evening)[0]

    def work_at(self, one: Activity, start: float) -> bool:
        """Work at it, with what follows at once; tell whether its work is over."""
        rest = self.rest.get(one.id, one.work)
        room = self.evening - (start - DAY * ((start + _NONE) // DAY))
        if one.work > self.evening + _NONE and rest > room + _NONE:
            self.now, self.rest[one.id] = start + room, rest - room
            self.slots.append(Slot(id=one.id, start=start, end=self.now, left=rest - room, ready=inf))
            return False
        self._over(one, start, start + rest)
        for after in self.with_followers(one)[1:]:
            self._over(
                after, *placed(max(self.now, self.done[after.follows[0]].end), after.work, self.evening)
            )
        return True

    def _over(self, one: Activity, start: float, end: float) -> None:
        self.done[one.id] = Slot(id=one.id, start=start, end=end, left=0.0, ready=end + one.wait)
        self.slots.append(self.done[one.id])
        self.now = end if one.work else self.now

    def with_followers(self, one: Activity) -> list[Activity]:
        """Return an activity and what is done at once after it."""
        found = [one]
        for after in self.at_once.get(one.id, ()):
            found += self.with_followers(after)
        return found


def least_evenings(activities: Sequence[Activity], evening: float) -> int:
    """Return a number of evenings that no order can do with less.

    Parameters
    ----------
    activities : sequence of Activity
        Work and waits in hours.
    evening : float
        Hours of an evening. [any]

    Returns
    -------
    int
        The greater of two: all work put end to end, and the longest chain with as many hands as it likes.

    Raises
    ------
    InputError
        If an evening cannot be meant, or the network cannot.
    """
    check_evening(evening)
    done: dict[str, Slot] = {}
    for one in in_sequence(activities):
        start, end = placed(_free(one, done), one.work, evening)
        done[one.id] = Slot(id=one.id, start=start, end=end, left=0.0, ready=end + one.wait)
    work = sum(a.work for a in activities)
    chain = max((ceil((s.end - _NONE) / DAY) for s in done.values() if s.end > s.start), default=0)
    return max(ceil(work / evening - _NONE), chain)


def evenings_of(slots: Sequence[Slot]) -> int:
    """Return the number of evenings until all work is over.

    Parameters
    ----------
    slots : sequence of Slot
        The work.

    Returns
    -------
    int
        Evenings on which nothing can be done count too; waits after the last work do not.
    """
    return max((s.evening for s in slots if s.end > s.start), default=0)


def placed(at: float, work: float, evening: float) -> tuple[float, float]:
    """Return when work can begin and end, at the earliest, from some time on.

    Parameters
    ----------
    at : float
        Hours from the beginning of the first evening. [any]
    work : float
        Hours of work; none takes no evening. [any]
    evening : float
        Hours of an evening. [any]

    Returns
    -------
    start : float
        When it begins. [any]
    end : float
        When it ends. [any]
    """
    if work <= 0.0:
        return at, at
    day = (at + _NONE) // DAY
    into = max(at - day * DAY, 0.0)
    fits = work <= evening + _NONE
    if into >= evening - _NONE or (fits and into + work > evening + _NONE):
        day, into = day + 1.0, 0.0
    start, room = day * DAY + into, evening - into
    if work <= room + _NONE:
        return start, start + work
    more = ceil((work - room) / evening - _NONE)
    return start, (day + more) * DAY + work - room - (more - 1) * evening


def check_evening(evening: float) -> None:
    """See that an evening is one.

    Parameters
    ----------
    evening : float
        Hours. [any]

    Raises
    ------
    InputError
        If it is not.
    """
    if not 0.0 < evening <= DAY:
        raise InputError(
            "an evening of this length cannot be meant",
            code=CODE,
            where="[build] evening",
            value=evening,
            limit="hours, more than 0 and not more than 24",
            hint="Write the time that you have in one evening, such as 2 h",
        )


def _free(one: Activity, done: dict[str, Slot]) -> float:
    """Return when nothing holds an activity up any more; all that it waits for is placed."""
    held = [done[k].ready for k in one.needs] + [done[k].end for k in one.follows]
    return max(held, default=0.0)

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
from math import ceil

from spanwright.build.planning.network import Activity, critical_path, in_sequence
from spanwright.errors import InputError

DAY = 24.0  # hours
#: Hours; less is what adding up leaves behind.
_NONE = 1e-9
CODE = "BU003"


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """When an activity is worked at.

    Parameters
    ----------
    id : str
        The activity.
    start : float
        Hours from the beginning of the first evening. [any]
    end : float
        The same, when its work is over. [any]
    ready : float
        The same, when its wait is over too. [any]
    """

    id: str
    start: float
    end: float
    ready: float

    @property
    def evening(self) -> int:
        """Number of the evening in which it is begun, from 1."""
        return int((self.start + _NONE) // DAY) + 1

    @property
    def last_evening(self) -> int:
        """Number of the evening in which its work is over, from 1."""
        return max(self.evening, ceil((self.end - _NONE) / DAY))


def share_out(activities: Sequence[Activity], evening: float) -> tuple[Slot, ...]:
    """Share work out over evenings, one thing at a time, the least slack first.

    Work that fits into one evening is not broken off; longer work goes on in the evenings that follow.
    What follows an activity without its wait, and waits for nothing else, is done at once after it.

    Parameters
    ----------
    activities : sequence of Activity
        Work and waits in hours.
    evening : float
        Hours of an evening. [any]

    Returns
    -------
    tuple of Slot
        In the order in which they are begun.

    Raises
    ------
    InputError
        If an evening cannot be meant, or the network cannot.

    Notes
    -----
    Serial list scheduling without idle time that could be used, by the latest start of the critical path
    method (minimum slack). A heuristic: it need not be the best order.
    """
    check_evening(evening)
    late = {t.activity.id: t.latest_start for t in critical_path(activities).timed}
    at_once: dict[str, list[Activity]] = {}
    left: list[Activity] = []
    for one in in_sequence(activities):
        if len(one.follows) == 1 and not one.needs:
            at_once.setdefault(one.follows[0], []).append(one)
        else:
            left.append(one)
    done: dict[str, Slot] = {}
    now = 0.0
    while left:
        able = [
            (begin, late[a.id], k)
            for k, a in enumerate(left)
            if (begin := _begin(a, done, now, at_once, evening)) is not None
        ]
        first = min(able)[0]
        start, _, k = min((o for o in able if o[0] <= first + _NONE), key=lambda o: o[1:])
        for one in _with_followers(left.pop(k), at_once):
            start, end = placed(start, one.work, evening)
            done[one.id] = Slot(id=one.id, start=start, end=end, ready=end + one.wait)
            start = end
            now = end if one.work else now
    return tuple(done.values())


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
        done[one.id] = Slot(id=one.id, start=start, end=end, ready=end + one.wait)
    work = sum(a.work for a in activities)
    return max(ceil(work / evening - _NONE), evenings_of(tuple(done.values())))


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
    return max((s.last_evening for s in slots if s.end > s.start), default=0)


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


def _begin(
    one: Activity, done: dict[str, Slot], now: float, at_once: dict[str, list[Activity]], evening: float
) -> float | None:
    """Return when an activity could be begun; None while something that it waits for has no place yet."""
    if not done.keys() >= {*one.needs, *one.follows}:
        return None
    if not one.work:
        return _free(one, done)
    together = sum(a.work for a in _with_followers(one, at_once))
    return placed(max(now, _free(one, done)), together, evening)[0]


def _with_followers(one: Activity, at_once: dict[str, list[Activity]]) -> list[Activity]:
    found = [one]
    for after in at_once.get(one.id, ()):
        found += _with_followers(after, at_once)
    return found

"""The work as a plan: critical path, evenings, and what can be done tonight.

Read :func:`plan_times`, then :func:`tonight`.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.build.planning.evenings import DAY, Slot, evenings_of, least_evenings, share_out
from spanwright.build.planning.given import BuildInput
from spanwright.build.planning.network import CriticalPath, critical_path
from spanwright.build.planning.tasks import Kind, Task, left_of, list_tasks, told_too_early
from spanwright.build.step import Step
from spanwright.build.work import Work
from spanwright.findings import Finding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Schedule:
    """When what is left can be done.

    Parameters
    ----------
    evening : float
        Hours of one evening. [any]
    tasks : tuple of Task
        What is left, in working order.
    count : int
        Number of all tasks, those done included.
    path : CriticalPath
        With as many hands as it likes, day and night. [any]
    slots : tuple of Slot
        One pair of hands, evening by evening.
    evenings : int
        How many evenings that takes.
    least : int
        How many no order can do without.
    findings : tuple of Finding
        What is told to be done too early.
    """

    evening: float
    tasks: tuple[Task, ...]
    count: int
    path: CriticalPath
    slots: tuple[Slot, ...]
    evenings: int
    least: int
    findings: tuple[Finding, ...]

    def task(self, key: str) -> Task:
        """Return a task that is left.

        Parameters
        ----------
        key : str
            Its id.

        Returns
        -------
        Task
            The task.
        """
        return next(t for t in self.tasks if t.id == key)

    def usable(self, hours: float) -> int:
        """Return the first evening in which something can be gone on with.

        Parameters
        ----------
        hours : float
            When it is ready, from the beginning of the first evening. [any]

        Returns
        -------
        int
            Number of the evening, from 1.
        """
        day = int((hours + 1e-9) // DAY)
        return day + 1 if hours - day * DAY < self.evening - 1e-9 else day + 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tonight:
    """What the next evening is for.

    Parameters
    ----------
    work : tuple of tuple
        What is done, in this order, each with hours of work tonight and hours left after. [any]
    cures : tuple of tuple
        What cures after it or since before, and the evening in which it can be gone on with.
    measure : tuple of tuple
        What can be measured now, and what waits for it.
    instead : tuple of Task
        What could be begun now as well.
    """

    work: tuple[tuple[Task, float, float], ...]
    cures: tuple[tuple[Task, int], ...]
    measure: tuple[tuple[Task, tuple[Task, ...]], ...]
    instead: tuple[Task, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Entries:
    """What to enter in the job file when the evening is over.

    Parameters
    ----------
    done : tuple of Task
        Under ``done``.
    curing : tuple of Task
        Under ``curing``, with what is left of their wait.
    readings : tuple of Task
        What only the reading itself settles, where it belongs.
    """

    done: tuple[Task, ...]
    curing: tuple[Task, ...]
    readings: tuple[Task, ...]


def plan_times(work: Work, steps: tuple[Step, ...], asked: BuildInput) -> Schedule:
    """Plan when the work can be done.

    Parameters
    ----------
    work : Work
        The bridge, its gaps and as-built rows.
    steps : tuple of Step
        In working order, with their times.
    asked : BuildInput
        Evening, times, what is done.

    Returns
    -------
    Schedule
        Of what is left to do.

    Raises
    ------
    InputError
        If a time cannot be meant, or something is told to be done that is no step.
    """
    every = list_tasks(work, steps, asked)
    tasks = left_of(every, asked)
    activities = [t.activity for t in tasks]
    slots = share_out(activities, asked.evening)
    return Schedule(
        evening=asked.evening,
        tasks=tasks,
        count=len(every),
        path=critical_path(activities),
        slots=slots,
        evenings=evenings_of(slots),
        least=least_evenings(activities, asked.evening),
        findings=told_too_early(every, asked),
    )


def tonight(schedule: Schedule) -> Tonight:
    """Say what the next evening is for.

    Parameters
    ----------
    schedule : Schedule
        Of what is left to do.

    Returns
    -------
    Tonight
        Work, cures, what must be measured first.
    """
    first = [s for s in schedule.slots if s.evening == 1]
    work = tuple((schedule.task(s.id), s.end - s.start, s.left) for s in first if s.end > s.start)
    begun = {t.id for t, _, _ in work}
    cures = tuple(
        (schedule.task(s.id), schedule.usable(s.ready)) for s in first if not s.left and s.ready > s.end
    )
    free = [t for t in schedule.tasks if not (t.activity.needs or t.activity.follows or t.is_curing)]
    measure = tuple((t, waiting_for(schedule, t.id)) for t in free if t.is_measuring)
    instead = tuple(t for t in free if t.id not in begun and not t.is_measuring)
    return Tonight(work=work, cures=cures, measure=measure, instead=instead)


def to_enter(found: Tonight) -> Entries:
    """Return what to enter in the job file when the evening is over.

    Parameters
    ----------
    found : Tonight
        The evening.

    Returns
    -------
    Entries
        Of what is brought to its end.
    """
    readings = tuple(t for t, _, _ in found.work if t.kind in (Kind.DOUBT, Kind.SIZE))
    over = [t for t, _, left in found.work if not left and t not in readings]
    return Entries(
        done=tuple(t for t in over if not t.waits),
        curing=tuple(t for t in over if t.waits),
        readings=readings,
    )


def waiting_for(schedule: Schedule, key: str) -> tuple[Task, ...]:
    """Return what waits for a task, and for nothing between.

    Parameters
    ----------
    schedule : Schedule
        Of what is left to do.
    key : str
        Id of the task.

    Returns
    -------
    tuple of Task
        In working order.
    """
    return tuple(t for t in schedule.tasks if key in (*t.activity.needs, *t.activity.follows))

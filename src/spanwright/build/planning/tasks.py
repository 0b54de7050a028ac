"""What is to be done, as a network: steps, and each reading that a step needs as a task of its own.

A step is worked at, then cures; its as-built readings are a task after it, and whatever needs the step waits
for them too. A gap that is not settled holds up every step that cuts or glues the part it belongs to. Read
:func:`list_tasks`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from spanwright.build.opening_steps import SETTLE
from spanwright.build.planning.given import DOUBT, BuildInput, kind_of, unknown
from spanwright.build.planning.network import Activity
from spanwright.build.planning.sizes import doubtful_sizes, made_in
from spanwright.build.step import Phase, Step, Wait
from spanwright.build.telling import Told, told, word
from spanwright.build.work import Work, unsettled
from spanwright.errors import InputError
from spanwright.findings import Finding, Severity, Verdict

#: Kinds of tasks that are gone when what they ask for is entered; naming one then is no mistake.
_PASSING = ("prove", "caliper")
OPEN = (Verdict.FOUL, Verdict.NOT_PROVEN)


class Kind(Enum):
    """Kinds of tasks."""

    STEP = "step"
    READING = "reading"
    DOUBT = "doubt"
    SIZE = "size"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Task:
    """One thing to do.

    Parameters
    ----------
    activity : Activity
        Its id and times in hours, and what it waits for of what is left to do.
    kind : Kind
        A step, its readings, a gap to settle, or sizes to measure.
    title : Told
        What is done.
    step : Step or None
        The step, or the one whose readings are taken.
    readings : tuple of str
        Ids of as-built rows that are filled in.
    waits : tuple of Wait
        What cures after it.
    is_curing : bool
        Whether its work is done and only its cure is left.
    """

    activity: Activity
    kind: Kind
    title: Told
    step: Step | None = None
    readings: tuple[str, ...] = ()
    waits: tuple[Wait, ...] = ()
    is_curing: bool = False

    @property
    def id(self) -> str:
        """Id, as ``done`` in the job file names it."""
        return self.activity.id

    @property
    def is_measuring(self) -> bool:
        """Whether it is nothing but measuring."""
        return self.kind is not Kind.STEP or (self.step is not None and self.step.measures)


def read_id(key: str) -> str:
    """Return the id of the readings of a step.

    Parameters
    ----------
    key : str
        The step's id.

    Returns
    -------
    str
        Id.
    """
    return f"read/{key}"


def list_tasks(work: Work, steps: tuple[Step, ...], asked: BuildInput) -> tuple[Task, ...]:
    """List all there is to do, whether done or not.

    Parameters
    ----------
    work : Work
        The bridge, its gaps and as-built rows.
    steps : tuple of Step
        In working order, with their times.
    asked : BuildInput
        What the builder says.

    Returns
    -------
    tuple of Task
        Gaps to settle and sizes to measure, then each step with its readings after it.
    """
    doubts = _doubts(work)
    sizes = doubtful_sizes(work)
    rows = {row.id for row in work.readings}
    read = {s.id: tuple(g for g in s.gives if g in rows) for s in steps if not s.measures}
    reads = {key: read_id(key) for key, gives in read.items() if gives}
    takers = {g: reads[s.id] for s in steps if s.id in reads for g in s.gives}
    belongs = {p.id: p.belongs for p in work.pieces}
    found = list(doubts.values())
    cut = {f"cut/{name}" for name in (s.given.name for s in work.structures.supports)} - set(asked.done)
    sizes = {key: one for key, one in sizes.items() if any(f"cut/{name}" in cut for name in one[1])}
    found += [_sizes(work, key, what, asked) for key, (what, _) in sizes.items()]
    for step in steps:
        needs = [*step.needs, *(reads[key] for key in step.needs if key in reads)]
        needs += [takers[r] for r in step.waits_for if r in takers]
        needs += [_size_id(key) for key, (_, held) in sizes.items() if step.id in {f"cut/{n}" for n in held}]
        mine = {belongs[p] for p in step.pieces if p in belongs}
        if step.id == SETTLE:
            needs += [t.id for t in doubts.values()]
        elif step.cuts or step.phase is Phase.SET:
            needs += [t.id for part, t in doubts.items() if part in mine]
        found.append(_step(step, tuple(dict.fromkeys(needs))))
        if step.id in reads:
            found.append(_readings(step, read[step.id], asked))
    return tuple(found)


def _step(step: Step, needs: tuple[str, ...]) -> Task:
    activity = Activity(
        id=step.id,
        work=step.minutes / 60.0,
        wait=max((w.hours for w in step.waits), default=0.0),
        needs=needs,
    )
    return Task(
        activity=activity,
        kind=Kind.STEP,
        title=step.title,
        step=step,
        readings=step.gives if step.measures else (),
        waits=step.waits,
    )


def _readings(step: Step, ids: tuple[str, ...], asked: BuildInput) -> Task:
    """Return the task of taking a step's readings: at once, unless what it waits for must set first."""
    after, at_once = (step.id,), step.reads_wet or not step.waits
    activity = Activity(
        id=read_id(step.id),
        work=asked.reading * len(ids),
        needs=() if at_once else after,
        follows=after if at_once else (),
    )
    title = Told(text=f"{step.title.text} (readings)", fillings=step.title.fillings)
    return Task(activity=activity, kind=Kind.READING, title=title, step=step, readings=ids)


def _size_id(key: str) -> str:
    return f"caliper/{key}"


def _sizes(work: Work, key: str, what: tuple[str, ...], asked: BuildInput) -> Task:
    """Return the task of measuring sizes that are still too doubtful for a cut."""
    activity = Activity(id=_size_id(key), work=asked.reading * len(what), needs=made_in(work, key))
    title = told("{0}: measure by caliper, and enter: {1}", word(key), word("; ".join(what)))
    return Task(activity=activity, kind=Kind.SIZE, title=title)


def _doubts(work: Work) -> dict[str, Task]:
    """Return a task for each support and span with gaps that are foul or not proven."""
    counted: dict[str, int] = {}
    names = [s.given.name for s in work.structures.supports]
    names += [s.axis.given.name for s in work.structures.spans]
    for gap in unsettled(work):
        if gap.verdict in OPEN:
            part = next((n for n in names if gap.part == n or gap.part.startswith(f"{n}/")), gap.part)
            counted[part] = counted.get(part, 0) + 1
    return {
        part: Task(
            activity=Activity(id=f"prove/{part}", work=DOUBT * many),
            kind=Kind.DOUBT,
            title=told(
                "{0}: settle {1} foul or not proven, by the next reading or a move",
                word(part),
                word("1 gap" if many == 1 else f"{many} gaps"),
            ),
        )
        for part, many in counted.items()
    }


def left_of(tasks: tuple[Task, ...], asked: BuildInput) -> tuple[Task, ...]:
    """Return what is left to do.

    Parameters
    ----------
    tasks : tuple of Task
        All there is to do.
    asked : BuildInput
        What is done, and what cures.

    Returns
    -------
    tuple of Task
        Without what is done; of what cures only the cure is left.

    Raises
    ------
    InputError
        If something is said to be done that is no task, or both to be done and to cure.
    """
    known = [t.id for t in tasks]
    for where, ids in (("done", asked.done), ("curing", tuple(key for key, _ in asked.curing))):
        for key in ids:
            if key not in known and kind_of(key) not in _PASSING:
                raise unknown(asked.place(where, key), key, known)
    done, curing = is_done(tasks, asked), dict(asked.curing)
    if both := sorted(done & curing.keys()):
        raise InputError(
            "this is said both to be done and to cure",
            code="BU004",
            where=asked.place("curing", both[0]),
            value=both[0],
            hint="Name it under done when it has cured, and under curing until then",
        )
    found = []
    for task in tasks:
        if task.id in done:
            continue
        one = task.activity
        readings = task.readings
        if task.id in curing:
            one = replace(one, work=0.0, wait=curing[task.id], needs=(), follows=())
        else:
            one = replace(
                one,
                needs=tuple(n for n in one.needs if n not in done),
                follows=tuple(n for n in one.follows if n not in done and n not in curing),
            )
        if task.kind is Kind.READING and task.step and task.step.id in done | curing.keys():
            readings = tuple(r for r in readings if r not in asked.read)
            one = replace(one, work=one.work * len(readings) / len(task.readings))
        found.append(replace(task, activity=one, readings=readings, is_curing=task.id in curing))
    return tuple(found)


def is_done(tasks: tuple[Task, ...], asked: BuildInput) -> set[str]:
    """Return what is done: what is told so, and every reading that is entered of a step that is done.

    Parameters
    ----------
    tasks : tuple of Task
        All there is to do.
    asked : BuildInput
        What is told to be done, what cures, which rows are filled in.

    Returns
    -------
    set of str
        Ids of tasks.
    """
    begun = {*asked.done, *(key for key, _ in asked.curing)}
    found = set(asked.done)
    for task in tasks:
        entered = bool(task.readings) and set(task.readings) <= set(asked.read)
        if entered and (task.kind is Kind.STEP or (task.step is not None and task.step.id in begun)):
            found.add(task.id)
    return found


def told_too_early(tasks: tuple[Task, ...], asked: BuildInput) -> tuple[Finding, ...]:
    """Say what is told to be done without what it waits for.

    Parameters
    ----------
    tasks : tuple of Task
        All there is to do.
    asked : BuildInput
        What is done, and what cures.

    Returns
    -------
    tuple of Finding
        One for each such task, and one for each gap that is told to be settled and is not.
    """
    told_done = {*asked.done, *(key for key, _ in asked.curing)}
    begun = told_done | is_done(tasks, asked)
    found = []
    for task in tasks:
        if task.id not in told_done:
            continue
        lacks = [n for n in (*task.activity.needs, *task.activity.follows) if n not in begun]
        if lacks:
            found.append(
                Finding(
                    code="BU104",
                    severity=Severity.WARNING,
                    where=task.id,
                    text=f"told to be done, but not what it waits for: {', '.join(lacks)}",
                    remedy="Do that now, or name it under done as well",
                )
            )
        if task.kind in (Kind.DOUBT, Kind.SIZE):
            still = "foul or not proven" if task.kind is Kind.DOUBT else "too doubtful for a cut"
            found.append(
                Finding(
                    code="BU105",
                    severity=Severity.WARNING,
                    where=task.id,
                    text=f"told to be settled, but what is entered leaves it {still}",
                    remedy="Enter the reading that settled it; else the steps go on without proof",
                )
            )
    return tuple(found)

"""When each step can be done: evenings, earliest and latest times, float."""

from __future__ import annotations

from spanwright.book.blocks import Block, heading, numbers, paragraph, table, texts
from spanwright.build.planning.evenings import DAY
from spanwright.build.planning.schedule import Schedule
from spanwright.build.planning.tasks import Kind, Task
from spanwright.build.stage import Build
from spanwright.build.telling import tell
from spanwright.drawings.speech import Speech

_LONG = 48.0  # hours; longer times are said in days
_BRIEF = 1.5  # hours; shorter ones in minutes
_NONE = 1e-6


def how_long(hours: float) -> str:
    """Say a time.

    Parameters
    ----------
    hours : float
        The time. [any]

    Returns
    -------
    str
        In minutes, hours or days.

    Examples
    --------
    >>> how_long(0.5), how_long(24), how_long(60)
    ('30 min', '24 h', '2.5 days')
    """
    if hours < _BRIEF:
        return f"{60.0 * hours:.0f} min"
    return f"{hours:.3g} h" if hours <= _LONG else f"{hours / DAY:.3g} days"


def named(task: Task, build: Build, say: Speech) -> str:
    """Say a task with the number of its step.

    Parameters
    ----------
    task : Task
        The task.
    build : Build
        With all steps.
    say : Speech
        How places are said.

    Returns
    -------
    str
        Such as ``12. pier 1: glue``.
    """
    title = tell(task.title, say)
    places = {step.id: k for k, step in enumerate(build.steps, start=1)}
    return title if task.step is None else f"{places[task.step.id]}. {title}"


def summary(schedule: Schedule) -> list[Block]:
    """Say how long the work takes.

    Parameters
    ----------
    schedule : Schedule
        When what is left can be done.

    Returns
    -------
    list of Block
        Blocks.
    """
    left = len(schedule.tasks)
    if not left:
        return paragraph("All is done.")
    path, evening = schedule.path, how_long(schedule.evening)
    some = f"{left} of {schedule.count} tasks are still to do" if left < schedule.count else f"{left} tasks"
    lines = paragraph(
        f"{some}, a step's readings counted as one of their own: {path.work:.0f} h of work. The longest chain"
        f" of work and waits takes {how_long(path.length)}, day and night, with as many hands as it likes."
    )
    need = f"One pair of hands needs {_evenings(schedule.evenings)} of {evening}"
    if schedule.evenings > schedule.least:
        rest = (
            f". No order can do with fewer than {schedule.least}; this one comes of a rule of thumb (of what"
            " can be begun, the least float first), which need not find the best."
        )
    else:
        rest = ", and no order can do with fewer."
    return lines + paragraph(need + rest)


def _evenings(count: int) -> str:
    return "1 evening" if count == 1 else f"{count} evenings"


def plan_text(build: Build, say: Speech) -> list[Block]:
    """Return when each step can be done.

    Parameters
    ----------
    build : Build
        What the build stage found.
    say : Speech
        How places are said.

    Returns
    -------
    list of Block
        Empty when all is done.
    """
    schedule = build.schedule
    if not schedule.tasks:
        return []
    lines = heading("Evening by evening")
    lines += paragraph(
        "One evening a day. Work that fits into one evening is not broken off, longer work is laid aside at"
        " its end; what cures goes on overnight."
        " Earliest, latest and float count from the first evening, day and night, with as many hands as it"
        " likes; what has no float sets the end."
    )
    columns = (
        *numbers("evening"),
        *texts("step", most=44),
        *numbers("work", "then cures", "earliest", "latest", "float"),
    )
    timed = {t.activity.id: t for t in schedule.path.timed}
    rows = []
    for slot in schedule.slots:
        task, times = schedule.task(slot.id), timed[slot.id]
        name = named(task, build, say)
        if task.is_curing:
            name += " (cures)"
        if slot.left:
            name += f" ({how_long(slot.left)} to go)"
        rows.append(
            (
                f"{slot.evening}",
                name,
                how_long(slot.end - slot.start) if slot.end > slot.start else "",
                how_long(task.activity.wait) if task.activity.wait and not slot.left else "",
                how_long(times.earliest_start) if times.earliest_start else "at once",
                how_long(times.latest_start) if times.latest_start > _NONE else "at once",
                how_long(times.slack) if times.slack > _NONE else "none",
            )
        )
    lines += table(columns, rows)
    doubts = [t for t in schedule.tasks if t.kind is Kind.DOUBT]
    if doubts:
        lines += paragraph(
            "What is foul or not proven is settled by a reading or by moving the part, not by waiting: see"
            " what to measure next. Until then nothing of that part is cut or glued."
        )
    return lines

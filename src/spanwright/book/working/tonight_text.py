"""Tonight's work: what can be done this evening, what cures overnight, what must be measured first."""

from __future__ import annotations

from spanwright.book.blocks import Block, heading, paragraph
from spanwright.book.build_text import passes
from spanwright.book.working.plan_text import how_long, named, summary
from spanwright.build.planning.schedule import Tonight, to_enter, tonight
from spanwright.build.planning.tasks import Kind, Task
from spanwright.build.stage import Build
from spanwright.build.telling import tell
from spanwright.drawings.speech import Speech


def tonight_text(build: Build, say: Speech) -> list[Block]:
    """Return what the next evening is for.

    Parameters
    ----------
    build : Build
        What the build stage found.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    found = tonight(build.schedule)
    lines = [*summary(build.schedule)]
    if not build.schedule.tasks:
        return lines
    lines += _measure(found, build, say)
    lines += heading(f"Tonight, {how_long(build.schedule.evening)}")
    if not found.work:
        lines += paragraph("Nothing can be begun tonight: wait for what cures.")
    for task, hours, left in found.work:
        times = f"{how_long(hours)}, {how_long(left)} to go" if left else _times(task, hours)
        lines += paragraph(f"* {named(task, build, say)} ({times})", hanging=2)
        lines += _task(task, build, say)
    lines += _cures(found, build, say)
    if found.instead:
        lines += heading("Could be begun as well")
        for task in found.instead:
            lines += paragraph(f"* {named(task, build, say)} ({_times(task, task.activity.work)})", hanging=2)
    return lines + _enter(found)


def _times(task: Task, hours: float) -> str:
    facts = [how_long(hours)]
    facts += [f"then wait {how_long(w.hours)}: {w.of}" for w in task.waits]
    return ", ".join(facts)


def _task(task: Task, build: Build, say: Speech) -> list[Block]:
    """Say what can hurt at a task, and what is read."""
    lines: list[Block] = []
    step = task.step if task.kind is Kind.STEP else None
    for caution in step.cautions if step else ():
        lines += paragraph(f"CAUTION: {caution}", indent=4)
    rows = {row.id: row for row in build.as_built}
    for row in (rows[key] for key in task.readings if key in rows):
        limits = passes(row, say)
        what = f"{row.belongs}: {tell(row.what, say)}, from {tell(row.surface, say)}; {row.tool}; planned "
        lines += paragraph(
            f"{what}{say.with_unit(row.planned)}" + (f", passes {limits}" if limits else ""), indent=4
        )
    return lines


def _measure(found: Tonight, build: Build, say: Speech) -> list[Block]:
    if not found.measure:
        return []
    places = {step.id: k for k, step in enumerate(build.steps, start=1)}
    lines = heading("Measure first")
    for task, waiting in found.measure:
        lines += paragraph(f"* {named(task, build, say)}", hanging=2)
        numbers = sorted({places[t.step.id] for t in waiting if t.step is not None})
        if numbers:
            steps = "step" if len(numbers) == 1 else "steps"
            lines += paragraph(f"Until then wait: {steps} {', '.join(map(str, numbers))}.", indent=4)
        if task.kind is Kind.DOUBT:
            lines += paragraph("spanwright check names the reading to take next.", indent=4)
    return lines


def _cures(found: Tonight, build: Build, say: Speech) -> list[Block]:
    if not found.cures:
        return []
    lines = heading("Cures overnight")
    for task, evening in found.cures:
        what = ", ".join(w.of for w in task.waits)
        lines += paragraph(
            f"* {named(task, build, say)}: {what}, {how_long(task.activity.wait)};"
            f" go on with it in evening {evening}, counting tonight as 1",
            hanging=2,
        )
    return lines


def _enter(found: Tonight) -> list[Block]:
    """Say what to enter in the job file when the evening is over."""
    enter = to_enter(found)
    if not (enter.done or enter.curing or enter.readings):
        return []
    lines = heading("When it is done, add to [build] in the job file")
    if enter.readings:
        lines += paragraph(
            "The reading itself, where it belongs: only that settles a gap or a size.", indent=2
        )
    done = [f'"{t.id}"' for t in enter.done]
    curing = [f'"{t.id}" = "{t.activity.wait:g} h"' for t in enter.curing]
    if done:
        lines += paragraph(f"to done: {', '.join(done)}", indent=2)
    if curing:
        lines += paragraph(f"to curing, with what is left when you ask again: {', '.join(curing)}", indent=2)
    return lines

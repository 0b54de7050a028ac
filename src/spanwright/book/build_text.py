"""The steps and the blank as-built sheets as text."""

from __future__ import annotations

from collections.abc import Mapping

from spanwright.book.blocks import Block, Heading, heading, paragraph, table, texts
from spanwright.book.working.plan_text import summary
from spanwright.build.as_built import AsBuilt
from spanwright.build.stage import Build
from spanwright.build.step import Step, told_way
from spanwright.build.steps import sheets_of
from spanwright.build.telling import tell
from spanwright.build.work import BUILD_UP
from spanwright.drawings.speech import Speech

_BLANK = "_________"


def build_text(build: Build, titles: Mapping[str, str], say: Speech) -> list[Block]:
    """Return all steps in order.

    Parameters
    ----------
    build : Build
        What the build stage found.
    titles : mapping of str to str
        Titles of all sheets by their ids.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    lines: list[Block] = [f"{len(build.steps)} steps.", *summary(build.schedule)]
    lines += paragraph(
        "Do them in this order. Times are common practice, no source. A step that cuts is not begun before"
        " the readings it waits for are in: a cut does not come back."
    )
    numbers = {step.id: k for k, step in enumerate(build.steps, start=1)}
    phase = None
    for step in build.steps:
        if step.phase is not phase:
            lines += heading(step.phase.value[:1].upper() + step.phase.value[1:])
            phase = step.phase
        lines += _step(step, numbers, titles, say)
    return lines


def _hours(minutes: float) -> str:
    return f"{minutes / 60.0:.0f} h" if minutes >= 90.0 else f"{minutes:.0f} min"


def _step(step: Step, numbers: dict[str, int], titles: Mapping[str, str], say: Speech) -> list[Block]:
    lines: list[Block] = [Heading(title=f"{numbers[step.id]}. {tell(step.title, say)}", level=2)]
    for caution in step.cautions:
        lines += paragraph(f"CAUTION: {caution}", indent=4)
    for line in step.lines:
        lines += paragraph(tell(line, say), indent=4)
    if step.access:
        lines += paragraph(" ".join(tell(told_way(access), say) for access in step.access), indent=4)
    facts = [f'id "{step.id}"']
    if step.needs:
        facts.append(f"after {', '.join(str(n) for n in sorted(numbers[key] for key in step.needs))}")
    if step.minutes:
        facts.append(f"about {_hours(step.minutes)}")
    facts += [f"then wait {w.hours:g} h: {say.text(w.of)}" for w in step.waits]
    if step.tools:
        facts.append(f"at hand: {', '.join(say.text(t) for t in step.tools)}")
    used = _titles(sheets_of(step, tuple(titles)), titles)
    if used:
        facts.append(f"sheets: {', '.join(used)}")
    return lines + paragraph(f"{'; '.join(facts)}.", indent=6)


def _titles(used: tuple[str, ...], titles: Mapping[str, str]) -> tuple[str, ...]:
    """Return what sheets are called; several height build-ups have one name."""
    series = [key for key in used if key.startswith(f"{BUILD_UP} ")]
    common = titles[series[0]].partition(" at ")[0] if len(series) > 1 else ""
    return tuple(dict.fromkeys(common if common and key in series else titles[key] for key in used))


def as_built_text(build: Build, say: Speech) -> list[Block]:
    """Return the blank sheets to fill in as parts are set.

    Parameters
    ----------
    build : Build
        What the build stage found.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        A table for each support and span.
    """
    others = [o for o in dict.fromkeys(row.otherwise for row in build.as_built) if o]
    lines = paragraph(
        "Write down what you read, and enter it by the name in brackets, such as spanwright build JOB"
        ' --measured "pier 2 shaft length = 49.1 mm by caliper": what is still to be made is reckoned anew'
        " from it. Base: the surface that the support is glued to, at the mark that is named. Depth rod: a"
        " caliper's, or a stepped block. The unit standing: on its outer supports. What does not pass: see"
        " the number under else."
    )
    for number, otherwise in enumerate(others, start=1):
        lines += paragraph(f"Else {number}: {say.text(otherwise)}", indent=2)
    columns = texts("what, from where; with what", "planned", "passes", "else", "reading", "date")
    for belongs in dict.fromkeys(row.belongs for row in build.as_built):
        rows = [row for row in build.as_built if row.belongs == belongs]
        lines += heading(f"As built: {belongs or 'the line'} ({say.unit})")
        lines += table(columns, [_as_built(row, others, say) for row in rows])
    return lines


def _as_built(row: AsBuilt, others: list[str], say: Speech) -> tuple[str, ...]:
    other = f"{others.index(row.otherwise) + 1}" if row.otherwise else ""
    name = say.place(row.id).replace(", ", " ").replace("/", " ")
    name = name.removeprefix("as built ").removeprefix("test run ")
    what = f"{tell(row.what, say)}, from {tell(row.surface, say)}; {row.tool} [{name}]"
    return (what, say.of(row.planned), passes(row, say), other, _BLANK, _BLANK)


def passes(row: AsBuilt, say: Speech) -> str:
    """Return the limits of an as-built reading.

    Parameters
    ----------
    row : AsBuilt
        The row.
    say : Speech
        How lengths are said.

    Returns
    -------
    str
        Such as ``55.7 to 56.0``; empty without limits.
    """
    low = None if row.low is None else say.bare(row.low, 2)
    high = None if row.high is None else say.bare(row.high, 2)
    if low and high:
        return f"{low} to {high}"
    return f"{low} or more" if low else f"{high} or less" if high else ""

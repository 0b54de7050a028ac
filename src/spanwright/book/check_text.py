"""The whole job as text, in the order in which a builder needs it."""

from __future__ import annotations

from spanwright.advice.given import Advice
from spanwright.book.advising.next_text import advice_text, next_lines
from spanwright.book.blocks import Block, paragraph, shown
from spanwright.book.clearance_text import answer, by_part_text, not_clear_text
from spanwright.book.notes_text import findings_text
from spanwright.book.structures_text import cuts_text, heights_text
from spanwright.book.survey_text import suspects_text
from spanwright.book.trains.chance_text import chance_text, low_text
from spanwright.book.trains.trials_text import trials_text
from spanwright.drawings.speech import Speech
from spanwright.drawn.stage import Trials
from spanwright.job import Plan


def title(plan: Plan) -> str:
    """Return the job's name with its scale and gauge.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    str
        One line.
    """
    job = plan.job
    return f"{shown(job.name)}: scale 1:{float(job.scale):g}, gauge {job.gauge:g} mm"


def legend(say: Speech) -> list[Block]:
    """Return once how doubts are said.

    Parameters
    ----------
    say : Speech
        How numbers are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    usual = ": right about 19 times in 20" if say.k == 2.0 else ""
    return paragraph(
        f"± is give or take, {say.k:g} times the standard uncertainty{usual}."
        " These stand without it: what is decided (cut sizes, wanted margins), held or exact; readings as"
        " they were read, and how far they are off; places along a line; bounds (over ...)."
        f" Sides: {say.words.left} is left, {say.words.right} is right, looking from {say.words.start} to"
        f" {say.words.finish}."
    )


def check_text(
    plan: Plan, advices: tuple[Advice, ...], say: Speech, trials: Trials | None = None
) -> list[Block]:
    """Return the whole job.

    Parameters
    ----------
    plan : Plan
        The plan.
    advices : tuple of Advice
        What to measure next.
    say : Speech
        How numbers and places are said.
    trials : Trials, optional
        Whole plans with drawn inputs, if there were any.

    Returns
    -------
    list of Block
        Blocks.
    """
    lines = answer(plan) + missing(plan)
    lines += ["", *legend(say)]
    lines += suspects_text(plan, say)
    lines += not_clear_text(plan, say, next_lines(plan, advices, say))
    lines += by_part_text(plan, say)
    lines += chance_text(plan, say)
    lines += trials_text(plan, trials, say)
    if plan.structures is not None:
        lines += heights_text(plan.structures, say)
        lines += cuts_text(plan, plan.structures, say)
        lines += low_text(plan, say)
    lines += advice_text(plan, advices, say)
    return lines + findings_text(plan.findings, say)


def missing(plan: Plan) -> list[Block]:
    """Return what the job does not have yet.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    list of Block
        Blocks; none if the job is complete.
    """
    lines = []
    if plan.structures is None and not plan.portals:
        lines += paragraph("The job has no bridge yet: add [bridge], [[supports]] and [[spans]] to its file.")
    if plan.job.clearance is None or not plan.job.clearance.runs:
        lines += paragraph("The job has no trains yet: add [[vehicles]] to its file.")
    if plan.clearance is None:
        lines += paragraph("What there is can be seen with the verbs survey and alignment.")
    return lines

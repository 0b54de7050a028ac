"""The commands about trains beyond the verdicts: remedies, and the wall card."""

from __future__ import annotations

from pathlib import Path

from spanwright.book import check_text, clearance_text
from spanwright.book.trains.remedies_text import explained, left_out, remedies_text, said
from spanwright.book.trains.wall_card import wall_card
from spanwright.book.words import speech
from spanwright.clearance.stage import Gap
from spanwright.cli.commands import as_far_as, derived, print_lines, status, typed
from spanwright.cli.cores import on_all_cores, progress
from spanwright.cli.layout import plain
from spanwright.errors import InputError
from spanwright.files.history import change
from spanwright.files.job_file import job_of, load_job
from spanwright.files.source import job_path, job_text
from spanwright.findings import Verdict
from spanwright.job import Plan
from spanwright.remedies.explain import explain
from spanwright.remedies.solve import Remedy, find_remedies

_OPEN = (Verdict.FOUL, Verdict.NOT_PROVEN)


def card(job: str) -> int:
    """Print the wall card.

    Parameters
    ----------
    job : str
        Job folder or file.

    Returns
    -------
    int
        Exit status.
    """
    plan = derived(as_far_as(load_job(job), "card", Path(job)), "clearance")
    lines = plain([check_text.title(plan), *clearance_text.answer(plan, whole=False)])
    if plan.clearance is not None:
        lines += plain(wall_card(plan.clearance, speech(plan)))
    print_lines(lines)
    return status("clearance", plan)


def remedies(job: str, *, take: int) -> int:
    """Print what would make each foul or not proven gap clear; put one of them into the job file.

    Parameters
    ----------
    job : str
        Job folder or file.
    take : int
        Number of the remedy of the worst gap to put into the file; 0 for none.

    Returns
    -------
    int
        Exit status of the plan as it is, or with the remedy in it.
    """
    path = job_path(job)
    text = job_text(job)
    plan = derived(as_far_as(job_of(text, str(path)), "remedies", Path(job)), "clearance")
    say, settings = speech(plan), plan.job.clearance
    if plan.clearance is None or settings is None:
        return status("clearance", plan)
    gaps = [g for g in clearance_text.not_clear(plan.clearance, say.k) if g.verdict in _OPEN]
    lines = plain([check_text.title(plan), *clearance_text.answer(plan, whole=False)])
    if not gaps:
        print_lines([*lines, "No gap is foul or not proven: nothing has to be moved."])
        return status("clearance", plan)
    first: tuple[Remedy, ...] = ()
    mended: set[str] = set()
    for number, gap in enumerate(gaps):
        if gap.id in mended:
            continue
        found = _found(text, str(path), plan, gap)
        if number == 0:
            first = found
        mended |= {after.id for r in found[:1] for _, after in r.better if after.verdict is Verdict.CLEAR}
        why = explained(gap, explain(plan, gap), settings, say)
        lines += plain(remedies_text(gap, why, found, (text, path.name), say))
    lines += plain(left_out(tuple(gaps), plan.job))
    print_lines(lines)
    if not take:
        return status("clearance", plan)
    if not 1 <= take <= len(first):
        raise InputError(
            "there is no remedy of this number for the worst gap",
            code="RE001",
            where="--take",
            value=take,
            limit=f"1 to {len(first)}" if first else "none was found",
        )
    taken = said(first[take - 1], say)
    done = change(path, first[take - 1].text, f"remedy taken, {taken[:1].lower()}{taken[1:]}", made_from=text)
    way_back = f"spanwright history {typed(job)} --back {done.former.number}"
    print_lines(["", f"Done: {taken}.", f"The file as it was is kept. To go back: {way_back}"])
    return status("clearance", first[take - 1].plan)


def _found(text: str, name: str, plan: Plan, gap: Gap) -> tuple[Remedy, ...]:
    quiet = on_all_cores(lambda _done, _total: None)
    with progress("trying what may move") as tell:
        return find_remedies(text, name, plan, gap, each=quiet, tell=tell)

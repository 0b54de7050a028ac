"""The commands about trains beyond the verdicts: remedies, and the wall card."""

from __future__ import annotations

import io
import sys
from functools import partial
from pathlib import Path

from spanwright.book import check_text, clearance_text
from spanwright.book.trains.remedies_text import explained, left_out, remedies_text, said
from spanwright.book.trains.wall_card import wall_card
from spanwright.book.words import speech
from spanwright.clearance.stage import Gap
from spanwright.cli.commands import as_far_as, derived, print_lines, put, status, typed
from spanwright.cli.cores import on_all_cores, progress
from spanwright.cli.layout import plain
from spanwright.errors import InputError
from spanwright.files.history import change
from spanwright.files.job_file import job_of, load_job
from spanwright.files.output import write_json
from spanwright.files.source import job_path, job_text
from spanwright.findings import Verdict
from spanwright.job import Plan
from spanwright.remedies.document import remedies_document
from spanwright.remedies.solve import Remedy, find_remedies
from spanwright.remedies.sought import seek

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


def remedies(job: str, *, take: int, as_json: bool) -> int:
    """Print what would make each foul or not proven gap clear; put one of them into the job file.

    Parameters
    ----------
    job : str
        Job folder or file.
    take : int
        Number of the remedy of the worst gap to put into the file; 0 for none.
    as_json : bool
        Print numbers for other programs.

    Returns
    -------
    int
        Exit status of the plan as it is, or with the remedy in it.

    Raises
    ------
    InputError
        If there is no remedy of that number, or one is taken with ``--json``.
    """
    if take and as_json:
        raise InputError(
            "a remedy is taken or told as JSON, not both at once",
            code="RE002",
            where="--take",
            value=take,
            hint="Leave one of the two out",
        )
    path = job_path(job)
    text = job_text(job)
    plan = derived(as_far_as(job_of(text, str(path)), "remedies", Path(job)), "clearance")
    say, settings = speech(plan), plan.job.clearance
    if plan.clearance is None or settings is None:
        return status("clearance", plan)
    gaps = tuple(g for g in clearance_text.not_clear(plan.clearance, say.k) if g.verdict in _OPEN)
    files = (text, path.name)
    sought = seek(plan, gaps, partial(_found, text, str(path), plan))
    if as_json:
        if isinstance(sys.stdout, io.TextIOWrapper):
            sys.stdout.reconfigure(encoding="utf-8")  # JSON is UTF-8, whatever the console speaks
        put(write_json(remedies_document(plan, gaps, sought, files=files, k=say.k)))
        return status("clearance", plan)
    lines = plain([check_text.title(plan), *clearance_text.answer(plan, whole=False)])
    if not gaps:
        print_lines([*lines, "No gap is foul or not proven: nothing has to be moved."])
        return status("clearance", plan)
    for one in sought:
        why = explained(one.gap, one.why, settings, say)
        lines += plain(remedies_text(one.gap, why, one.remedies, files, say))
    lines += plain(left_out(gaps, plan.job))
    print_lines(lines)
    if not take:
        return status("clearance", plan)
    first = sought[0].remedies
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

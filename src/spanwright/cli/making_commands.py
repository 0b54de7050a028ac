"""The commands that make something for the layout: parts, drawings, build, book."""

from __future__ import annotations

from pathlib import Path

from spanwright.book import check_text, clearance_text
from spanwright.book.build_text import build_text
from spanwright.book.compose import book_files, drawings_text
from spanwright.book.making import Making, make, stamp_of
from spanwright.book.notes_text import findings_text
from spanwright.book.parts_text import parts_text
from spanwright.book.words import speech
from spanwright.book.working.plan_text import plan_text
from spanwright.book.working.tonight_text import tonight_text
from spanwright.cli.commands import (
    advices,
    as_far_as,
    derived,
    print_lines,
    put_json,
    status,
    still_in,
    tried,
)
from spanwright.cli.cores import progress
from spanwright.cli.layout import plain
from spanwright.drawn.stage import Trials
from spanwright.errors import FileFormatError
from spanwright.files.book_files import is_free, write_book
from spanwright.files.documents.tonight_json import tonight_document
from spanwright.files.job_file import load_job
from spanwright.job import Plan


def show_made(verb: str, job: str, *, as_json: bool = False) -> int:
    """Derive a plan and print the parts, the sheets or the steps that follow from it.

    Parameters
    ----------
    verb : str
        ``parts``, ``drawings``, ``build``, or ``tonight`` for what the next evening is for.
    job : str
        Job folder or file.
    as_json : bool
        Print what tonight is for as a document for other programs.

    Returns
    -------
    int
        Exit status, as ``check`` would have it.
    """
    plan, making = _made(job)
    say = speech(plan)
    if verb == "parts":
        body = parts_text(making.parts, say)
    elif verb == "drawings":
        body = drawings_text(making, plan.job.printer, stamp_of(plan), say)
    elif verb == "tonight" and as_json:
        put_json(tonight_document(making.build, making.findings, plan.job.name, say))
        return status("check", plan)
    elif verb == "tonight":
        body = tonight_text(making.build, say)
    else:
        body = [*build_text(making.build, making.titles, say), *plan_text(making.build, say)]
    notes = findings_text(making.findings, say)
    lead = clearance_text.not_ready(plan)
    print_lines(plain([check_text.title(plan), *lead, *still_in(plan), "", *body, *notes]))
    return status("check", plan)


def book(job: str, out: str) -> int:
    """Write the build book and every pattern beside it.

    Parameters
    ----------
    job : str
        Job folder or file.
    out : str
        Folder to write into.

    Returns
    -------
    int
        Exit status, as ``check`` would have it.
    """
    if not out.strip():
        raise FileFormatError(
            "this folder cannot be made (it has no name)",
            code="FI011",
            value=out,
            hint="Name the folder to write into, as in: --out book",
        )
    is_free(Path(out))  # before the work, not after it
    plan, trials = tried(derived(as_far_as(load_job(job), "book", Path(job)), "check"))  # before it is cut
    making = make(plan)
    with progress("drawing") as tell:
        files = book_files(plan, making, advices(plan), tell, trials=trials)
    folder = write_book(out, files)
    patterns = sum(name.endswith(".pdf") and name.startswith("patterns/") for name in files)
    tables = sum(name.startswith("tables/") for name in files)
    print_lines(
        plain(
            [
                check_text.title(plan),
                *clearance_text.answer(plan, whole=False),
                _proven(trials),
                f"Wrote {folder / 'book.pdf'}",
                f"and beside it {patterns} patterns and gauges as PDF, SVG and DXF, {tables} tables as CSV.",
                f"Revision {stamp_of(plan).revision}: prints of another revision are void.",
                "First print calibration.pdf at 100 %, measure its bars and enter them in the job file.",
            ]
        )
    )
    return status("check", plan)


def _proven(trials: Trials) -> str:
    """Say in a line what the trials have shown; the book has all of it."""
    held = "no doubt is" if not trials.wider else f"the doubts of {len(trials.wider)} gaps are"
    if len(trials.wider) == 1:
        held = "the doubt of 1 gap is"
    lost = f"; {trials.failed} could not be derived" if trials.failed else ""
    return f"Tried on {trials.made} whole plans with drawn inputs{lost}: {held} held wider."


def _made(path: str) -> tuple[Plan, Making]:
    job = as_far_as(load_job(path), "book", Path(path))
    plan = derived(job, "check")
    return plan, make(plan)

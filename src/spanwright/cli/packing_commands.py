"""The command that says which sheets go under which bearing."""

from __future__ import annotations

from pathlib import Path

from spanwright.book import check_text
from spanwright.book.building.packing_text import packing_text
from spanwright.book.making import gaps_under, packed
from spanwright.book.notes_text import findings_text
from spanwright.book.words import speech
from spanwright.cli.commands import NOT_CLEAR, as_far_as, derived, print_lines, put_json, status, still_in
from spanwright.cli.layout import plain
from spanwright.errors import InputError
from spanwright.files.documents.packing_json import packing_document
from spanwright.files.job_file import load_job
from spanwright.findings import Severity


def packing(job: str, *, as_json: bool) -> int:
    """Choose packing from the builder's shelf and print it, with the railhead that comes of it.

    Parameters
    ----------
    job : str
        Job folder or file.
    as_json : bool
        Print numbers for other programs.

    Returns
    -------
    int
        Exit status: 1 if a limit of the railhead is missed, as ``structures`` would have it otherwise.

    Raises
    ------
    InputError
        If the job has no bridge.
    """
    whole = load_job(job)
    plan = derived(as_far_as(whole, "structures", Path(job)), "structures")
    given, result = plan.job.packing, packed(plan)
    if result is not None and result.choice is not None and whole.clearance and whole.clearance.runs:
        plan = derived(whole, "check")  # what is packed is held against the trains below
        result = packed(plan)
    if given is None or result is None:
        raise InputError("this job has no bridge yet", code="JO070", where=job, hint="Add [bridge]")
    say, under = speech(plan), gaps_under(plan, result)
    if as_json:
        put_json(packing_document(result, plan.job.name, say, under))
    else:
        print_lines(
            plain(
                [
                    check_text.title(plan),
                    *still_in(plan),
                    "",
                    *check_text.legend(say),
                    "",
                    *packing_text(result, given, say, under),
                    *findings_text(result.findings, say),
                ]
            )
        )
    mended = all(f.severity is Severity.NOTE or f.code == "PK104" for f in result.findings)
    return status("structures", plan) if mended else NOT_CLEAR

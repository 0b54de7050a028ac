"""The command that tells where the doubt of one number comes from."""

from __future__ import annotations

from pathlib import Path

from spanwright.advice.why import why as found_why
from spanwright.book import check_text
from spanwright.book.advising.why_text import why_text
from spanwright.book.words import speech
from spanwright.cli.commands import CLEAR, advices, as_far_as, derived, print_lines, put_json, still_in
from spanwright.cli.layout import plain
from spanwright.files.documents.why_json import why_document
from spanwright.files.job_file import load_job
from spanwright.measured.numbers import names_gap


def why(job: str, number: str, *, as_json: bool) -> int:
    """Print what the doubt of a number is made of, and which reading would shrink it most.

    Parameters
    ----------
    job : str
        Job folder or file.
    number : str
        The number, as the builder calls it.
    as_json : bool
        Print numbers for other programs.

    Returns
    -------
    int
        Exit status: 0 once it is found.

    Raises
    ------
    InputError
        If no number of the plan is called so.
    """
    given = load_job(job)
    of_train = names_gap(number.replace(" against ", ", "), given.lines)
    verb = "clearance" if of_train else "structures" if given.structures else "alignment"
    plan = derived(as_far_as(given, verb, Path(job)), verb)
    say = speech(plan)
    found = found_why(plan, number, say.place)
    if as_json:
        put_json(why_document(plan, found, say.k))
        return CLEAR
    lines = [check_text.title(plan), *still_in(plan), "", *check_text.legend(say), ""]
    print_lines(plain([*lines, *why_text(plan, found, advices(plan), say)]))
    return CLEAR

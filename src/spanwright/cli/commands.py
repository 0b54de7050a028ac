"""What each command does: read the job, derive as much of the plan as is asked, show it, tell the status."""

from __future__ import annotations

import io
import os
import shlex
import subprocess
import sys
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

from spanwright.advice.given import Advice
from spanwright.advice.stage import advise
from spanwright.book import alignment_text, check_text, clearance_text, structures_text, survey_text
from spanwright.book.advising.next_text import advice_text
from spanwright.book.blocks import Block, shown
from spanwright.book.notes_text import findings_text
from spanwright.book.words import coverage, speech
from spanwright.cli.cores import on_all_cores, progress
from spanwright.cli.layout import plain
from spanwright.drawn.stage import PAIRS, Trials, try_plan, widened
from spanwright.errors import FileFormatError, InputError, SpanwrightError
from spanwright.files.documents.trials_json import trials_document
from spanwright.files.job_file import load_job
from spanwright.files.output import write_json
from spanwright.files.plan_json import plan_document
from spanwright.files.sheets import reading_sheets
from spanwright.files.template import new_job
from spanwright.findings import Severity, Verdict
from spanwright.job import Job, Plan, derive

CLEAR, NOT_CLEAR = 0, 1
MOST_DRAWS = 10_000
STAGES = ("survey", "alignment", "structures", "clearance")
_WORKING = {
    "survey": "adjusting the readings",
    "alignment": "adjusting the readings, finding the lines",
    "structures": "adjusting the readings, finding the lines, fitting the bridge",
    "clearance": "sweeping the trains",
    "check": "sweeping the trains",
}

_DISAGREE = "Run: spanwright survey {job} to see which readings disagree."
#: What to do next where the reckoning stops, besides what the message says; one line each.
_WAY_OUT = {
    "AL001": _DISAGREE,
    "AL002": _DISAGREE,
    "ES001": "A mark needs two readings that place it from other marks, and one for its height.",
    "ES002": "If one reading is far out, write its id under set_aside in [survey], and run again.",
}


def put(text: str) -> None:
    """Write to the standard output; a reader that has gone away is no failure.

    Parameters
    ----------
    text : str
        What to write, with its line ends.

    Raises
    ------
    FileFormatError
        If it cannot be written.
    """
    if sys.stdout is None:
        raise _unwritten("it is closed")
    coding = sys.stdout.encoding or "utf-8"
    try:
        text.encode(coding)
    except UnicodeEncodeError:  # an old console: say the signs in letters, keep the line
        for sign, plain in (("±", "+/-"), ("°", " deg")):
            text = text.replace(sign, plain)
        text = text.encode(coding, errors="replace").decode(coding)
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except OSError as problem:
        raise _unwritten(problem.strerror or str(problem)) from problem


def _unwritten(why: str) -> FileFormatError:
    return FileFormatError(
        f"the output cannot be written ({why})",
        code="FI011",
        hint="Send it to the terminal, or to a file that has room",
    )


def put_json(document: dict[str, Any]) -> None:
    """Write a document for other programs to the standard output.

    Parameters
    ----------
    document : dict
        The document.
    """
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8")  # JSON is UTF-8, whatever the console speaks
    put(write_json(document))


def print_lines(lines: list[str]) -> None:
    """Write lines to the standard output, with control characters spelt out.

    Parameters
    ----------
    lines : list of str
        What to write.
    """
    put(shown("\n".join(lines), keep="\n") + "\n")


def typed(path: str) -> str:
    """Return a path as it must be typed on a command line.

    Parameters
    ----------
    path : str
        The path.

    Returns
    -------
    str
        In quotes where it needs them.
    """
    return subprocess.list2cmdline([path]) if os.name == "nt" else shlex.quote(path)


def new(directory: str) -> int:
    """Make a job folder and print its blank reading sheets.

    Parameters
    ----------
    directory : str
        The folder.

    Returns
    -------
    int
        Exit status.
    """
    if not directory.strip():
        raise FileFormatError(
            "this folder cannot be made (it has no name)",
            code="FI011",
            value=directory,
            hint="Name the folder to make, as in: spanwright new my-bridge",
        )
    job, sheet = new_job(directory)
    try:
        print_lines(
            [
                reading_sheets(load_job(job)),
                f"Made {job}: a small complete job. Put your own measurements in its place.",
                f"Made {sheet}: the blank sheets above, to print and take to the layout.",
                f"Then run: spanwright check {typed(directory)}",
            ]
        )
    except FileFormatError as problem:
        problem.hint = f"But the job was made: {job} and {sheet}"
        raise
    return CLEAR


def sheets(job: str) -> int:
    """Print blank reading sheets.

    Parameters
    ----------
    job : str
        Job folder or file.

    Returns
    -------
    int
        Exit status.
    """
    print_lines(reading_sheets(load_job(job)).removesuffix("\n").split("\n"))
    return CLEAR


def demo(*, as_json: bool) -> int:
    """Work through the job that comes with the program.

    Parameters
    ----------
    as_json : bool
        Print numbers for other programs.

    Returns
    -------
    int
        0 when it ran, whatever the verdicts.
    """
    with resources.as_file(resources.files("spanwright.files").joinpath("demo", "job.toml")) as path:
        job = load_job(path)
        place = path
    plan = derived(job, "check")
    if not as_json:
        print_lines(
            [
                "The example job: one line climbs over another on kit girders under a curve. All of it is"
                " made up.",
                f"Its file, to read and to copy: {place}",
                "",
            ]
        )
    _print("check", plan, as_json=as_json)
    return CLEAR


def show(verb: str, job: str, *, as_json: bool, draws: int = 0) -> int:
    """Derive and print the whole job or one stage of it.

    Parameters
    ----------
    verb : str
        ``check`` or a stage.
    job : str
        Job folder or file.
    as_json : bool
        Print numbers for other programs.
    draws : int
        Whole plans to derive with drawn inputs.

    Returns
    -------
    int
        Exit status.
    """
    if not 0 <= draws <= MOST_DRAWS:
        raise InputError(
            "so many whole plans cannot be meant",
            code="JO072",
            where="--draws",
            value=draws,
            limit=f"0 to {MOST_DRAWS}",
            hint="24 tell what bends; each takes half a second of one core or so",
        )
    asked = as_far_as(load_job(job), verb, Path(job))
    try:
        plan = derived(asked, verb)
    except SpanwrightError as problem:
        if problem.code in _WAY_OUT:
            problem.add_note(_WAY_OUT[problem.code].format(job=typed(job)))
        raise
    trials = None
    if draws > 0:
        plan, trials = tried(plan, draws)
    _print(verb, plan, as_json=as_json, trials=trials)
    return status(verb, plan)


def as_far_as(job: Job, verb: str, path: Path) -> Job:
    """Return the job without what the verb does not need; refuse a stage that it has nothing for."""
    needed = (
        ("structures", "book") if job.portals else ("structures", "clearance", "card", "remedies", "book")
    )
    if verb in needed and job.structures is None:
        raise InputError(
            "this job has no bridge yet",
            code="JO070",
            where=str(path),
            hint="Add [bridge], [[supports]] and [[spans]]; survey and alignment work without them",
        )
    trains = bool(job.clearance and job.clearance.runs)
    if (verb == "clearance" and job.clearance is None) or (verb in ("card", "remedies") and not trains):
        raise InputError(
            "this job has no trains yet", code="JO071", where=str(path), hint="Add [[vehicles]] to its file"
        )
    if verb == "survey":
        return replace(job, lines=(), structures=None, clearance=None)
    if verb == "alignment":
        return replace(job, structures=None, clearance=None)
    return replace(job, clearance=None) if verb == "structures" else job


def derived(job: Job, verb: str) -> Plan:
    """Derive the plan; on a terminal show how far it is."""
    with progress(_WORKING[verb]) as tell:
        return derive(job, each=on_all_cores(tell))


def tried(plan: Plan, draws: int = 2 * PAIRS) -> tuple[Plan, Trials]:
    """Derive whole plans with drawn inputs, and hold wider what they ask for.

    Parameters
    ----------
    plan : Plan
        The plan.
    draws : int
        How many; made in pairs.

    Returns
    -------
    tuple
        The plan, some doubts held wider; what the trials have shown.
    """
    with progress("deriving whole plans with drawn inputs") as tell:
        trials = try_plan(plan, pairs=-(-draws // 2), each=on_all_cores(tell))
        return widened(plan, trials), trials


def advices(plan: Plan) -> tuple[Advice, ...]:
    """Return what to measure next.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    tuple of Advice
        Empty if the job has no gaps.
    """
    return advise(plan)


def _print(verb: str, plan: Plan, *, as_json: bool, trials: Trials | None = None) -> None:
    if as_json:
        stages = STAGES if verb == "check" else (verb,)
        document = plan_document(plan, k=coverage(plan), stages=stages, advices=advices(plan))
        put_json(document | trials_document(trials))
    else:
        print_lines(plain([check_text.title(plan), *text_of(verb, plan, trials)]))


def text_of(verb: str, plan: Plan, trials: Trials | None = None) -> list[Block]:
    """Return what a verb prints.

    Parameters
    ----------
    verb : str
        ``check`` or a stage.
    plan : Plan
        Derived as far as the verb needs.
    trials : Trials, optional
        Whole plans with drawn inputs; told by ``check``.

    Returns
    -------
    list of Block
        Blocks.
    """
    say = speech(plan)
    if verb == "check":
        return check_text.check_text(plan, advices(plan), say, trials)
    own = {"survey": "SU", "alignment": "AL", "structures": "ST", "clearance": "CL"}[verb]
    notes = findings_text(
        tuple(f for f in plan.findings if f.code.startswith(own) or f.severity is Severity.STOP),
        say,
        without=frozenset({"SU101", "SU102", "SU103", "CL101", "CL102", "CL103"}),
    )
    if verb == "survey":
        head, body = survey_text.answer(plan), survey_text.survey_text(plan, say)
    elif verb == "alignment":
        body = alignment_text.alignment_text(plan, say)
        head = body[:1]
    elif verb == "structures" and plan.structures is not None:
        body = structures_text.structures_text(plan, plan.structures, say)
        head = body[:1]
    else:
        head, body = clearance_text.answer(plan, whole=False), clearance_text.clearance_text(plan, say)
        notes = advice_text(plan, advices(plan), say) + notes
    rest = body[len(head) :]
    if verb in ("alignment", "structures"):
        head = [*clearance_text.not_ready(plan), *head, *still_in(plan)]
    space = [""] if rest[:1] != [""] else []
    return [*head, "", *check_text.legend(say), *space, *rest, *notes]


def still_in(plan: Plan) -> list[str]:
    """Return the line that says that the numbers rest on suspect readings."""
    count = len(plan.survey.suspects)
    if not count:
        return []
    one = count == 1
    return [f"{count} suspect reading{' is' if one else 's are'} still in: run spanwright survey."]


def status(verb: str, plan: Plan) -> int:
    """Return the exit status that a plan deserves.

    Parameters
    ----------
    verb : str
        ``check`` or a stage.
    plan : Plan
        The plan.

    Returns
    -------
    int
        0 if all that the verb shows is clear, 1 otherwise.
    """
    if verb in ("check", "survey") and plan.survey.suspects:
        return NOT_CLEAR  # heights and cut sizes rest on them
    if any(f.severity is Severity.STOP for f in plan.findings):
        return NOT_CLEAR
    if verb in ("check", "clearance"):
        judged = plan.clearance is not None and bool(plan.clearance.gaps)
        clear = plan.clearance is not None and all(g.verdict is Verdict.CLEAR for g in plan.clearance.gaps)
        return CLEAR if judged and clear else NOT_CLEAR
    return CLEAR

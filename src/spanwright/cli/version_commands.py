"""The commands about more than one text of a job: its history, and two plans side by side."""

from __future__ import annotations

import io
import sys
import tomllib
from dataclasses import replace
from pathlib import Path

from spanwright.book.blocks import Block, paragraph
from spanwright.book.versions.compare_text import compare_text
from spanwright.book.versions.history_text import Text, built_text, changed_lines, history_text
from spanwright.book.words import speech
from spanwright.cli.commands import CLEAR, as_far_as, derived, print_lines, put, typed
from spanwright.cli.layout import plain
from spanwright.errors import InputError, SpanwrightError
from spanwright.files.history import back_to, change, current_text, history_folder, kept_texts
from spanwright.files.job_file import job_of
from spanwright.files.output import write_json
from spanwright.files.source import JOB_FILE, job_path, job_text
from spanwright.files.versions.comparison_json import comparison_document
from spanwright.parts.given import PartsInput
from spanwright.parts.stage import Asked, make_parts
from spanwright.variants.compare import Variant, compare


def side_by_side(job: str, other: str, *, as_json: bool) -> int:
    """Hold the plans of two jobs side by side.

    Parameters
    ----------
    job : str
        Folder or file of the one job.
    other : str
        Folder or file of the other.
    as_json : bool
        Print numbers for other programs.

    Returns
    -------
    int
        0 when both could be worked through, whatever differs.
    """
    one, two = (_variant(path) for path in (job, other))
    # the other's own numbers and doubts, in the words and the unit of the one
    says = (one.say, replace(two.say, words=one.say.words))
    found = compare(one, replace(two, say=says[1]))
    names = _names(job, other)
    if as_json:
        if isinstance(sys.stdout, io.TextIOWrapper):
            sys.stdout.reconfigure(encoding="utf-8")
        put(write_json(comparison_document(found, names, says)))
        return CLEAR
    lines: list[Block] = [f"Two plans: {names[0]} against {names[1]}"]
    lines += [f"  {name}: {job_path(path)}" for name, path in zip(names, (job, other), strict=True)]
    print_lines(plain([*lines, "", *compare_text(found, names, says)]))
    return CLEAR


def _names(job: str, other: str) -> tuple[str, str]:
    """Return short names of two jobs: that of the folder, or of a file that has one of its own."""
    files = [job_path(path).absolute() for path in (job, other)]
    one, two = (f.parent.name if f.name == JOB_FILE and f.parent.name else f.stem for f in files)
    return (one, two) if one != two else (f"{one} (1)", f"{two} (2)")


def _variant(path: str) -> Variant:
    file, text = job_path(path), job_text(path)
    job = as_far_as(job_of(text, str(file)), "book", Path(path))
    try:
        plan = derived(job, "check")
        if job.structures is None or plan.structures is None:  # refused above
            return Variant(plan=plan, pieces=(), findings=plan.findings, say=speech(plan), values={})
        trains = job.clearance if job.clearance and job.clearance.runs else None
        asked = Asked(
            lines=job.lines, structures=job.structures, clearance=trains, parts=job.parts or PartsInput()
        )
        gaps = plan.clearance if trains else None
        parts = make_parts(asked, plan.survey, plan.alignment, plan.structures, gaps)
    except SpanwrightError as problem:
        problem.add_note(f"This is of {file}.")
        raise
    return Variant(
        plan=plan,
        pieces=parts.pieces,
        findings=plan.findings + parts.findings,
        say=speech(plan),
        values=tomllib.loads(text.replace("\r\n", "\n")),
    )


def history(job: str, *, back: int | None, as_it_was: bool) -> int:
    """List the changes of a job file, or step it back.

    Parameters
    ----------
    job : str
        Job folder or file.
    back : int or None
        Number of the kept text to go back to; None to list them.
    as_it_was : bool
        Do not carry over what is built.

    Returns
    -------
    int
        Exit status.
    """
    if back is not None:
        return _step_back(job, back, carry=not as_it_was)
    if as_it_was:
        raise InputError(
            "this says how to go back, but not to what",
            code="FI015",
            where="--as-it-was",
            limit="--back N too",
        )
    path, kept = job_path(job), kept_texts(job)
    now = current_text(job)
    if not kept:
        print_lines(
            plain(
                paragraph(
                    f"{path}: nothing is kept yet. Its history begins when a command changes it, such as"
                    " spanwright remedies with --take."
                )
            )
        )
        return CLEAR
    texts = [Text(title=f"{k.number}  {k.date}  {k.why}", text=k.text) for k in kept]
    lines: list[Block] = [f"{path}: {len(kept)} texts in {history_folder(job)}", ""]
    if now != kept[-1].text:
        texts.append(Text(title="now  edited by hand since; kept at the next change or step back", text=now))
    lines += [*history_text(texts), ""]
    lines += paragraph(f"To go back to one of them: spanwright history {typed(job)} --back NUMBER")
    print_lines(plain(lines))
    return CLEAR


def _step_back(job: str, number: int, *, carry: bool) -> int:
    path, found = job_path(job), back_to(job, number, carry=carry)
    kept = kept_texts(job)[-1]
    lines: list[Block] = []
    if found.text == found.made_from:
        lines += [f"{path} is as it stood at {number} already: nothing was changed."]
    else:
        done = change(job, found.text, f"back to {number}, {found.to.why}", made_from=found.made_from)
        if done.by_hand:
            lines += paragraph(
                f"It had been edited by hand: that text is kept as number {done.former.number}."
            )
        lines += paragraph(f"Done: {path} is as it stood at {number} ({found.to.date}, {found.to.why}).")
        lines += changed_lines(found.made_from, found.text)
        kept = done.former
    if found.read_from is not None:
        lines += paragraph(
            f"The file as it stood cannot be read, so what is built was looked up in number"
            f" {found.read_from.number}. Look through number {kept.number} for what it says besides."
        )
    lines += built_text([(b.table, b.said, b.instead_of) for b in found.built], carried=carry)
    lines += _usable(found.text, str(path))
    if found.text != found.made_from:
        lines += paragraph(f"To undo this: spanwright history {typed(job)} --back {kept.number}")
    print_lines(plain(lines))
    return CLEAR


def _usable(text: str, name: str) -> list[Block]:
    """Return what is wrong with a text as a job; nothing if it can be worked through."""
    try:
        job_of(text, name)
    except SpanwrightError as problem:
        return paragraph(f"It cannot be used as it stands: {problem}")
    return []

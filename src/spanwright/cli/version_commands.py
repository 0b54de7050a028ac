"""The commands about more than one text of a job: its history, and two plans side by side."""

from __future__ import annotations

from spanwright.book.blocks import Block, paragraph
from spanwright.book.versions.history_text import Text, built_text, changed_lines, history_text
from spanwright.cli.commands import CLEAR, print_lines, typed
from spanwright.cli.layout import plain
from spanwright.errors import InputError, SpanwrightError
from spanwright.files.history import back_to, change, current_text, history_folder, kept_texts
from spanwright.files.job_file import job_of
from spanwright.files.source import job_path


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

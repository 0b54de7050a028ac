"""Why a gap is not clear and what would make it so, as text."""

from __future__ import annotations

from spanwright.book.blocks import Block, Heading, paragraph
from spanwright.book.clearance_text import margin_of, part_of, value_of, vehicle_on
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import Gap
from spanwright.drawings.speech import Speech
from spanwright.files.edit import difference
from spanwright.job import Job
from spanwright.remedies.explain import Explanation
from spanwright.remedies.kinds.lines import laid_lines
from spanwright.remedies.solve import Remedy

#: A share smaller than this is not told. [mm]
_TOLD = 0.02
_CAUSES = (
    ("throw", "the throw on the curve"),
    ("lean", "the lean by the cant"),
    ("play", "running play and rocking"),
    ("height", "the vertical curve"),
)


def explained(gap: Gap, why: Explanation | None, settings: ClearanceInput, say: Speech) -> str:
    """Say in one sentence why a gap is as small as it is.

    Parameters
    ----------
    gap : Gap
        The gap.
    why : Explanation or None
        What each cause takes from it; None where there is no closest point.
    settings : ClearanceInput
        The margins.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    str
        The sentence.
    """
    what = f"The {vehicle_on(gap)} comes within {value_of(gap, say)} {say.unit} of {part_of(gap, say)}"
    if why is None:
        return f"The {vehicle_on(gap)} meets {part_of(gap, say)}."
    causes = []
    for name, words in _CAUSES:
        amount = getattr(why, name)
        if abs(amount) >= _TOLD:
            causes.append(f"{words} {_verb(name, amount)} {say.plain(abs(amount), 2)}")
    bare = say.plain(why.bare, 2)
    of = f": of {bare} on straight and level track {', '.join(causes)}" if causes else ""
    wanted = say.plain(margin_of(gap, settings), 2)
    short = float(gap.margin_gap.value)
    if short >= 0.0:
        end = f"and the {wanted} that you want is there, but its doubt is larger than what is to spare"
    else:
        end = f"and {say.plain(-short, 2)} is missing to the {wanted} that you want"
    return f"{what}{of}; {end}."


def _verb(name: str, amount: float) -> str:
    verb = "take" if amount > 0.0 else "give"
    return verb if name == "play" else f"{verb}s"  # running play and rocking are two


def remedies_text(
    gap: Gap, sentence: str, remedies: tuple[Remedy, ...], files: tuple[str, str], say: Speech
) -> list[Block]:
    """Return what would make one gap clear, the best first, each with the change of the job file.

    Parameters
    ----------
    gap : Gap
        The gap.
    sentence : str
        Why it is as it is.
    remedies : tuple of Remedy
        What was tried by the whole engine.
    files : tuple of str
        Text of the job file, and its name.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    lines: list[Block] = [
        Heading(title=f"{gap.verdict.value.upper()}: {vehicle_on(gap)}, against {part_of(gap, say)}")
    ]
    lines += paragraph(sentence, indent=2)
    if not remedies:
        why = gap.reason or "Measure better first: see what to measure next in spanwright check"
        return lines + paragraph(f"No move that is reckoned here makes it clear. {why}.", indent=2)
    for number, remedy in enumerate(remedies, start=1):
        lines += ["", *_remedy(number, remedy, files, say)]
    return lines


def left_out(gaps: tuple[Gap, ...], job: Job) -> list[Block]:
    """Say what was not tried: a line that lies keeps its curve.

    Parameters
    ----------
    gaps : tuple of Gap
        The gaps for which remedies were sought.
    job : Job
        The job.

    Returns
    -------
    list of Block
        Blocks; none where every line is still a design.
    """
    names = laid_lines(gaps, job)
    if not names:
        return []
    lines = f"line {names[0]} is" if len(names) == 1 else f"lines {' and '.join(names)} are"
    return ["", *paragraph(f"No move of a curve is reckoned where the track lies: {lines} laid.")]


def said(remedy: Remedy, say: Speech) -> str:
    """Say a remedy in one line.

    Parameters
    ----------
    remedy : Remedy
        The remedy.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    str
        Such as ``Make the cap of bent 1.9 mm thinner``.
    """
    by = abs(remedy.by)
    amount = f"{by:.1f} degrees" if remedy.move.unit == "deg" else say.plain(by)
    return say.text(remedy.move.text.replace("{by}", amount))


def _remedy(number: int, remedy: Remedy, files: tuple[str, str], say: Speech) -> list[Block]:
    lines = paragraph(f"{number}. {said(remedy, say)}.", indent=2, hanging=3)
    lines += paragraph(f"{_effect(remedy, say)} {say.text(remedy.move.cost)}", indent=5)
    if remedy.cuts:
        cuts = "; ".join(f"{say.place(key)} {say.cut(a)} becomes {say.cut(b)}" for key, a, b in remedy.cuts)
        lines += paragraph(f"Cut sizes: {cuts} {say.unit}.", indent=5, hanging=2)
    for finding in remedy.findings:
        lines += paragraph(
            f"{finding.code} {say.place(finding.where)}: {say.text(finding.text)}.", indent=5, hanging=2
        )
    lines += [f"       {line}" for line in difference(files[0], remedy.text, files[1])]
    return lines


def _effect(remedy: Remedy, say: Speech) -> str:
    """Say what becomes of the other gaps."""
    told = ["Clear then"]
    if remedy.better:
        others = len(remedy.better) - 1
        if others > 0:
            told.append(f"and {others} other gap{'s' if others > 1 else ''} better")
    if not remedy.worse:
        return f"{', '.join(told)}; no other gap gets a worse word."
    first = remedy.worse[0][1]
    names = f"{vehicle_on(first)} against {part_of(first, say)} becomes {first.verdict.value}"
    more = f" and {len(remedy.worse) - 1} more" if len(remedy.worse) > 1 else ""
    return f"{', '.join(told)}, but {names}{more}."

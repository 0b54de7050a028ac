"""The command that takes what was measured or made, and prints the new answer."""

from __future__ import annotations

import tomllib
from pathlib import Path

from spanwright.book import check_text, clearance_text
from spanwright.book.blocks import Block, paragraph
from spanwright.book.building.answer_text import after_text, changes_text, readings_text
from spanwright.book.building.packing_text import packing_text
from spanwright.book.making import Making, gaps_under, make, stamp_of
from spanwright.book.notes_text import findings_text
from spanwright.book.words import speech
from spanwright.cli.commands import NOT_CLEAR, as_far_as, derived, print_lines, status, typed
from spanwright.cli.layout import plain
from spanwright.errors import InputError
from spanwright.files.entries import Decided, with_reading, with_state
from spanwright.files.history import change
from spanwright.files.job_file import job_of
from spanwright.files.source import job_path, job_text
from spanwright.job import Plan
from spanwright.measured.changed import not_to_touch, void_sheets
from spanwright.measured.fared import what_now
from spanwright.measured.teach import Tested
from spanwright.measured.there import Leans
from spanwright.variants.compare import Variant, compare


def take_in(job: str, *, readings: tuple[str, ...], states: tuple[str, ...]) -> int:
    """Take readings and states into the job file and print what they change.

    Parameters
    ----------
    job : str
        Job folder or file.
    readings : tuple of str
        Such as ``pier 2/shaft, length = 49.1 mm by caliper``.
    states : tuple of str
        Such as ``pier 2 built``.

    Returns
    -------
    int
        Exit status, as ``check`` would have it; not clear if a reading contradicts, and the file is left.
    """
    path = job_path(job)
    text = job_text(job)
    before = derived(as_far_as(job_of(text, str(path)), "book", Path(job)), "check")
    edited = text
    for said in states:
        made = job_of(edited, str(path)).made
        edited = with_state(edited, said, _decided(before), made, _leaning(before))
    for said in readings:
        edited = with_reading(edited, said)
    after = derived(as_far_as(job_of(edited, str(path)), "book", Path(job)), "check")
    say = speech(after)
    taught = after.choices.taught
    told = len(tomllib.loads(text).get("measured", ()))  # what is new stands after these
    for none in taught.not_there if taught else ():
        if none.reading.place >= told:
            state = f"{none.leans.support} {none.leans.state.value}"
            raise InputError(
                f"this part is not said {none.leans.lacks}, so that nothing of it can be read",
                code="ME005",
                where="--measured",
                value=readings[none.reading.place - told],
                hint=f'Say what was made before what was measured: --made "{state}"',
            )
    tested = taught.tested if taught else ()
    contradicts = [t for t in tested if not (t.used or t.repeats) and t.reading.place >= told]
    lines: list[Block] = [check_text.title(after), *readings_text(taught, say)]
    if contradicts:
        lines += ["", *_left_as_it_is(contradicts, readings, told)]
        print_lines(plain(lines))
        return NOT_CLEAR
    makings = make(before), make(after)
    lines += ["", *_answer((before, after), makings)]
    print_lines(plain(lines))
    why = "; ".join([*(f"made: {s}" for s in states), *(f"measured: {r}" for r in readings)])
    done = change(path, edited, why, made_from=text)
    way_back = f"spanwright history {typed(job)} --back {done.former.number} --as-it-was"
    print_lines(
        ["", f"Written into {path.name}, revision {stamp_of(after).revision}. To go back: {way_back}"]
    )
    return status("check", after)


def _left_as_it_is(contradicts: list[Tested], readings: tuple[str, ...], told: int) -> list[Block]:
    open_, settled = (
        [t for t in contradicts if bool(t.against or t.reading.certain or not t.may_slip) is so]
        for so in (False, True)
    )
    lines = paragraph("The job file is left as it is.")
    for one in settled:
        lines += paragraph(
            f"{one.reading.number}: {what_now(one)}."
            + (" No slip in how that part was made explains it." if one.reading.certain else ""),
            hanging=2,
        )
    if open_:
        lines += paragraph(
            "Read again, from the same surface and with the tool's zero tried. If it is so, say that you"
            " stand by it; how truly that part was made, or how high its ground is, is then taken as unknown:"
        )
        lines += [f'  --measured "{readings[one.reading.place - told]} certain"' for one in open_]
    return lines


def _decided(plan: Plan) -> tuple[Decided, ...]:
    return tuple(
        Decided(
            name=s.given.name,
            lengths=tuple(c.length for c in s.cuts),
            station=s.station,
            unit=plan.job.words.unit,
        )
        for s in (plan.structures.supports if plan.structures else ())
    )


def _leaning(plan: Plan) -> tuple[tuple[Leans, int], ...]:
    """Return what readings lean on, and where each reading stands in the file."""
    taught = plan.choices.taught
    if taught is None:
        return ()
    found = [(leans, one.reading.place) for one in taught.tested for leans in one.leans]
    return tuple(found + [(one.leans, one.reading.place) for one in taught.not_there])


def _variant(plan: Plan, making: Making) -> Variant:
    return Variant(
        plan=plan,
        pieces=making.parts.pieces,
        findings=plan.findings + making.findings,
        say=speech(plan),
        values={},
    )


def _answer(plans: tuple[Plan, Plan], makings: tuple[Making, Making]) -> list[Block]:
    variants = [_variant(plan, making) for plan, making in zip(plans, makings, strict=True)]
    says = variants[0].say, variants[1].say
    found = compare(*variants)
    after = plans[1]
    there = frozenset(m.part for m in after.job.made if m.state.stands)
    cut = {f"wrap/{name}" for name in there}  # done with, whatever it would look like now
    void = tuple(
        (key, title)
        for key, title in void_sheets(makings[0].patterns, makings[1].patterns)
        if "/".join(key.split("/")[:2]) not in cut
    )
    otherwise = void_sheets(makings[0].arrangement, makings[1].arrangement)
    new = tuple(f for f in found.findings[1] if not f.code.startswith("CL1"))
    return [
        *clearance_text.answer(after, whole=False),
        "",
        *changes_text(found, says, there),
        *_packing(after, makings[1]),
        "",
        *after_text((void, otherwise), not_to_touch(after.job.made), new, says[1]),
    ]


def _packing(plan: Plan, making: Making) -> list[Block]:
    given, result = plan.job.packing, making.packing
    if given is None or result is None:
        return []
    say = speech(plan)
    return [
        "",
        *packing_text(result, given, say, gaps_under(plan, result)),
        *findings_text(result.findings, say),
    ]

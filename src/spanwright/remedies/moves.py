"""What may move to mend a gap: each move edits the job file, by so many millimetres or as a whole.

Read :func:`moves_for`. A move is small where it can be: it knows to which side it is tried, how far at most
(common practice, no source), and what it costs elsewhere in words.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from spanwright.clearance.stage import Gap
from spanwright.estimation.inputs import Inputs, Size, size
from spanwright.files.edit import with_value, without
from spanwright.job import Job
from spanwright.parts.listing.piece import not_made
from spanwright.structures.given import CapForm, Support, SupportKind

#: How far each kind of move is tried at most (common practice, no source). [mm]
RAISE, SHIFT, ASIDE, THINNER, RAIL_OUT, LESS_CANT = 6.0, 12.0, 6.0, 2.5, 4.0, 0.5
#: Moves are rounded up to this, away from nought. [mm]
STEP = 0.1
_LEAST_CAP = 1.0  # mm that a cap keeps


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One thing that may move.

    Parameters
    ----------
    id : str
        Stable id.
    text : str
        What is done, with ``{by}`` for how far; in inner words, which the builder's take the place of.
    most : float
        Farthest that is tried, with its sign; 0 for a change that is whole or not at all. [mm]
    edit : callable
        Takes the job file's text and how far, returns the edited text.
    cost : str
        What it costs elsewhere, with ``{by}``.
    rank : int
        How gladly it is done, 0 first: what is not made yet before what lies, trains last.
    """

    id: str
    text: str
    most: float
    edit: Callable[[str, float], str]
    cost: str
    rank: int


def moves_for(gap: Gap, job: Job, inputs: Inputs) -> tuple[Move, ...]:
    """List what may move to mend a gap.

    Parameters
    ----------
    gap : Gap
        The gap that is not clear.
    job : Job
        The job.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    tuple of Move
        Most gladly done first.
    """
    given = job.structures
    if given is None:
        return ()
    name, _, part = gap.part.partition("/")
    found: list[Move] = []
    for number, support in enumerate(given.supports):
        if support.name == name:
            found += _of_support(number, support, part, job, inputs)
    for number, span in enumerate(given.spans):
        if span.name == name and part.startswith("handrail") and span.handrail_offset is not None:
            found += _handrail(number, span.handrail_offset, span.name, inputs)
    if gap.side == "above":
        found += _heights(given.upper, given.lower, job)
    if gap.side in ("left", "right", "above"):
        found.append(_cant(gap, job, inputs))
    found.append(_leave_off(gap, job))
    return tuple(sorted(found, key=lambda move: move.rank))


def _mm(value: float) -> str:
    """Write a length with its unit, so that it is right in a job of any unit."""
    return f"{round(value, 3) + 0.0:g} mm"


def _of_support(number: int, support: Support, part: str, job: Job, inputs: Inputs) -> list[Move]:
    keys = ("supports", number)
    found = []
    shift = float(inputs[support.shift].value)
    for way in (1.0, -1.0):
        end = "finish" if way > 0.0 else "start"
        found.append(
            Move(
                id=f"{support.name}/shift/{end}",
                text=f"Shift {support.name} {{by}} towards {{{end}}}",
                most=way * SHIFT,
                edit=lambda text, by: with_value(text, (*keys, "shift"), _mm(shift + by)),
                cost="The spans on both sides change their pitch: see what it says of girder ends.",
                rank=2,
            )
        )
    if support.kind is SupportKind.STRADDLE_BENT:
        found += _of_bent(number, support, part, job, inputs)
    return found


def _of_bent(number: int, support: Support, part: str, job: Job, inputs: Inputs) -> list[Move]:
    keys = ("supports", number)
    found = []
    if part == "cap" and support.form is CapForm.UNDER:
        if not_made(inputs, support.cap):
            depth = float(size(inputs, support.cap).value)
            found.append(
                Move(
                    id=f"{support.name}/cap",
                    text=f"Make the cap of {support.name} {{by}} thinner",
                    most=-min(THINNER, depth - _LEAST_CAP),
                    edit=lambda text, by: with_value(text, (*keys, "cap"), _mm(depth + by)),
                    cost="A thin cap over a wide opening looks weak; its columns become longer by as much.",
                    rank=0,
                )
            )
        found.append(
            Move(
                id=f"{support.name}/form",
                text=f"Let the girders frame into the face of the cap of {support.name}, level with them",
                most=0.0,
                edit=lambda text, _: with_value(text, (*keys, "form"), CapForm.LEVEL.value),
                cost="The spans beside it move apart by the width of the cap.",
                rank=1,
            )
        )
    clear = {"left": support.clear_left, "right": support.clear_right}
    for side, of in clear.items():
        if of is not None and part.endswith(side):
            found.append(_column(number, support, side, of, job=job, inputs=inputs))
    return found


def _column(number: int, support: Support, side: str, of: Size, *, job: Job, inputs: Inputs) -> Move:
    word = job.words.left if side == "left" else job.words.right
    now = float(size(inputs, of).value)
    both = {s: float(size(inputs, c).value) for s, c in _clears(support).items()}

    def edit(text: str, by: float) -> str:
        words = {"left": job.words.left, "right": job.words.right}
        wanted = {words[s]: _mm(v + (by if s == side else 0.0)) for s, v in both.items()}
        try:
            return with_value(text, ("supports", number, "clear", word), wanted[word])
        except (TypeError, KeyError):  # one size for both sides
            return with_value(text, ("supports", number, "clear"), wanted)

    return Move(
        id=f"{support.name}/column {side}",
        text=f"Set the {{{side}}} column of {support.name} {{by}} further out",
        most=ASIDE,
        edit=edit,
        cost=f"The cap becomes longer by as much ({now:g} mm clear now).",
        rank=0,
    )


def _clears(support: Support) -> dict[str, Size]:
    found = {"left": support.clear_left, "right": support.clear_right}
    return {side: of for side, of in found.items() if of is not None}


def _handrail(number: int, of: Size, span: str, inputs: Inputs) -> list[Move]:
    if not not_made(inputs, of):
        return []
    now = float(size(inputs, of).value)
    return [
        Move(
            id=f"{span}/handrail",
            text=f"Set the handrails of {span} {{by}} further out",
            most=RAIL_OUT,
            edit=lambda text, by: with_value(text, ("spans", number, "handrail", "offset"), _mm(now + by)),
            cost="The opening of the board becomes wider by as much on each side.",
            rank=0,
        )
    ]


def _heights(upper: str, lower: str, job: Job) -> list[Move]:
    now = {line.name: float(job.inputs[line.raised].value) for line in job.lines if line.raised}
    ramp = "It needs a ramp at each end: 100 mm of length for each mm if the grade may change by 1 %."
    found = []
    if upper in now:
        found.append(
            Move(
                id=f"{upper}/raise",
                text=f"Raise line {upper} by {{by}}",
                most=RAISE,
                edit=lambda text, by: with_value(text, ("lines", upper, "raise"), _mm(now[upper] + by)),
                cost=ramp,
                rank=3,
            )
        )
    if lower in now:
        found.append(
            Move(
                id=f"{lower}/lower",
                text=f"Lower line {lower} by {{by}}",
                most=-RAISE,
                edit=lambda text, by: with_value(text, ("lines", lower, "raise"), _mm(now[lower] + by)),
                cost=ramp,
                rank=3,
            )
        )
    return found


def _cant(gap: Gap, job: Job, inputs: Inputs) -> Move:
    line = next(line for line in job.lines if line.name == gap.line)
    now = float(inputs[line.canted].value)
    # less height of the right rail where the train leans left towards the part, and the other way round
    way, high = (1.0, "left") if gap.side == "right" else (-1.0, "right")

    def edit(text: str, by: float) -> str:
        change = {"high": job.words.right, "by": _mm(now + by)}
        return with_value(text, ("lines", line.name, "cant_change"), change)

    return Move(
        id=f"{line.name}/cant",
        text=f"Lay line {line.name} with its {{{high}}} rail {{by}} lower over the other",
        most=way * LESS_CANT,
        edit=edit,
        cost="The track has to be lifted and packed again where it is canted.",
        rank=4,
    )


def _leave_off(gap: Gap, job: Job) -> Move:
    runs = [run for run in (job.clearance.runs if job.clearance else ()) if run.vehicle.id == gap.vehicle]
    names = list(dict.fromkeys(run.vehicle.id for run in (job.clearance.runs if job.clearance else ())))
    number = names.index(gap.vehicle)
    rest = [run.line for run in runs if run.line != gap.line]

    def edit(text: str, _: float) -> str:
        if rest:
            return with_value(text, ("vehicles", number, "runs_on"), rest)
        return without(text, ("vehicles", number))

    return Move(
        id=f"{gap.vehicle}/leave off",
        text=f"Keep the {gap.vehicle} off line {gap.line}",
        most=0.0,
        edit=edit,
        cost="It does not run there any more.",
        rank=5,
    )

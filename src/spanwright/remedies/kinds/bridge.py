"""Moves of the bridge: its supports, caps, columns, girders and handrails."""

from __future__ import annotations

import math

from spanwright.clearance.stage import Gap
from spanwright.estimation.inputs import Inputs, Size, size
from spanwright.files.edit import with_value
from spanwright.job import Job
from spanwright.parts.listing.piece import not_made
from spanwright.remedies.move import Move, millimetres
from spanwright.structures.given import CapForm, StructuresInput, Support, SupportKind

#: How far each kind of move is tried at most (common practice, no source). [mm]
SHIFT, ASIDE, THINNER, SHALLOWER, RAIL_OUT = 12.0, 6.0, 2.5, 4.0, 4.0
TURN = 10.0  # degrees
_LEAST_CAP = 1.0  # mm that a cap keeps
_LEAST_GIRDER = 0.5  # of its depth that a girder keeps (common practice, no source)
#: The tool that stands for girders that nobody has measured yet.
_LATER = "to be cut"


def bridge_moves(gap: Gap, job: Job, inputs: Inputs) -> list[Move]:
    """List what of the bridge may move to mend a gap to one of its parts.

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
    list of Move
        None for a gap to something else.
    """
    given = job.structures
    if given is None:
        return []
    name, _, part = gap.part.partition("/")
    found: list[Move] = []
    for number, support in enumerate(given.supports):
        if support.name == name:
            found += _of_support(number, support, part, job, inputs)
    for number, span in enumerate(given.spans):
        if span.name == name and part.startswith("handrail") and span.handrail_offset is not None:
            found += _handrail(number, span.handrail_offset, span.name, inputs)
    numbers = _girders_above(name, part, given)
    if numbers:
        found.append(_shallower(gap.part, numbers, given, job=job, inputs=inputs))
    return found


def _girders_above(name: str, part: str, given: StructuresInput) -> list[int]:
    """Return the spans whose girders set how low a part lies: its own, or both on a cap under bearings."""
    under = [
        s.name for s in given.supports if s.kind is SupportKind.STRADDLE_BENT and s.form is CapForm.UNDER
    ]
    on_cap = part == "cap" and name in under
    return [
        number
        for number, span in enumerate(given.spans)
        if (span.name == name and part.startswith("girder")) or (on_cap and name in (span.start, span.end))
    ]


def _shallower(part: str, numbers: list[int], given: StructuresInput, *, job: Job, inputs: Inputs) -> Move:
    """Return the move to shallower girders, both of each span; nobody has measured them yet."""
    words = {"left": job.words.left, "right": job.words.right}
    spans = [(number, given.spans[number]) for number in numbers]
    depths = {
        (number, side): float(size(inputs, of).value)
        for number, span in spans
        for side, of in (("left", span.depth_left), ("right", span.depth_right))
    }

    def edit(text: str, by: float) -> str:
        for number, span in spans:
            keys = ("spans", number, "depth")
            both = span.depth_left.ids == span.depth_right.ids
            for side in ("left",) if both else ("left", "right"):
                new = {"is": millimetres(depths[number, side] + by), "by": _LATER}
                text = with_value(text, keys if both else (*keys, words[side]), new)
        return text

    names = " and ".join(span.name for _, span in spans)
    return Move(
        id=f"{part}/shallower girders",
        text=f"Take girders {{by}} shallower for {names}",
        most=-min(SHALLOWER, _LEAST_GIRDER * min(depths.values())),
        edit=edit,
        cost="Other girders are needed, to be measured when they are there; shafts become longer by as much.",
        rank=3,
    )


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
                edit=lambda text, by: with_value(text, (*keys, "shift"), millimetres(shift + by)),
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
                    edit=lambda text, by: with_value(text, (*keys, "cap"), millimetres(depth + by)),
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
    return found + [_turned(number, support, way) for way in (1.0, -1.0)]


def _turned(number: int, support: Support, way: float) -> Move:
    now = math.degrees(support.turn)
    sense = "anticlockwise" if way > 0.0 else "clockwise"
    return Move(
        id=f"{support.name}/turn {sense}",
        text=f"Turn {support.name} {{by}} {sense}, seen from above",
        most=way * TURN,
        edit=lambda text, by: with_value(
            text, ("supports", number, "turn"), f"{round(now + by, 3) + 0.0:g} deg"
        ),
        cost=(
            "Its columns keep their distances from the track's centre along the turned cap; girder ends and"
            " shoes come to lie elsewhere on it."
        ),
        rank=2,
        unit="deg",
    )


def _column(number: int, support: Support, side: str, of: Size, *, job: Job, inputs: Inputs) -> Move:
    word = job.words.left if side == "left" else job.words.right
    now = float(size(inputs, of).value)
    both = {s: float(size(inputs, c).value) for s, c in _clears(support).items()}

    def edit(text: str, by: float) -> str:
        words = {"left": job.words.left, "right": job.words.right}
        wanted = {words[s]: millimetres(v + (by if s == side else 0.0)) for s, v in both.items()}
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
            edit=lambda text, by: with_value(
                text, ("spans", number, "handrail", "offset"), millimetres(now + by)
            ),
            cost="The opening of the board becomes wider by as much on each side.",
            rank=0,
        )
    ]

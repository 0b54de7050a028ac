"""Moves of a portal that is still to be built: its jambs further out, its lintel higher."""

from __future__ import annotations

from spanwright.clearance.stage import Gap
from spanwright.estimation.inputs import Inputs, Size, size
from spanwright.files.edit import with_value
from spanwright.job import Job
from spanwright.parts.listing.piece import not_made
from spanwright.remedies.move import Move, millimetres
from spanwright.structures.portals import Portal

#: How far each kind of move is tried at most (common practice, no source). [mm]
WIDER, HIGHER = 6.0, 6.0


def portal_moves(gap: Gap, job: Job, inputs: Inputs) -> list[Move]:
    """List what of a portal may move to mend a gap to it.

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
        None for a gap to something else, or to what stands already.
    """
    name, _, part = gap.part.partition("/")
    found = []
    for number, portal in enumerate(job.portals):
        if portal.name != name:
            continue
        for side, of in (("left", portal.left), ("right", portal.right)):
            if of is not None and part == f"jamb {side}" and not_made(inputs, of):
                found.append(_wider(number, portal, side, of, job=job, inputs=inputs))
        if portal.height is not None and part == "lintel" and not_made(inputs, portal.height):
            found.append(_higher(number, portal, portal.height, inputs))
    return found


def _wider(number: int, portal: Portal, side: str, of: Size, *, job: Job, inputs: Inputs) -> Move:
    words = {"left": job.words.left, "right": job.words.right}
    now = float(size(inputs, of).value)

    def edit(text: str, by: float) -> str:
        keys = ("portals", number, "clear")
        if portal.left is not portal.right:
            return with_value(text, (*keys, words[side]), millimetres(now + by))
        return with_value(  # one size for both sides
            text, keys, {words[s]: _kept(of, now + (by if s == side else 0.0), inputs) for s in words}
        )

    return Move(
        id=f"{portal.name}/jamb {side}",
        text=f"Build the {{{side}}} jamb of {portal.name} {{by}} further out",
        most=WIDER,
        edit=edit,
        cost=f"The opening becomes wider by as much ({now:g} mm from the track's centre now).",
        rank=0,
    )


def _kept(of: Size, value: float, inputs: Inputs) -> dict[str, str]:
    """Write a size with the tool that it had: its label says it."""
    made = "to be built" if "to be built" in inputs[of.ids[0]].label else "to be cut"
    return {"is": millimetres(value), "by": made}


def _higher(number: int, portal: Portal, of: Size, inputs: Inputs) -> Move:
    now = float(size(inputs, of).value)
    return Move(
        id=f"{portal.name}/lintel",
        text=f"Build {portal.name} {{by}} higher above the railhead",
        most=HIGHER,
        edit=lambda text, by: with_value(text, ("portals", number, "height"), millimetres(now + by)),
        cost=f"What stands above it rises by as much ({now:g} mm above the railhead now).",
        rank=0,
    )

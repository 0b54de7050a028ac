"""What may move to mend a gap: each move edits the job file, by so many millimetres or as a whole.

Read :func:`moves_for`. A move is small where it can be: it knows to which side it is tried, how far at most
(common practice, no source), and what it costs elsewhere in words.
"""

from __future__ import annotations

from spanwright.clearance.stage import Gap
from spanwright.estimation.inputs import Inputs
from spanwright.files.edit import with_value, without
from spanwright.job import Job
from spanwright.remedies.kinds.bridge import bridge_moves
from spanwright.remedies.kinds.lines import line_moves
from spanwright.remedies.kinds.portals import portal_moves
from spanwright.remedies.move import Move


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
    found = [
        *bridge_moves(gap, job, inputs),
        *portal_moves(gap, job, inputs),
        *line_moves(gap, job, inputs),
        _leave_off(gap, job),
    ]
    return tuple(sorted(found, key=lambda move: move.rank))


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

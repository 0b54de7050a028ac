"""What can still be read in the state that the work is in."""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.estimation.inputs import Input
from spanwright.job import Plan
from spanwright.measured.given import PartState
from spanwright.survey.readings import Reading

#: Steps of the work after which something cannot be read as before, or can be for the first time.
SAWN, MADE, SET = "board/saw", "assemble/", "set/"
_WHEN = "measure it when "


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkState:
    """How far the work is.

    Parameters
    ----------
    parts : dict of str to PartState
        Supports that are cut or further.
    done : frozenset of str
        Steps that are done.
    covered : frozenset of str
        Marks that a glued support stands on.
    hanging : frozenset of str
        Marks on rails whose board is sawn away under them.
    """

    parts: dict[str, PartState]
    done: frozenset[str]
    covered: frozenset[str]
    hanging: frozenset[str]

    def is_cut(self, support: str) -> bool:
        """Tell whether a support's shafts are cut.

        Parameters
        ----------
        support : str
            Its name.

        Returns
        -------
        bool
            False too if it was taken out or spoiled: it is to be made anew.
        """
        state = self.parts.get(support)
        return state is not None and state.stands

    def is_up(self, support: str) -> bool:
        """Tell whether a support stands in its place, glued or not.

        Parameters
        ----------
        support : str
            Its name.

        Returns
        -------
        bool
            True if trains can meet it.
        """
        return self.parts.get(support) in (PartState.DRY_FITTED, PartState.BUILT)

    def is_glued(self, support: str) -> bool:
        """Tell whether a support is glued in.

        Parameters
        ----------
        support : str
            Its name.

        Returns
        -------
        bool
            True if its pieces cannot be taken into the hand any more.
        """
        return self.parts.get(support) is PartState.BUILT


def work_state(plan: Plan) -> WorkState:
    """Return how far the work is.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    WorkState
        From what the job says is made and done.
    """
    job = plan.job
    parts = {one.part: one.state for one in job.made}
    done = frozenset(job.build.done)
    glued = {name for name, state in parts.items() if state is PartState.BUILT}
    supports = job.structures.supports if job.structures else ()
    covered = frozenset(mark for s in supports if s.name in glued for mark in s.bases)
    hanging: frozenset[str] = frozenset()
    if job.structures and plan.structures and SAWN in done:
        ends = [s.station for s in plan.structures.supports]
        laid = next(one for one in plan.alignment.lines if one.line.name == job.structures.upper)
        if laid.stations is not None:
            places = zip(laid.mark_names, laid.stations.value, strict=True)
            hanging = frozenset(name for name, s in places if min(ends) <= s <= max(ends))
    return WorkState(parts=parts, done=done, covered=covered, hanging=hanging)


def can_repeat(reading: Reading, state: WorkState) -> bool:
    """Tell whether a reading of the survey can be taken again.

    Parameters
    ----------
    reading : Reading
        The reading.
    state : WorkState
        How far the work is.

    Returns
    -------
    bool
        False if one of its marks is covered or hangs free.
    """
    return not (state.covered | state.hanging) & set(reading.marks)


def when_measured(item: Input, state: WorkState) -> str | None:
    """Return when a piece can be measured.

    Parameters
    ----------
    item : Input
        One of its sizes, or how truly it is cut or set out.
    state : WorkState
        How far the work is.

    Returns
    -------
    str or None
        Empty for now; such as "when it is made" if it is not there yet; None if it is glued in.
    """
    to_come = item.remedy.removeprefix("measure it ") if item.remedy.startswith(_WHEN) else ""
    folder, _, rest = item.id.partition("/")
    name = rest.partition("/")[0]
    if folder == "supports":
        if item.kind == "setting out":
            return "" if state.is_up(name) else to_come
        if state.is_glued(name):
            return None
        return "" if state.is_cut(name) else to_come
    if folder == "spans":
        if SET + name in state.done:
            return None
        return "" if MADE + name in state.done else to_come
    return to_come

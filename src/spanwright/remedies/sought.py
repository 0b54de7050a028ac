"""The remedies of several gaps: a gap that the first remedy of a worse one mends is not sought again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from spanwright.clearance.stage import Gap
from spanwright.findings import Verdict
from spanwright.job import Plan
from spanwright.remedies.explain import Explanation, explain
from spanwright.remedies.solve import Remedy


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sought:
    """One gap, why it is as small as it is, and what would make it clear.

    Parameters
    ----------
    gap : Gap
        The gap.
    why : Explanation or None
        What each cause takes from it; None where there is no closest point.
    remedies : tuple of Remedy
        The best first.
    """

    gap: Gap
    why: Explanation | None
    remedies: tuple[Remedy, ...]


def seek(plan: Plan, gaps: tuple[Gap, ...], find: Callable[[Gap], tuple[Remedy, ...]]) -> tuple[Sought, ...]:
    """Seek the remedies of gaps, in their order.

    Parameters
    ----------
    plan : Plan
        The plan.
    gaps : tuple of Gap
        Its gaps that are not clear, the worst first.
    find : callable
        Returns the remedies of one gap.

    Returns
    -------
    tuple of Sought
        Without the gaps that become clear with the first remedy of one before them.
    """
    found: list[Sought] = []
    mended: set[str] = set()
    for gap in gaps:
        if gap.id in mended:
            continue
        remedies = find(gap)
        mended |= {after.id for r in remedies[:1] for _, after in r.better if after.verdict is Verdict.CLEAR}
        found.append(Sought(gap=gap, why=explain(plan, gap), remedies=remedies))
    return tuple(found)

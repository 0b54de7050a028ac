"""Remedies as a document, by the published schema ``files/published/remedies-1.schema.json``."""

from __future__ import annotations

import math
from typing import Any

from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import Gap
from spanwright.files.edit import difference
from spanwright.files.plan_json import finding_document
from spanwright.files.plan_stages import number
from spanwright.job import Plan
from spanwright.remedies.explain import Explanation
from spanwright.remedies.kinds.lines import laid_lines
from spanwright.remedies.solve import Remedy
from spanwright.remedies.sought import Sought

FORMAT = "spanwright-remedies"
VERSION = 1
Document = dict[str, Any]


def remedies_document(
    plan: Plan, gaps: tuple[Gap, ...], sought: tuple[Sought, ...], *, files: tuple[str, str], k: float
) -> Document:
    """Return what would make the gaps of a plan clear, as tables and lists.

    Parameters
    ----------
    plan : Plan
        The plan.
    gaps : tuple of Gap
        Its gaps that are foul or not proven.
    sought : tuple of Sought
        Those of them that were looked at, with their remedies.
    files : tuple of str
        Text of the job file, and its name.
    k : float
        Coverage factor of the verdicts. [1]

    Returns
    -------
    dict
        Ready to be written.
    """
    settings = plan.job.clearance
    looked_at = {one.gap.id for one in sought}
    return {
        "format": FORMAT,
        "version": VERSION,
        "name": plan.job.name,
        "k": k,
        "gaps": [_gap(one, settings, files) for one in sought] if settings else [],
        "mended": [gap.id for gap in gaps if gap.id not in looked_at],
        "laid": list(laid_lines(gaps, plan.job)),
    }


def _gap(one: Sought, settings: ClearanceInput, files: tuple[str, str]) -> Document:
    gap = one.gap
    return {
        **_word(gap),
        "margin": number(settings.margin_above if gap.side == "above" else settings.margin_side, "mm"),
        "reason": gap.reason,
        "why": _why(one.why) if one.why else None,
        "remedies": [_remedy(remedy, files) for remedy in one.remedies],
    }


def _word(gap: Gap) -> Document:
    """Return a gap with its word; a bound has no uncertainty."""
    if gap.beyond_reach:
        sizes = {"gap": number(math.nan, "mm", None, why=f"more than {float(gap.gap.value):g} mm")}
    else:
        sizes = {"gap": number(float(gap.gap.value), "mm", gap.u, why="no travel that was tried frees it")}
    return {"id": gap.id, "verdict": gap.verdict.value, **sizes}


def _why(why: Explanation) -> Document:
    names = ("throw", "lean", "play", "height", "bare")
    return {name: number(getattr(why, name), "mm", None, why="not reckoned") for name in names}


def _remedy(remedy: Remedy, files: tuple[str, str]) -> Document:
    in_degrees = remedy.move.unit == "deg"
    return {
        "id": remedy.move.id,
        "text": remedy.move.text,
        "by": number(math.radians(remedy.by), "rad") if in_degrees else number(remedy.by, "mm"),
        "whole": remedy.move.most == 0.0,
        "cost": remedy.move.cost,
        "better": [_pair(pair) for pair in remedy.better],
        "worse": [_pair(pair) for pair in remedy.worse],
        "cuts": [
            {"id": key, "before": number(before, "mm"), "after": number(after, "mm")}
            for key, before, after in remedy.cuts
        ],
        "findings": [finding_document(finding) for finding in remedy.findings],
        "change": difference(files[0], remedy.text, files[1]),
    }


def _pair(pair: tuple[Gap, Gap]) -> Document:
    return {"id": pair[0].id, "before": _word(pair[0]), "after": _word(pair[1])}

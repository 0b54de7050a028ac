"""Why a number is as doubtful as it is, as a document, by the schema ``published/why-1.schema.json``."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

from spanwright.advice.given import Step, Why
from spanwright.advice.why import gap_of
from spanwright.files.plan_stages import number
from spanwright.job import Plan

FORMAT = "spanwright-why"
VERSION = 1
Document = dict[str, Any]


def why_schema() -> Document:
    """Return the published JSON Schema of the document.

    Returns
    -------
    dict
        Draft 2020-12.
    """
    file = resources.files("spanwright.files").joinpath("published", f"why-{VERSION}.schema.json")
    found: Document = json.loads(file.read_text(encoding="utf-8"))
    return found


def why_document(plan: Plan, found: Why, k: float) -> Document:
    """Return a number, the shares of its doubt and what would make it smaller.

    Parameters
    ----------
    plan : Plan
        The plan.
    found : Why
        What was found of the number.
    k : float
        Coverage factor of the job. [1]

    Returns
    -------
    dict
        Ready for :func:`spanwright.files.output.write_json`.
    """
    gap = gap_of(plan, found.id)
    quantities = plan.structures.quantities if plan.structures else ()
    return {
        "format": FORMAT,
        "version": VERSION,
        "name": plan.job.name,
        "k": k,
        "id": found.id,
        "label": next((q.label for q in quantities if q.id == found.id), ""),
        "number": number(found.value, found.unit, found.u),
        "verdict": gap.verdict.value if gap else None,
        "shares": [
            {"id": s.id, "label": s.label, "share": s.share, "remedy": s.remedy} for s in found.shares
        ],
        "shared": found.shared,
        "readings": [_step(one, found.unit) for one in found.steps],
        "later": _step(found.later, found.unit) if found.later else None,
    }


def _step(step: Step, unit: str) -> Document:
    return {
        "reading": step.reading,
        "text": step.text,
        "tool": step.tool,
        "when": step.later,
        "to": number(step.sd, step.unit),
        "u_after": number(step.after, unit),
    }

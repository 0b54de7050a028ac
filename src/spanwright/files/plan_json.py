"""The plan as a document for other programs, by the published schema ``published/plan-1.schema.json``.

``docs/json.md`` explains the document; ``plan_stages`` tells each stage. Read :func:`plan_document` first.
"""

from __future__ import annotations

import json
from importlib import resources

import numpy as np

from spanwright.advice.given import Advice
from spanwright.files.documents.measured_json import measured_document
from spanwright.files.plan_stages import (
    Document,
    alignment_document,
    clearance_document,
    structures_document,
    survey_document,
)
from spanwright.findings import Finding
from spanwright.job import Plan

FORMAT = "spanwright-plan"
VERSION = 1
STAGES = ("survey", "alignment", "structures", "clearance")


def schema() -> Document:
    """Return the published JSON Schema of the document.

    Returns
    -------
    dict
        Draft 2020-12.
    """
    file = resources.files("spanwright.files").joinpath("published", f"plan-{VERSION}.schema.json")
    found: Document = json.loads(file.read_text(encoding="utf-8"))
    return found


def plan_document(
    plan: Plan, *, k: float, stages: tuple[str, ...] = STAGES, advices: tuple[Advice, ...] = ()
) -> Document:
    """Return a plan, or some of its stages, as tables and lists.

    Parameters
    ----------
    plan : Plan
        The plan.
    k : float
        Coverage factor of the job's verdicts. [1]
    stages : tuple of str
        Which stages to tell; one that the plan does not have is left out.
    advices : tuple of Advice
        What to measure next; told with the clearances.

    Returns
    -------
    dict
        Ready for :func:`spanwright.files.output.write_json`.
    """
    job, inputs = plan.job, plan.inputs
    document: Document = {
        "format": FORMAT,
        "version": VERSION,
        "job": {
            "name": job.name,
            "scale": float(job.scale),
            "gauge_mm": job.gauge,
            "words": {
                "left": job.words.left,
                "right": job.words.right,
                "start": job.words.start,
                "finish": job.words.finish,
            },
        },
        "k": k,
        "inputs": [
            {"id": i.id, "label": i.label, "value": i.value, "unit": i.unit, "sd": i.sd, "kind": i.kind}
            for i in inputs.items
        ],
        "findings": [finding_document(f) for f in plan.findings],
    }
    if job.made or job.measured:
        document["measured"] = measured_document(job.made, plan.choices.taught)
    if "survey" in stages:
        document["survey"] = survey_document(plan.survey, inputs)
    if "alignment" in stages:
        document["alignment"] = alignment_document(plan.alignment)
    if "structures" in stages and plan.structures is not None:
        document["structures"] = structures_document(plan.structures, inputs)
    if "clearance" in stages and plan.clearance is not None and job.clearance is not None:
        document["clearance"] = clearance_document(plan.clearance, job.clearance, inputs, advices)
    return document


def finding_document(finding: Finding) -> Document:
    """Return a finding.

    Parameters
    ----------
    finding : Finding
        The finding.

    Returns
    -------
    dict
        ``value`` and ``limit`` only where they are finite numbers.
    """
    found: Document = {
        "code": finding.code,
        "severity": finding.severity.value,
        "where": finding.where,
        "text": finding.text,
        "remedy": finding.remedy,
        "source": finding.source,
    }
    for name, value in (("value", finding.value), ("limit", finding.limit)):
        if value is not None and np.isfinite(value):
            found[name] = float(value)
    return found

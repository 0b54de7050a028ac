"""What the next evening is for, as a document, by the schema ``published/tonight-1.schema.json``."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

from spanwright.build.planning.schedule import to_enter, tonight
from spanwright.build.planning.tasks import Kind, Task
from spanwright.build.stage import Build
from spanwright.build.telling import tell
from spanwright.drawings.speech import Speech
from spanwright.files.plan_json import finding_document
from spanwright.files.plan_stages import number
from spanwright.findings import Finding

FORMAT = "spanwright-tonight"
VERSION = 1
Document = dict[str, Any]


def tonight_schema() -> Document:
    """Return the published JSON Schema of the document.

    Returns
    -------
    dict
        Draft 2020-12.
    """
    file = resources.files("spanwright.files").joinpath("published", f"tonight-{VERSION}.schema.json")
    found: Document = json.loads(file.read_text(encoding="utf-8"))
    return found


def tonight_document(build: Build, findings: tuple[Finding, ...], name: str, say: Speech) -> Document:
    """Return what can be done this evening, what cures after it, and what must be measured first.

    Parameters
    ----------
    build : Build
        What the build stage found.
    findings : tuple of Finding
        What is to be minded.
    name : str
        The job's name.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    dict
        Ready for :func:`spanwright.files.output.write_json`.
    """
    schedule = build.schedule
    found = tonight(schedule)
    enter = to_enter(found)

    def of(task: Task) -> Document:
        return _task(task, build, say)

    return {
        "format": FORMAT,
        "version": VERSION,
        "name": name,
        "k": say.k,
        "evening": schedule.evening,
        "left": {
            "tasks": len(schedule.tasks),
            "of": schedule.count,
            "hours": sum(t.activity.work for t in schedule.tasks),
            "longest_chain": schedule.path.length,
            "evenings": schedule.evenings,
            "least_evenings": schedule.least,
        },
        "measure": [{"task": of(t), "waiting": [w.id for w in waiting]} for t, waiting in found.measure],
        "work": [{"task": of(t), "hours": hours, "hours_left": left} for t, hours, left in found.work],
        "cures": [
            {"task": of(t), "hours": t.activity.wait, "evening": evening} for t, evening in found.cures
        ],
        "instead": [of(t) for t in found.instead],
        "enter": {
            "done": [t.id for t in enter.done],
            "curing": {t.id: t.activity.wait for t in enter.curing},
            "readings": [t.id for t in enter.readings],
        },
        "findings": [finding_document(f) for f in findings],
    }


def _task(task: Task, build: Build, say: Speech) -> Document:
    places = {step.id: k for k, step in enumerate(build.steps, start=1)}
    rows = {row.id: row for row in build.as_built}
    step = task.step
    return {
        "id": task.id,
        "kind": task.kind.value,
        "step": None if step is None else places[step.id],
        "title": tell(task.title, say),
        "hours": task.activity.work,
        "waits": [{"of": w.of, "hours": w.hours} for w in task.waits],
        "cautions": list(step.cautions) if step is not None and task.kind is Kind.STEP else [],
        "readings": [
            {
                "id": row.id,
                "what": tell(row.what, say),
                "from": tell(row.surface, say),
                "tool": row.tool,
                "planned": number(float(row.planned.value), "mm", say.doubt(row.planned)),
                "low": row.low,
                "high": row.high,
            }
            for row in (rows[key] for key in task.readings if key in rows)
        ],
    }

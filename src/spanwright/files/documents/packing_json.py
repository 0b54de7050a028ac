"""Packing as a document for other programs, by the published schema ``published/packing-1.schema.json``."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

from spanwright.drawings.speech import Speech
from spanwright.estimation.derived import Derived
from spanwright.files.plan_json import finding_document
from spanwright.files.plan_stages import number
from spanwright.packing.gaps import PackedGap
from spanwright.packing.needs import Rule, RuleKind
from spanwright.packing.stage import Packed, PackingResult

FORMAT = "spanwright-packing"
VERSION = 1
Document = dict[str, Any]


def packing_schema() -> Document:
    """Return the published JSON Schema of the document.

    Returns
    -------
    dict
        Draft 2020-12.
    """
    file = resources.files("spanwright.files").joinpath("published", f"packing-{VERSION}.schema.json")
    found: Document = json.loads(file.read_text(encoding="utf-8"))
    return found


def packing_document(
    result: PackingResult, name: str, say: Speech, under: tuple[PackedGap, ...] = ()
) -> Document:
    """Return packing, railhead and stock as tables and lists.

    Parameters
    ----------
    result : PackingResult
        What the packing stage found.
    name : str
        The job's name.
    say : Speech
        For the doubts.
    under : tuple of PackedGap
        Gaps under spans that stand off their wanted height.

    Returns
    -------
    dict
        Ready for :func:`spanwright.files.output.write_json`.
    """
    choice = result.choice
    return {
        "format": FORMAT,
        "version": VERSION,
        "name": name,
        "k": say.k,
        "bearings": [_bearing(b, say) for b in result.bearings],
        "limits": [_limit(r, result) for r in result.rules],
        "choice": None
        if choice is None
        else {
            "proven": choice.is_proven,
            "total": number(choice.total, "mm"),
            "short_by": number(choice.short_by, "mm"),
        },
        "left": [{"sheet": sheet, "pieces": count} for sheet, count in result.left],
        "take_out": list(result.out),
        "gaps": [
            {
                "id": one.gap.id,
                "planned": number(float(one.gap.gap.value), "mm", one.gap.u),
                "as_packed": number(float(one.value.value), "mm", one.u),
                "verdict": one.verdict.value,
                "was": one.gap.verdict.value,
            }
            for one in under
        ],
        "findings": [finding_document(f) for f in result.findings],
    }


def _bearing(b: Packed, say: Speech) -> Document:
    def of(value: Derived) -> Document:
        return number(float(value.value), "mm", say.doubt(value))

    return {
        "id": b.need.bearing,
        "known": b.need.is_known,
        "wanted": of(b.need.wanted),
        "sheets": [{"sheet": sheet, "pieces": count} for sheet, count in b.pieces],
        "comes_out": None if b.comes_out is None else of(b.comes_out),
        "off": None if b.off is None else of(b.off),
        "railhead_wanted": of(b.need.railhead),
        "lift": number(b.lift, "mm", None, why="not reckoned"),
        "nearest_lift": number(b.reach, "mm", None, why="not reckoned"),
    }


def _limit(rule: Rule, result: PackingResult) -> Document:
    unit = "1" if rule.kind is RuleKind.GRADE_CHANGE else "mm"
    value = rule.value(result.lifts)
    return {
        "of": rule.kind.value,
        "where": rule.where,
        "is": number(value, unit, None, why="not reckoned"),
        "at_most": number(rule.limit, unit),
        "kept": not rule.is_missed(result.lifts),
    }

"""Two plans side by side as a document, by the published schema ``published/comparison-1.schema.json``."""

from __future__ import annotations

import json
from collections.abc import Iterable
from importlib import resources
from typing import Any

import numpy as np

from spanwright.clearance.stage import Gap
from spanwright.drawings.speech import Speech
from spanwright.estimation.derived import Derived
from spanwright.files.plan_json import finding_document
from spanwright.files.plan_stages import number
from spanwright.parts.listing.piece import PieceSize
from spanwright.variants.compare import Comparison, SizePair
from spanwright.variants.given import Otherwise

FORMAT = "spanwright-comparison"
VERSION = 1
Document = dict[str, Any]
Says = tuple[Speech, Speech]


def comparison_schema() -> Document:
    """Return the published JSON Schema of the document.

    Returns
    -------
    dict
        Draft 2020-12.
    """
    file = resources.files("spanwright.files").joinpath("published", f"comparison-{VERSION}.schema.json")
    found: Document = json.loads(file.read_text(encoding="utf-8"))
    return found


def comparison_document(found: Comparison, names: tuple[str, str], says: Says) -> Document:
    """Return a comparison as tables and lists.

    Parameters
    ----------
    found : Comparison
        What differs.
    names : tuple of str
        What the two plans are called.
    says : tuple of Speech
        How their numbers are said, for the doubts.

    Returns
    -------
    dict
        Ready for :func:`spanwright.files.output.write_json`.
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "names": list(names),
        "k": says[0].k,
        "same": found.is_same,
        "fair": not found.readings and not found.sizes,
        "readings": _rows(found.readings),
        "sizes": _rows(found.sizes),
        "decided": _rows(found.decided),
        "verdicts": [
            {"verdict": word.value, "gaps": {"one": one, "other": other}} for word, one, other in found.counts
        ],
        "words": [
            {
                "id": one.id,
                "verdict": {"one": one.verdict.value, "other": other.verdict.value},
                "gap": {"one": _gap(one), "other": _gap(other)},
            }
            for one, other in found.words
        ],
        "only": {"one": [g.id for g in found.only[0]], "other": [g.id for g in found.only[1]]},
        "least": [
            {"id": (one or other).id, "gap": {"one": _gap(one), "other": _gap(other)}}  # type: ignore[union-attr]
            for one, other in found.least
        ],
        "cuts": [_sizes(pair, says) for pair in found.cuts],
        "buys": [_sizes(pair, says) for pair in found.buys],
        "heights": [
            {
                "id": pair.id,
                "name": pair.name,
                "value": {"one": _number(pair.one, says[0]), "other": _number(pair.other, says[1])},
            }
            for pair in found.heights
        ],
        "findings": {
            "one": [finding_document(f) for f in found.findings[0]],
            "other": [finding_document(f) for f in found.findings[1]],
        },
        "lost": [
            {
                "part": lost.part,
                "state": lost.state,
                "what": lost.what,
                "made": number(lost.made, "mm"),
                "wanted": None if lost.wanted is None else number(lost.wanted, "mm"),
                "fate": lost.fate.value,
            }
            for lost in found.lost
        ],
    }


def _rows(rows: Iterable[Otherwise]) -> list[Document]:
    return [{"what": r.what, "one": r.one, "other": r.other} for r in rows]


def _gap(gap: Gap | None) -> Document | None:
    if gap is None:
        return None
    if gap.beyond_reach:
        return number(np.nan, "mm", None, why=f"more than {float(gap.gap.value):.1f} mm: beyond the search")
    why = "" if np.isfinite(gap.gap.value) else "it touches, and no move within the limit frees it"
    return number(float(gap.gap.value), "mm", gap.u, why=why)


def _number(value: Derived | None, say: Speech) -> Document | None:
    return None if value is None else number(float(value.value), "mm", say.doubt(value))


def _sizes(pair: SizePair, says: Says) -> Document:
    return {
        "id": pair.id,
        "name": pair.name,
        "count": {"one": pair.counts[0], "other": pair.counts[1]},
        **_pair(pair.one, pair.other, says),
    }


def _pair(one: PieceSize | None, other: PieceSize | None, says: Says) -> Document:
    return {
        "cut_to": {"one": _cut(one), "other": _cut(other)},
        "finished": {
            "one": _number(one.finished if one else None, says[0]),
            "other": _number(other.finished if other else None, says[1]),
        },
    }


def _cut(size: PieceSize | None) -> Document | None:
    return None if size is None or size.cut is None else number(size.cut, "mm")

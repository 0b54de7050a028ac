"""What is made and what was measured of it, as tables and lists for other programs."""

from __future__ import annotations

from typing import Any

from spanwright.files.plan_stages import number
from spanwright.measured.given import Made
from spanwright.measured.teach import Taught

Document = dict[str, Any]


def measured_document(made: tuple[Made, ...], taught: Taught | None) -> Document:
    """Return what is made, and how each as-built reading fared.

    Parameters
    ----------
    made : tuple of Made
        Supports that are cut, built or gone.
    taught : Taught or None
        What the readings have taught; None if there are none.

    Returns
    -------
    dict
        ``made``, ``readings`` in the order in which they were taken, ``outcomes`` of finished work, and
        ``unknown``: base inputs whose part came out otherwise than planned.
    """
    return {
        "made": [
            {
                "part": m.part,
                "state": m.state.value,
                "cut_to": [number(length, "mm") for length in m.lengths],
                "station": None if m.station is None else number(m.station, "mm"),
            }
            for m in made
        ],
        "readings": [
            {
                "id": t.reading.id,
                "what": t.reading.number,
                "above": t.reading.above,
                "by": t.reading.tool,
                "read": number(t.reading.value, t.reading.unit, t.reading.doubt),
                "foretold": number(t.foretold, t.reading.unit, t.spread),
                "misses": number(t.misses, "1", 1.0),
                "used": t.used,
                "certain": t.reading.certain,
            }
            for t in (taught.tested if taught else ())
        ],
        "outcomes": [
            {
                "id": o.reading.id,
                "row": o.row,
                "by": o.reading.tool,
                "read": number(o.reading.value, o.reading.unit, o.reading.doubt),
                "planned": number(o.planned, "mm"),
                "off": number(o.off, o.reading.unit, o.reading.doubt),
                "passes": o.passes,
            }
            for o in (taught.outcomes if taught else ())
        ],
        "unknown": list(taught.unknown) if taught else [],
    }

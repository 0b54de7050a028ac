"""All gauges of a job along all its lines, and what is to be noted of them.

A gauge gives notes only: what stands in it may still clear every train of the job, and what stands clear of
it may be met by a longer one. Read :func:`lay_gauges` first.
"""

from __future__ import annotations

from spanwright.alignment.line import Line
from spanwright.clearance.gauges.gaps import GaugeGap, gauge_gaps
from spanwright.clearance.gauges.given import Gauge, GaugeOf
from spanwright.errors import InputError
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Finding, Severity
from spanwright.structures.shapes import Shape


def lay_gauges(
    inputs: Inputs, lines: dict[str, Line], shapes: tuple[Shape, ...], gauges: tuple[Gauge, ...]
) -> tuple[GaugeGap, ...]:
    """Lay every gauge along its lines and return the least gap of every part that matters there.

    Parameters
    ----------
    inputs : Inputs
        The base inputs.
    lines : dict of str to Line
        The lines by name.
    shapes : tuple of Shape
        The finished parts; one that is ``over`` a line matters to that line only.
    gauges : tuple of Gauge
        The gauges.

    Returns
    -------
    tuple of GaugeGap
        By gauge, line and part.

    Raises
    ------
    InputError
        If a gauge is to be laid along a line that is not there.
    """
    found: list[GaugeGap] = []
    for gauge in gauges:
        for name in gauge.lines or tuple(lines):
            if name not in lines:
                raise InputError(
                    "a gauge is to be laid along a line that is not there",
                    code="CL018",
                    where=gauge.id,
                    value=name,
                    limit=", ".join(lines),
                    hint="Name one of the job's lines",
                )
            beside = tuple(s for s in shapes if s.over in ("", name))
            found += gauge_gaps(lines[name], gauge, beside, inputs)
    return tuple(found)


def gauge_findings(gaps: tuple[GaugeGap, ...], gauges: tuple[Gauge, ...]) -> tuple[Finding, ...]:
    """Return a note for each part that stands in a gauge, and for each line too sharp for its table.

    Parameters
    ----------
    gaps : tuple of GaugeGap
        Gaps to the gauges.
    gauges : tuple of Gauge
        The gauges.

    Returns
    -------
    tuple of Finding
        Notes: no verdict rests on a gauge.
    """
    known = {gauge.id: gauge for gauge in gauges}
    notes = []
    for gap in gaps:
        if not gap.is_inside:
            continue
        gauge = known[gap.gauge]
        whose = "the gauge" if gauge.of is GaugeOf.STRUCTURE else "the vehicle outline"
        where = "" if gap.surveyed else ", where the track is not surveyed"
        notes.append(
            Finding(
                code="CL105",
                severity=Severity.NOTE,
                where=gap.id,
                text=f"stands in {whose} {gap.gauge}, {-float(gap.gap.value):.2g} mm deep{where}",
                value=float(gap.gap.value),
                limit=0.0,
                remedy="A gauge is for comparison: the trains' own gaps decide",
                source=gauge.source,
            )
        )
    return tuple(notes) + _too_sharp(gaps)


def _too_sharp(gaps: tuple[GaugeGap, ...]) -> tuple[Finding, ...]:
    """Note each line that has a sharper curve than the table of widenings."""
    places = dict.fromkeys((g.gauge, g.line) for g in gaps if not g.widening_printed)
    return tuple(
        Finding(
            code="CL106",
            severity=Severity.NOTE,
            where=f"gauge/{gauge}/{line}",
            text="the table of widenings prints nothing for a curve as sharp as this line has: the widening"
            " of its sharpest row is used, which is less than the curve needs",
            remedy="Look at the trains' own gaps, or lay the gauge of shorter coaches",
        )
        for gauge, line in places
    )

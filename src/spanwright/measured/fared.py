"""How the readings fared, as findings: which contradict, do not count, or stand twice."""

from __future__ import annotations

import numpy as np

from spanwright.findings import Finding, Severity
from spanwright.measured.teach import CONTRADICTS, Taught, Tested


def teaching_findings(taught: Taught | None) -> tuple[Finding, ...]:
    """Say which readings contradict, do not count, or stand twice.

    Parameters
    ----------
    taught : Taught or None
        What was taught.

    Returns
    -------
    tuple of Finding
        A stop for each that is not used, a warning for each that is used because the builder stands by it,
        and for each outcome that does not pass.
    """
    found = []
    for one in taught.tested if taught else ():
        if one.repeats:
            found.append(_repeated(one))
            continue
        if abs(one.misses) <= CONTRADICTS:
            continue
        said, expected = (_number(v, one.reading.unit) for v in (one.reading.value, one.foretold))
        off = _number(abs(one.reading.value - one.foretold), one.reading.unit)
        more = "more" if one.reading.value > one.foretold else "less"
        text = f"read {said}, foretold {expected}: {off} {more}, "
        text += f"{abs(one.misses):.1f} times the doubt of both"
        found.append(
            Finding(
                code="ME101" if not one.used else "ME102",
                severity=Severity.WARNING if one.used else Severity.STOP,
                where=one.reading.id,
                text=text + _why(one),
                value=one.reading.value,
                limit=one.foretold,
                remedy=what_now(one),
            )
        )
    for end in taught.outcomes if taught else ():
        if end.passes:
            continue
        read = end.reading.value
        found.append(
            Finding(
                code="ME103",
                severity=Severity.WARNING,
                where=end.reading.id,
                text=f"came out {read:.2f} mm, planned {end.planned:.2f} mm: "
                f"{abs(end.off):.2f} mm {'more' if end.off > 0.0 else 'less'}",
                value=read,
                limit=end.planned,
                remedy=end.otherwise.rstrip("."),
            )
        )
    found += [
        Finding(
            code="ME104",
            severity=Severity.WARNING,
            where=none.reading.id,
            text=f"does not count: {none.leans.support} is not said {none.leans.lacks}, or is there no more",
            value=none.reading.value,
            limit=None,
            remedy=f'Once it is so, say --made "{none.leans.support} {none.leans.state.value}";'
            " write former = true to what was read on a part that is gone",
        )
        for none in (taught.not_there if taught else ())
    ]
    return tuple(found)


def _repeated(one: Tested) -> Finding:
    return Finding(
        code="ME105",
        severity=Severity.NOTE,
        where=one.reading.id,
        text=f"is {one.repeats} entered once more: it counts once",
        value=one.reading.value,
        limit=None,
        remedy='Take it out, or, if the tool did show the same twice, say "certain" of the second',
    )


def _why(one: Tested) -> str:
    if one.used:
        return "; used, as you stand by it"
    return "; not used" + (": no slip in how that part was made explains it" if one.reading.certain else "")


def what_now(one: Tested) -> str:
    """Say what to do about a reading that missed.

    Parameters
    ----------
    one : Tested
        The reading.

    Returns
    -------
    str
        A sentence without its full stop.
    """
    if one.used:
        return "The plan is reckoned with it: see what it changes"
    if one.against:
        return f"One is wrong, this or {', '.join(one.against)}: read again, and take out the wrong one"
    if one.reading.certain or not one.may_slip:
        return "It contradicts the survey: read again the marks that it hangs on, and correct their readings"
    return "Read it again, from the same surface; if it is so, say certain = true"


def _number(value: float, unit: str) -> str:
    """Say a number so that it can be put into the builder's unit."""
    return f"{np.degrees(value):.2f} deg" if unit == "rad" else f"{value:.2f} mm"

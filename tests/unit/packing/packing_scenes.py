"""Made-up needs: spans on a straight level line, bearings by hand, limits as the railhead has them."""

from types import SimpleNamespace

import numpy as np

from spanwright.estimation.derived import constant
from spanwright.packing.choose import Sheets
from spanwright.packing.needs import Need, Needs, railhead_rules
from spanwright.packing.shelf import Limits

LENGTH, GAP, WIDE = 100.0, 4.0, 12.0  # bearing to bearing along a span, to the next span, across
WIDE_OPEN = Limits(grade_change=1.0, twist=100.0, step=100.0, known=0.2)


def limits(*, grade_change=1.0, twist=100.0, step=100.0):
    return Limits(grade_change=grade_change, twist=twist, step=step, known=0.2)


def bearings(spans, grade=0.0):
    found = []
    for n in range(spans):
        for end, x in (("start", n * (LENGTH + GAP)), ("end", n * (LENGTH + GAP) + LENGTH)):
            support = f"s{n + (end == 'end')}"
            for side, y in (("left", WIDE / 2), ("right", -WIDE / 2)):
                found.append(
                    SimpleNamespace(
                        id=f"{support}/span {n}/{side}",
                        span=f"span {n}",
                        support=support,
                        side=side,
                        x=constant(x),
                        y=constant(y),
                        railhead=constant(80.0 + grade * x),
                    )
                )
    return tuple(found)


def make_needs(wanted, kept=WIDE_OPEN, *, unknown=(), grade=0.0, ends=None, k_u=1.0):
    """Needs of spans with four wanted packings each; unknown bearings by number."""
    places = bearings(len(wanted) // 4, grade)
    needs = tuple(
        Need(
            bearing=b.id,
            support=b.support,
            wanted=constant(w),
            u=k_u / 2.0 if n in unknown else 0.05,
            railhead=b.railhead,
            is_known=n not in unknown,
        )
        for n, (b, w) in enumerate(zip(places, wanted, strict=True))
    )
    lowest = np.array([-w - (k_u if n in unknown else 0.0) for n, w in enumerate(wanted)])
    rules = railhead_rules(kept, places, ends or (grade, grade))
    return Needs(needs=needs, rules=rules, lowest=lowest)


def shelf(*thickness, counts=None, glue=0.0, layers=3, near=0.0):
    many = tuple(np.inf for _ in thickness) if counts is None else counts
    return Sheets(thickness=thickness, counts=many, glue=glue, layers=layers, near=near)

"""Which sheets a new answer makes void, and what must not be touched any more."""

from __future__ import annotations

import re
from collections.abc import Iterable

from spanwright.drawings.display import Circle, Item, Path, Sheet
from spanwright.measured.given import Made, PartState

#: A sheet on which nothing moved by more than this is as good as before: half of what a knife follows. [mm]
_SEEN = 0.05
_DOUBT = re.compile(r"\s*±\s*[\d.]+")
_NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")


def void_sheets(before: Iterable[Sheet], after: Iterable[Sheet]) -> tuple[tuple[str, str], ...]:
    """Return the sheets that were printed and are no longer true.

    Parameters
    ----------
    before : iterable of Sheet
        As they were.
    after : iterable of Sheet
        As they are.

    Returns
    -------
    tuple of (str, str)
        Id and title of each sheet that is drawn otherwise now, or not at all.
    """
    now = {sheet.id: sheet for sheet in after}
    return tuple(
        (sheet.id, sheet.title) for sheet in before if sheet.id not in now or not _alike(sheet, now[sheet.id])
    )


def _alike(one: Sheet, other: Sheet) -> bool:
    return (
        one.title == other.title
        and len(one.notes) == len(other.notes)
        and all(_reads_alike(a, b) for a, b in zip(one.notes, other.notes, strict=True))
        and len(one.items) == len(other.items)
        and all(_same(a, b) for a, b in zip(one.items, other.items, strict=True))
    )


def _same(one: Item, other: Item) -> bool:
    if isinstance(one, Path):
        return (
            isinstance(other, Path)
            and one.role is other.role
            and len(one.points) == len(other.points)
            and all(_near(p, q) for p, q in zip(one.points, other.points, strict=True))
        )
    if isinstance(one, Circle):
        return (
            isinstance(other, Circle)
            and _near(one.centre, other.centre)
            and abs(one.radius - other.radius) <= _SEEN
        )
    return not isinstance(other, (Path, Circle)) and _reads_alike(one.text, other.text)


def _reads_alike(one: str, other: str) -> bool:
    """Tell whether two texts say the same, doubts left out, numbers to what is followed."""
    a, b = (_DOUBT.sub("", text) for text in (one, other))
    if _NUMBER.sub("#", a) != _NUMBER.sub("#", b):
        return False
    pairs = zip(_NUMBER.findall(a), _NUMBER.findall(b), strict=True)
    return all(abs(float(p) - float(q)) <= _SEEN + 1e-9 for p, q in pairs)


def _near(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return max(abs(one[0] - other[0]), abs(one[1] - other[1])) <= _SEEN


def not_to_touch(made: tuple[Made, ...]) -> tuple[str, ...]:
    """Return the supports that the plan now rests on as they stand.

    Parameters
    ----------
    made : tuple of Made
        All that is made.

    Returns
    -------
    tuple of str
        Names of those that are built.
    """
    return tuple(m.part for m in made if m.state is PartState.BUILT)

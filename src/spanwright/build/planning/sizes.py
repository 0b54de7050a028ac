"""Sizes that are still too doubtful for a cut: each is a reading of its own, before that cut."""

from __future__ import annotations

from spanwright.build.making_steps import small
from spanwright.build.work import Work

#: What one size may add to the doubt of a cut before a caliper must be taken to it: twice what a caliper
#: leaves (0.05 mm). Common practice, no source. [mm]
DOUBTFUL = 0.1
_OWNED = ("supports", "spans")


def doubtful_sizes(work: Work) -> dict[str, tuple[tuple[str, ...], tuple[str, ...]]]:
    """Return the sizes that a caliper must settle before a support is cut.

    Parameters
    ----------
    work : Work
        The bridge and its base inputs.

    Returns
    -------
    dict of str to tuple
        By the support, span or layers that they belong to: what they are, and the supports whose cut waits.
    """
    sizes: dict[str, dict[str, None]] = {}
    waiting: dict[str, dict[str, None]] = {}
    for fitted in work.structures.supports:
        for cut in fitted.cuts:
            for item, by in zip(work.inputs.items, cut.wanted.jac, strict=False):
                if item.kind == "size" and item.unit == "mm" and abs(float(by)) * item.sd > DOUBTFUL:
                    names = item.id.split("/")
                    key = names[1] if names[0] in _OWNED else names[0]
                    sizes.setdefault(key, {})[item.label.rpartition(", ")[0] or item.label] = None
                    waiting.setdefault(key, {})[fitted.given.name] = None
    return {key: (tuple(sizes[key]), tuple(waiting[key])) for key in sizes}


def made_in(work: Work, key: str) -> tuple[str, ...]:
    """Return the step that makes what a size belongs to, if one does.

    Parameters
    ----------
    work : Work
        The bridge.
    key : str
        Support, span or layers.

    Returns
    -------
    tuple of str
        The id of a support's making; empty for what is there already.
    """
    return (small(key),) if any(s.given.name == key for s in work.structures.supports) else ()

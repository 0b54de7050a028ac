"""A bridge of two spans over one pier whose shaft is battered, for tests of shapes and patterns."""

from dataclasses import replace
from types import SimpleNamespace

from spanwright.structures.given import SupportKind, TrimEnd
from truth.build_cases import Ground, fitted
from truth.line_scenes import Sizes, bridge, pier, span


def on_a_pier(*, batter=1.0 / 24.0, trim=TrimEnd.FOOT, stock=None, cap_along=12.0, change=None):
    """The shaft is 8 by 18 at its top as it comes; ``change`` adds to the first reading of the stock."""
    sizes = Sizes()
    ground = Ground(sizes, g=1.0, h=2.0)
    ends = [
        pier(sizes, name, kind=SupportKind.ABUTMENT, along=along)
        for name, along in (("p", -95.5), ("r", None))
    ]
    middle = replace(
        pier(sizes, "q"),
        batter=batter,
        trim=trim,
        cap_along=sizes(cap_along),
        stock=None if stock is None else sizes(stock + (change or 0.0)),
        footing=sizes(2.0),
    )
    spans = [span(sizes, "A", "p", "q"), span(sizes, "B", "q", "r")]
    given = bridge(sizes, spans, [ends[0], middle, ends[1]])
    structures = fitted(sizes, ground, given)
    return SimpleNamespace(
        given=given,
        inputs=sizes.inputs,
        structures=structures,
        pier=structures.supports[1],
        cut=structures.supports[1].cuts[0],
        shapes={shape.part: shape for shape in structures.shapes},
    )

"""Exact lines and small bridges for tests of structures."""

import numpy as np

from spanwright.alignment.line import Line
from spanwright.estimation.derived import constant
from spanwright.estimation.inputs import Input, Inputs, Size
from spanwright.geometry.chain import Chain
from spanwright.structures.given import Packing, Span, StructuresInput, Support, SupportKind


def exact_line(name="upper", *, start=(0.0, 0.0), heading=0.0, curvature=0.0, length=1000.0, height=80.0, grade=0.0,
               cant=0.0, n=0, head_distance=10.0):  # fmt: skip
    """A line of one curvature, one grade and one cant (right above left), without doubt."""
    knots = np.linspace(0.0, length, 41)
    state = np.concatenate([[*start, heading], np.full(41, curvature)])
    return Line(
        name=name,
        chain=Chain(start=start, heading=heading, knots=knots, curvature=state[3:]),
        plan=constant(state, n),
        grade_knots=np.array([0.0, length]),
        profile=constant(np.array([height, grade, grade]), n),
        cant_knots=np.array([0.0, length]),
        cant=constant(np.array([cant, cant]), n),
        head_distance=constant(head_distance, n),
        surveyed=(0.0, length),
    )


class Sizes:
    """Collects sizes as base inputs."""

    def __init__(self, sd=0.05):
        self.items = []
        self.sd = sd

    def __call__(self, value, sd=None):
        key = f"s{len(self.items)}"
        doubt = self.sd if sd is None else sd
        self.items.append(Input(id=key, value=value, sd=doubt, unit="mm", label=key, kind="size"))
        return Size(ids=(key,))

    def free(self, value=0.0, sd=0.0):
        return self(value, sd).ids[0]

    @property
    def inputs(self):
        return Inputs(items=tuple(self.items))


def span(sizes, name, start, end, length=95.0, depth=(13.0, 13.0)):
    return Span(
        name=name, start=start, end=end, length=sizes(length), depth_left=sizes(depth[0]), depth_right=sizes(depth[1]),
        spacing=sizes(12.0), flange=sizes(2.4), shoe=sizes(1.2), shoe_along=sizes(2.0), bearing_inset=sizes(2.0),
    )  # fmt: skip


def pier(sizes, name, base="g", *, along=None, kind=SupportKind.PIER, **more):
    return Support(
        name=name, kind=kind, bases=(base,), shift=sizes.free(), cap=sizes(3.0), cap_along=sizes(12.0),
        cap_across=sizes(22.0), shaft_along=sizes(8.0), shaft_across=sizes(18.0),
        cut=tuple(sizes.free(0.0, 0.2) for _ in range(2 if kind is SupportKind.STRADDLE_BENT else 1)),
        set_out=sizes.free(0.0, 0.3), along=along, **more,
    )  # fmt: skip


def bridge(sizes, spans, supports, *, end_gap=0.5, k=2.0):
    return StructuresInput(
        upper="upper", lower="lower", spans=tuple(spans), supports=tuple(supports), rail=sizes(1.4), tie=sizes(1.6),
        packing=Packing(thinnest=0.25, most=2.0), dap=sizes(0.2), tie_overhang=1.0, end_gap=end_gap, k=k,
    )  # fmt: skip

"""Write docs/hand_calculation.md: the heights of the demo's pier 1, worked by hand from its derived plan.

Run ``python docs/make_hand_calculation.py`` after a change of the demo or of the height build-up.
``tests/unit/docs/test_hand_calculation.py`` fails when the page is stale, and redoes its sums.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from spanwright.alignment.line import track_point
from spanwright.estimation.inputs import size
from spanwright.files.job_file import load_job
from spanwright.job import Plan, derive
from spanwright.structures.heights import Bearing
from spanwright.structures.numbers import FittedSpan
from spanwright.structures.supports import FittedSupport

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "src" / "spanwright" / "files" / "demo" / "job.toml"
PAGE = ROOT / "docs" / "hand_calculation.md"
PIER = "pier 1"
NEAR = ("b5", "b6")  # the marks on the upper line before and after the pier
SIDES = {"left": "aisle", "right": "wall"}


def demo_plan() -> Plan:
    """Derive the demo as far as the heights."""
    return derive(replace(load_job(DEMO), clearance=None))


def pier_of(plan: Plan) -> FittedSupport:
    """The pier of this page."""
    return next(s for s in plan.structures.supports if s.given.name == PIER)


def spans_at(plan: Plan) -> list[FittedSpan]:
    """The two spans that rest on it, in station order."""
    return [s for s in plan.structures.spans if PIER in (s.axis.given.start, s.axis.given.end)]


def bearings_at(plan: Plan) -> list[Bearing]:
    """Its four bearings."""
    return [b for b in plan.structures.bearings if b.support == PIER]


def label(b: Bearing) -> str:
    """A bearing in the builder's words."""
    return f"{b.support}, {b.span}, {SIDES[b.side]}"


def parts_of(plan: Plan, b: Bearing) -> list[tuple[str, float]]:
    """Named parts of the doubt of the shaft's length at one bearing (what it must be, less the cut)."""
    given, pier = plan.job.structures, pier_of(plan)
    cut = pier.cuts[0]
    wanted = b.seat - given.packing.thinnest - size(plan.inputs, pier.given.cap)
    wanted = wanted - size(plan.inputs, pier.given.footing) - cut.base
    wanted = (wanted - plan.inputs.derived(pier.given.cut[0])).padded(len(plan.inputs))
    variance = (wanted.jac * plan.inputs.sds) ** 2
    own = f"spans/{b.span}/depth/"
    groups = (
        ("how truly the shaft is cut", lambda i: i.kind == "cut"),
        ("cap, still to be made", lambda i: i.id.startswith(f"supports/{PIER}/cap")),
        ("footing, still to be made", lambda i: i.id.startswith(f"supports/{PIER}/footing")),
        ("levelling of the ground at g2", lambda i: i.id in ("h52", "h53")),
        ("all other readings of the survey", lambda i: i.kind == "reading"),
        ("what the marks cannot see between them", lambda i: i.kind == "unseen"),
        ("rail, by caliper", lambda i: i.id.startswith("layers/rail")),
        ("tie, by caliper", lambda i: i.id.startswith("layers/bridge_tie")),
        ("dap, by caliper", lambda i: i.id.startswith("layers/dap")),
        ("girder, by caliper", lambda i: i.id.startswith(own)),
        ("shoe, by caliper", lambda i: i.id.startswith("bridge/shoe") and "along" not in i.id),
        ("all the rest", lambda _: True),
    )
    found = dict.fromkeys((name for name, _ in groups), 0.0)
    for item, value in zip(plan.inputs.items, variance, strict=True):
        found[next(name for name, holds in groups if holds(item))] += float(value)
    return [(name, float(np.sqrt(v))) for name, v in found.items()]


def _row(*cells: object) -> str:
    return "| " + " | ".join(f"{c:.3f}" if isinstance(c, float) else str(c) for c in cells) + " |"


def _table(head: tuple[str, ...], rows: list[tuple[object, ...]]) -> str:
    rule = "| " + " | ".join("---" if k == 0 else "---:" for k in range(len(head))) + " |"
    return "\n".join([_row(*head), rule, *(_row(*r) for r in rows)])


def _mean(plan: Plan, name: str, ids: tuple[str, ...]) -> tuple[object, ...]:
    items = [plan.inputs[key] for key in ids]
    readings = " ".join(f"{i.value:.3f}" for i in items)
    return name, readings, float(np.mean([i.value for i in items]))


def _track(plan: Plan, s: float) -> tuple[float, float]:
    at = track_point(plan.alignment.line("upper"), np.array([s]))
    return float(at.z.value[0]), float(at.cant.value[0])


def page(plan: Plan) -> str:
    """The page as text."""
    given, pier = plan.job.structures, pier_of(plan)
    cut, line = pier.cuts[0], plan.alignment.line("upper")
    spans, mine = spans_at(plan), bearings_at(plan)
    every = [b for s in spans for b in s.heights.bearings]
    head = float(line.head_distance.value)
    stations = dict(zip(*_marks(plan), strict=True))
    rail_heads = []
    for b in every:
        z, cant = _track(plan, float(b.station.value))
        rail_heads.append(
            (
                label(b),
                float(b.station.value),
                z,
                cant,
                -float(b.rail_over_girder.value),
                float(b.railhead.value),
            )
        )
    (s5, z5), (s6, z6) = ((stations[m], float(plan.survey.value(f"{m}.z").value)) for m in NEAR)
    straight = z5 + (pier.station - s5) / (s6 - s5) * (z6 - z5)
    z, cant = _track(plan, pier.station)
    sizes = [
        _mean(plan, "rail", given.rail.ids),
        _mean(plan, "tie", given.tie.ids),
        _mean(plan, "dap", given.dap.ids),
        _mean(plan, "shoe", spans[0].axis.given.shoe.ids),
        *(
            _mean(
                plan,
                f"girder, {s.axis.given.name}, {SIDES[side]}",
                getattr(s.axis.given, f"depth_{side}").ids,
            )
            for s in spans
            for side in ("left", "right")
        ),
    ]
    twists = [
        (s.axis.given.name, float(s.heights.rocks_by.value), 0.25 * float(s.heights.rocks_by.value))
        for s in spans
    ]
    chain = []
    for b in mine:
        layers = {layer.name.split(" ")[0]: float(layer.thickness.value) for layer in b.layers}
        chain.append(
            (
                label(b),
                float(b.railhead.value),
                layers["rail"],
                layers["tie"],
                -layers["dap"],
                layers["twist"],
                float(b.girder_top.value),
                layers["girder"],
                layers["shoe"],
                float(b.seat.value),
            )
        )
    thin = given.packing.thinnest
    cap, footing = (
        float(size(plan.inputs, pier.given.cap).value),
        float(size(plan.inputs, pier.given.footing).value),
    )
    base = float(cut.base.value)
    parts = [parts_of(plan, b) for b in mine]
    doubts = [float(np.sqrt(sum(v**2 for _, v in p))) for p in parts]
    wanted = [float(b.seat.value) - thin - cap - footing - base for b in mine]
    safe = [w - given.k * u for w, u in zip(wanted, doubts, strict=True)]
    lengths = [
        (label(b), float(b.seat.value), w, u, s)
        for b, w, u, s in zip(mine, wanted, doubts, safe, strict=True)
    ]
    top = base + footing + cut.length + cap
    packing = [
        (label(seat_b), float(seat_b.seat.value), top, float(seat_b.seat.value) - top) for seat_b in mine
    ]
    shares = [(name, *(p[k][1] for p in parts)) for k, (name, _) in enumerate(parts[0])]
    shares.append(("root of the sum of squares", *doubts))
    stock = float(size(plan.inputs, pier.given.stock).value)
    return TEXT.format(
        head=head,
        rail_heads=_table(("bearing", "station", "track z", "cant e", "offset o", "railhead H"), rail_heads),
        near=_table(("mark", "station", "adjusted railhead"), [(NEAR[0], s5, z5), (NEAR[1], s6, z6)]),
        pier_station=pier.station,
        straight=straight,
        z=z,
        cant=cant,
        wall=z + 0.5 * cant,
        differ=abs(z + 0.5 * cant - straight),
        sizes=_table(("piece", "readings", "mean"), sizes),
        twists=_table(("span", "twist t", "a quarter"), twists),
        chain=_table(
            (
                "bearing",
                "railhead",
                "- rail",
                "- tie",
                "+ dap",
                "- twist",
                "= girder top",
                "- girder",
                "- shoe",
                "= seat",
            ),
            chain,
        ),
        thin=thin,
        cap=cap,
        footing=footing,
        base=base,
        k=given.k,
        lengths=_table(("bearing", "seat", "length wanted w", "doubt u", "w - k u"), lengths),
        shares=_table(("part of the doubt (k = 1)", *(f"{b.span}, {SIDES[b.side]}" for b in mine)), shares),
        least=min(safe),
        length=cut.length,
        low=min(wanted) - cut.length,
        stock=stock,
        off=stock - cut.length,
        packing=_table(("bearing", "seat", "top of cap", "packing"), packing),
        top=top,
    )


def _marks(plan: Plan) -> tuple[tuple[str, ...], list[float]]:
    laid = next(x for x in plan.alignment.lines if x.line.name == "upper")
    return laid.mark_names, [float(v) for v in laid.stations.value]


TEXT = """\
# One pier by hand

The heights of *pier 1* of the demo, worked out with nothing but plus, minus, times and a root. It shows
where each number of the height table comes from, and a test redoes the sums on this page and holds them to
the plan, to 0.01 mm. Lengths are model mm; heights count from the peg P1, whose height is nought. Sides are
those of the demo: *aisle* is left, *wall* is right, looking from town to yard.

Written by `docs/make_hand_calculation.py` from the demo; do not edit the numbers.

## 1. From the adjusted rail to the railhead over each bearing

The survey gives adjusted heights of the marks, all on the wall rail. The two nearest to the pier:

{near}

A straight line between them gives {straight:.3f} at the pier's station {pier_station:.3f}. The fitted line
does not run through each mark, since a level reading is only good to 0.3 mm: its track centre is at {z:.3f}
with a cant of {cant:.3f} there, so its wall rail is at {z:.3f} + {cant:.3f} / 2 = {wall:.3f}, which
is {differ:.3f} from the straight line. The fit itself is not work for a pencil ([alignment](alignment.md));
from here on all is.

A bearing does not lie under the track centre, and each lies under another station, since the girders are
straight and the track is not. At the station square beside each bearing the fitted line gives the height z
of the track centre (midway between the rail heads) and the cant e (right rail above left). The bearing lies
o to the left of the centre. The rail heads are {head:.3f} apart, so the plane of the rail heads stands over
the bearing at

    H = z - e o / {head:.3f}

{rail_heads}

## 2. The pieces, as measured

Each thickness is the mean of its caliper readings (they are equally good).

{sizes}

## 3. How far the track is twisted

A span is rigid, so its four seats must lie in one plane. From the railheads H of a span's four bearings, t
= H(start, aisle) - H(start, wall) - H(end, aisle) + H(end, wall). A quarter of t is taken up under the ties
at each corner, with the sign + - - + in that order: plus comes off the height.

{twists}

Pier 1 is the end of span A (signs - for the aisle corner, + for the wall) and the start of span B (+, -).

## 4. Down to the seat

From the railhead each layer comes off. The tie is notched over the girder, so the dap is given back.

{chain}

## 5. How long the shaft is cut

Below the seat come the packing, the cap, the shaft and the footing, down to the ground at mark g2.

- thinnest packing {thin:.3f}
- cap {cap:.3f}
- footing {footing:.3f}
- ground g2, adjusted {base:.3f}

The length wanted at each bearing leaves just the thinnest packing there: w = seat - packing - cap - footing
- ground.

A shaft that is too long cannot be mended once it is glued; one that is too short is packed. So k = {k:.0f}
times the doubt u comes off, and what is left is rounded down to 0.1 mm. The least over the four bearings
rules.

{lengths}

The doubt u is the root of the squares of its parts, since the parts are independent of each other:

{shares}

*All other readings* holds those that fix the railhead and the pegs. They bear on the railhead and on the
ground at once: what shifts both alike cancels, which is why the sum is taken reading by reading first. *All
the rest* is what is left: gauge, girder spacing, lengths, the scale of the tape.

- least of w - k u: {least:.3f}
- **cut the shaft to {length:.3f}**
- that is lower than the length wanted at the lowest bearing by {low:.3f}
- the kit's shaft is {stock:.3f} high: {off:.3f} comes off

## 6. What is left for the packing

The top of the cap will stand at ground + footing + shaft + cap = {top:.3f}, if all pieces come out as
meant. Packing = seat - top of cap:

{packing}

Each packing is as doubtful as u above until the pier stands. Make the packing last, to what is then
measured.
"""


def main() -> int:
    """Write the page."""
    PAGE.write_text(page(demo_plan()), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())

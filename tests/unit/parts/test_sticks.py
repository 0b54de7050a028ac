"""Gauge sticks by hand: level track, whole numbers, both ends of every length."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from spanwright.alignment.crossing import find_crossings
from spanwright.alignment.stage import Alignments, LaidLine
from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.parts.given import PartsInput
from spanwright.parts.sticks import gauge_sticks
from spanwright.structures.given import SupportKind
from spanwright.structures.stage import fit_structures
from truth import h0
from truth.line_scenes import Sizes, bridge, exact_line, pier, span


class Ground:
    """Stands in for the adjusted survey."""

    def __init__(self, sizes, **heights):
        self.keys = {name: sizes.free(z, 0.25) for name, z in heights.items()}
        self.sizes = sizes

    def value(self, name):
        return self.sizes.inputs.derived(self.keys[name.partition(".")[0]])


def build(*, height=80.0, g=1.0, cant=0.0):
    sizes = Sizes()
    ground = Ground(sizes, g=g, h=g + 1.0)
    spans = [span(sizes, "A", "p", "q"), span(sizes, "B", "q", "r")]
    supports = [
        pier(sizes, "p", kind=SupportKind.ABUTMENT, along=-95.5),
        pier(sizes, "q", base="h"),
        pier(sizes, "r", kind=SupportKind.ABUTMENT),
    ]
    given = bridge(sizes, spans, supports)
    below = exact_line("lower", start=(500.0, -450.0), heading=np.radians(80.0), height=12.0)
    laid = tuple(
        LaidLine(
            line=x, mark_names=(), stations=None, residuals=np.zeros(0), description=(), shortest_wave=0.0
        )
        for x in (exact_line(height=height, cant=cant), below)
    )
    lines = Alignments(
        inputs=sizes.inputs,
        lines=laid,
        crossings=find_crossings(laid[0].line, laid[1].line),
        choices=(),
        findings=(),
    )
    return given, sizes.inputs, fit_structures(given, ground, lines)


def sticks(tolerance=0.15, **changes):
    given, inputs, structures = build(**changes)
    return gauge_sticks(given, PartsInput(tolerance=tolerance), inputs, structures), inputs


def test_every_bearing_has_one_from_its_base_to_its_seat():
    found, _ = sticks()
    # 80 railhead - 1.4 rail - 1.6 tie + 0.2 dap - 13 girder - 1.2 shoe = 63.0; bases at 1.0 and 2.0
    assert {(s.bearing, s.base, s.top) for s in found.sticks} == {
        *((f"p/A/{side}", "g", "seat") for side in ("left", "right")),
        *((f"q/{n}/{side}", "h", "seat") for n in "AB" for side in ("left", "right")),
        *((f"r/B/{side}", "g", "seat") for side in ("left", "right")),
    }
    for s in found.sticks:
        wanted = 61.0 if s.support == "q" else 62.0
        assert float(s.length.value) == pytest.approx(wanted)
        assert (s.go, s.no_go) == pytest.approx((wanted - 0.15, wanted + 0.15))
    assert found.findings == ()


def test_cant_makes_left_and_right_differ():
    found, _ = sticks(cant=0.5)  # 0.5 over 10: 12 mm apart, the right girder is 0.6 higher
    by_side = {s.bearing: float(s.length.value) for s in found.sticks}
    assert by_side["q/A/right"] - by_side["q/A/left"] == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("height", "go", "no_go"),
    [(80.615, 62.50, 62.75), (80.62, 62.50, 62.75), (80.60, 62.45, 62.75), (80.649, 62.50, 62.75)],
)
def test_both_lengths_are_rounded_towards_the_wanted_height(height, go, no_go):
    """62.615: 62.465 up to 62.50, 62.765 down to 62.75; and so on, by hand."""
    found, _ = sticks(height=height)
    stick = found.sticks[0]
    assert (stick.go, stick.no_go) == pytest.approx((go, no_go), abs=1e-9)


def test_a_height_known_worse_than_the_tolerance_is_doubtful():
    found, inputs = sticks()
    # base 0.25; rail, tie, dap, girder and shoe 0.05 each: sqrt(0.25^2 + 5 * 0.05^2) = 0.2739, twice 0.548
    stick = found.sticks[0]
    assert float(stick.length.sd(inputs.sds)) == pytest.approx(np.sqrt(0.25**2 + 5 * 0.05**2), rel=1e-6)
    assert stick.doubtful
    wide, _ = sticks(tolerance=0.56)
    assert not wide.sticks[0].doubtful


def test_too_fine_a_tolerance_is_a_finding():
    found, _ = sticks(tolerance=0.02, height=80.61)  # 62.61: 62.59 up to 62.60, 62.63 down to 62.60
    assert {f.code for f in found.findings} == {"PA143"}
    assert found.findings[0].value == pytest.approx(0.0)
    assert len(found.sticks) == 8


def test_a_seat_that_is_not_above_its_base_has_no_stick_and_says_so():
    found, _ = sticks(g=62.9)  # 63.0 - 62.9 = 0.1, less than the tolerance; 63.0 - 63.9 at q
    assert found.sticks == ()
    assert {f.code for f in found.findings} == {"PA142"}
    assert len(found.findings) == 8


def test_where_girders_frame_into_the_cap_a_stick_reaches_their_top():
    job = load_job(h0.FILE if Path(h0.FILE).is_dir() else Path(h0.FILE))
    plan = derive(replace(job, clearance=None))
    found = gauge_sticks(job.structures, PartsInput(), plan.inputs, plan.structures)
    tops = {b.id: float(b.girder_top.value) for b in plan.structures.bearings}
    bent = [s for s in found.sticks if s.support == "bent"]
    assert len(bent) == 4
    for s in bent:
        assert s.top == "girder top"
        assert s.base in ("g2", "g3")
        assert float(s.length.value) == pytest.approx(
            tops[s.bearing] - float(plan.survey.value(f"{s.base}.z").value)
        )
    assert {s.top for s in found.sticks if s.support != "bent"} == {"seat"}

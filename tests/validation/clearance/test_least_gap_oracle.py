"""The least gap in generated scenes against brute force over every pose at 0.1 mm.

Source: solids of manifold3d (https://github.com/elalish/manifold) and their ``min_gap``, at poses built
from the definitions without code of ours (``clearance_oracle.py``). The seed is the day on which the test
was written, and was not chosen by what came out; ``benchmarks/clearance.py`` goes through 200 cases.
"""

import pytest
from clearance_cases import KINDS, Maker
from clearance_oracle import gap_at, least

from spanwright.clearance.least_gap import least_gap
from spanwright.clearance.witness import SearchSettings

SEED = 20261125
ALLOWED = 0.005  # mm
REACH = 25.0


@pytest.mark.validates(
    source="manifold3d, min_gap between solids", item="least gap over every pose at 0.1 mm", page="-"
)
@pytest.mark.parametrize("number", range(2 * len(KINDS)))
def test_least_gap_is_that_of_every_pose(number):
    case = Maker(SEED, number).make()
    expected, *_ = least(case.line, case.vehicle, case.pieces, reach=REACH)
    found = least_gap(case.line, case.vehicle, (case.shape,), SearchSettings(reach=REACH))[0]
    assert found.gap <= expected + ALLOWED, f"{case.kind}: a gap larger than the true one"
    assert found.gap >= expected - ALLOWED, case.kind
    if not found.beyond_reach:  # and the gap is really there, at the pose that is told
        there = gap_at(case.line, case.vehicle, case.pieces, body=found.body, station=found.station)
        assert there == pytest.approx(found.gap, abs=1e-5)

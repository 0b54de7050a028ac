"""The travel that frees a struck part, against solids of another library.

Source: manifold3d (https://github.com/elalish/manifold), ``min_gap``: moved by a hair less than the travel
the part still overlaps the train at some pose, moved by a hair more it does not.
"""

from dataclasses import replace

import pytest
from clearance_brute_force import least
from clearance_scenes import NARROW_BELOW, box, car, curved_line

from spanwright.clearance.freeing import freeing_travel
from spanwright.clearance.least_gap import find, prepare, run_of
from spanwright.clearance.witness import SearchSettings

PARTS = {
    "column inside": (box("column", [545.0, 72.0, 25.0], (8.0, 6.0, 60.0), angle=0.4), {}),
    "column outside, concave": (
        box("column", [600.0, 60.0, 25.0], (8.0, 6.0, 90.0), angle=0.4),
        {"section": NARROW_BELOW},
    ),
    "beam too low": (
        box("beam", [480.0, 45.0, 46.0], (140.0, 10.0, 9.0), angle=1.3, tilt=0.1),
        {"wheelbase": 22.0},
    ),
}


@pytest.mark.validates(source="manifold3d, min_gap between solids", item="travel that frees a part", page="-")
@pytest.mark.parametrize("name", PARTS)
def test_a_hair_less_strikes_and_a_hair_more_is_free(name):
    part, changes = PARTS[name]
    line, vehicle = curved_line(), car(**changes)
    prepared = prepare(line, vehicle, SearchSettings())
    struck = find(prepared, (part,))[0]
    assert struck.gap == 0.0
    freed = [t for t in freeing_travel(prepared, part, struck) if t.contact is not None]
    assert freed
    for travel in freed:
        for hair, is_free in ((-0.01, False), (0.01, True)):
            moved = replace(part, vertices=part.vertices + (travel.distance + hair) * travel.direction)
            assert bool(least(line, vehicle, moved, *run_of(line, vehicle)) > 0) == is_free, travel.word

"""Deflection and sub-chord of the first 76.62 ft of a 4 degree curve.

Penn State surveying lecture "Horizontal Curves":
https://fliphtml5.com/tduu/uxuo/Horizontal_Curves_-_Penn_State_College_of.../4/

Tolerance: half the last printed digit (half a second, 0.005 ft) and, for the deflection, the effect of
the radius rounded to 1432.39 (below 0.02 seconds).
"""

from math import degrees, radians

import pytest

from spanwright.geometry.curves import deflection_angle, radius_from_degree_arc, sub_chord

SOURCE = "Penn State surveying lecture, Horizontal Curves"


@pytest.mark.validates(source=SOURCE, item="CRV-05: D 4, arc 76.62 ft", page="4")
def test_deflection_and_sub_chord():
    assert radius_from_degree_arc(radians(4.0), 100.0) == pytest.approx(1432.39, abs=0.005)
    angle = degrees(deflection_angle(1432.39, 76.62))
    assert angle == pytest.approx(1 + 31 / 60 + 57 / 3600, abs=0.52 / 3600)
    assert sub_chord(1432.39, 76.62) == pytest.approx(76.61, abs=0.005)

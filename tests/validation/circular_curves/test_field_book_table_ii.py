"""Radii, middle ordinates, tangent offsets and deflection distances of curves by chords of 100 ft.

"Table II, Radii, Ordinates and Deflections", end table of a printed surveyor's field book, scanned by
Dane County: https://planning.countyofdane.com/Weblink8Planning/0/doc/968440/Page1.aspx (also
documents 967811, 963327 and 978886). Read by character recognition of the scan.

Tolerance: half the last printed digit: 0.5 ft for radii printed without decimals, else 0.05 ft;
0.0005 ft for the ordinate and the offset; 0.0005 ft below 10 ft and 0.005 ft from there for the
deflection distance; 0.005 minutes. Each is widened by 1e-9 for values that end exactly on a half.
Radii with one decimal get 0.005 ft more: the table is cut down from one with two decimals, and where
those end in 5 it drops it (0 50: exact 6875.554, printed 6875.5; 1 00: exact 5729.651, printed 5729.6).
"""

from math import degrees, radians

import pytest

from spanwright.geometry.curves import (
    deflection_angle,
    deflection_distance,
    middle_ordinate,
    radius_from_degree_arc,
    radius_from_degree_chord,
    tangent_offset,
)

SOURCE = "Table II of a printed field book, scan by Dane County, document 968440"
ROWS = [  # degree, minutes, radius, middle ordinate, tangent offset, deflection distance, minutes a foot
    (0, 10, "34377", "0.036", "0.145", "0.291", "0.05"),
    (0, 20, "17189", "0.073", "0.291", "0.582", "0.10"),
    (0, 30, "11459", "0.109", "0.436", "0.873", "0.15"),
    (0, 40, "8594.4", "0.145", "0.582", "1.164", "0.20"),
    (0, 50, "6875.5", "0.182", "0.727", "1.454", "0.25"),
    (1, 0, "5729.6", "0.218", "0.873", "1.745", "0.30"),
    (1, 10, "4911.2", "0.255", "1.018", "2.036", "0.35"),
    (1, 20, "4297.3", "0.291", "1.164", "2.327", "0.40"),
    (1, 30, "3819.8", "0.327", "1.309", "2.618", "0.45"),
    (1, 40, "3437.9", "0.364", "1.454", "2.909", "0.50"),
    (1, 50, "3125.4", "0.400", "1.600", "3.200", "0.55"),
    (7, 0, "819.0", "1.528", "6.105", "12.21", "2.10"),
    (7, 20, "781.8", "1.600", "6.395", "12.79", "2.20"),
    (7, 30, "764.5", "1.637", "6.540", "13.08", "2.25"),
    (7, 40, "747.9", "1.673", "6.685", "13.37", "2.30"),
    (8, 0, "716.8", "1.746", "6.976", "13.95", "2.40"),
    (8, 20, "688.2", "1.819", "7.266", "14.53", "2.50"),
    (8, 30, "674.7", "1.855", "7.411", "14.82", "2.55"),
    (8, 40, "661.7", "1.892", "7.556", "15.11", "2.60"),
    (9, 0, "637.3", "1.965", "7.846", "15.69", "2.70"),
    (9, 20, "614.6", "2.037", "8.136", "16.27", "2.80"),
    (9, 30, "603.8", "2.074", "8.281", "16.56", "2.85"),
]


def half_digit(printed):
    return 0.5 * 10.0 ** -len(printed.partition(".")[2]) + 1e-9


@pytest.mark.validates(source=SOURCE, item="CRV-01: 22 rows of Table II", page="page 1 of the scan")
@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]}-{row[1]:02d}")
def test_row(row):
    degree = radians(row[0] + row[1] / 60.0)
    radius = radius_from_degree_chord(degree, 100.0)
    by_arc = radius_from_degree_arc(degree, 100.0)  # what minutes for one foot of line mean
    computed = (
        middle_ordinate(radius, degree),
        tangent_offset(radius, 100.0),
        deflection_distance(radius, 100.0),
        60.0 * degrees(deflection_angle(by_arc, 1.0)),
    )
    twice_rounded = 0.005 if "." in row[2] else 0.0
    assert radius == pytest.approx(float(row[2]), abs=half_digit(row[2]) + twice_rounded)
    for value, printed in zip(computed, row[3:], strict=True):
        assert value == pytest.approx(float(printed), abs=half_digit(printed))

"""Gauges as laid along a line against the digits that their sources print.

MOROP NEM 102 (2017), table of dimensions; MOROP NEM 103 (2016), p. 2, and the example of NEM 105 (2013),
2.3; Washington Administrative Code 480-60-050 (2000); Illinois Administrative Code 92, 1500.160 (c); AAR
equipment plates, NMRA S-7, the British freight gauges W6 to W10 and the Japanese vehicle gauge of 1929 as
others quote them. Addresses stand in ``src/spanwright/handbook``. The texts
were read, no figure was seen, so which corner a letter means is not checked here: only that the sizes come
out as printed. Tolerance: exact to rounding, but for the half circle, which is drawn as sides.
"""

from fractions import Fraction

import numpy as np
import pytest

from spanwright.clearance.gauges.given import GaugeOf
from spanwright.clearance.gauges.widened import printed
from spanwright.errors import InputError
from spanwright.handbook.gauges import gauge, gauge_names, nem_profile, nem_size, nem_widening

NEM_102 = "MOROP NEM 102, 2017"
NEM_103 = "MOROP NEM 103, 2016"
WAC = "Washington Administrative Code 480-60-050, 2000"
AAR = "AAR equipment plates (as quoted)"
W_GAUGES = "British network statement, 1999 (as quoted)"
JAPAN = "Japanese vehicle gauge, 1929 (as quoted)"

# size: BL1 BL2 BL3 HL1 HL3 HL4, and with an overhead line BL4 BL5 HL5
SHEET = {
    "Z": ((20, 14, 18, 4.5, 18, 24), (16, 13, 27)),
    "N": ((27, 18, 25, 6, 25, 33), (22, 18, 37)),
    "TT": ((36, 24, 32, 8, 33, 43), (28, 22, 48)),
    "H0": ((48, 32, 42, 11, 45, 59), (38, 30, 65)),
    "S": ((66, 44, 57, 15, 60, 78), (50, 38, 87)),
    "0": ((94, 63, 82, 21, 85, 109), (68, 52, 120)),
    "I": ((130, 87, 114, 30, 118, 150), (93, 71, 165)),
    "II": ((184, 124, 154, 43, 168, 214), (140, 106, 235)),
}
H0 = (Fraction(87), 16.5)
FOOT = 304.8


def width_at(polygon, height):
    """Full width of the profile at a height, from its sides."""
    crossed = []
    for (ya, za), (yb, zb) in zip(polygon, np.roll(polygon, -1, axis=0), strict=True):
        if min(za, zb) <= height < max(za, zb):
            crossed.append(ya + (height - za) * (yb - ya) / (zb - za))
    return max(crossed) - min(crossed)


@pytest.mark.validates(source=NEM_102, item="widths and heights of the profile, all sizes", page="table")
@pytest.mark.parametrize("size", SHEET)
def test_nem_102_has_the_printed_sizes(size):
    (bl1, bl2, bl3, hl1, hl3, hl4), _ = SHEET[size]
    profile = nem_profile(size)
    assert profile[:, 1].min() == 0.0
    assert profile[:, 1].max() == hl4
    assert width_at(profile, 0.0) == width_at(profile, hl1 - 1e-9) == bl3
    assert width_at(profile, hl1) == width_at(profile, hl3 - 1e-9) == bl1
    assert width_at(profile, hl4 - 1e-9) == pytest.approx(bl2, abs=1e-6)


@pytest.mark.validates(source=NEM_102, item="the same with an overhead line, all sizes", page="table")
@pytest.mark.parametrize("size", SHEET)
def test_nem_102_with_a_wire_has_the_printed_sizes(size):
    (bl1, _, _, hl1, _, _), (bl4, bl5, hl5) = SHEET[size]
    profile = nem_profile(size, wire=True)
    assert profile[:, 1].max() == hl5
    assert width_at(profile, hl5 - 1e-9) == pytest.approx(bl5, abs=1e-6)
    corner = hl5 - (bl4 - bl5) / 2  # its upper corners are cut at 45 degrees
    assert width_at(profile, corner - 1e-9) == pytest.approx(bl4, abs=1e-6)
    assert width_at(profile, hl1) == bl1


@pytest.mark.validates(source=NEM_103, item="E of H0 at 400, 550, 1000 and 2000 mm, groups A, B, C", page="2")
@pytest.mark.parametrize(
    ("group", "rows"),
    [
        ("A", {400: 7, 550: 4, 1000: 2, 2000: 0}),
        ("B", {400: 11, 550: 7, 1000: 3, 2000: 0}),
        ("C", {550: 10, 1000: 4, 2000: 1}),
    ],
)
def test_nem_103_widens_by_the_printed_digits(group, rows):
    each, is_printed = printed(nem_widening("H0", group), np.array([1.0 / r for r in rows]))
    assert each == pytest.approx(list(rows.values()))
    assert all(is_printed)


@pytest.mark.validates(source="MOROP NEM 105, 2013", item="example: H0, radius 700 mm, group C", page="2.3")
def test_the_example_of_nem_105():
    """The example takes E = 7 mm; a rectangular tunnel there is BL1 + 2 x 0.3 G + 2 E wide."""
    laid = gauge("NEM 102, group C", *H0)
    each, _ = printed(laid.widening, np.array([1.0 / 700.0]))
    assert each == pytest.approx([7.0])
    wide = 2 * laid.polygon[:, 0].max() + 2 * each[0]
    assert wide + 2 * 0.3 * 16.5 == pytest.approx(48 + 9.9 + 14)


def test_no_group_c_on_curves_where_the_sheet_leaves_it_blank():
    each, is_printed = printed(nem_widening("H0", "C"), np.array([1.0 / 400.0]))
    assert not is_printed[0]
    assert each[0] == 12.0  # that of 450 mm, its sharpest printed row
    assert "blank" in gauge("NEM 102", *H0).note.lower() or "shaded" in gauge("NEM 102", *H0).note


@pytest.mark.validates(
    source=WAC, item="bridges: 8 ft, half circle under 22 ft 6 in, foot 5 ft to 8 ft at 4 ft", page="(1)-(10)"
)
def test_the_washington_profile_holds_its_half_circle():
    ratio = Fraction(87)
    polygon = gauge("Washington, bridges and tunnels", ratio, 16.5).polygon * 87 / FOOT  # feet
    assert polygon[:, 1].max() == pytest.approx(22.5, abs=1e-9)
    assert polygon[:, 0].max() == pytest.approx(8.0, abs=0.01)
    assert width_at(polygon, 0.0) == pytest.approx(10.0)
    assert width_at(polygon, 4.0) == pytest.approx(16.0)
    assert width_at(polygon, 2.0) == pytest.approx(13.0)  # the foot is a straight line
    for height in np.linspace(14.51, 22.4, 40):
        circle = 2 * np.sqrt(8.0**2 - (height - 14.5) ** 2)
        assert circle - 1e-9 <= width_at(polygon, height) <= circle + 0.03  # never inside the printed one
    middles = 0.5 * (polygon + np.roll(polygon, -1, axis=0))
    over = middles[middles[:, 1] > 14.6]
    assert np.hypot(over[:, 0], over[:, 1] - 14.5) == pytest.approx(8.0, abs=0.003)


@pytest.mark.validates(source="Illinois Administrative Code 92, 1500.160", item="9 ft by 23 ft", page="(c)")
def test_the_illinois_box():
    polygon = gauge("Illinois, highway bridges", Fraction(160), 9.0).polygon * 160 / FOOT
    assert np.abs(polygon[:, 0]) == pytest.approx(9.0)
    assert sorted(polygon[:, 1]) == pytest.approx([0, 0, 23, 23])


@pytest.mark.validates(
    source=AAR, item="width 10 ft 8 in; heights of plates B, C, E, F, H, J", page="not seen"
)
@pytest.mark.parametrize(
    ("plate", "feet", "inches"),
    [("B", 15, 1), ("C", 15, 6), ("E", 15, 9), ("F", 17, 0), ("H", 20, 3), ("J", 19, 0)],
)
def test_plates_have_the_quoted_sizes(plate, feet, inches):
    found = gauge(f"AAR plate {plate}", Fraction(160), 9.0)
    assert found.of is GaugeOf.VEHICLE
    assert np.abs(found.polygon[:, 0]) * 2 * 160 / 25.4 == pytest.approx(128)
    assert found.polygon[:, 1].max() * 160 / 25.4 == pytest.approx(12 * feet + inches)
    assert "not seen" in found.note


@pytest.mark.validates(source=W_GAUGES, item="height and width of the freight gauges W6 to W10", page="list")
@pytest.mark.parametrize(
    ("height", "width"), [(3320, 2700), (3448, 2500), (3600, 2500), (3715, 2600), (3896, 2500)]
)
def test_the_british_box_holds_every_load_of_the_list(height, width):
    found = gauge("British W6 to W10, box", Fraction(1), 9.0)
    assert width_at(found.polygon, height) >= width
    assert (height, width) == (3320, 2700) or width_at(found.polygon, height) == pytest.approx(2700)
    assert width_at(found.polygon, 3319.9) == pytest.approx(2820)
    assert "not seen" in found.note


@pytest.mark.validates(
    source=JAPAN, item="greatest width 3,000 mm, greatest height 4,100 mm", page="not seen"
)
def test_the_japanese_box():
    found = gauge("Japan 1929, box", Fraction(150), 9.0)
    assert np.ptp(found.polygon[:, 0]) * 150 == pytest.approx(3000)
    assert found.polygon[:, 1].max() * 150 == pytest.approx(4100)
    assert "not seen" in found.note


@pytest.mark.validates(
    source="NMRA S-7 (as quoted)", item="HO: 2.063 in by 3.031 in; 3.031 in is 22 ft", page="not seen"
)
def test_the_nmra_box():
    found = gauge("NMRA S-7 HO, box", Fraction("87.1"), 16.5)
    assert np.ptp(found.polygon[:, 0]) / 25.4 == pytest.approx(2.063)
    assert found.polygon[:, 1].max() / 25.4 == pytest.approx(3.031)
    assert found.polygon[:, 1].max() * 87.1 / FOOT == pytest.approx(22.0, abs=0.05)
    assert "was not seen" in found.note
    assert "NMRA S-7 HO, box" not in gauge_names(Fraction(160), 9.0)


def test_a_scale_is_a_nominal_size_only_with_its_own_gauge():
    assert nem_size(Fraction("304.8") / Fraction("3.5"), 16.5) == "H0"
    assert nem_size(Fraction(148), 9.0) is None
    assert nem_size(Fraction("76.2"), 16.5) is None
    assert not any(name.startswith("NEM") for name in gauge_names(Fraction("76.2"), 16.5))


@pytest.mark.parametrize("name", gauge_names(*H0))
def test_every_gauge_says_where_it_comes_from_and_what_was_not_seen(name):
    found = gauge(name, *H0)
    assert found.status in ("read", "secondary", "memory")
    assert len(found.source) > 8
    assert len(found.note) > 20
    if found.status != "read":
        assert "seen" in found.note
    assert found.polygon[:, 0].min() == -found.polygon[:, 0].max()
    assert (found.widening is not None) == (name.startswith("NEM 102") and "straight" not in name)


def test_names_by_group_size_and_wire():
    assert gauge("NEM 102", *H0).id == "NEM 102 H0, group C"
    assert gauge("NEM 102 with wire N, group A", *H0).id == "NEM 102 N with wire, group A"
    assert gauge("NEM 102 TT, straight", Fraction(76), 16.5).polygon[:, 0].max() == 18.0


@pytest.mark.parametrize(
    ("call", "value"),
    [
        (lambda: gauge("NEM 102", Fraction("76.2"), 16.5), "NEM 102"),
        (lambda: gauge("NMRA S-7 HO, box", Fraction(160), 9.0), "NMRA S-7 HO"),
        (lambda: gauge("mine", *H0), "'mine'"),
        (lambda: nem_profile("H00"), "'H00'"),
        (lambda: nem_widening("H0", "D"), "group D"),
    ],
)
def test_what_is_not_there_is_said(call, value):
    with pytest.raises(InputError, match=value) as error:
        call()
    assert error.value.code == "HB006"

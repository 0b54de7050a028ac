"""Nets of heights, distances, angles and bearings, adjusted through the public survey stage.

F. Krumm, *Geodetic Network Adjustment Examples*, Geodätisches Institut, Universität Stuttgart,
rev. 3.5, 20 January 2020; read in the copy of its inputs and adjusted values that the source tree of
GNU Gama keeps (tests/krumm/input, commit 963c309; file names in krumm_2020.toml). The collection
takes its examples from textbooks; their pages are named. The books themselves were not seen.

Printed standard deviations are scaled by what the residuals say ("a posteriori"); ours are those of
the stated doubts, so they are multiplied by ``adjustment.scale`` before they are compared.

Tolerance: half the last printed digit, 0.05 mm for coordinates and heights and 0.005 mm for
standard deviations of plan nets (printed to 0.001 cm) and of heights (printed to 0.01 mm).
"""

import numpy as np
import pytest

SOURCE = "F. Krumm, Geodetic Network Adjustment Examples, Univ. Stuttgart, rev. 3.5, 2020"
COORDINATE = 0.05  # mm
SD = 0.005  # mm


def doubts(survey):
    """Posterior standard deviation by unknown. [mm]"""
    return dict(
        zip(survey.names, np.sqrt(np.diag(survey.adjustment.cofactor)) * survey.adjustment.scale, strict=True)
    )


def check_plan(case, survey):
    sd = doubts(survey)
    for point, printed in case["adjusted"].items():
        for axis, value, spread in zip("xy", printed, case["sd_cm"][point], strict=True):
            name = f"{point}.{axis}"
            assert float(survey.value(name).value) == pytest.approx(value * 1000.0, abs=COORDINATE), name
            assert sd[name] == pytest.approx(spread * 10.0, abs=SD), name


def check_heights(case, survey):
    sd = doubts(survey)
    for point, printed in case["adjusted"].items():
        name = f"{point}.z"
        assert float(survey.value(name).value) == pytest.approx(printed * 1000.0, abs=COORDINATE), name
        assert sd[name] == pytest.approx(case["sd_mm"][point], abs=SD), name


@pytest.mark.validates(
    source=SOURCE, item="LEV-01: Ghilani, Adjustment Computations, 5th ed. 2010, ex. 12.6", page="218"
)
def test_lev_01_six_lines_three_heights(cases, nets):
    case = cases["LEV-01"]
    check_heights(case, nets["heights"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="LEV-02: Niemeier, Ausgleichungsrechnung, 2nd ed. 2008", page="153-156"
)
def test_lev_02_nine_lines_five_heights(cases, nets):
    case = cases["LEV-02"]
    check_heights(case, nets["heights"](case).adjust())


@pytest.mark.validates(source=SOURCE, item="LEV-05: the collection's own height net", page="not seen")
def test_lev_05_two_unchecked_lines(cases, nets):
    case = cases["LEV-05"]
    check_heights(case, nets["heights"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="TRI-01: Benning, Statistik in Geodäsie, 2011, ex. 8-2", page="256"
)
def test_tri_01_square_of_five_distances(cases, nets):
    case = cases["TRI-01"]
    check_plan(case, nets["plan"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="TRI-02: Benning, Statistik in Geodäsie, 2011, ex. 8-8", page="285-291"
)
def test_tri_02_one_point_from_five(cases, nets):
    case = cases["TRI-02"]
    check_plan(case, nets["plan"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="TRI-03: Strang & Borre, Linear Algebra, 1997, ex. 10.1", page="345"
)
def test_tri_03_one_point_from_three(cases, nets):
    case = cases["TRI-03"]
    check_plan(case, nets["plan"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="TRI-06: Ghilani, Adjustment Computations, 5th ed. 2010, ex. 14.5", page="251"
)
def test_tri_06_start_half_a_metre_off(cases, nets):
    case = cases["TRI-06"]
    check_plan(case, nets["plan"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="NET-01: Ghilani, Adjustment Computations, 5th ed. 2010, ex. 16.1", page="300"
)
def test_net_01_traverse(cases, nets):
    case = cases["NET-01"]
    check_plan(case, nets["plan"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="NET-02: Ghilani, Adjustment Computations, 5th ed. 2010, ex. 16.2", page="307, 528"
)
def test_net_02_distances_angles_and_a_bearing(cases, nets):
    case = cases["NET-02"]
    check_plan(case, nets["plan"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="NET-04: Ghilani, Adjustment Computations, 5th ed. 2010, ex. 15.4", page="271"
)
def test_net_04_angles_only(cases, nets):
    case = cases["NET-04"]
    check_plan(case, nets["plan"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="BLU-03: Ghilani, Adjustment Computations, 5th ed. 2010, problem 21.10", page="459"
)
def test_blu_03_blunder_in(cases, nets):
    """The printed answers still hold the blunder: nothing may be removed behind the builder's back."""
    case = cases["BLU-03"]
    check_plan(case, nets["plan"](case).adjust())


@pytest.mark.validates(
    source=SOURCE, item="BLU-05: Ghilani ex. 16.2 with the row that is marked as a blunder", page="307, 528"
)
def test_blu_05_small_blunder_is_named(cases, nets):
    """The source marks the row; which other rows cannot be told from it, it does not say."""
    case = cases["NET-02"]
    survey = nets["plan"](case, extra_angles=[case["blunder"]["angle"]]).adjust()
    assert survey.suspects[0].readings[0] == "angle T-Q-R"
    assert len(survey.suspects) == 1


# ---- Below: digits computed for this project in separate computations, NOT printed in the source ----


@pytest.mark.parametrize("key", ["LEV-01", "LEV-02", "LEV-05"])
def test_height_nets_agree_with_our_other_computation(cases, nets, key):
    case = cases[key]
    adjustment = nets["heights"](case).adjust().adjustment
    ours = case["by_us"]
    # the separate computation's S0 is in the unit of the stated doubts
    assert adjustment.degrees_of_freedom == ours["dof"]
    assert adjustment.scale == pytest.approx(ours.get("S0", ours.get("S0_ratio")), abs=6e-6)
    for name, wanted, half in (
        ("residuals_mm", adjustment.residuals, 5e-4),
        ("redundancy", adjustment.redundancy, 5e-4),
    ):
        if name in ours:
            sign = -1.0 if name == "residuals_mm" else 1.0  # the separate computation: computed less observed
            np.testing.assert_allclose(sign * np.array(ours[name]), wanted, rtol=0, atol=half * 1.01)


def test_lev_05_says_what_nothing_checks(cases, nets):
    survey = nets["heights"](cases["LEV-05"]).adjust()
    assert survey.unchecked == ("height 4-1", "height 5-1")


@pytest.mark.parametrize("key", ["TRI-01", "TRI-02", "TRI-03", "TRI-06", "NET-01", "NET-02", "NET-04"])
def test_plan_nets_agree_with_our_other_computation(cases, nets, key):
    case = cases[key]
    adjustment = nets["plan"](case).adjust().adjustment
    assert adjustment.degrees_of_freedom == case["by_us"]["dof"]
    assert adjustment.scale == pytest.approx(case["by_us"]["S0"], abs=6e-6)
    if "vPv" in case["by_us"]:
        assert adjustment.chi_square == pytest.approx(case["by_us"]["vPv"], abs=6e-5)


def test_tri_02_a_slip_in_the_odd_distance_cannot_be_seen(cases, nets):
    """Redundancy 0.019, computed for this project."""
    survey = nets["plan"](cases["TRI-02"]).adjust()
    row = survey.reading_ids.index("level distance 6-5")
    assert survey.adjustment.redundancy[row] == pytest.approx(0.019, abs=6e-4)


def test_blu_03_statistics_before_and_after(cases, nets):
    net, ours = nets["plan"](cases["BLU-03"]), cases["BLU-03"]["by_us"]
    survey = net.adjust()
    w = np.abs(survey.adjustment.standardised)
    assert survey.adjustment.scale == pytest.approx(ours["step0_S0"], abs=6e-5)
    assert survey.reading_ids[int(np.argmax(w))] == "angle D-A-B"
    assert w.max() == pytest.approx(ours["step0_w"], abs=6e-3)
    assert survey.suspects[0].readings == ("angle D-A-B",)
    after = net.adjust(set_aside={"angle D-A-B"})
    w = np.abs(after.adjustment.standardised)
    assert after.adjustment.degrees_of_freedom == ours["step1_dof"]
    assert after.adjustment.scale == pytest.approx(ours["step1_S0"], abs=6e-6)
    assert after.reading_ids[int(np.argmax(w))] == "level distance D-A"
    assert w.max() == pytest.approx(ours["step1_w"], abs=6e-3)
    assert not after.suspects


def test_blu_05_statistics(cases, nets):
    case = cases["NET-02"]
    ours = case["blunder"]["by_us"]
    survey = nets["plan"](case, extra_angles=[case["blunder"]["angle"]]).adjust()
    w = np.sort(np.abs(survey.adjustment.standardised))[::-1]
    assert survey.adjustment.degrees_of_freedom == ours["dof"]
    assert survey.adjustment.scale == pytest.approx(ours["S0"], abs=6e-6)
    assert w[0] == pytest.approx(ours["w"], abs=6e-4)
    assert w[1] == pytest.approx(ours["second_w"], abs=6e-4)

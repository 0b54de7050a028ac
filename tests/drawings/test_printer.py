"""The calibration sheet, and what its measured bars do to the next sheets."""

import math

import pytest
from checks import bars, check_page
from samples import STAMP

from spanwright.drawings.calibration import calibration
from spanwright.drawings.display import Path, Role
from spanwright.drawings.printer import PAPERS, Printer, page_factors, page_size
from spanwright.drawings.tiles import pages
from spanwright.errors import InputError


def test_sizes_of_papers():
    # ISO 216: A4 is 210 by 297 mm. ANSI/ASME Y14.1: size A is 8.5 by 11 in.
    assert PAPERS["A4"] == (210.0, 297.0)
    assert PAPERS["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4), abs=1e-9)


def test_nothing_measured_means_no_change():
    assert Printer().factors == (1.0, 1.0)


def test_a_short_print_is_drawn_longer():
    printer = Printer(across=149.0, down=202.0)
    # What is drawn f times as long and printed at measured/nominal comes out as wanted.
    assert printer.factors[0] * 149.0 / 150.0 == pytest.approx(1.0)
    assert printer.factors[1] * 202.0 / 200.0 == pytest.approx(1.0)


def test_a_turned_page_goes_through_the_printer_like_an_upright_one():
    printer = Printer(across=149.0, down=202.0)
    assert page_factors(printer, upright=False) == page_factors(printer, upright=True)[::-1]
    assert page_size(printer, upright=False) == (297.0, 210.0)


@pytest.mark.parametrize(
    ("keys", "code", "said"),
    [
        ({"across": 144.0}, "DR001", "144 mm"),
        ({"down": 207.0}, "DR001", "207 mm"),
        ({"down": math.nan}, "DR001", "nan"),
        ({"across": -150.0}, "DR001", "-150 mm"),
        ({"paper": "A3"}, "DR002", "A3"),
    ],
)
def test_what_cannot_be_a_print_at_full_size_is_refused(keys, code, said):
    with pytest.raises(InputError, match=said) as caught:
        Printer(**keys)
    assert caught.value.code == code


def test_three_percent_is_just_taken():
    assert Printer(across=145.5, down=206.0).factors == pytest.approx((150 / 145.5, 200 / 206))


@pytest.mark.parametrize("paper", PAPERS)
def test_calibration_page(paper):
    printer = Printer(paper=paper, across=148.0, down=203.0)
    (page,) = pages(calibration(printer), printer=printer.uncorrected, stamp=STAMP)
    assert page.size == PAPERS[paper]
    assert check_page(page) == []
    lines = [i.points for i in page.drawing if isinstance(i, Path) and i.role is Role.FINE]
    level, upright = bars(lines, count=16), bars(lines, count=21)
    assert level[0] == pytest.approx([150.0], abs=1e-9)
    assert upright[1] == pytest.approx([200.0], abs=1e-9)
    assert any(f'paper = "{paper}"' in getattr(i, "text", "") for i in page.items)


def test_diagonal_of_the_calibration_is_that_of_a_right_angle():
    marks = [i.centre for i in calibration(Printer()).items if hasattr(i, "centre")]
    assert math.dist(*marks) == pytest.approx(250.0)  # 3, 4, 5

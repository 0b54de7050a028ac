"""The tables of throw and lean are fresh, and the engine agrees with the closed forms beside it."""

import importlib.util
from pathlib import Path

import pytest

DOCS = Path(__file__).resolve().parents[3] / "docs"


@pytest.fixture(scope="module")
def maker():
    spec = importlib.util.spec_from_file_location("make_throw_tables", DOCS / "make_throw_tables.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_is_not_stale(maker):
    assert maker.PAGE.read_text(encoding="utf-8") == maker.page(), "run: python docs/make_throw_tables.py"


def test_throw_is_that_of_the_closed_form(maker):
    for case in maker.CASES:
        assert maker.swept_throw(*case) == pytest.approx(maker.closed_throw(*case), abs=1e-6)


def test_lean_is_height_times_cant_over_the_rail_heads(maker):
    for cant in maker.CANTS:
        for height in maker.HEIGHTS:
            swept, first = maker.lean(cant, height)
            assert swept == pytest.approx(first, abs=1e-9)

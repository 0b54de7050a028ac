"""The pages that the docs show are those that the program makes."""

import importlib.util
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow
DOCS = Path(__file__).resolve().parents[2] / "docs"


@pytest.fixture(scope="module")
def maker():
    spec = importlib.util.spec_from_file_location("make_pages", DOCS / "make_pages.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_no_page_is_stale(books, maker):
    book = books("demo")
    wanted = maker.images(book.plan, book.making)
    there = {p.name: p.read_text(encoding="utf-8") for p in maker.FOLDER.glob("*.svg")}
    assert wanted.keys() == there.keys(), "run: python docs/make_pages.py"
    stale = [name for name, text in wanted.items() if there[name] != text]
    assert not stale, "run: python docs/make_pages.py"
    assert maker.PAGE.read_text(encoding="utf-8") == maker.page(book.making)

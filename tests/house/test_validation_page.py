"""docs/validation.md says what the tests check: it is written from their markers and is not stale."""

import importlib.util
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def maker():
    path = Path(__file__).resolve().parents[2] / "docs" / "make_validation.py"
    spec = importlib.util.spec_from_file_location("make_validation", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_page_is_not_stale(maker):
    written = maker.PAGE.read_text(encoding="utf-8")
    assert written == maker.page(), "run: python docs/make_validation.py"


def test_marker_arguments_are_plain_strings(maker, tmp_path, monkeypatch):
    monkeypatch.setattr(maker, "ROOT", tmp_path)
    path = tmp_path / "test_x.py"
    path.write_text('S = "a"\n@pytest.mark.validates(source=S, item="b", page="3")\ndef test_a(): ...\n')
    assert maker.entries(path) == [("a", "b", "3", "test_x.py::test_a")]
    path.write_text('@pytest.mark.validates(source=f(), item="b", page="3")\ndef test_a(): ...\n')
    with pytest.raises(ValueError, match=r"test_x\.py::test_a: .*not f\(\)"):
        maker.entries(path)
    path.write_text('@pytest.mark.validates(source="a", item="b")\ndef test_a(): ...\n')
    with pytest.raises(ValueError, match="source, item and page"):
        maker.entries(path)

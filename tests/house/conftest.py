"""What every house test walks: the source tree as it stands, however few modules it has."""

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "spanwright"


def source_modules():
    return sorted(PACKAGE.rglob("*.py"))


def pytest_generate_tests(metafunc):
    """Give a test that asks for `module_path` one run for each source module."""
    if "module_path" in metafunc.fixturenames:
        paths = source_modules()
        metafunc.parametrize("module_path", paths, ids=[p.relative_to(PACKAGE).as_posix() for p in paths])


@pytest.fixture
def root():
    return ROOT


@pytest.fixture
def package():
    return PACKAGE

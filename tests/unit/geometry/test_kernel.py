"""The compiled part: there, of a baseline processor, and its absence said plainly."""

import re
import shutil
import subprocess
from importlib import resources
from types import SimpleNamespace

import numpy as np
import pytest

from spanwright.errors import SpanwrightError
from spanwright.geometry import kernel


def test_it_is_loaded_once():
    assert kernel.library() is kernel.library()


def test_a_library_that_is_missing_is_said(monkeypatch):
    kernel.library.cache_clear()
    nowhere = SimpleNamespace(joinpath=lambda _name: "/nowhere/libkernel.so")
    monkeypatch.setattr(kernel.resources, "files", lambda _package: nowhere)
    with pytest.raises(SpanwrightError, match="Install the program again"):
        kernel.library()
    monkeypatch.undo()
    kernel.library.cache_clear()
    assert kernel.library() is not None


@pytest.mark.skipif(shutil.which("objdump") is None, reason="no disassembler on this machine")
def test_it_uses_nothing_that_a_baseline_processor_lacks():
    """x86-64-v2 has no AVX: no wide registers, no fused operations (System V ABI, x86-64 psABI, 2.3)."""
    place = resources.files("spanwright.geometry").joinpath("libkernel.so")
    if not place.is_file():
        pytest.skip("compiled for another system")
    text = subprocess.run(["objdump", "-d", str(place)], capture_output=True, text=True, check=True).stdout
    assert "ret" in text
    assert not re.findall(r"%[yz]mm\d+|\bvfn?m(?:add|sub)\w*|\tv(?:add|mul|mov)\w*", text)


def test_arrays_are_handed_over_as_the_kernel_wants_them():
    turned = np.arange(6.0).reshape(2, 3).T
    assert kernel.floats(turned).flags["C_CONTIGUOUS"]
    assert kernel.whole([1, 2]).dtype == np.int64

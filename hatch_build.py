"""Compile the C kernel when the project is built or installed: no compiler on the machine is needed.

The compiler comes as a wheel (``ziglang``), which also cross-compiles: SPANWRIGHT_TARGET names another
platform, one of TARGETS. The file needs no C library; named baselines of the processors keep it from
using what only this machine has, and without fused operations every machine gives the same bits.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from pathlib import Path

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ROOT = Path(__file__).resolve().parent
SOURCE = ROOT / "src" / "spanwright" / "geometry" / "kernel.c"

#: Name -> target of the compiler, baseline processor, file ending, tag of the wheel.
TARGETS = {
    "linux-x86_64": ("x86_64-linux-gnu.2.17", "x86_64_v2", "so", "manylinux_2_17_x86_64"),
    "linux-aarch64": ("aarch64-linux-gnu.2.17", "generic", "so", "manylinux_2_17_aarch64"),
    "macos-x86_64": ("x86_64-macos.11.0", "x86_64_v2", "dylib", "macosx_11_0_x86_64"),
    "macos-arm64": ("aarch64-macos.11.0", "apple_m1", "dylib", "macosx_11_0_arm64"),
    "windows-x86_64": ("x86_64-windows-gnu", "x86_64_v2", "dll", "win_amd64"),
}
FLAGS = [
    *("-O2", "-ffp-contract=off", "-fno-math-errno", "-fno-sanitize=undefined"),
    *("-ffreestanding", "-fno-builtin", "-nostdlib", "-DFREESTANDING"),
    *("-shared", "-fPIC", "-fvisibility=hidden", "-s"),
]


def this_machine() -> str:
    """Return the name of the platform that this runs on."""
    system = {"darwin": "macos", "win32": "windows"}.get(sys.platform, sys.platform)
    machine = platform.machine().lower()
    machine = {"amd64": "x86_64", "arm64": "aarch64"}.get(machine, machine)
    if system == "macos" and machine == "aarch64":
        machine = "arm64"
    return f"{system}-{machine}"


def compile_kernel(name: str, folder: Path = SOURCE.parent) -> Path:
    """Compile the kernel for a platform into a folder and return the file."""
    if name not in TARGETS:
        message = f"Spanwright has no compiled part for {name}; it has one for {', '.join(TARGETS)}."
        raise SystemExit(message)
    target, processor, ending, _ = TARGETS[name]
    folder.mkdir(parents=True, exist_ok=True)
    out = folder / f"libkernel.{ending}"
    part = out.with_name(f"{out.name}.part")
    command = [sys.executable, "-m", "ziglang", "cc", "-target", target, f"-mcpu={processor}"]
    done = subprocess.run(
        [*command, *FLAGS, "-o", str(part), str(SOURCE)], capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        message = f"The C part of Spanwright could not be compiled:\n{done.stderr}\nTry again, or report it."
        raise SystemExit(message)
    part.replace(out)
    return out


class CompileKernel(BuildHookInterface):
    """The hook that hatchling calls."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, object]) -> None:
        """Compile before a wheel, or an editable one, is put together."""
        if self.target_name != "wheel":
            return
        name = os.environ.get("SPANWRIGHT_TARGET") or this_machine()
        build_data["pure_python"] = False
        if version == "editable":  # the checkout itself is what runs
            compile_kernel(this_machine())
            return
        out = compile_kernel(name, ROOT / "build" / name)
        build_data["tag"] = f"py3-none-{TARGETS[name][3]}"
        build_data["force_include"] = {str(out): f"spanwright/geometry/{out.name}"}

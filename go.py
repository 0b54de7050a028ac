"""Front door of a source checkout: makes .venv, installs Spanwright in it, runs one thing.

Needs only Python 3.11 or newer. Read from the bottom: main, then one function a command.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

USAGE = """\
usage: python3 go.py COMMAND [ARGUMENTS]      (Windows: py go.py COMMAND)

  demo    work through the example job and print its verdicts
  test    run the tests                       arguments go to pytest, e.g. -k crossing
  check   style, types, layers and tests: what must pass before a commit
  bench   time the stages on the example jobs; arguments are names of benchmark files
  wheels  build the wheels for all platforms into dist/, on this machine

The first run makes the folder .venv and needs the internet; later runs start at once.
"""
ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
SUFFIX = ".exe" if os.name == "nt" else ""
PYTHON = BIN / f"python{SUFFIX}"
STAMP = VENV / "spanwright-stamp.txt"
LOG = ROOT / ".venv-install.log"


class SetUpError(Exception):
    """The environment cannot be made; the text says why and what to do."""


def venv_remedy() -> str:
    """Return the one thing to do when this Python cannot make environments."""
    remedies = {
        "apt-get": "sudo apt install python3-venv",
        "dnf": "sudo dnf install python3-pip",
        "zypper": "sudo zypper install python3-pip",
        "brew": "brew install python",
    }
    known = [remedy for program, remedy in remedies.items() if shutil.which(program)]
    return known[0] if known else "install Python 3.11 or newer again, with all its parts"


def timed(title: str, command: list[str]) -> bool:
    """Run a step with its output in the log; show the title and the seconds. True if it went well."""
    start = time.monotonic()
    live = sys.stdout.isatty()
    print(f"  {title} ...", end="", flush=True)
    with LOG.open("wb") as sink:
        step = subprocess.Popen(command, cwd=ROOT, stdout=sink, stderr=subprocess.STDOUT)
        while step.poll() is None:
            time.sleep(0.1)
            if live:
                print(f"\r  {title} ... {time.monotonic() - start:.0f} s", end="", flush=True)
    print(f" {'done' if step.returncode == 0 else 'FAILED'} ({time.monotonic() - start:.1f} s)", flush=True)
    return step.returncode == 0


def failure(remedy: str) -> SetUpError:
    """Return an error with the last lines of the log and the one thing to do."""
    lines = LOG.read_text(encoding="utf-8", errors="replace").splitlines()[-12:]
    return SetUpError("\n".join([*lines, "", f"That failed (all lines: {LOG.name}).", remedy]))


def wanted_stamp(extra: str) -> str:
    """Return the text that says what is installed: project file, compiled part, extra, Python."""
    digest = hashlib.sha256()
    for name in ("pyproject.toml", "hatch_build.py", "src/spanwright/geometry/kernel.c"):
        digest.update((ROOT / name).read_bytes())
    return f"{digest.hexdigest()} {extra or 'run'} {sys.version_info[0]}.{sys.version_info[1]} {ROOT}"


def can_run(python: Path) -> bool:
    """Tell whether an interpreter starts and is the version that runs this file."""
    test = f"import sys; sys.exit(sys.version_info[:2] != {tuple(sys.version_info[:2])})"
    return python.exists() and subprocess.call([str(python), "-c", test], stderr=subprocess.DEVNULL) == 0


def is_ready(extra: str) -> bool:
    """Tell whether .venv holds what is asked for; one made for the tests can run the demo too."""
    stamp = STAMP.read_text(encoding="utf-8") if STAMP.exists() else ""
    return stamp in (wanted_stamp(extra), wanted_stamp("test")) and can_run(PYTHON)


def make_venv(uv: str | None) -> None:
    """Make .venv new, unless a usable one is there."""
    has_pip = uv or list(VENV.glob("[Ll]ib/**/site-packages/pip"))
    if has_pip and can_run(PYTHON):
        return
    remedy = f"Do this, then run the same command again:\n\n    {'uv self update' if uv else venv_remedy()}\n"
    if not uv and not (importlib.util.find_spec("ensurepip") and importlib.util.find_spec("venv")):
        text = f"This Python cannot make virtual environments. {remedy}"
        raise SetUpError(text)
    shutil.rmtree(VENV, ignore_errors=True)
    maker = [uv, "venv", "--python", sys.executable] if uv else [sys.executable, "-m", "venv"]
    if not timed("1/2 making .venv", [*maker, str(VENV)]):
        shutil.rmtree(VENV, ignore_errors=True)
        raise failure(remedy)


def prepare(extra: str = "") -> None:
    """Bring .venv to what pyproject.toml asks for; at once if it is there already."""
    if is_ready(extra):
        return
    print("Setting up (first run, or pyproject.toml changed)")
    uv = shutil.which("uv")
    make_venv(uv)
    STAMP.unlink(missing_ok=True)
    pip = [str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "--no-input"]
    installer = [uv, "pip", "install", "--python", str(PYTHON)] if uv else pip
    title = f"2/2 installing with {'uv' if uv else 'pip, a minute or so'}"
    if not timed(title, [*installer, "-e", f".[{extra}]" if extra else "."]):
        raise failure("Most often the internet was out of reach: connect, then run the same command again.")
    STAMP.write_text(wanted_stamp(extra), encoding="utf-8")


def run(*command: str) -> int:
    """Run a program in the project folder and return its exit status."""
    sys.stdout.flush()
    return subprocess.call(command, cwd=ROOT)


def demo(args: list[str]) -> int:
    """Work through the example job."""
    prepare()
    return run(str(PYTHON), "-m", "spanwright", "demo", *args)


def test(args: list[str]) -> int:
    """Run the tests."""
    prepare("test")
    return run(str(PYTHON), "-m", "pytest", *args)


def check(args: list[str]) -> int:
    """Run every check, also after one has failed, and say which failed."""
    prepare("test")
    python = str(PYTHON)
    steps = {
        "format": [python, "-m", "ruff", "format", "--check", "."],
        "style": [python, "-m", "ruff", "check", "."],
        "types": [python, "-m", "mypy"],
        "layers": [str(BIN / f"lint-imports{SUFFIX}")],
        "tests": [python, "-m", "pytest", *args],
    }
    failed = []
    for name, command in steps.items():
        print(f"\n== {name}")
        if run(*command) != 0:
            failed.append(name)
    print(f"\nFAILED: {', '.join(failed)}" if failed else "\nAll checks passed.")
    return 1 if failed else 0


def bench(args: list[str]) -> int:
    """Run the benchmarks, all or those named."""
    files = [p for p in sorted((ROOT / "benchmarks").glob("*.py")) if not args or p.stem in args]
    if not files:
        print("No such benchmark." if args else "There are no benchmarks yet.")
        return 1
    prepare("test")
    return max(run(str(PYTHON), str(path)) for path in files)


def wheels(args: list[str]) -> int:
    """Build a wheel for each platform that the compiled part is made for, or for those named."""
    prepare("test")
    names = args or ["linux-x86_64", "linux-aarch64", "macos-x86_64", "macos-arm64", "windows-x86_64"]
    command = [str(PYTHON), "-m", "pip", "wheel", "-q", "--no-deps", "-w", "dist", "."]
    failed = []
    for name in names:
        print(f"  {name}", flush=True)
        if subprocess.call(command, cwd=ROOT, env={**os.environ, "SPANWRIGHT_TARGET": name}) != 0:
            failed.append(name)
    print(f"\nFAILED: {', '.join(failed)}" if failed else f"\n{len(names)} wheels are in dist/.")
    return 1 if failed else 0


def main(args: list[str]) -> int:
    """Run the command named first."""
    commands = {"demo": demo, "test": test, "check": check, "bench": bench, "wheels": wheels}
    if not args or args[0] in ("-h", "--help", "help"):
        print(USAGE)
        return 0
    if args[0] not in commands:
        print(f"go.py has no command '{args[0]}'.\n\n{USAGE}")
        return 2
    if sys.version_info < (3, 11):
        print(f"Spanwright needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
        return 1
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")  # on small matrices more threads only wait for each other
    sys.stdout.reconfigure(errors="replace")  # an installer's signs must not stop an old console
    try:
        return commands[args[0]](args[1:])
    except SetUpError as problem:
        print(f"\n{problem}")
        return 1
    except KeyboardInterrupt:
        print("\nStopped.")
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

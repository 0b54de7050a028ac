"""Starting up: help without numerical libraries, a reader that goes away, one thread by default."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

LOOK = """
import sys
from spanwright.cli.main import build_app, run
build_app()
status = run({arguments!r})
heavy = [m for m in ("numpy", "scipy", "pydantic", "shapely", "tomlkit") if m in sys.modules]
assert not heavy, heavy
sys.exit(status)
"""


def python(*arguments, **options):
    return subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, encoding="utf-8", check=False, **options
    )


@pytest.mark.parametrize("arguments", [["--help"], ["check", "--help"], ["--version"], ["chek"]])
def test_help_imports_nothing_heavy(arguments):
    result = python("-c", LOOK.format(arguments=arguments))
    assert "AssertionError" not in result.stderr, result.stderr
    assert result.returncode == (2 if arguments == ["chek"] else 0)


def test_module_and_bad_input_end_to_end(tmp_path):
    result = python("-m", "spanwright", "check", str(tmp_path))
    assert (result.returncode, result.stdout) == (2, "")
    assert result.stderr.count("\n") == 1
    assert "Traceback" not in result.stderr


def test_a_reader_that_goes_away_is_no_failure(make_job):
    command = [sys.executable, "-m", "spanwright", "sheets", str(make_job())]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        process.stdout.close()
        said = process.stderr.read()
    assert (process.returncode, said) == (0, b"")


FULL = Path("/dev/full")
needs_full = pytest.mark.skipif(not FULL.exists(), reason="this system has no device that is always full")


def to_a_full_disk(*arguments):
    command = [sys.executable, "-m", "spanwright", *arguments]
    with FULL.open("w", encoding="utf-8") as sink:
        return subprocess.run(
            command, stdout=sink, stderr=subprocess.PIPE, text=True, encoding="utf-8", check=False
        )


@needs_full
@pytest.mark.parametrize("more", [["sheets"], ["survey"], ["survey", "--json"]])
def test_a_full_disk_is_no_fault_of_the_program(make_job, more):
    verb, *flags = more
    result = to_a_full_disk(verb, str(make_job()), *flags)
    assert result.returncode == 2
    assert result.stderr.startswith("spanwright: the output cannot be written (")
    assert result.stderr.count("\n") == 1


@needs_full
def test_help_to_a_full_disk():
    result = to_a_full_disk("--help")
    assert (result.returncode, result.stderr.count("\n")) == (2, 1)


@needs_full
def test_new_says_that_the_job_was_made_though_its_output_was_lost(tmp_path):
    result = to_a_full_disk("new", str(tmp_path / "mine"))
    assert result.returncode == 2
    assert "But the job was made: " in result.stderr
    assert "as they were" not in result.stderr
    assert (tmp_path / "mine" / "job.toml").exists()


def test_a_closed_output_is_no_fault_of_the_program(make_job):
    code = "import sys\nfrom spanwright.cli.main import run\nsys.stdout = None\nsys.exit(run(sys.argv[1:]))\n"
    result = python("-c", code, "sheets", str(make_job()))
    assert result.returncode == 2
    assert "the output cannot be written (it is closed)" in result.stderr


def test_an_old_console_gets_letters_for_signs(make_job):
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    result = python("-m", "spanwright", "survey", str(make_job()), env=environment)
    assert result.returncode == 0
    assert "+/-" in result.stdout


def test_one_thread_unless_the_user_says_otherwise():
    names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
    code = "import os\nfrom spanwright.cli.main import run\nrun(['--version'])\n"
    code += f"print([os.environ[n] for n in {names}])"
    plain = {k: v for k, v in os.environ.items() if k not in names}
    assert "['1', '1', '1']" in python("-c", code, env=plain).stdout
    assert "['3', '1', '1']" in python("-c", code, env={**plain, names[0]: "3"}).stdout

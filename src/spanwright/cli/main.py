"""The command line: arguments in, one exit status out.

``run`` is the way in. Nothing here imports numbers or file formats: ``--help`` must answer at once, so
``commands``, which does the work, is imported when a command runs.

Exit status: 0 all clear, 1 something is not, 2 the input is bad, 3 the program itself failed.
"""

from __future__ import annotations

import importlib
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from typing import Annotated, Any

from cyclopts import App, CycloptsError, Parameter

from spanwright import __version__
from spanwright.errors import SpanwrightError

BAD_INPUT, FAILED, STOPPED = 2, 3, 130
DEBUG = "--debug"

_HELP = """From your readings to a bridge that fits the track and clears every train.

JOB is a job folder, or the job.toml in it."""
_EPILOGUE = """Exit status: 0 all clear, 1 something is not, 2 the input is bad, 3 the program failed.
The demo returns 0 once it has run.
--debug shows where the program failed, for a report."""

_JobArgument = Annotated[str, Parameter(help="Job folder, or the job.toml in it.")]
_JsonFlag = Annotated[
    bool, Parameter(name="--json", negative=(), show_default=False, help="Print numbers for other programs.")
]


def build_app() -> App:
    """Return the commands with their arguments; none of them has run.

    Returns
    -------
    App
        Called with the arguments, it returns the exit status.
    """
    app = App(
        name="spanwright",
        help=_HELP,
        help_epilogue=_EPILOGUE,
        help_format="plaintext",
        help_formatter="plain",
        version=__version__,
        version_format="plaintext",
        suppress_keyboard_interrupt=False,
    )
    commands: tuple[Callable[..., int], ...] = (
        new, sheets, check, survey, alignment, structures, clearance, demo,
    )  # fmt: skip
    for place, command in enumerate(commands):
        app.command(command, sort_key=place)
    return app


def _commands() -> Any:
    """Import what does the work; it needs a tenth of a second or more."""
    return importlib.import_module("spanwright.cli.commands")


def new(directory: Annotated[str, Parameter(name="DIR", help="Folder to make.")], /) -> int:
    """Make a job folder to fill in, and print blank reading sheets."""
    return int(_commands().new(directory))


def sheets(job: _JobArgument, /) -> int:
    """Print blank reading sheets of a job."""
    return int(_commands().sheets(job))


def check(job: _JobArgument, /, *, json: _JsonFlag = False) -> int:
    """Tell whether all is clear, how high each seat is, what to measure next."""
    return int(_commands().show("check", job, as_json=json))


def survey(job: _JobArgument, /, *, json: _JsonFlag = False) -> int:
    """Print where the marks are, and which readings do not agree."""
    return int(_commands().show("survey", job, as_json=json))


def alignment(job: _JobArgument, /, *, json: _JsonFlag = False) -> int:
    """Print the lines as they lie and where they cross."""
    return int(_commands().show("alignment", job, as_json=json))


def structures(job: _JobArgument, /, *, json: _JsonFlag = False) -> int:
    """Print spans, supports, cut sizes and the height of each bearing."""
    return int(_commands().show("structures", job, as_json=json))


def clearance(job: _JobArgument, /, *, json: _JsonFlag = False) -> int:
    """Print the gap of each vehicle to each part, with its verdict."""
    return int(_commands().show("clearance", job, as_json=json))


def demo(*, json: _JsonFlag = False) -> int:
    """Check the example job that comes with the program."""
    return int(_commands().demo(as_json=json))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the program.

    Parameters
    ----------
    arguments : sequence of str, optional
        Arguments without the program's name; those of the process if left out.

    Returns
    -------
    int
        Exit status.
    """
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")  # on small matrices more threads only wait for each other
    given = list(sys.argv[1:] if arguments is None else arguments)
    debug = DEBUG in given
    given = [word for word in given if word != DEBUG]
    try:
        status = build_app()(given, exit_on_error=False, print_error=False, result_action="return_value")
    except CycloptsError as problem:
        return _refuse(f"{str(problem).strip()} Try: spanwright --help")
    except SpanwrightError as problem:
        if debug:
            traceback.print_exc()
        return _refuse(str(problem))
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return STOPPED
    except Exception as problem:  # noqa: BLE001 - the last net: a plain message instead of a traceback
        return _failed(problem, debug=debug)
    return status if isinstance(status, int) else 0


def _refuse(message: str) -> int:
    print(f"spanwright: {' '.join(message.split())}", file=sys.stderr)
    return BAD_INPUT


def _failed(problem: Exception, *, debug: bool) -> int:
    if debug:
        traceback.print_exception(problem)
    else:
        print(
            f"spanwright: the program itself failed ({type(problem).__name__}: {problem}). Your files are as"
            f" they were. Please report it with what the same command prints with {DEBUG}.",
            file=sys.stderr,
        )
    return FAILED

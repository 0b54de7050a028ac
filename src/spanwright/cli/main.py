"""The command line: arguments in, one exit status out.

``run`` is the way in. Nothing here imports numbers or file formats: ``--help`` must answer at once, so
``commands``, which does the work, is imported when a command runs.

Exit status: 0 all clear, 1 something is not, 2 the input is bad, 3 the program itself failed.
"""

from __future__ import annotations

import contextlib
import importlib
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from typing import Annotated, Any

from cyclopts import App, CycloptsError, MissingArgumentError, Parameter, UnusedCliTokensError

from spanwright import __version__
from spanwright.book.blocks import shown
from spanwright.errors import InputError, SpanwrightError

BAD_INPUT, FAILED, STOPPED = 2, 3, 130
DEBUG = "--debug"
_LONGEST_SHOWN = 80  # characters of a name in a message

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
        new, sheets, check, survey, alignment, structures, clearance, why, card, remedies,
        parts, drawings, build, packing, book, history, compare, demo,
    )  # fmt: skip
    for place, command in enumerate(commands):
        app.command(command, sort_key=place)
    return app


def _commands(name: str = "commands") -> Any:
    """Import what does the work; it needs a tenth of a second or more."""
    return importlib.import_module(f"spanwright.cli.{name}")


def new(directory: Annotated[str, Parameter(name="DIR", help="Folder to make.")], /) -> int:
    """Make a job folder to fill in, and print blank reading sheets."""
    return int(_commands().new(directory))


def sheets(job: _JobArgument, /) -> int:
    """Print blank reading sheets of a job."""
    return int(_commands().sheets(job))


def check(
    job: _JobArgument,
    /,
    *,
    json: _JsonFlag = False,
    draws: Annotated[
        int, Parameter(show_default=False, help="Derive so many whole plans with drawn inputs (24 will do).")
    ] = 0,
) -> int:
    """Tell whether all is clear, how high each seat is, what to measure next."""
    return int(_commands().show("check", job, as_json=json, draws=draws))


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


def why(
    job: _JobArgument,
    number: Annotated[
        str,
        Parameter(
            help='What to ask for, such as "pier 1, shaft, wanted" or "tall van on lower against pier".'
        ),
    ],
    /,
    *,
    json: _JsonFlag = False,
) -> int:
    """Print where the doubt of one number comes from, and which reading would shrink it most."""
    return int(_commands("advice_commands").why(job, number, as_json=json))


def card(job: _JobArgument, /) -> int:
    """Print the wall card: which vehicles may run on which line, and by how much."""
    return int(_commands("train_commands").card(job))


def remedies(
    job: _JobArgument,
    /,
    *,
    take: Annotated[int, Parameter(help="Put this remedy of the worst gap into the job file.")] = 0,
    json: _JsonFlag = False,
) -> int:
    """Print what would make each foul or not proven gap clear, tried by the whole engine."""
    return int(_commands("train_commands").remedies(job, take=take, as_json=json))


def parts(job: _JobArgument, /) -> int:
    """Print what to buy, cut, trim and make, and how each piece is put right."""
    return int(_commands("making_commands").show_made("parts", job))


def drawings(job: _JobArgument, /) -> int:
    """List the patterns, gauges and drawings, with their pages."""
    return int(_commands("making_commands").show_made("drawings", job))


def build(
    job: _JobArgument,
    /,
    *,
    tonight: Annotated[
        bool,
        Parameter(
            negative=(), show_default=False, help="Print what this evening is for, and what to measure first."
        ),
    ] = False,
    measured: Annotated[
        list[str] | None,
        Parameter(
            help='Put a reading into the job file, such as "pier 2/shaft, length = 49.1 mm by caliper",'
            " and print what it changes.",
            negative="",
        ),
    ] = None,
    made: Annotated[
        list[str] | None,
        Parameter(help='The same for how far a support is, such as "pier 2 cut".', negative=""),
    ] = None,
    json: Annotated[
        bool,
        Parameter(
            name="--json",
            negative=(),
            show_default=False,
            help="Print what this evening is for as numbers for other programs.",
        ),
    ] = False,
) -> int:
    """Print the steps in order and when each can be done; or take in what was measured or made."""
    if json and (measured or made or not tonight):
        raise InputError(
            "only what an evening is for is printed for other programs",
            code="BU005",
            where="--json",
            hint="Say --tonight --json, and take in what was measured or made by a command of its own",
        )
    if measured or made:
        take_in = _commands("answer_commands").take_in
        status = int(take_in(job, readings=tuple(measured or ()), states=tuple(made or ())))
        if not tonight:
            return status
    return int(_commands("making_commands").show_made("tonight" if tonight else "build", job, as_json=json))


def packing(job: _JobArgument, /, *, json: _JsonFlag = False) -> int:
    """Print which sheets of your shelf go under which bearing, and the railhead that comes of it."""
    return int(_commands("packing_commands").packing(job, as_json=json))


def book(
    job: _JobArgument, /, *, out: Annotated[str, Parameter(help="Folder to write into.", show_default=False)]
) -> int:
    """Write the build book as PDF, and beside it every pattern and table."""
    return int(_commands("making_commands").book(job, out))


def history(
    job: _JobArgument,
    /,
    *,
    back: Annotated[
        int | None, Parameter(help="Go back to the text of this number.", show_default=False)
    ] = None,
    as_it_was: Annotated[
        bool,
        Parameter(negative=(), show_default=False, help="Going back, do not carry over what is built since."),
    ] = False,
) -> int:
    """List the changes of the job file, or go back to an earlier text; nothing is lost."""
    return int(_commands("version_commands").history(job, back=back, as_it_was=as_it_was))


def compare(
    job: _JobArgument,
    other: Annotated[str, Parameter(help="The job to hold beside it, as folder or file.")],
    /,
    *,
    json: _JsonFlag = False,
) -> int:
    """Hold two plans side by side: what differs, and what it costs in cuts and built parts.

    Exit status 0 once both have been worked through, whatever differs.
    """
    return int(_commands("version_commands").side_by_side(job, other, as_json=json))


def demo(*, json: _JsonFlag = False) -> int:
    """Check the example job that comes with the program.

    Exit status 0 once it has run, whatever it finds: the example has gaps that are not clear, to show them.
    """
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
        return _refuse(f"{_misread(problem)} Try: spanwright --help")
    except SystemExit:  # the help's printer leaves so when its reader has gone away: no failure
        return 0
    except (SpanwrightError, OSError) as problem:
        return _refused(problem, debug=debug)
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return STOPPED
    except Exception as problem:  # noqa: BLE001 - the last net: a plain message instead of a traceback
        return _failed(problem, debug=debug, unchanged=given[:1] != ["new"])
    return status if isinstance(status, int) else 0


def _refuse(message: str, *more: str) -> int:
    """Tell in one line what is wrong; a way out that is a line of its own follows."""
    with contextlib.suppress(OSError):  # nobody can be told if this stream is full too
        print(shown(f"spanwright: {' '.join(message.split())}"), file=sys.stderr)
        for line in more:
            print(shown(line), file=sys.stderr)
    return BAD_INPUT


def _refused(problem: SpanwrightError | OSError, *, debug: bool) -> int:
    """Tell what cannot be used, and what the system would not do."""
    if isinstance(problem, BrokenPipeError):  # a reader that has gone away is no failure
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        return 0
    if debug:
        traceback.print_exception(problem)
    if isinstance(problem, OSError):
        return _refuse(_not_possible(problem))
    problem.where = shown(problem.where)
    return _refuse(str(problem), *getattr(problem, "__notes__", ()))


def _misread(problem: CycloptsError) -> str:
    """Say in plain words what is wrong with the arguments."""
    command = " ".join(problem.command_chain or ())
    if isinstance(problem, UnusedCliTokensError) and problem.unused_tokens:
        words = ", ".join(f"'{word}'" for word in problem.unused_tokens)
        are = "is no argument" if len(problem.unused_tokens) == 1 else "are no arguments"
        return f"there {are} {words} here; a name with blanks stands in quotes."
    if isinstance(problem, MissingArgumentError) and problem.argument is not None and command:
        return f"{command} needs {problem.argument.name} after it."
    return str(problem).strip()


def _not_possible(problem: OSError) -> str:
    """Say what the system refused: a name that it cannot use, or output that has nowhere to go."""
    why = problem.strerror or str(problem)
    if problem.filename is None:
        return f"the output cannot be written ({why}). Send it to the terminal, or to a file that has room"
    name = shown(str(problem.filename))
    if len(name) > _LONGEST_SHOWN:
        name = f"{name[:_LONGEST_SHOWN]} ..."
    return f"{name}: this cannot be read or written ({why}). Check the name, and that you may use it"


def _failed(problem: Exception, *, debug: bool, unchanged: bool) -> int:
    if debug:
        traceback.print_exception(problem)
    else:
        kept = " Your files are as they were." if unchanged else ""
        print(
            shown(
                f"spanwright: the program itself failed ({type(problem).__name__}: {problem}).{kept} Please"
                f" report it with what the same command prints with {DEBUG}."
            ),
            file=sys.stderr,
        )
    return FAILED

"""Work through the trains of a job on all cores; show how far it is where a person looks on."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from typing import Any

from spanwright.clearance.stage import Mapping

#: Fewer trains than this are done before other processes have started.
_FEWEST = 4
#: Each process is handed its trains in so many portions at least.
_PORTIONS = 16

_given: list[Callable[[Any], Any]] = []  # in a process of the pool: what it is to do with each thing


def _cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _counted(results: Iterator[Any], total: int, tell: Callable[[int, int], None]) -> Iterator[Any]:
    for done, result in enumerate(results, start=1):
        tell(done, total)
        yield result


def on_all_cores(tell: Callable[[int, int], None]) -> Mapping:
    """Return a ``map`` that uses all cores and tells how far it is.

    Each process gets what the function needs once, and then a few trains at a time; results come in order.
    The numbers are the same as on one core, to the last bit, since trains know nothing of one another.

    Parameters
    ----------
    tell : callable
        Called with the number done and the number of all.

    Returns
    -------
    callable
        Takes a function and things, returns an iterator of results.
    """

    def each(function: Callable[[Any], Any], things: Iterable[Any]) -> Iterable[Any]:
        waiting = list(things)
        cores = min(_cores(), len(waiting))
        if cores < 2 or len(waiting) < _FEWEST:
            return _counted(map(function, waiting), len(waiting), tell)
        return _counted(_spread(function, waiting, cores), len(waiting), tell)

    return each


def _take(function: Callable[[Any], Any]) -> None:
    """Keep what this process is to do: all the parts come with it, and are to travel but once."""
    _given[:] = [function]


def _do(thing: Any) -> Any:
    return _given[0](thing)


def _spread(function: Callable[[Any], Any], things: list[Any], cores: int) -> Iterator[Any]:
    # fresh processes: they start alike on every system, and no lock of this one is inherited
    fresh = multiprocessing.get_context("spawn")
    portion = max(1, len(things) // (cores * _PORTIONS))
    with ProcessPoolExecutor(cores, mp_context=fresh, initializer=_take, initargs=(function,)) as pool:
        try:
            yield from pool.map(_do, things, chunksize=portion)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


@contextlib.contextmanager
def progress(title: str) -> Iterator[Callable[[int, int], None]]:
    """Show how far a piece of work is, where a person can see it; nothing elsewhere.

    Parameters
    ----------
    title : str
        What is being done.

    Yields
    ------
    callable
        To be called with the number done and the number of all.
    """
    if sys.stderr is None or not sys.stderr.isatty():
        yield lambda _done, _total: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(bar_width=30), MofNCompleteColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)

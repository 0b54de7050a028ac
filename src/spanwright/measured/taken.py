"""Which steps of the work what is entered shows to be done: as-built rows filled in, supports made."""

from __future__ import annotations

from dataclasses import replace

from spanwright.build.as_built import AsBuilt
from spanwright.build.planning.given import BuildInput
from spanwright.drawings.speech import Speech, Words
from spanwright.estimation.inputs import Inputs
from spanwright.measured.given import Made, Measured, PartState
from spanwright.measured.numbers import plain

_PREFIX = "as built/"
#: Kinds of steps that a state shows to be done, and that it shows to be undone.
_SHOWN = {
    PartState.CUT: ("cut",),
    PartState.DRY_FITTED: ("make", "cut"),
    PartState.BUILT: ("make", "cut", "glue"),
}
_UNDONE = {
    PartState.TAKEN_OUT: ("glue", "pack"),
    PartState.SPOILED: ("make", "cut", "glue", "pack"),
}


def with_entered(
    asked: BuildInput,
    rows: tuple[AsBuilt, ...],
    *,
    made: tuple[Made, ...],
    readings: tuple[Measured, ...],
    words: Words,
) -> BuildInput:
    """Add to what the builder tells to be done what the readings and the states of the parts show.

    Parameters
    ----------
    asked : BuildInput
        What is told to be done.
    rows : tuple of AsBuilt
        Rows of the as-built sheets.
    made : tuple of Made
        Supports that are cut, stand dry, or are built.
    readings : tuple of Measured
        Readings of the plan's numbers and of the rows.
    words : Words
        The builder's words for the sides.

    Returns
    -------
    BuildInput
        The same, with rows that are read and steps that are done. What cures is not done.

    Notes
    -----
    A reading names its row by the row's id, as the as-built sheets do. A support that is cut has its shafts
    cut; one that stands dry has its cap as well; one that is built is glued, and its glue is hard. What is
    taken out must be glued again, what is spoiled made again, whatever was told before.
    """
    written = {plain(m.number) for m in readings}
    shown: list[str] = []
    undone: list[str] = []
    for part in made:
        shown += [f"{kind}/{part.part}" for kind in _SHOWN.get(part.state, ())]
        undone += [f"{kind}/{part.part}" for kind in _UNDONE.get(part.state, ())]
    spoiled = tuple(f"{_PREFIX}{m.part}/" for m in made if m.state is PartState.SPOILED)
    rows_read = [r.id for r in rows if _names(r, words) & written and not r.id.startswith(spoiled)]
    curing = {key: hours for key, hours in asked.curing if key not in undone}
    gone = {*undone, *(f"read/{key}" for key in undone)}
    done = dict.fromkeys(k for k in (*asked.done, *(s for s in shown if s not in curing)) if k not in gone)
    return replace(
        asked,
        done=tuple(done),
        curing=tuple(curing.items()),
        read=tuple(dict.fromkeys((*asked.read, *rows_read))),
    )


def _names(row: AsBuilt, words: Words) -> set[str]:
    """Return what a row may be called: by its id, and as the sheets say it."""
    ids = (row.id, row.id.removeprefix(_PREFIX))
    say = Speech(words=words, inputs=Inputs(items=()), k=1.0)  # places only: no number is said
    said = {plain(say.place(name)) for name in ids}
    return said | {plain(name, sides) for name in ids for sides in (None, words)}

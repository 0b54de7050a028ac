"""Gathering readings: what the builders of all kinds share.

:class:`Gathered` checks marks, sides and ids, gives each reading its tool's doubts, and makes its base input.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace

from spanwright.estimation.inputs import Input
from spanwright.files.builders.context import Context
from spanwright.files.builders.lines import Sized
from spanwright.files.builders.marks import known_mark
from spanwright.files.builders.surfaces import Surfaces
from spanwright.files.builders.tools import Measure
from spanwright.files.schema import survey as tables
from spanwright.files.source import Keys
from spanwright.survey.readings import Kind, Mark, Reading

ANGULAR = frozenset({Kind.ANGLE, Kind.BEARING, Kind.LEVEL_ANGLE, Kind.CROSS_LEVEL_ANGLE})
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}", re.ASCII)


@dataclass(slots=True, kw_only=True)
class Gathered:
    """The readings as they are gathered.

    Parameters
    ----------
    ctx : Context
        The loading.
    marks : dict
        All marks.
    lines : dict
        Sizes and mark order of each line.
    surfaces : Surfaces
        What lies between surfaces.
    wanted : float
        The job's gauge. [mm]
    readings : list of Reading
        Those built so far.
    shared : list of str
        Base inputs of tool errors.
    names : dict
        The ids as written, each with the ids of its readings.
    """

    ctx: Context
    marks: dict[str, Mark]
    lines: dict[str, Sized]
    surfaces: Surfaces
    wanted: float
    readings: list[Reading] = field(default_factory=list)
    shared: list[str] = field(default_factory=list)
    names: dict[str, list[str]] = field(default_factory=dict)

    def mark(self, keys: Keys, name: str) -> str:
        """Return the name of a mark that must be there.

        Parameters
        ----------
        keys : tuple
            Where it stands.
        name : str
            The name.

        Returns
        -------
        str
            The same.
        """
        return known_mark(self.ctx, keys, name, self.marks)

    def pair(self, keys: Keys, names: tuple[str, str]) -> tuple[str, str]:
        """Return two marks that must be there and differ.

        Parameters
        ----------
        keys : tuple
            Where the pair stands.
        names : tuple of str
            The two names.

        Returns
        -------
        tuple of str
            The same.
        """
        first, second = self.mark((*keys, 0), names[0]), self.mark((*keys, 1), names[1])
        self.differ((*keys, 1), first, second)
        return first, second

    def differ(self, keys: Keys, first: str, second: str) -> None:
        """Refuse a reading from a mark to itself.

        Parameters
        ----------
        keys : tuple
            Where the second stands.
        first : str
            One mark.
        second : str
            The other.

        Raises
        ------
        InputError
            If they are the same.
        """
        if first == second:
            raise self.ctx.source.error(
                keys, "a reading needs two different marks", code="JO040", value=second
            )

    def is_left(self, keys: Keys, word: str, first: str, second: str) -> bool:
        """Return whether a side of a string is its left, looking from its first mark to its second.

        Parameters
        ----------
        keys : tuple
            Where the word stands.
        word : str
            ``left`` or ``right`` along the string; or the job's own word, if the string joins two
            marks of one line.
        first : str
            First mark.
        second : str
            Second mark.

        Returns
        -------
        bool
            True for left.

        Raises
        ------
        InputError
            If the word is none of those.
        """
        if word in ("left", "right"):
            return word == "left"
        order = self.lines[self.marks[first].line].order if self.marks[first].line in self.lines else ()
        if first in order and second in order:
            grows = order.index(first) < order.index(second)
            return self.ctx.side(keys, word) == grows
        raise self.ctx.source.error(
            keys,
            f"the side of a string from {first} to {second} can only be said along the string",
            code="JO041",
            value=word,
            limit=f"left or right, looking from {first} to {second}",
            hint="The job's own words serve where both ends are marks of one line",
        )

    def add(
        self,
        keys: Keys,
        entry: tables.Reading,
        reading: Reading,
        *,
        value: float,
        label: str,
    ) -> None:
        """Add a reading of a number and its base input.

        Parameters
        ----------
        keys : tuple
            Where the entry stands.
        entry : Reading
            What was written.
        reading : Reading
            What was read; the tool's errors are still to be set.
        value : float
            The number. [mixed]
        label : str
            What was read, in words.
        """
        ctx = self.ctx
        if not _ID.fullmatch(entry.id):
            raise ctx.source.error(
                (*keys, "id"),
                "this cannot be an id",
                code="JO013",
                value=entry.id,
                limit="up to 40 letters, digits, and . _ - inside",
            )
        angular = reading.kind in ANGULAR
        wanted = Measure.ANGLE if angular else Measure.LENGTH
        tool = ctx.tool((*keys, "by"), entry.by, of_reading=True)
        if tool.measure is not wanted and entry.sd is None:
            raise ctx.source.error(
                (*keys, "by"),
                f"this tool measures {tool.measure.value}, and the reading is one of {wanted.value}",
                code="JO011",
                value=entry.by,
                hint="Name another tool, or give this reading its own sd",
            )
        sd = tool.sd if entry.sd is None else ctx.doubt((*keys, "sd"), entry.sd, wanted)
        scale = zero = ""
        if tool.measure is wanted:
            scale, zero = ctx.tool_errors(tool)
            self.shared += [key for key in (scale, zero) if key and key not in self.shared]
        if reading.kind is Kind.PLUMB_PAST_EDGE:
            # Two readings added: twice the tool's own error; its zero counts twice and is not shared.
            sd = math.hypot(math.sqrt(2) * sd, 2 * tool.zero)
            zero = ""
        note = f" ({entry.note})" if entry.note else ""
        ctx.add(
            (*keys, "id"),
            Input(
                id=reading.id,
                value=value,
                sd=sd,
                unit="rad" if angular else "mm",
                label=f"{label} by {entry.by}{note}",
                kind="reading",
                remedy="read it again",
            ),
        )
        self.readings.append(replace(reading, scale=scale, zero=zero))
        self.names.setdefault(entry.id, []).append(reading.id)

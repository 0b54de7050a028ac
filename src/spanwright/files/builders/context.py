"""What all builders share: file, units, words, tools, and the growing list of base inputs."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TypeVar

from spanwright.drawings.speech import Words
from spanwright.errors import InputError
from spanwright.estimation.inputs import Input
from spanwright.files.builders.tools import UNREAD, Measure, Tool, doubt, guessed
from spanwright.files.schema.base import Quantity
from spanwright.files.source import Keys, Source, listed, nearest
from spanwright.units import parse_angle, parse_length

T = TypeVar("T")
LONGEST_NAME = 80  # characters; longer ones fit no table that is shown (common practice, no source)
#: What no name may hold: control and formatting characters, halves of pairs, ends of lines and paragraphs.
_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})


def with_article(word: str) -> str:
    """Return a word with a or an before it.

    Parameters
    ----------
    word : str
        The word.

    Returns
    -------
    str
        Such as ``an abutment``.
    """
    return f"{'an' if word[:1].lower() in 'aeiou' else 'a'} {word}"


@dataclass(slots=True, kw_only=True)
class Context:
    """The state of one loading.

    Parameters
    ----------
    source : Source
        The file.
    unit : str
        Unit of a bare number.
    scale : Fraction
        Full size over model size.
    words : Words
        The builder's own words.
    tools : dict
        Tools by name, defaults included.
    inputs : dict
        Base inputs by id, in order.
    """

    source: Source
    unit: str
    scale: Fraction
    words: Words
    tools: dict[str, Tool]
    inputs: dict[str, Input] = field(default_factory=dict)

    def placed(self, keys: Keys, read: Callable[[], T]) -> T:
        """Do something, and say where it went wrong if it does.

        Parameters
        ----------
        keys : tuple
            Where in the file the value stands.
        read : callable
            What to do.

        Returns
        -------
        T
            What it returned.

        Raises
        ------
        InputError
            The same error with the place added.
        """
        try:
            return read()
        except InputError as error:
            if error.where:
                raise
            raise self.source.error(
                keys, error.what, code=error.code, value=error.value, limit=error.limit, hint=error.hint
            ) from None

    def length(self, keys: Keys, written: Quantity, *, least: float = -math.inf) -> float:
        """Return a length in model mm.

        Parameters
        ----------
        keys : tuple
            Where it stands.
        written : str or number
            As it was written.
        least : float
            The smallest that can be meant. [mm]

        Returns
        -------
        float
            The length. [mm]

        Raises
        ------
        InputError
            If it cannot be read or is too small.
        """
        value = float(self.placed(keys, lambda: parse_length(written, self.unit, scale=self.scale)))
        if value < least:
            raise self.source.error(
                keys,
                "this length must not be negative" if least == 0 else "this length is too small",
                code="JO012",
                value=written,
                limit=f"at least {least:g} mm",
            )
        return value

    def thickness(self, keys: Keys, written: Quantity) -> float:
        """Return a length that must be more than nothing.

        Parameters
        ----------
        keys : tuple
            Where it stands.
        written : str or number
            As it was written.

        Returns
        -------
        float
            The length. [mm]

        Raises
        ------
        InputError
            If it cannot be read or is 0 or negative.
        """
        value = self.length(keys, written)
        if value <= 0:
            raise self.source.error(
                keys, "this size must be more than 0", code="JO012", value=written, limit="a positive length"
            )
        return value

    def angle(self, keys: Keys, written: Quantity) -> float:
        """Return an angle.

        Parameters
        ----------
        keys : tuple
            Where it stands.
        written : str or number
            As it was written.

        Returns
        -------
        float
            The angle. [rad]
        """
        return self.placed(keys, lambda: parse_angle(written))

    def choice(self, keys: Keys, word: str, choices: Iterable[str], *, what: str, code: str) -> str:
        """Return a word that must be one of some choices.

        Parameters
        ----------
        keys : tuple
            Where it stands.
        word : str
            What was written.
        choices : iterable of str
            What may be written.
        what : str
            What is wrong if it is none of them.
        code : str
            Code of that error.

        Returns
        -------
        str
            The word.

        Raises
        ------
        InputError
            If it is none of the choices.
        """
        known = list(choices)
        if word in known:
            return word
        guess = nearest(word, known)
        hint = f"Did you mean {guess!r}?" if guess else ""
        raise self.source.error(
            keys,
            what,
            code=code,
            value=word,
            limit=f"one of: {listed(known) or 'none is given yet'}",
            hint=hint,
        )

    def name(self, keys: Keys, word: str, *, in_ids: bool = True) -> str:
        """Return a name that can be shown, and may stand in an id.

        Parameters
        ----------
        keys : tuple
            Where it stands.
        word : str
            The name.
        in_ids : bool
            Whether it stands in ids, so that it may hold no slash.

        Returns
        -------
        str
            The same.

        Raises
        ------
        InputError
            If it is empty or too long, or holds what cannot be shown, or a slash.
        """
        unseen = any(unicodedata.category(character) in _UNSEEN for character in word)
        slash = in_ids and "/" in word
        if not 1 <= len(word) <= LONGEST_NAME or word != word.strip() or unseen or slash:
            raise self.source.error(
                keys,
                "this cannot be a name",
                code="JO013",
                value=word if len(word) <= LONGEST_NAME else f"{word[:LONGEST_NAME]} ...",
                limit=f"1 to {LONGEST_NAME} characters on one line, none of them a control character, "
                f"{'without / and ' if in_ids else ''}without blanks at the ends",
                hint="Choose another name",
            )
        return word

    def tool(self, keys: Keys, name: str, *, of_reading: bool = False) -> Tool:
        """Return a tool by name.

        Parameters
        ----------
        keys : tuple
            Where the name stands.
        name : str
            Its name, or a guess such as ``about 20 %``.
        of_reading : bool
            Whether something was read with it; a size may be nominal, guessed or still to be made as well.

        Returns
        -------
        Tool
            The tool.

        Raises
        ------
        InputError
            If there is no such tool, or nothing is read with it.
        """
        guess = None if name in self.tools else self.placed(keys, lambda: guessed(name))
        tools = listed(tool for tool in self.tools if tool not in UNREAD)
        if of_reading and (guess is not None or name in UNREAD):
            raise self.source.error(
                keys,
                "nothing is measured with this",
                code="JO094",
                value=name,
                limit=f"one of: {tools}",
                hint="Name a tool",
            )
        if guess is not None:
            return guess
        if name not in self.tools:
            near = nearest(name, [tool for tool in self.tools if not (of_reading and tool in UNREAD)])
            unread = "" if of_reading else f"; of what nobody has measured: {listed(UNREAD)}, about 10 %"
            raise self.source.error(
                keys,
                "this tool is not known",
                code="JO014",
                value=name,
                limit=f"one of: {tools}{unread}",
                hint=f"Did you mean {near!r}?" if near else "",
            )
        return self.tools[name]

    def doubt(self, keys: Keys, written: Quantity, measure: Measure) -> float:
        """Return a standard uncertainty of a given kind.

        Parameters
        ----------
        keys : tuple
            Where it stands.
        written : str or number
            As it was written.
        measure : Measure
            What it must be a doubt of.

        Returns
        -------
        float
            The standard uncertainty. [mixed]

        Raises
        ------
        InputError
            If it cannot be read, is not more than 0, or is of another kind.
        """
        found, sd = self.placed(keys, lambda: doubt(written, self.unit))
        if found is not measure:
            raise self.source.error(
                keys,
                "this doubt is of another kind than what it is a doubt of",
                code="JO011",
                value=written,
                limit="a length" if measure is Measure.LENGTH else "an angle such as 0.1 deg",
            )
        return sd

    def side(self, keys: Keys, word: str) -> bool:
        """Return whether a side of growing station is the left one.

        Parameters
        ----------
        keys : tuple
            Where the word stands.
        word : str
            One of the job's names of its sides.

        Returns
        -------
        bool
            True for left.
        """
        names = [self.words.left, self.words.right]
        self.choice(keys, word, names, what="this is not a side of the job", code="JO015")
        return word == self.words.left

    def tool_errors(self, tool: Tool) -> tuple[str, str]:
        """Return the base inputs of a tool's scale and zero, the same in all its readings.

        Parameters
        ----------
        tool : Tool
            The tool.

        Returns
        -------
        tuple of str
            Ids, added where they are new; empty for an error that the tool does not have.
        """
        unit = "rad" if tool.measure is Measure.ANGLE else "mm"
        found = []
        for what, sd, of in (("scale", tool.scale, "1"), ("zero", tool.zero, unit)):
            key = f"tool/{tool.name}/{what}" if sd else ""
            if key and key not in self.inputs:
                label = f"{what} error of the {tool.name}, the same in all its readings"
                remedy = f"check the {tool.name} against a better one"
                item = Input(id=key, value=0.0, sd=sd, unit=of, label=label, kind="shared", remedy=remedy)
                self.add(("tools", tool.name), item)
            found.append(key)
        return found[0], found[1]

    def add(self, keys: Keys, item: Input) -> str:
        """Add a base input.

        Parameters
        ----------
        keys : tuple
            Where it comes from.
        item : Input
            The input.

        Returns
        -------
        str
            Its id.

        Raises
        ------
        InputError
            If its id is taken.
        """
        if item.id in self.inputs:
            raise self.source.error(
                keys,
                "this id or name is used twice",
                code="JO016",
                value=item.id,
                hint="Give each reading and each part its own",
            )
        self.inputs[item.id] = item
        return item.id

"""Things to hold against the work: half-profile cards, gauge sticks, cant cards.

Cards are drawn as seen from the start end, so the printed side faces the start end when a card stands on
the rails. Sticks are drawn to be read, not to be cut from: they are made by caliper.
"""

from __future__ import annotations

import math

import numpy as np

from spanwright.drawings import fonts
from spanwright.drawings.display import Item, Path, Point, Role, Sheet, Text, box, path
from spanwright.drawings.draughting import Draught
from spanwright.drawings.sheets.ruled import ruled
from spanwright.drawings.speech import Speech, degrees
from spanwright.parts.cant import CARD_STEP, CantCard, CantPlan
from spanwright.parts.cards import Feet, ProfileCard
from spanwright.parts.sticks import Stick

BLADE = (
    "Caution: a sharp blade along a steel rule, fingers behind its edge, cut away from yourself; track power "
    "off and stock off the line before anything is stood on the rails."
)

_SMALL, _PLAIN = 2.0, 2.4
#: A band of heights lower than this is too small to point at. [mm]
_LEAST_BAND = 0.8
#: Cells of the stick sheets: width, and heights above and below the longest stick. [mm]
_CELL, _HEAD, _FOOT = 29.0, 14.0, 15.0
_STICK = 5.0
#: Room for a cant card and the words beneath it. [mm]
_PLATE = 36.0
_ACROSS = 6
_DOWN = 200.0
#: Reductions of ISO 5455.
_SCALES = (1.0, 0.5, 0.2, 0.1)


# ---------------------------------------------------------------- cards
def card_sheets(cards: tuple[ProfileCard, ...], say: Speech) -> tuple[Sheet, ...]:
    """Draw the half-profile cards, one a sheet.

    Parameters
    ----------
    cards : tuple of ProfileCard
        The cards.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of Sheet
        True to size, to be cut out.
    """
    return tuple(card_sheet(card, say) for card in cards)


def card_sheet(card: ProfileCard, say: Speech) -> Sheet:
    """Draw one half-profile card.

    Parameters
    ----------
    card : ProfileCard
        The card.
    say : Speech
        The builder's words.

    Returns
    -------
    Sheet
        The card as cut, its touching line, the rails that it stands on, and who is outermost where.
    """
    sense = -1.0 if card.side == "left" else 1.0  # seen from the start end, left is left
    turn = np.array([sense, 1.0])
    draught = Draught(_PLAIN)
    draught.add(rail_items(card.feet))
    outline = path(card.outline * turn, Role.CUT, closed=True)
    touching = _drawn_touching(card) * turn
    centre = ((0.0, -card.feet.deep - 3.0), (0.0, card.height + 3.0))
    draught.add([outline, path(touching, Role.REFERENCE), Path(points=centre, role=Role.CENTRE)])
    draught.keep_clear(outline.points)
    draught.add(_written(card, sense, say))
    _sizes(draught, card, sense, say)
    _who(draught, card, sense)
    return Sheet(
        id=card.id,
        title=f"Half-profile card: {say.place(card.part)}, {say.side(card.side)} side of line {card.line}",
        items=draught.items,
        side_up=f"printed side faces {say.words.start}",
        notes=_card_notes(card, say),
    )


def _drawn_touching(card: ProfileCard) -> np.ndarray:
    """Return the touching line as drawn: from beside the rail, over the roof, to the centre."""
    line, foot = card.touching, 0.5 * card.feet.gauge + card.feet.head
    outside = np.nonzero(line[:, 0] > foot)[0]
    first = outside[0] if len(outside) else 0
    start = [[foot, line[first, 1]]] if len(outside) else []
    return np.vstack([*start, line[first:], [[0.0, line[-1, 1]]]])


def rail_items(feet: Feet) -> tuple[Path, ...]:
    """Draw both rails in section, the middle of the track at x = 0, railheads at y = 0.

    Parameters
    ----------
    feet : Feet
        Gauge, head and height of the rails.

    Returns
    -------
    tuple of Path
        Two rails; web and foot only show that it is a rail.
    """
    middle = 0.5 * (feet.gauge + feet.head)
    return tuple(
        path(rail_outline(feet.head, feet.rail) + np.array([x, 0.0]), closed=True, fill=0.8)
        for x in (-middle, middle)
    )


def rail_outline(head: float, height: float) -> np.ndarray:
    """Return a rail in section, the middle of its head at the origin.

    Parameters
    ----------
    head : float
        Width of the head. [mm]
    height : float
        Height of the rail. [mm]

    Returns
    -------
    ndarray, shape (12, 2)
        Corners; only head and height are to size. [mm]
    """
    half, web, foot = 0.5 * head, 0.2 * head, 0.9 * head
    under, top = -0.3 * height, -0.86 * height
    right = [(half, 0.0), (half, under), (web, under - 0.05 * height), (web, top + 0.06 * height)]
    right += [(foot, top), (foot, -height)]
    return np.array(right + [(-x, y) for x, y in reversed(right)])


def _written(card: ProfileCard, sense: float, say: Speech) -> list[Item]:
    """Return what the card itself says, up its face, as far as there is room."""
    lines = [
        (f"{say.place(card.part)}", True),
        (f"this side faces {say.words.start}", False),
        (f"margin {_margins(card, say).removesuffix(' beside and above')}", False),
    ]
    low = float(card.edge[0, 1]) + 2.0
    room = 0.92 * card.height - low
    size = min([_PLAIN, *(_PLAIN * room / fonts.width(t, _PLAIN, bold=b) for t, b in lines)])
    size = max(size, 1.8)
    upright = card.edge[(card.edge[:, 1] > low) & (card.edge[:, 1] < low + room), 0]
    wide = float(upright.min()) - card.margins[0] if len(upright) else card.width
    rows = max(1, min(len(lines), int((wide - 1.2) / (1.35 * size))))
    items: list[Item] = []
    for k, (text, bold) in enumerate(lines[:rows]):
        x = 1.0 + (k + 0.8) * 1.35 * size
        if sense < 0.0:  # read from the right: base lines lie to the right of their letters
            x = 1.0 + (rows - k - 0.55) * 1.35 * size
        items.append(
            Text(at=(sense * x, low), text=text, size=size, turn=math.pi / 2.0, bold=bold, anchor="start")
        )
    return items


def unit_word(say: Speech) -> str:
    """Name the unit in a sentence.

    Parameters
    ----------
    say : Speech
        The builder's words.

    Returns
    -------
    str
        Such as ``inches``.
    """
    return "inches" if say.unit == "in" else say.unit


def _margins(card: ProfileCard, say: Speech) -> str:
    side, above = card.margins
    if side == above:
        return f"{say.plain(side)} beside and above"
    return f"{say.plain(side)} beside, {say.plain(above)} above"


def _sizes(draught: Draught, card: ProfileCard, sense: float, say: Speech) -> None:
    """Dimension what a caliper can check: height over the railheads, foot to edge, foot to foot."""
    near = 0.5 * card.feet.gauge
    far = near - card.feet.play
    k = int(np.argmax(card.edge[:, 0]))
    widest = (sense * float(card.edge[k, 0]), float(card.edge[k, 1]))
    low = -card.feet.deep
    back = -sense * (near + card.feet.head)
    draught.upright_dimension(
        (back, 0.0), (0.0, card.height), say.bare(card.height, 2), at=back - sense * 5.0
    )
    draught.level_dimension((-sense * far, low), (sense * near, low), say.bare(far + near, 2), at=low - 5.0)
    draught.level_dimension((sense * near, low), widest, say.bare(card.width - near, 2), at=low - 10.0)


def _who(draught: Draught, card: ProfileCard, sense: float) -> None:
    """Name the outermost vehicle at each band of heights, beside the touching line."""
    out = sense * (card.width + 6.0)
    for band in sorted(card.bands, key=lambda b: b.low):
        if band.high - band.low < _LEAST_BAND:
            continue
        height = 0.5 * (band.low + band.high)
        reach = sense * _reach(card.touching, height)
        draught.leader((reach, height), (out, height), band.name, size=_SMALL)
    draught.leader(
        (sense * float(card.edge[-1, 0]), card.height),
        (out, card.height + 5.0),
        "cut edge: with the margins",
        size=_SMALL,
    )


def _reach(profile: np.ndarray, height: float) -> float:
    """How far a profile reaches at a height; its heights never fall."""
    return float(np.interp(height, profile[:, 1], profile[:, 0]))


def _card_notes(card: ProfileCard, say: Speech) -> tuple[str, ...]:
    place, start = _thing(card, say), say.words.start
    margins = _margins(card, say)
    notes = [
        f"Stand it on both rails of the {card.line} line, square to them, printed side towards {start}, its "
        f"inner foot against the inside of the {say.side(card.side)} rail. Slide it past {place}, all along "
        "it.",
        f"It passes: the margins are kept, {margins}.",
        "It does not pass: trim it to the dashed line, the trains themselves, and try again. If it passes "
        f"then, trains pass with less than the margin. If it still touches, a train will: move {place} "
        "before it is glued down.",
        _expected(card, say),
        "Paste it on plastic sheet or stiff card, cut it out, and check its three sizes by caliper (in "
        f"{unit_word(say)}): a print alone is not true enough.",
    ]
    if not card.surveyed:
        notes.append("Not surveyed: trains that shape this card stand beyond the measured track.")
    return (*notes, BLADE)


def _thing(card: ProfileCard, say: Speech) -> str:
    """Say what a card is slid past within a sentence."""
    support, _, column = card.part.rpartition("/")
    return f"the {say.place(f'{support}/{column}').rpartition(', ')[2]} of {support}" if support else column


def _expected(card: ProfileCard, say: Speech) -> str:
    nearest = f"Nearest to it comes the {card.critical_name}"
    if card.gap is not None and np.isfinite(float(card.gap.gap.value)):
        word = card.gap.verdict.value
        return f"{nearest}: by the plan {say.with_unit(card.gap.gap)} from it ({word})."
    if card.gap is not None:
        return f"{nearest}: by the plan it fouls, and no travel frees it."
    return f"{nearest}: by the plan {say.plain(card.room)} from it."


# ---------------------------------------------------------------- sticks
def stick_sheets(sticks: tuple[Stick, ...], say: Speech) -> tuple[Sheet, ...]:
    """Draw all gauge sticks, several a sheet.

    Parameters
    ----------
    sticks : tuple of Stick
        One a bearing.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of Sheet
        Not to be cut from; empty if there are no sticks.
    """
    if not sticks:
        return ()
    longest = max(s.no_go for s in sticks)
    scale = next((f for f in _SCALES if f * longest + _HEAD + _FOOT <= _DOWN), _SCALES[-1])
    pitch = scale * longest + _HEAD + _FOOT
    rows = max(1, int(_DOWN / pitch))
    most = rows * _ACROSS
    pages = [sticks[k : k + most] for k in range(0, len(sticks), most)]
    sheets = []
    for number, page in enumerate(pages, start=1):
        draught = Draught(_SMALL)
        for k, stick in enumerate(page):
            corner = ((k % _ACROSS) * _CELL, -(k // _ACROSS) * pitch)
            _draw_stick(draught, stick, corner, scale, say=say)
        several = f", {number} of {len(pages)}" if len(pages) > 1 else ""
        sheets.append(
            Sheet(
                id=f"stick/sheet {number}",
                title=f"Gauge sticks for the bearings{several}",
                items=draught.items,
                true=False,
                scale=scale,
                notes=_stick_notes(page, say),
            )
        )
    return tuple(sheets)


def _draw_stick(draught: Draught, stick: Stick, corner: Point, scale: float, *, say: Speech) -> None:
    x, y = corner
    go, no_go = x + 7.5, x + 16.5
    wanted = y + scale * float(stick.length.value)
    ground = box((x + 2.0, y - 1.4), (x + _CELL - 4.0, y), Role.FINE, fill=0.8)
    draught.add([Path(points=ground.points, role=Role.FINE, closed=True, fill=0.8, stroked=False)])
    draught.add([Path(points=((x + 2.0, y), (x + _CELL - 4.0, y)), role=Role.OUTLINE)])
    for left, length, word in ((go, stick.go, "GO"), (no_go, stick.no_go, "NO-GO")):
        top = y + scale * length
        draught.add([box((left, y), (left + _STICK, top), Role.OUTLINE, fill=1.0)])
        if word == "NO-GO":
            draught.add([box((left, top - 2.5), (left + _STICK, top), Role.OUTLINE, fill=0.0)])
        middle = (left + 0.5 * _STICK + 0.36 * _PLAIN, y + 0.5 * scale * length)
        draught.add([Text(at=middle, text=word, size=_PLAIN, anchor="middle", turn=math.pi / 2.0, bold=True)])
    draught.add([Path(points=((x + 2.0, wanted), (x + _CELL - 4.0, wanted)), role=Role.REFERENCE)])
    draught.upright_dimension((go, y), (go, y + scale * stick.go), say.bare(stick.go, 2), at=go - 2.5)
    far = no_go + _STICK
    draught.upright_dimension(
        (far, y), (far, y + scale * stick.no_go), say.bare(stick.no_go, 2), at=far + 4.0
    )
    _stick_words(draught, stick, (x, y), y + scale * stick.no_go, say=say)


def _stick_words(draught: Draught, stick: Stick, corner: Point, top: float, *, say: Speech) -> None:
    x, y = corner
    name = fonts.wrapped(say.place(stick.bearing), _SMALL, _CELL - 3.0, bold=True)
    reached = {"seat": "seat, under the shoe", "girder top": "top of the girder"}[stick.top]
    above = [*((line, True) for line in name), (f"to: {reached}", False)]
    for k, (line, bold) in enumerate(reversed(above)):
        draught.add([Text(at=(x + 1.0, top + 1.6 + 2.8 * k), text=line, size=_SMALL, bold=bold)])
    mark = " *" if stick.doubtful else ""
    below = [*_base_words(stick, say), f"wanted {say.of(stick.length)}{mark}"]
    for k, line in enumerate(below):
        draught.add([Text(at=(x + 1.0, y - 4.2 - 2.8 * k), text=line, size=_SMALL)])


def _base_words(stick: Stick, say: Speech) -> list[str]:
    thing = say.place(stick.shaft).rpartition(", ")[2]
    return fonts.wrapped(f"from: base at {stick.base}, beside the {thing}", _SMALL, _CELL - 3.0)


def _stick_notes(page: tuple[Stick, ...], say: Speech) -> tuple[str, ...]:
    wide = say.plain(page[0].tolerance, 2)
    notes = [
        f"Sizes in {unit_word(say)}. Do not cut these from paper: make each stick from strip by caliper, its "
        "ends square, and write its bearing on it; the dark end is the no-go stick.",
        "Stand the stick on the base, close beside the support, and lay a small square's blade over the "
        "stick and what it is to reach: the seat, which is the top of the packing, or the girder's top. Go: "
        "the blade rests on the work. No-go: the blade rests on the stick. Both: the height is right within "
        f"{wide}; if not, change the packing.",
    ]
    if any(s.doubtful for s in page):
        notes.append(
            "* The height itself is known less well than the sticks: gauge from the railhead straight to "
            "this base, enter it as one reading, and make the stick anew."
        )
    return (*notes, BLADE)


# ---------------------------------------------------------------- cant
def cant_columns(plan: CantPlan, say: Speech) -> tuple[str, ...]:
    """Head the table of cants.

    Parameters
    ----------
    plan : CantPlan
        Cants.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of str
        One heading a column; a line end starts a new line.
    """
    block = say.plain(plan.reach, 0)
    return (
        "place",
        "line",
        "high rail",
        f"over the rail\nheads, {say.unit}",
        f"over a block of\n{block}, {say.unit}",
        "lean, °",
    )


def cant_rows(plan: CantPlan, say: Speech) -> tuple[tuple[str, ...], ...]:
    """Say the table of cants, one tuple of cells a row.

    Parameters
    ----------
    plan : CantPlan
        Cants.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of tuple of str
        Cells in the order of :func:`cant_columns`.
    """
    rows = []
    for p in plan.places:
        name = say.place(p.id.removeprefix("beside "))
        place = {"bearing line": name, "mid span": f"{name}, middle", "beside": f"beside {name}"}[p.kind]
        up = 1.0 if float(p.cant.value) >= 0.0 else -1.0
        lean = degrees(abs(float(p.lean.value)), say.k * say.doubt(p.lean))
        high = say.side(p.high) if p.high else "not sure" if p.doubtful else "level"
        rows.append((place, p.line, high, say.of(p.cant * up), say.of(p.over_block * up), lean))
    return tuple(rows)


def cant_sheets(plan: CantPlan, say: Speech) -> tuple[Sheet, ...]:
    """Draw the cant cards, and the table of cants beneath them.

    Parameters
    ----------
    plan : CantPlan
        Cants and cards.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of Sheet
        One true sheet; none where no place has a cant that a card could show.
    """
    if not plan.cards:
        return ()
    draught = Draught(_SMALL)
    x, y, deepest = 0.0, 0.0, 0.0
    for card in plan.cards:
        wide = max(float(np.ptp(card.outline[:, 0])) + 8.0, _PLATE)
        if x > 0.0 and x + wide > 180.0:
            x, y = 0.0, deepest - float(card.outline[:, 1].max()) - 6.0
        deepest = min(deepest, _draw_plate(draught, card, (x + 0.5 * wide, y), say=say))
        x += wide
    ruled(draught, (0.0, deepest - 1.0), cant_columns(plan, say), cant_rows(plan, say), size=_SMALL)
    return (
        Sheet(
            id="card/cant",
            title="Cant cards and the cant at every support",
            items=draught.items,
            side_up="either side: turn the card round for the other rail high",
            notes=(
                "Stand the card on both rails, square to them, the foot marked high on the high rail. Its "
                f"top is level, to {say.plain(0.5 * CARD_STEP, 2)}, where the cant is as planned: lay a "
                "level on it.",
                "A straight edge across the rails with a feeler under its low end does it too: by the table.",
                f"Cut it from plastic sheet, {say.plain(1.0)} or more, so that it stands by itself.",
                BLADE,
            ),
        ),
    )


def _draw_plate(draught: Draught, card: CantCard, at: Point, *, say: Speech) -> float:
    """Draw one plate and return how far the words beneath it reach down."""
    outline = card.outline + at
    c, s = math.cos(card.lean), math.sin(card.lean)
    lean = np.array([[c, s], [-s, c]])
    rails = [
        path(np.array(r.points) @ lean + at, r.role, closed=True, fill=0.8) for r in rail_items(card.feet)
    ]
    low, top = outline.min(axis=0), outline.max(axis=0)
    draught.add([*rails, path(outline, Role.CUT, closed=True)])
    reach = 0.5 * (card.feet.gauge + card.feet.head)
    words = [
        ((at[0], top[1] + 1.2), "this edge level", False),
        ((at[0], top[1] - 3.4), f"cant {say.plain(card.cant)}", True),
        ((at[0] - reach, top[1] - 6.6), "low", False),
        ((at[0] + reach, top[1] - 6.6), "high", False),
    ]
    serves = fonts.wrapped(f"{card.line} line: {_served(card, say)}", _SMALL, _PLATE - 2.0)
    words += [((at[0], low[1] - 4.4 - 2.8 * k), line, False) for k, line in enumerate(serves)]
    draught.add(
        [
            Text(at=(float(x), float(y)), text=text, size=_SMALL, anchor="middle", bold=bold)
            for (x, y), text, bold in words
        ]
    )
    return float(low[1]) - 4.4 - 2.8 * len(serves)


def _served(card: CantCard, say: Speech) -> str:
    return "; ".join(
        f"{'beside ' if p.startswith('beside ') else ''}{say.place(p.removeprefix('beside '))}"
        for p in card.places
    )

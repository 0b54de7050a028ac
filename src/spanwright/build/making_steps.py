"""Pieces made, spans assembled, all of it stood dry, trains run past, then taken down and painted."""

from __future__ import annotations

from spanwright.build.as_built import frames_in
from spanwright.build.opening_steps import GAUGES, REMEASURE
from spanwright.build.step import (
    GLUE_HOURS,
    PAINT_HOURS,
    PLASTER_HOURS,
    PRIMER_HOURS,
    Cure,
    Phase,
    Step,
    Wait,
)
from spanwright.build.telling import Told, place, to_cut, told, word
from spanwright.build.work import BUILD_UP, SECTION, STICKS, Work, card_sheets, critical
from spanwright.parts.listing.spans import handrail_sides
from spanwright.parts.pieces import Hazard, How
from spanwright.parts.safe_side import Way
from spanwright.structures.given import SupportKind
from spanwright.structures.supports import FittedSupport

DRY_FIT, RUN, DISMANTLE = "dry fit", "clearance run", "take down"
PRIME, PAINT, WEATHER = "prime", "paint", "weather"
GLUE = Wait(hours=GLUE_HOURS, cure=Cure.GLUE, of="glue")


def making_steps(work: Work) -> list[Step]:
    """List the steps from the first cut of a pier to the painted parts.

    Parameters
    ----------
    work : Work
        The bridge.

    Returns
    -------
    list of Step
        In a workable order.
    """
    steps = [_small(work, s) for s in work.structures.supports]
    steps += [_shaft(work, s) for s in work.structures.supports if s.given.name not in work.last]
    for span in [s.axis.given.name for s in work.structures.spans]:
        steps += [_assemble(work, span), *_deck(work, span)]
    steps += [_join(work, unit) for unit in work.parts.units]
    steps.append(_dry_fit(work))
    for name in work.last:
        steps += [_gap(work, name), _shaft(work, work.support(name)), _dry_last(work, name)]
    return [*steps, _run(work), *_finish(work)]


def small(name: str) -> str:
    """Return the id of the step that makes a support's footings and cap.

    Parameters
    ----------
    name : str
        The support.

    Returns
    -------
    str
        Id.
    """
    return f"make/{name}"


def _small(work: Work, fitted: FittedSupport) -> Step:
    name = fitted.given.name
    made = work.of(name, "footing", "cap", "backwall")
    cut = tuple(p.id for p in work.pieces if p.id in made and p.how is How.CUT)
    bent = fitted.given.kind is SupportKind.STRADDLE_BENT
    have = [n for n in ("footing", "cap", "backwall") if any(n in p.removeprefix(f"{name}/") for p in made)]
    what = word(" and ".join([", ".join(have[:-1]), have[-1]] if len(have) > 1 else have))
    lines = [told("Measure the thickness of each piece, and enter it.")]
    if bent:
        lines.append(
            told("A built-up cap needs inside frames and a vent, or it warps as the solvent leaves it.")
        )
    elif cut:
        lines.append(
            told("If it is cast in plaster, let it dry through before it is measured: it grows as it sets.")
        )
    if not frames_in(fitted):
        lines.append(told("Mark the cap's centre lines and its seats by the seat plan."))
    if any(p.endswith("backwall") for p in made):
        lines.append(told("Leave the backwall long at its top: it is trimmed when the approach is closed."))
    return Step(
        id=small(name),
        title=told("{0}: make {1}" if cut else "{0}: make ready {1}", word(name), what),
        phase=Phase.MAKE,
        lines=tuple(lines),
        needs=(REMEASURE,),
        pieces=made,
        cuts=cut,
        waits_for=work.taken("opened/", name) if cut else (),
        tools=("caliper", "fine saw", "square", "sanding block"),
        sheets=(f"seat/{name}", f"{BUILD_UP}"),
        minutes=45.0,
        waits=_cure(cut, built_up=bent),
        hazards=(Hazard.SAW, Hazard.DUST, Hazard.SOLVENT if bent else Hazard.PLASTER),
    )


def _cure(cut: tuple[str, ...], *, built_up: bool) -> tuple[Wait, ...]:
    """Return what must harden before a cap is measured; a kit's cap is hard."""
    if built_up:
        return (GLUE,)
    return (Wait(hours=PLASTER_HOURS, cure=Cure.PLASTER, of="plaster, if it is cast"),) if cut else ()


def _shaft(work: Work, fitted: FittedSupport) -> Step:
    support, last = fitted.given, fitted.given.name in work.last
    name = support.name
    lines: list[Told] = []
    if last:
        lines.append(told("Take the lengths from the new reckoning, never from an earlier sheet."))
    for cut in fitted.cuts:
        if last:
            text = (
                "{0}: reckoned now as {1}. Cut it to the measured gap less cap, footing and thinnest packing."
            )
            lines.append(told(text, place(cut.id), cut.built))
        else:
            text = "{0}: cut to {1}, never longer. It is cut low; packing takes up the rest."
            lines.append(told(text, place(cut.id), to_cut(cut.length, Way.LOW)))
        if cut.trimmed is not None:
            text = f"Trim it at the {support.trim.value}: {{0}} comes off. Mark the line on all four faces."
            lines.append(told(text, cut.trimmed))
    lines.append(told("Light pressure, turn the work as you go; dress the cut square, then measure."))
    waits = work.taken("gap/", name) if last else work.taken("opened/", name)
    return Step(
        id=f"cut/{name}",
        title=told("{0}: cut to height", word(name)) if not last else told("{0}: cut last", word(name)),
        phase=Phase.MAKE,
        lines=tuple(lines),
        needs=(f"gap/{name}",) if last else (small(name), GAUGES),
        pieces=tuple(c.id for c in fitted.cuts),
        cuts=tuple(c.id for c in fitted.cuts),
        waits_for=waits,
        gives=work.taken("as built/", name, "/length"),
        tools=("fine saw", "mitre block", "caliper", "square"),
        sheets=(f"wrap/{name}",) if support.kind is not SupportKind.STRADDLE_BENT else (),
        minutes=30.0 * len(fitted.cuts),
        hazards=(Hazard.SAW, Hazard.DUST),
    )


def _assemble(work: Work, span: str) -> Step:
    fitted = work.span(span)
    return Step(
        id=f"assemble/{span}",
        title=told("{0}: join the girders with their frames", word(span)),
        phase=Phase.MAKE,
        lines=(
            told("On a flat plate, numbers and arrows as marked: the {left} girder on the {left} side."),
            told("Square its ends, check both diagonals, press each shoe home on its girder."),
            told(
                "Girder length {0}: not shortened, its ends are what the gaps were reckoned with.",
                fitted.axis.length,
            ),
        ),
        needs=(REMEASURE,),
        pieces=work.of(span, "girder", "frames", "shoes"),
        cuts=tuple(p.id for p in work.pieces if p.belongs == span and p.id.endswith("frames")),
        waits_for=work.taken("opened/"),
        gives=work.taken("as built/", span, "/spacing"),
        tools=("flat plate", "square", "caliper", "clamps"),
        minutes=60.0,
        waits=(GLUE,),
        hazards=(Hazard.BLADE, Hazard.SOLVENT),
    )


def _deck(work: Work, span: str) -> list[Step]:
    """Ties and handrails of one span, cut when its girder spacing is known."""
    fitted = work.span(span)
    spacing = work.taken("as built/", span, "/spacing")
    ties = next(p for p in work.pieces if p.id == f"{span}/ties")
    long = ties.sizes[0].cut or float(ties.sizes[0].finished.value)
    notch = " Notch them alike." if work.given.dap else ""
    many = (word(str(ties.count)), word(str(ties.spare)))
    steps = [
        Step(
            id=f"ties/{span}",
            title=told("{0}: cut the ties", word(span)),
            phase=Phase.MAKE,
            lines=(
                told("Cut {0} and {1} spare to {2}, never shorter.", *many, to_cut(long, Way.LONG)),
                told("Then all together against a stop to {0}." + notch, ties.sizes[0].finished),
            ),
            needs=(f"assemble/{span}",),
            pieces=(ties.id,),
            cuts=(ties.id,),
            waits_for=spacing,
            tools=("stop block", "fine saw or chopper", "caliper"),
            minutes=60.0,
            hazards=(Hazard.SAW, *ties.hazards),
        )
    ]
    if handrail_sides(fitted.axis.given):
        rails = work.of(span, "handrail")
        steps.append(
            Step(
                id=f"handrails/{span}",
                title=told("{0}: make the handrails, but do not fix them", word(span)),
                phase=Phase.MAKE,
                lines=(told("Hold them in place with tape for the clearance run: they are fixed last."),),
                needs=(f"assemble/{span}",),
                pieces=rails,
                cuts=rails,
                waits_for=spacing,
                tools=("knife", "stop block", "caliper"),
                minutes=60.0,
                hazards=(Hazard.BLADE, Hazard.SOLVENT),
            )
        )
    return steps


def unit_name(unit: tuple[str, ...]) -> str:
    """Return the name of spans that are set as one.

    Parameters
    ----------
    unit : tuple of str
        Its spans.

    Returns
    -------
    str
        Such as ``span B + span C``.
    """
    return " + ".join(unit)


def _join(work: Work, unit: tuple[str, ...]) -> Step:
    name = unit_name(unit)
    inner = [work.span(s).axis.given.end for s in unit[:-1]]
    return Step(
        id=f"join/{name}",
        title=told("{0}: join into one rigid unit on the jig", word(name)),
        phase=Phase.MAKE,
        lines=(
            told(
                "Draw the centre lines on the jig board, fix the end stops, pack each bearing to its height."
            ),
            told("Check the kink at {0} both ways round before the splice is glued.", word(", ".join(inner))),
            told(
                "Leave it clamped until the glue is hard; then it must sit on all its bearings, no rocking."
            ),
        ),
        needs=(GAUGES, *(f"assemble/{s}" for s in unit)),
        pieces=(f"jig/{name}",),
        tools=("jig board", "clamps", "caliper", "straightedge"),
        sheets=(f"jig/{name}",),
        minutes=90.0,
        waits=(GLUE,),
        hazards=(Hazard.BLADE, Hazard.SOLVENT),
    )


def _dry_fit(work: Work) -> Step:
    supports = [s.given.name for s in work.structures.supports if s.given.name not in work.last]
    handrails = [s.axis.given.name for s in work.structures.spans if handrail_sides(s.axis.given)]
    loose = "Ties loose, handrails on tape. " if handrails else "Ties loose. "
    later = f" Not yet: {', '.join(work.last)}." if work.last else ""
    return Step(
        id=DRY_FIT,
        title=told("Stand everything dry"),
        phase=Phase.MAKE,
        lines=(
            told("Footings by the seat plans and their measured numbers, shafts upright by square." + later),
            told("Loose packing at each bearing until its seat lies between go and no-go; then the spans."),
            told(loose + "Nothing is glued: look along it, from both ends."),
        ),
        needs=(
            *(f"cut/{s}" for s in supports),
            *(f"ties/{s.axis.given.name}" for s in work.structures.spans),
            *(f"handrails/{s}" for s in handrails),
            *(f"join/{unit_name(u)}" for u in work.parts.units),
        ),
        pieces=tuple(p for s in supports for p in work.of(s, "packing")),
        gives=tuple(r.id for r in work.readings if "/opening " in r.id),
        tools=("square", "go and no-go sticks", "strips of packing", "steel rule"),
        sheets=(STICKS, *(f"seat/{s}" for s in supports), BUILD_UP),
        minutes=120.0,
        hazards=(Hazard.METAL_ON_RAILS,),
    )


def _gap(work: Work, name: str) -> Step:
    return Step(
        id=f"gap/{name}",
        title=told("{0}: measure the gap under the standing unit", word(name)),
        phase=Phase.MAKE,
        lines=(
            told("The unit stands on its outer supports, each seat within its sticks."),
            told(
                "At each bearing over {0} measure down to what it will be glued to; enter and reckon.",
                word(name),
            ),
        ),
        needs=(DRY_FIT, small(name)),
        gives=work.taken("gap/", name),
        measures=True,
        tools=("caliper's depth rod", "stepped block"),
        sheets=(f"seat/{name}",),
        minutes=30.0,
        hazards=(Hazard.METAL_ON_RAILS,),
    )


def _dry_last(work: Work, name: str) -> Step:
    return Step(
        id=f"stand/{name}",
        title=told("{0}: stand it dry under the unit", word(name)),
        phase=Phase.MAKE,
        lines=(
            told("Set it out from the lower rails, slide its cap under, pack to contact: lift nothing."),
            told("The outer seats must not have moved: try their sticks again."),
        ),
        needs=(f"cut/{name}",),
        pieces=work.of(name, "packing"),
        tools=("go and no-go sticks", "feelers", "caliper"),
        sheets=(STICKS, f"seat/{name}", f"card/{name}"),
        minutes=40.0,
        hazards=(Hazard.METAL_ON_RAILS,),
    )


def _run(work: Work) -> Step:
    lines = [told("Slide the half-profile cards past each face, from both ends: they must not touch.")]
    first = "Line {0}: try {1} first; it comes nearest to {2}."
    below = [g for g in critical(work) if g.line == work.given.lower]
    lines += [told(first, word(g.line), word(g.vehicle), place(g.part)) for g in below]
    if work.parts.subroadbed:
        lines.append(told("The lower line only: the upper line's rails still hang."))
    if work.clearance is None:
        lines.append(
            told("No trains were reckoned: push every vehicle through by hand, tallest, widest, longest.")
        )
    lines.append(
        told("Push each through by hand, then pull it at walking pace, both ways, both ends leading.")
    )
    cards = tuple(p.id for p in work.pieces if p.id.startswith("card/"))
    return Step(
        id=RUN,
        title=told("Clearance run"),
        phase=Phase.MAKE,
        lines=tuple(lines),
        needs=(DRY_FIT, *(f"stand/{n}" for n in work.last)),
        pieces=cards,
        gives=work.taken("as built/", "", "/face"),
        tools=("half-profile cards", "feelers", "caliper", "vehicles"),
        sheets=(*card_sheets(work), SECTION),
        minutes=60.0,
        hazards=(Hazard.MOVING_TRAIN,),
    )


def _finish(work: Work) -> list[Step]:
    every = tuple(p.id for p in work.pieces if p.part)
    return [
        Step(
            id=DISMANTLE,
            title=told("Take it down, each piece marked with its place"),
            phase=Phase.FINISH,
            lines=(
                told(
                    "Pencil round every footing before it is lifted; bag the packing of each bearing by name."
                ),
                told("Cover the lower line."),
            ),
            needs=(RUN,),
            tools=("pencil", "bags", "labels"),
            minutes=30.0,
        ),
        Step(
            id=PRIME,
            title=told("Prime, bottom surfaces first"),
            phase=Phase.FINISH,
            lines=(
                told("Off the layout. Undersides and insides first: nobody reaches them later."),
                told("Mask all that is glued, and all that packing or shoes bear on: paint is a layer too."),
            ),
            needs=(DISMANTLE,),
            pieces=(*every, "stock/finishes"),
            tools=("masking tape", "spray or brush"),
            minutes=60.0,
            waits=(Wait(hours=PRIMER_HOURS, cure=Cure.PRIMER, of="primer"),),
            hazards=(Hazard.SPRAY,),
        ),
        Step(
            id=PAINT,
            title=told("Paint, bottom surfaces first"),
            phase=Phase.FINISH,
            lines=(told("Thin coats, undersides first; stand the pieces on their masked faces."),),
            needs=(PRIME,),
            pieces=(*every, "stock/finishes"),
            tools=("spray or brush",),
            minutes=90.0,
            waits=(Wait(hours=PAINT_HOURS, cure=Cure.PAINT, of="paint"),),
            hazards=(Hazard.SPRAY,),
        ),
        Step(
            id=WEATHER,
            title=told("Weather the parts"),
            phase=Phase.FINISH,
            lines=(
                told("Rust below the ties and at the shoes, soot over the lower line, streaks downward."),
            ),
            needs=(PAINT,),
            pieces=("stock/finishes",),
            tools=("brushes", "colours"),
            minutes=60.0,
            waits=(Wait(hours=PRIMER_HOURS, cure=Cure.WEATHERING, of="weathering"),),
            hazards=(Hazard.SPRAY,),
        ),
    ]

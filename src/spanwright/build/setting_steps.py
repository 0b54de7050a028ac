"""Supports glued, bearings packed to their sticks, spans set, track laid, trains run."""

from __future__ import annotations

from spanwright.build.as_built import frames_in
from spanwright.build.making_steps import GLUE, WEATHER, unit_name
from spanwright.build.planning.trial import TRIED
from spanwright.build.step import RAIL_GLUE_HOURS, Cure, Phase, Step, Wait
from spanwright.build.telling import place, told, word
from spanwright.build.work import (
    BUILD_UP,
    PLAN,
    STICKS,
    Work,
    card_sheets,
    critical,
    glue_order,
    under,
    ways_in,
)
from spanwright.parts.listing.spans import handrail_sides
from spanwright.parts.pieces import Hazard
from spanwright.structures.given import SupportKind
from spanwright.structures.numbers import FittedSpan

TRACK, APPROACH, HANDRAILS, TEST = "ties and rails", "close the approach", "handrails", "test run"
TRACK_GLUE = Wait(hours=RAIL_GLUE_HOURS, cure=Cure.RAIL_GLUE, of="glue of rails on ties, weighted")


def setting_steps(work: Work) -> list[Step]:
    """List the steps from the first glue to the test train.

    Parameters
    ----------
    work : Work
        The bridge.

    Returns
    -------
    list of Step
        In a workable order.
    """
    order = glue_order(work)
    first = [n for n in order if n not in work.last]
    steps = []
    for number, name in enumerate(first):
        earlier = f"glue/{first[number - 1]}" if number else WEATHER
        steps.append(_glue(work, name, (earlier,)))
    steps += [_pack(work, name, (f"glue/{name}",)) for name in first]
    for group in work.groups:
        steps.append(_set(work, group))
        inner = [work.span(s).axis.given.end for s in group[:-1]]
        for name in inner:
            steps.append(_glue(work, name, (f"set/{unit_name(group)}", *(f"glue/{n}" for n in first[-1:]))))
            steps.append(_pack(work, name, (f"glue/{name}",)))
    steps += [_track(work), _approach(work)]
    if any(handrail_sides(s.axis.given) for s in work.structures.spans):
        steps.append(_handrails(work))
    return [*steps, _test(work, steps[-1].id)]


def _glue(work: Work, name: str, needs: tuple[str, ...]) -> Step:
    fitted = work.support(name)
    last = name in work.last
    kind = fitted.given.kind
    lines = [told("Set it out by its measured numbers, not by paper; upright by square in both directions.")]
    if kind is SupportKind.STRADDLE_BENT:
        lines.append(
            told("Columns from the lower rails' inner faces; run the card past both before the glue grips.")
        )
    if kind is SupportKind.ABUTMENT:
        lines.append(told("Weight it in place dry, lay the span on to try it, lift the span off, then glue."))
    if last:
        lines.append(told("Slide it in under the set unit, without lifting the unit."))
    lines.append(told("Too low can be packed, too high cannot: read the cap's top before the glue is hard."))
    ways = ways_in(work, fitted)
    return Step(
        id=f"glue/{name}",
        title=told("{0}: glue it last, under the set unit", word(name))
        if last
        else told("{0}: glue", word(name)),
        phase=Phase.SET,
        lines=tuple(lines),
        needs=needs,
        pieces=(*(p.id for p in work.pieces if p.belongs == name and p.part), "stock/filling glue"),
        gives=work.taken("as built/", name, "/cap top"),
        reads_wet=True,
        tools=("square", "caliper", "clamps or weights", "card"),
        sheets=(f"seat/{name}", PLAN, *([f"card/{name}"] if kind is not SupportKind.ABUTMENT else [])),
        minutes=30.0,
        waits=(GLUE,),
        access=ways[1:] if last else ways,
        hazards=(Hazard.SOLVENT, Hazard.METAL_ON_RAILS),
    )


def _pack(work: Work, name: str, needs: tuple[str, ...]) -> Step:
    fitted = work.support(name)
    last = name in work.last
    tops = work.taken("as built/", name, "/girder top") if last else ()
    lines = [
        told("Enter the cap's top as built first; the packing is reckoned anew."),
        told(
            "As few strips as reach between go and no-go, never thinner than {0}.",
            work.given.packing.thinnest,
        ),
    ]
    lines += [told("{0}: packing {1}.", place(s.bearing), s.packing) for s in fitted.seats]
    if frames_in(fitted):
        lines.append(told("It lies on the cap, under the ties; the sticks reach to the girders' tops."))
    if last:
        lines.append(told("Pack to contact, no more: the unit must not lift off its outer seats."))
    return Step(
        id=f"pack/{name}",
        title=told("{0}: pack each bearing to its stick", word(name)),
        phase=Phase.SET,
        lines=tuple(lines),
        needs=needs,
        pieces=(*work.of(name, "packing"), *(f"stick/{s.bearing}" for s in fitted.seats), "stock/packing"),
        cuts=work.of(name, "packing"),
        waits_for=work.taken("as built/", name, "/cap top"),
        gives=(*work.taken("as built/", name, "/seat"), *tops),
        tools=("go and no-go sticks", "caliper", "knife"),
        sheets=(STICKS, BUILD_UP),
        minutes=10.0 * len(fitted.seats),
        access=ways_in(work, fitted)[1:] if last else ways_in(work, fitted),
        hazards=(Hazard.BLADE, Hazard.SOLVENT),
    )


def _set(work: Work, group: tuple[str, ...]) -> Step:
    name, ends = unit_name(group), work.ends(group)
    tops = tuple(
        r
        for e in ends
        for r in work.taken("as built/", e, "/girder top")
        if any(r.startswith(f"as built/{e}/{s}/") for s in group)
    )
    framed = [
        told("At {0} the girders frame into the cap: hold each at its stick while the glue sets.", word(e))
        for e in ends
        if frames_in(work.support(e))
    ]
    return Step(
        id=f"set/{name}",
        title=told("{0}: set it on {1} and {2}", word(name), word(ends[0]), word(ends[1])),
        phase=Phase.SET,
        lines=(
            told("Arrow to the {finish} end. Press each corner in turn: it must not rock."),
            *framed,
            told(
                "Leave one end free to slide, and one span free to lift off: a hand gets in that way later."
            ),
        ),
        needs=(f"pack/{ends[0]}", f"pack/{ends[1]}"),
        pieces=tuple(p.id for s in group for p in work.pieces if p.belongs == s and "girder" in p.id),
        gives=tops,
        tools=("caliper", "straightedge", "feelers"),
        sheets=(PLAN, BUILD_UP),
        minutes=30.0,
        hazards=(Hazard.METAL_ON_RAILS,),
    )


def _track(work: Work) -> Step:
    names = [s.axis.given.name for s in work.structures.spans]
    needs = [f"set/{unit_name(g)}" for g in work.groups] + [f"pack/{n}" for n in work.last]
    heads = tuple(
        r.id
        for r in work.readings
        if r.id.startswith("as built/") and r.id.endswith(("/railhead", "/mid span"))
    )
    hung = "Slide the ties under the hung rails, one by one, from the middle of each span outward."
    laid = "Lay the ties by the line, the rails on them by gauge, no joint over an abutment."
    return Step(
        id=TRACK,
        title=told("Ties and rails"),
        phase=Phase.TRACK,
        lines=(
            told(hung if work.parts.subroadbed else laid),
            told("Where the track is twisted, take the quarters up under the ties, as the build-up lists."),
            told("Glue, weight the rails, and try the gauge two or three times while it sets."),
            told("Leave room at the rail joints: wood and rail move apart with the seasons."),
        ),
        needs=tuple(needs),
        pieces=tuple(f"{n}/ties" for n in names),
        gives=heads,
        tools=("track gauge", "weights", "straightedge", "feelers"),
        sheets=(BUILD_UP, PLAN),
        minutes=45.0 * len(names),
        waits=(TRACK_GLUE,),
        hazards=(Hazard.SOLVENT, Hazard.SOLDERING, Hazard.METAL_ON_RAILS),
    )


def _approach(work: Work) -> Step:
    walls = tuple(p.id for p in work.pieces if p.id.endswith("/backwall"))
    first = "Take off hangers and strongback, read the railheads again. " if work.parts.subroadbed else ""
    return Step(
        id=APPROACH,
        title=told("Close the approach at both ends"),
        phase=Phase.TRACK,
        lines=(
            told(first + "A finger along the rail finds any step: pack the approach, not the bridge."),
            told("Trim the top of each backwall until a strip of tie stock just passes over it."),
            told("Mask the deck, then ballast up to the backwalls."),
        ),
        needs=(TRACK,),
        pieces=walls,
        cuts=walls,
        waits_for=tuple(r.id for r in work.readings if r.id.endswith("/railhead")),
        tools=("file", "steel rule", "masking tape"),
        minutes=90.0,
        waits=(GLUE,),
        hazards=(Hazard.BLADE, Hazard.DUST, Hazard.SOLVENT, Hazard.METAL_ON_RAILS),
    )


def _handrails(work: Work) -> Step:
    spans: list[FittedSpan] = [s for s in work.structures.spans if handrail_sides(s.axis.given)]
    pieces = tuple(p for s in spans for p in work.of(s.axis.given.name, "handrail"))
    built = {shape.part for shape in work.structures.shapes}  # no handrail moves a portal
    tried = [
        told(
            "Tape them first and push {0} past by hand: it comes nearest to {1}.",
            word(g.vehicle),
            place(g.part),
        )
        for g in critical(work)
        if g.line == work.given.upper and g.part in built
    ]
    return Step(
        id=HANDRAILS,
        title=told("Guard rails and handrails last"),
        phase=Phase.TRACK,
        lines=(
            told(
                "Set each post by its distance from the span's axis, then the rails, open over each support."
            ),
            *tried,
            told("Guard rails after that, if the place has them."),
        ),
        needs=(APPROACH,),
        pieces=pieces,
        tools=("caliper", "tweezers"),
        sheets=(PLAN,),
        minutes=60.0 * len(spans),
        waits=(GLUE,),
        hazards=(Hazard.SOLVENT, Hazard.BLADE, *([Hazard.MOVING_TRAIN] if tried else [])),
    )


def _test(work: Work, needs: str) -> Step:
    lines = [
        told("Line {0}: {1} first, past {2}.", word(g.line), word(g.vehicle), place(g.part))
        for g in critical(work)
    ]
    if not lines:
        lines = [told("No trains were reckoned: every vehicle by itself, by hand, before the first train.")]
    return Step(
        id=TEST,
        title=told("Test trains"),
        phase=Phase.TRACK,
        lines=(
            *lines,
            told(
                "Walking pace, both ways, both ends leading, one train on each line at once, then line speed."
            ),
            told("Enter all readings: what stands as built is what the next change is reckoned from."),
        ),
        needs=(needs,),
        gives=work.taken(TRIED),
        tools=("vehicles", "cards", "feelers"),
        sheets=card_sheets(work),
        minutes=60.0,
        access=(under(work, work.structures.supports[len(work.structures.supports) // 2]),),
        hazards=(Hazard.MOVING_TRAIN,),
    )

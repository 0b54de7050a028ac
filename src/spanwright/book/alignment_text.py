"""The lines as text: what each looks like, where they cross, how far apart in height."""

from __future__ import annotations

from spanwright.alignment.crossing import Crossing, off_square
from spanwright.alignment.line import TrackPoint, track_point
from spanwright.alignment.stage import LaidLine, Stretch
from spanwright.book.blocks import Block, Heading, heading, numbers, paragraph, table, texts
from spanwright.drawings.speech import Speech
from spanwright.job import Plan


def alignment_text(plan: Plan, say: Speech) -> list[Block]:
    """Return all that the alignment stage found.

    Parameters
    ----------
    plan : Plan
        The plan, at least up to the alignment.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    found = plan.alignment
    count = len(found.crossings)
    lines: list[Block] = [f"{len(found.lines)} line{_s(len(found.lines))}, {count} crossing{_s(count)}."]
    lines += paragraph(
        f"Along counts from the {say.words.start} end of each line towards the {say.words.finish} end, from"
        " the"
        " first mark."
    )
    for laid in found.lines:
        lines += _line(laid, say)
    for crossing in found.crossings:
        lines += _crossing(plan, crossing, say)
    if not count:
        lines += ["", *paragraph("The lines do not cross within their marks.")]
    return lines


def _s(count: int) -> str:
    return "" if count == 1 else "s"


def _line(laid: LaidLine, say: Speech) -> list[Block]:
    line = laid.line
    low, high = line.surveyed
    lines = heading(f"Line {line.name}")
    if laid.stations is None:
        lines += paragraph(
            f"Designed, not laid: {say.plain(high - low, 0)} long, as its elements say.", indent=2
        )
        return lines
    lines += paragraph(
        f"Found from {len(laid.mark_names)} marks, along {say.bare(low, 0)} to {say.plain(high, 0)}. Waves"
        " shorter"
        f" than {say.plain(laid.shortest_wave, 0)} cannot be seen by these marks; their likely size is in"
        " the doubt.",
        indent=2,
    )
    lines += paragraph("It looks like:", indent=2)
    lines += [line for stretch in laid.description for line in paragraph(_stretch(stretch, say), indent=4)]
    rows = [
        (name, say.of(laid.stations[k]), say.bare(abs(float(r)), 2), say.towards(float(r)))
        for k, (name, r) in enumerate(zip(laid.mark_names, laid.residuals, strict=True))
    ]
    columns = (
        *texts("mark"),
        *numbers(f"along ({say.unit})", f"beside the fitted line ({say.unit})"),
        *texts("to the"),
    )
    return [*lines, "", *table(columns, rows)]


def _stretch(stretch: Stretch, say: Speech) -> str:
    place = f"along {say.bare(stretch.start, 0)} to {say.plain(stretch.end, 0)}"
    if stretch.kind != "arc":
        return f"{stretch.kind}, {place}"
    side = say.towards(stretch.radius)
    radius = say.length(abs(float(stretch.radius)), float(stretch.radius_doubt))
    return f"arc of radius {radius} {say.unit}, its centre on the {side} side, {place}"


def _crossing(plan: Plan, crossing: Crossing, say: Speech) -> list[Block]:
    title = f"Crossing: {crossing.upper} over {crossing.lower}"
    lines = heading(title)
    if not crossing.surveyed:
        lines += paragraph("NOT SURVEYED: it lies beyond the last mark of a line.", indent=2)
    between, askew = off_square(crossing)
    centre = crossing.centre
    lines += paragraph(
        f"Angle: {say.angle(between)} between the lines, {say.angle(askew)} off square.", indent=2
    )
    lines += paragraph(
        f"Along: {say.with_unit(centre.upper_station)} on {crossing.upper},"
        f" {say.with_unit(centre.lower_station)} on {crossing.lower}."
        f" In plan x {say.of(centre.x)}, y {say.with_unit(centre.y)}.",
        indent=2,
    )
    for name, station in ((crossing.upper, centre.upper_station), (crossing.lower, centre.lower_station)):
        lines += paragraph(
            _slope(track_point(plan.alignment.line(name), station.value.reshape(1)), name, say), indent=2
        )
    lines += [Heading(title=f"Railhead over railhead ({say.unit})", level=2)]
    rows = [("track centre", "track centre", say.of(centre.separation))]
    rows += [
        (f"{say.side(r.upper_rail)} rail", f"{say.side(r.lower_rail)} rail", say.of(r.separation))
        for r in crossing.rails
    ]
    columns = (*texts(f"of {crossing.upper}", f"of {crossing.lower}"), *numbers("apart in height"))
    return lines + table(columns, rows)


def _slope(there: TrackPoint, name: str, say: Speech) -> str:
    grade, cant = there.grade[0], there.cant[0]
    per_cent = say.k * say.doubt(grade) * 100.0
    value = float(grade.value) * 100.0
    way = say.words.finish if value >= 0.0 else say.words.start
    doubt = f" ± {per_cent:.2f}" if per_cent > 0.0 else ""
    high = say.towards(-float(cant.value))
    if not float(cant.value) and not say.doubt(cant):
        across = "it is level across"
    else:
        size = say.length(abs(float(cant.value)), say.doubt(cant))
        across = f"its {high} rail is {size} {say.unit} high"
    return f"There {name} rises {abs(value):.2f}{doubt} % towards the {way} end, and {across}."

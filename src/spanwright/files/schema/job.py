"""The whole job file as it is written: lines, layers, bridge, clearance, vehicles."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictInt

from spanwright.files.schema.base import BySide, Doubt, Names, OneOrMoreNames, Quantity, Size, Table, Values
from spanwright.files.schema.survey import Datum, Marks, Survey, Tool


class Sides(Table):
    """The builder's names of the two sides of growing station."""

    left: str = "left"
    right: str = "right"


class Ends(Table):
    """The builder's names of the two ends."""

    start: str = "start"
    finish: str = "finish"


class Element(Table):
    """One element of a designed line."""

    kind: Literal["tangent", "easement", "arc"]
    length: Quantity
    radius: Quantity | None = None
    turn: str | None = None


class Corner(Table):
    """One corner of a diagram along a designed line."""

    along: Quantity
    height: Quantity | None = None
    cant: Quantity | None = None
    high: str | None = None


class CantChange(Table):
    """How much higher one rail is to lie over the other than it does."""

    high: str
    by: Quantity


class Line(Table):
    """One line of track, laid (marks) or designed (elements)."""

    gauge: Size
    rail_head: Size
    track: Literal["sectional", "flexible", "hand-laid"]
    by: str | None = None
    curves: StrictInt = Field(default=1, ge=0, le=6)  # common practice, no source
    marks: Names | None = None
    cant: Literal["measured", "not measured"] | None = None
    start: Values | None = None
    towards: str | None = None
    heading: Quantity | None = None
    elements: tuple[Element, ...] | None = None
    heights: tuple[Corner, ...] | None = None
    vertical_curve: Quantity = 0
    cants: tuple[Corner, ...] = ()
    strays_plan: Doubt | None = None
    strays_height: Doubt | None = None
    raised: Quantity = Field(default=0, alias="raise")
    cant_change: CantChange | None = None


class Layers(Table):
    """Thicknesses between a railhead and what carries it."""

    by: str | None = None
    rail: Size | None = None
    tie: Size | None = None
    roadbed: Size | None = None
    bridge_tie: Size | None = None
    dap: Size | None = None


class Packing(Table):
    """The layer that is made last."""

    thinnest: Quantity
    most: Quantity


class Bridge(Table):
    """What holds for the whole bridge; sizes that all spans share."""

    upper: str
    lower: str
    packing: Packing
    by: str | None = None
    end_gap: Quantity
    edge: Quantity
    tie_overhang: Quantity
    tie_width: Quantity
    tie_pitch: Quantity
    units: tuple[Names, ...] = ()
    spacing: Size | None = None
    flange: Size | None = None
    shoe: Size | None = None
    shoe_along: Size | None = None
    bearing_inset: Size | None = None


class Support(Table):
    """One support."""

    name: str
    kind: Literal["abutment", "pier", "straddle bent"]
    base: OneOrMoreNames
    along: Quantity | None = None
    shift: Quantity = 0
    by: str | None = None
    cap: Size
    cap_along: Size
    cap_across: Size | None = None
    footing: Size | None = None
    shaft_along: Size | None = None
    shaft_across: Size | None = None
    stock: Size | None = None
    batter: Quantity | None = None
    trim: Literal["top", "foot"] | None = None
    form: Literal["under the bearings", "level with the girders"] | None = None
    clear: BySide | None = None
    turn: Quantity | None = None
    cut: Doubt | None = None
    set_out: Doubt | None = None
    set_out_across: Doubt | None = None


class Handrail(Table):
    """A handrail beside the upper track."""

    side: str
    offset: Size
    height: Size


class Span(Table):
    """One deck girder span."""

    name: str
    start: str = Field(alias="from")
    end: str = Field(alias="to")
    by: str | None = None
    length: Size
    depth: BySide
    spacing: Size | None = None
    flange: Size | None = None
    shoe: Size | None = None
    shoe_along: Size | None = None
    bearing_inset: Size | None = None
    handrail: Handrail | None = None
    stiffeners: StrictInt | None = Field(default=None, ge=0)
    plate: Quantity | None = None
    rivet_pitch: Quantity | None = None
    rivet_height: Quantity | None = None


class Margin(Table):
    """The gap that is wanted."""

    side: Quantity | None = None
    above: Quantity | None = None


class Shadow(Table):
    """Points picked on a picture of the end of a vehicle, or of its shadow, in pixels: x right, y down."""

    rails: tuple[tuple[float, float], tuple[float, float]]
    apart: Quantity
    points: tuple[tuple[float, float], ...]


class Section(Table):
    """A cross-section drawn out along part of a body."""

    start: Quantity = Field(alias="from")
    end: Quantity = Field(alias="to")
    outline: tuple[tuple[Quantity, Quantity], ...] | None = None
    polygon: tuple[tuple[Quantity, Quantity], ...] | None = None
    shadow: Shadow | None = None


class Five(Table):
    """A cross-section by five numbers: height over all, full widths, and the heights that go with them."""

    height: Quantity | None = None
    foot: Quantity | None = None
    waist: Quantity | None = None
    eaves: Quantity | None = None
    roof: Quantity | None = None
    foot_height: Quantity | None = None
    waist_height: Quantity | None = None
    eaves_height: Quantity | None = None


class Body(Table):
    """One body on two trucks or more: with more, trucks lists the distances from one to the next."""

    name: str = ""
    length: Quantity | None = None
    trucks: Values | None = None
    truck_wheelbase: Quantity = 0
    middle_play: Quantity | None = None
    five: Five | None = None
    outline: tuple[tuple[Quantity, Quantity], ...] | None = None
    polygon: tuple[tuple[Quantity, Quantity], ...] | None = None
    shadow: Shadow | None = None
    sections: tuple[Section, ...] | None = None


class Play(Table):
    """Worst running play."""

    side: Quantity = 0
    roll: Quantity = 0


class Doubts(Table):
    """How far the measured sizes of a vehicle may be off."""

    width: Quantity | None = None
    height: Quantity | None = None
    length: Quantity | None = None
    trucks: Quantity | None = None


class Vehicle(Body):
    """A vehicle: one body, or an articulated set."""

    name: str
    runs_on: OneOrMoreNames
    like: str | None = None
    by: str | None = None
    sd: Doubts = Doubts()
    play: Play = Play()
    bodies: tuple[Body, ...] | None = None


class Clearance(Table):
    """What gap is wanted, and which published gauges are laid along the lines beside it."""

    margin: Margin = Margin()
    gauges: Names = ()


class OwnGauge(Table):
    """A gauge of the builder's own: corners left of centre and above the railhead."""

    name: str
    polygon: tuple[tuple[Quantity, Quantity], ...]
    lines: Names = ()
    note: str = ""


class Ties(Table):
    """The laid ties of the line on the board."""

    length: Quantity
    width: Quantity
    pitch: Quantity


class Obstruction(Table):
    """Something at or under the board that the saw must not meet."""

    name: str
    mark: str
    along: dict[str, Quantity]
    across: dict[str, Quantity]
    sd: Quantity | None = None


class Fixed(Table):
    """Something beside a track that no part of the bridge may run into."""

    name: str
    line: str
    mark: str
    along: dict[str, Quantity]
    across: dict[str, Quantity]
    height: tuple[Quantity, Quantity]
    sd: Quantity | None = None
    room: Quantity | None = None


class Portal(Table):
    """What stands around or beside a track, for its trains to pass: a tunnel mouth, a portal, a wall."""

    name: str
    line: str
    mark: str | None = None
    along: dict[str, Quantity]
    by: str | None = None
    clear: BySide | None = None
    height: Size | None = None
    top: Size | None = None
    thickness: Quantity | None = None
    set_out: Doubt | None = None


class Subroadbed(Table):
    """The board under the upper line, which is opened where the bridge goes."""

    by: str | None = None
    thickness: Size
    kerf: Quantity | None = None
    lean: Quantity | None = None
    room: Quantity | None = None
    slot: Quantity | None = None
    ties: Ties | None = None
    edge: dict[str, Quantity] = Field(default_factory=dict)
    pilots: Names = ()
    obstructions: tuple[Obstruction, ...] = ()


class Printer(Table):
    """The builder's printer: its paper, and what the bars of the calibration print measured."""

    paper: Literal["A4", "Letter"] = "A4"
    across: Quantity | None = None
    down: Quantity | None = None


class Made(Table):
    """A support whose shafts have been cut."""

    part: str
    state: Literal["cut", "dry-fitted", "built", "taken out", "spoiled"]
    cut_to: Values
    station: Quantity | None = None


class Measured(Table):
    """One reading of a number of the plan."""

    what: str
    above: str = ""
    is_: Quantity = Field(alias="is")
    by: str
    sd: Quantity | None = None
    certain: bool = False
    former: bool = False
    note: str = ""


class Parts(Table):
    """Settings of the parts stage."""

    tolerance: Quantity | None = None
    hand: Quantity | None = None


class Sheet(Table):
    """One thickness of sheet on the builder's shelf."""

    name: str
    thickness: Size
    count: StrictInt | None = Field(default=None, ge=0)


class Shelf(Table):
    """What packing is built up from."""

    by: str | None = None
    sheets: Annotated[tuple[Sheet, ...], Field(min_length=1)]
    glue: Size | None = None
    layers: StrictInt | None = None
    near: Quantity | None = None


class Profile(Table):
    """What the railhead over the bridge must keep."""

    grade_change: Quantity | None = None
    twist: Quantity | None = None
    step: Quantity | None = None
    known: Quantity | None = None


class Cures(Table):
    """How long a thing takes to set, dry or cure."""

    glue: Quantity | None = None
    rail_glue: Quantity | None = None
    plaster: Quantity | None = None
    primer: Quantity | None = None
    paint: Quantity | None = None
    weathering: Quantity | None = None


class Build(Table):
    """How the work is planned: evenings, times, what is done."""

    evening: Quantity | None = None
    reading: Quantity | None = None
    hands_on: dict[str, Quantity] = Field(default_factory=dict)
    cures: Cures = Cures()
    done: Names = ()
    curing: dict[str, Quantity] = Field(default_factory=dict)


class Job(Table):
    """A whole job file."""

    format: StrictInt
    name: str
    scale: str
    gauge: Quantity
    unit: Literal["mm", "inch"] = "mm"
    k: Quantity = 2
    sides: Sides = Sides()
    ends: Ends = Ends()
    tools: dict[str, Tool] = Field(default_factory=dict)
    marks: Marks
    datum: Datum
    survey: Survey
    lines: dict[str, Line]
    layers: Layers = Layers()
    bridge: Bridge | None = None
    supports: tuple[Support, ...] = ()
    spans: tuple[Span, ...] = ()
    clearance: Clearance | None = None
    fixed: tuple[Fixed, ...] = ()
    portals: tuple[Portal, ...] = ()
    vehicles: tuple[Vehicle, ...] = ()
    gauges: tuple[OwnGauge, ...] = ()
    subroadbed: Subroadbed | None = None
    parts: Parts | None = None
    shelf: Shelf | None = None
    profile: Profile | None = None
    made: tuple[Made, ...] = ()
    measured: tuple[Measured, ...] = ()
    printer: Printer | None = None
    build: Build | None = None

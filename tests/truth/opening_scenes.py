"""Small exact bridges on a board, for tests of the opening."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from spanwright.alignment.crossing import find_crossings
from spanwright.alignment.given import LineInput, TrackKind
from spanwright.alignment.line import track_point
from spanwright.alignment.stage import Alignments, LaidLine
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.parts.given import Subroadbed
from spanwright.parts.opening import open_board
from spanwright.structures.given import SupportKind
from spanwright.structures.stage import fit_structures
from spanwright.survey.readings import Face, Mark, Rail
from truth.line_scenes import Sizes, bridge, exact_line, pier, span

HEAD = 1.0  # rail head; the lines' head distance is 10
HANDRAIL = 18.0  # near face; it is 0.5 thick
MARK_SD = 0.4


class Survey:
    """Stands in for the adjusted survey: marks on the left rail's head, and the ground."""

    def __init__(self, keys, inputs, line, stations):
        self.keys, self.inputs, self.line = keys, inputs, line
        self.stations = stations
        self.marks = tuple(
            Mark(name=name, line="upper", rail=Rail.LEFT, face=Face.HEAD_CENTRE) for name in stations
        )

    def station(self, name) -> Derived:
        return self.inputs.derived(self.stations[name])

    def value(self, name) -> Derived:
        mark, _, axis = name.partition(".")
        if mark in self.keys:
            return self.inputs.derived(self.keys[mark])
        s = self.station(mark)
        at = track_point(self.line, Derived(s.value.reshape(1), s.jac.reshape(1, -1)))
        if axis == "z":
            return at.z[0]
        left = self.line.head_distance * 0.5
        if axis == "x":
            return at.x[0] - dv.sin(at.heading)[0] * left
        return at.y[0] + dv.cos(at.heading)[0] * left


class Scene:
    """One span, or several, on abutments; what the job file would say of it can be changed."""

    def __init__(self, *, curvature=0.0, spans=1, marks=(), handrail=True, surveyed=None, **board):
        sizes = Sizes()
        self.line = exact_line(curvature=curvature, height=80.0)
        if surveyed:
            self.line = replace(self.line, surveyed=surveyed)
        # the lower line crosses where the upper is at 500
        point = track_point(self.line, np.array([500.0]))
        x, y, turn = (float(v.value[0]) for v in (point.x, point.y, point.heading))
        heading = turn + np.radians(80.0)
        start = (x - 500.0 * np.cos(heading), y - 500.0 * np.sin(heading))
        self.lower = exact_line("lower", start=start, heading=heading, height=12.0)
        names = [chr(ord("p") + k) for k in range(spans + 1)]
        rails = {}
        if handrail:
            rails = {
                "handrail_side": "both",
                "handrail_offset": sizes(HANDRAIL),
                "handrail_height": sizes(6.0),
            }
        parts = [replace(span(sizes, f"S{k}", names[k], names[k + 1]), **rails) for k in range(spans)]
        middle = -95.5 * spans / 2.0
        supports = [
            pier(
                sizes,
                name,
                along=middle if k == 0 else None,
                kind=SupportKind.ABUTMENT if k in (0, spans) else SupportKind.PIER,
                set_out_across=sizes.free(0.0, 0.3),
            )
            for k, name in enumerate(names)
        ]
        self.given = bridge(sizes, parts, supports)
        self.keys = {"g": sizes.free(1.0, 0.25)}
        self.stations = {f"m{k}": sizes.free(float(s), MARK_SD) for k, s in enumerate(marks)}
        self.head = sizes(HEAD)
        fields = {
            "thickness": sizes(12.0, 0.1), "kerf": 1.0, "lean": np.radians(2.0), "room": 3.0, "slot": 3.0
        } | board  # fmt: skip
        self.board = Subroadbed(**fields)
        self.inputs = sizes.inputs
        self.choices = None

    def open(self, inputs=None):
        """Derive the opening, decisions held from the first time on."""
        inputs = inputs or self.inputs
        survey = Survey(self.keys, inputs, self.line, self.stations)
        nothing = np.zeros(0)
        laid = [
            LaidLine(
                line=x, mark_names=(), stations=None, residuals=nothing, description=(), shortest_wave=0.0
            )
            for x in (self.line, self.lower)
        ]
        if self.stations:
            stations = dv.stack([survey.station(name) for name in self.stations])
            laid[0] = replace(laid[0], mark_names=tuple(self.stations), stations=stations)
        lines = Alignments(
            inputs=inputs,
            lines=tuple(laid),
            crossings=find_crossings(self.line, self.lower),
            choices=(),
            findings=(),
        )
        self.structures = fit_structures(self.given, survey, lines, self.choices)
        self.choices = self.structures.choices
        track = LineInput(
            name="upper", marks=(), track=TrackKind.FLEXIBLE, gauge=self.head, rail_head=self.head
        )
        return open_board(
            self.board,
            inputs,
            laid[0],
            self.structures,
            survey,
            line_input=track,
            bridge=self.given,
        )


def codes(opening):
    """What was found, as a list of codes."""
    return [f.code for f in opening.findings]

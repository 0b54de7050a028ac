"""Cards, sticks, cant cards and the section as drawn: sizes, sides, words, no text upon text."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from checks import box_of, overlaps

from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import assess
from spanwright.drawings.display import Circle, Role, Text
from spanwright.drawings.display import Path as Line
from spanwright.drawings.draughting import bounds
from spanwright.drawings.sheets.gauges import (
    cant_columns,
    cant_rows,
    cant_sheets,
    card_sheets,
    rail_items,
    stick_sheets,
)
from spanwright.drawings.sheets.hatching import cut_area, hatching
from spanwright.drawings.sheets.section import SECTION, section_sheet
from spanwright.drawings.speech import Speech
from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.parts.cant import plan_cant
from spanwright.parts.cards import profile_cards, track_feet
from spanwright.parts.given import PartsInput
from spanwright.parts.sticks import gauge_sticks
from truth import demo, h0, oo

JOBS = {"demo": Path(demo.SHIPPED).parent, "oo": oo.FILE, "h0": h0.FILE}


class Made:
    """One job's parts and sheets; gaps are reckoned of two trains only, beside what stands by the track."""

    def __init__(self, name):
        job = load_job(JOBS[name])
        self.job, self.plan = job, derive(replace(job, clearance=None))
        given, plan = job.structures, self.plan
        lines = {x.name: x for x in job.lines}
        beside = tuple(s for s in plan.structures.shapes if "/column" in s.part or "/shaft" in s.part)
        runs = tuple(r for r in job.clearance.runs if r.line == given.lower)[:3]
        asked = ClearanceInput(runs=runs, margin_side=1.5, margin_above=1.5)
        self.lower = plan.alignment.line(given.lower)
        self.result = assess(plan.inputs, {given.lower: self.lower}, beside, asked)
        self.say = Speech(words=job.words, inputs=plan.inputs, k=given.k)
        self.feet = {n: track_feet(lines[n], given, plan.inputs) for n in (given.upper, given.lower)}
        self.cards = profile_cards(
            given,
            plan.structures,
            plan.alignment,
            job.clearance,
            track=lines[given.lower],
            result=self.result,
        ).cards
        self.sticks = gauge_sticks(given, PartsInput(), plan.inputs, plan.structures).sticks
        self.cant = plan_cant(given, plan.structures, plan.alignment, self.cards, feet=self.feet)
        self.card_sheets = card_sheets(self.cards, self.say)
        self.stick_sheets = stick_sheets(self.sticks, self.say)
        self.cant_sheets = cant_sheets(self.cant, self.say)
        self.section = self.draw_section(asked=job.clearance, result=self.result)
        self.sheets = (*self.card_sheets, *self.stick_sheets, *self.cant_sheets, self.section)

    def draw_section(self, **more):
        return section_sheet(
            self.job.structures,
            self.plan.structures,
            self.plan.alignment,
            self.say,
            feet=self.feet,
            **more,
        )


@pytest.fixture(scope="module", params=["demo", "oo", "h0"])
def made(request):
    return Made(request.param)


@pytest.fixture(scope="module")
def demo_made():
    return Made("demo")


def texts(sheet):
    return [i.text for i in sheet.items if isinstance(i, Text)]


def cuts(sheet):
    return [np.array(i.points) for i in sheet.items if isinstance(i, Line) and i.role is Role.CUT]


def test_no_text_lies_on_another_and_nothing_is_empty(made):
    for sheet in made.sheets:
        found = [i for i in sheet.items if isinstance(i, Text)]
        assert found, sheet.id
        clash = [(found[i].text, found[j].text) for i, j in overlaps([box_of(t) for t in found], 0.02)]
        assert not clash, (sheet.id, clash)


def test_ids_are_unique_and_only_what_is_cut_from_is_true(made):
    ids = [s.id for s in made.sheets]
    assert len(set(ids)) == len(ids)
    for sheet in made.sheets:
        assert sheet.true == sheet.id.startswith("card/")
        assert bool(cuts(sheet)) == sheet.true


def test_a_card_is_drawn_as_it_is_seen_from_the_start_end(made):
    for card, sheet in zip(made.cards, made.card_sheets, strict=True):
        (outline,) = cuts(sheet)
        assert outline * [-1.0 if card.side == "left" else 1.0, 1.0] == pytest.approx(card.outline, abs=1e-9)
        assert sheet.side_up == f"printed side faces {made.job.words.start}"


def test_a_card_says_where_it_belongs_and_what_it_means(made):
    for card, sheet in zip(made.cards, made.card_sheets, strict=True):
        assert made.say.place(card.part) in texts(sheet)
        assert card.critical_name in " ".join(sheet.notes)
        words = " ".join(sheet.notes)
        assert "It passes: the margins are kept" in words
        assert "Caution" in words
        if card.gap is not None:
            assert made.say.with_unit(card.gap.gap) in words
            assert card.gap.verdict.value in words


def test_a_card_stands_on_rails_that_are_drawn_where_they_are(made):
    feet = made.feet[made.job.structures.lower]
    left, right = (np.array(i.points) for i in rail_items(feet))
    assert left[:, 1].max() == pytest.approx(0.0)
    assert right[right[:, 1] > -1e-9, 0] == pytest.approx([0.5 * feet.gauge + feet.head, 0.5 * feet.gauge])
    assert -left[left[:, 1] > -1e-9, 0] == pytest.approx([0.5 * feet.gauge, 0.5 * feet.gauge + feet.head])


def test_sticks_say_both_lengths_and_both_surfaces(made):
    said = [t for sheet in made.stick_sheets for t in texts(sheet)]
    assert said.count("GO") == said.count("NO-GO") == len(made.sticks) == len(made.plan.structures.bearings)
    for stick in made.sticks:
        assert made.say.bare(stick.go, 2) in said
        assert made.say.bare(stick.no_go, 2) in said
        assert any(f"base at {stick.base}" in t for t in said)
        assert any(t.startswith(f"wanted {made.say.of(stick.length)}") for t in said)
    assert "* The height itself" in " ".join(made.stick_sheets[0].notes)


def test_sticks_are_drawn_to_scale(made):
    sheet = made.stick_sheets[0]
    boxes = [np.array(i.points) for i in sheet.items if isinstance(i, Line) and i.fill == 1.0]
    heights = [np.ptp(b[:, 1]) / sheet.scale for b in boxes]
    wanted = [n for s in made.sticks[: len(boxes) // 2] for n in (s.go, s.no_go)]
    assert heights == pytest.approx(wanted, abs=1e-9)


def test_the_table_of_cants_tells_every_place(made):
    rows = cant_rows(made.cant, made.say)
    assert len(rows) == len(made.plan.structures.supports) + len(made.plan.structures.spans) + len(made.cards)
    assert all(len(r) == len(cant_columns(made.cant, made.say)) for r in rows)
    for sheet in made.cant_sheets:
        assert set(rows[0]) <= set(texts(sheet))


def test_cant_cards_are_drawn_as_reckoned(made):
    drawn = [c for sheet in made.cant_sheets for c in cuts(sheet)]
    assert len(drawn) == len(made.cant.cards)
    for outline, card in zip(drawn, made.cant.cards, strict=True):
        assert outline - outline[0] == pytest.approx(card.outline - card.outline[0], abs=1e-9)


def test_lengths_are_in_the_builders_unit(made):
    unit = made.say.unit
    for sheet in made.sheets:
        other = " mm" if unit == "in" else " in "
        assert not any(other in t for t in texts(sheet)), sheet.id


def test_the_section_shows_columns_where_they_stand(demo_made):
    """Distances set out from the lower track's centre to the columns' near faces, twice as large on paper."""
    sheet = demo_made.section
    assert sheet.id == SECTION
    assert sheet.scale == 2.0
    said = texts(sheet)
    assert any(t.startswith("16.20 ±") for t in said)
    assert any(t.startswith("15.20 ±") for t in said)
    drawn = np.vstack([i.points for i in sheet.items if isinstance(i, Line) and i.role is Role.OUTLINE])
    for face in (-16.2, 15.2):
        assert np.min(np.abs(drawn[:, 0] - 2.0 * face)) < 0.01


def test_the_section_points_at_each_columns_gap_with_its_word(demo_made):
    said = texts(demo_made.section)
    for side, name in (("left", "aisle column"), ("right", "wall column")):
        mine = [g for g in demo_made.result.gaps if g.part == f"bent/column {side}"]
        k = demo_made.say.k
        worst = min(mine, key=lambda g: float(g.margin_gap.value) - k * g.margin_u)
        at = said.index(name)
        assert said[at + 1] == f"{demo_made.say.of(worst.gap)}, {worst.verdict.value}"
        assert said[at + 2] in {r.vehicle.name for r in demo_made.job.clearance.runs}
    dots = [i for i in demo_made.section.items if isinstance(i, Circle)]
    assert len(dots) == 4


def test_the_section_looks_to_the_finish_with_left_on_the_left(made):
    words, said = made.job.words, [i for i in made.section.items if isinstance(i, Text)]
    place = {t.text: t.at[0] for t in said}
    assert place[words.left] < place[words.right]
    assert made.section.title.endswith(f"looking towards {words.finish}")


def test_a_section_without_trains_shows_the_bridge_alone(made):
    sheet = made.draw_section()
    assert not any("swept" in t for t in texts(sheet))
    assert len(sheet.items) > 20


def test_the_section_fits_a_page_at_its_own_scale(made):
    """Paper of A4 less margins and border."""
    left, bottom, right, top = bounds(made.section.items)
    assert right - left <= 186.0
    assert top - bottom <= 235.0


def test_hatching_stays_inside_at_45_degrees():
    area = shapely.box(0.0, 0.0, 9.0, 5.0) - shapely.box(2.0, 1.0, 5.0, 3.0)
    for slant in (1.0, -1.0):
        lines = [shapely.LineString(p.points) for p in hatching(area, slant)]
        assert len(lines) > 8
        for line in lines:
            assert line.difference(area.buffer(1e-9)).length == pytest.approx(0.0, abs=1e-6)
            (x1, y1), (x2, y2) = line.coords
            assert abs((y2 - y1) / (x2 - x1)) == pytest.approx(1.0)
            assert np.sign((y2 - y1) / (x2 - x1)) == slant


def test_a_thin_cut_is_black_and_a_timber_grey():
    (thin,) = cut_area(shapely.box(0.0, 0.0, 20.0, 0.8), 1.0)
    assert thin.fill == 0.0
    (timber,) = cut_area(shapely.box(0.0, 0.0, 6.0, 3.0), 1.0, is_timber=True)
    assert 0.5 < timber.fill < 0.9
    assert cut_area(shapely.box(0.0, 0.0, 6.0, 0.1), 1.0, is_timber=True) == []

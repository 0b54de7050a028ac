"""The build book and all that lies beside it, read back with other programs' readers.

Sources: pdfplumber and pypdf (PDF), resvg (SVG), ezdxf's own audit (DXF), the csv module of Python.
"""

import csv
import io
import re
import xml.etree.ElementTree as ET

import ezdxf
import pdfplumber
import pypdf
import pytest
import resvg_py
from checks import check_page, check_pdf

from spanwright.book.blocks import Table, numbers, texts
from spanwright.book.compose import book_files, csv_text, file_name
from spanwright.book.making import stamp_of
from spanwright.book.words import speech
from spanwright.build.steps import sheets_of
from spanwright.cli.commands import advices
from spanwright.drawings.tiles import pages

pytestmark = pytest.mark.slow
JOBS = ("demo", "oo", "h0")
MM = 25.4 / 72.0


def endings(files, folder):
    names = {}
    for name in files:
        if name.startswith(f"{folder}/"):
            stem, _, ending = name.rpartition(".")
            names.setdefault(stem, set()).add(ending)
    return names


@pytest.mark.parametrize("job", JOBS)
def test_every_sheet_is_there_in_three_formats(books, job):
    book = books(job)
    for sheet in (*book.making.patterns, *book.making.arrangement):
        for ending in ("pdf", "svg", "dxf"):
            assert f"{file_name(sheet, speech(book.plan))}.{ending}" in book.files
    assert all(found == {"pdf", "svg", "dxf"} for found in endings(book.files, "patterns").values())
    assert len({sheet.id for sheet in book.making.patterns}) == len(book.making.patterns)


@pytest.mark.parametrize("job", JOBS)
def test_no_page_is_empty_and_nothing_lies_outside_or_on_other_texts(books, job):
    book = books(job)
    stamp, printer = stamp_of(book.plan), book.plan.job.printer
    faults = {}
    for sheet in (*book.making.patterns, *book.making.arrangement):
        for number, page in enumerate(pages(sheet, printer=printer, stamp=stamp)):
            if found := check_page(page):
                faults[f"{sheet.id}, page {number + 1}"] = found[:3]
    assert not faults, faults


@pytest.mark.parametrize("job", JOBS)
def test_the_pages_of_the_book_are_clean(books, job):
    assert check_pdf(books(job).files["book.pdf"]) == []


@pytest.mark.parametrize("job", JOBS)
def test_every_pdf_opens_and_asks_not_to_be_scaled(books, job):
    for name, data in books(job).files.items():
        if name.endswith(".pdf"):
            reader = pypdf.PdfReader(io.BytesIO(data))
            assert len(reader.pages) >= 1, name
            assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None", name


@pytest.mark.parametrize("job", JOBS)
def test_every_dxf_is_sound_and_every_svg_is_drawn(books, job):
    for name, data in books(job).files.items():
        if name.endswith(".dxf"):
            audit = ezdxf.read(io.StringIO(data.decode("utf-8"))).audit()
            assert not audit.errors, name
            assert not audit.fixes, name
        elif name.endswith(".svg"):
            ET.fromstring(data)
            assert len(resvg_py.svg_to_bytes(svg_string=data.decode("utf-8"), dpi=96)) > 1000, name


def test_the_same_job_gives_the_same_bytes(books):
    book = books("demo")
    again = book_files(book.plan, book.making, advices(book.plan), trials=book.trials)
    assert again.keys() == book.files.keys()
    assert [name for name in again if again[name] != book.files[name]] == []


def test_the_sections_stand_in_order_and_the_answer_on_their_first_page(books):
    with pdfplumber.open(io.BytesIO(books("demo").files["book.pdf"])) as pdf:
        text = [page.extract_text() for page in pdf.pages]
    titles = ["Is it clear?", "What to measure next", "Heights and cut sizes", "Drawings and patterns"]
    titles += ["Parts", "Steps", "As-built sheets"]
    together = next(page for page in text if "How sure all of it is together" in page)
    assert "the chance that at least one is short of its wanted margin" in together.replace("\n", " ")
    assert any("8 whole plans were derived with all inputs drawn" in p.replace("\n", " ") for p in text)
    at = [next(k for k, page in enumerate(text) if k and title in page.split("\n")) for title in titles]
    assert at == sorted(at)
    assert "Not all clear: " in text[at[0]]
    assert "d34" in text[at[0]]


def test_sides_and_ends_are_the_builders_own(books):
    """Left and right are said once, where the words are explained."""
    with pdfplumber.open(io.BytesIO(books("demo").files["book.pdf"])) as pdf:
        text = [page.extract_text() for page in pdf.pages]
    other = r"is (left|right)|just right|right about|left over|what is left|is left,"
    found = [re.search(r".*\b(left|right)\b.*", re.sub(other, "", page)) for page in text]
    assert [match[0] for match in found if match] == []


@pytest.mark.parametrize("job", JOBS)
def test_what_the_steps_hold_against_the_work_is_there(books, job):
    making = books(job).making
    known = tuple(making.titles)
    held = {key for step in making.build.steps for key in sheets_of(step, known)}
    patterns = {sheet.id for sheet in making.patterns}
    assert patterns <= held, f"no step uses {patterns - held}"


def test_every_bearing_has_its_stick_and_every_support_its_seat_plan(books):
    for name in JOBS:
        book = books(name)
        bridge = book.plan.structures
        assert {s.bearing for s in book.making.parts.sticks.sticks} == {b.id for b in bridge.bearings}
        seats = {s.id for s in book.making.patterns if s.id.startswith("seat/")}
        assert seats == {f"seat/{s.given.name}" for s in bridge.supports}


def test_tables_are_read_back_as_csv(books):
    files = books("demo").files
    tables = [name for name in files if name.endswith(".csv")]
    assert len(tables) > 10
    for name in tables:
        rows = list(csv.reader(io.StringIO(files[name].decode("utf-8"), newline="")))
        assert len({len(row) for row in rows}) == 1, name
        assert len(rows) > 1, name
        if any("±" in cell for cell in rows[0]):  # away from its page, a table must still say its unit
            assert name.removesuffix(".csv").endswith(" mm"), name


def test_a_number_and_its_give_or_take_take_two_columns():
    table = Table(
        columns=(*texts("what"), *numbers("size")), rows=(("a, b", "1.50 ± 0.20 wall"), ("c", "2.0"))
    )
    rows = list(csv.reader(io.StringIO(csv_text(table))))
    assert rows == [["what", "size", "size ±"], ["a, b", "1.50 wall", "0.20"], ["c", "2.0", ""]]


def test_inches_stay_inches(books):
    with pdfplumber.open(io.BytesIO(books("oo").files["book.pdf"])) as pdf:
        heights = next(p.extract_text() for p in pdf.pages if "Heights at every bearing" in p.extract_text())
    assert "Heights at every bearing (in, above the datum)" in heights


def test_a_change_of_the_job_changes_the_revision(books):
    from dataclasses import replace

    book = books("demo")
    first = stamp_of(book.plan)
    parts = replace(book.plan.job.parts, tolerance=0.2)
    other = replace(book.plan, job=replace(book.plan.job, parts=parts))
    assert stamp_of(other).revision != first.revision
    assert stamp_of(book.plan) == first

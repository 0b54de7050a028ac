"""The book: contents that lead to the right page, tables over pages, nothing upon another, same bytes."""

import io
import re

import pdfplumber
import pypdf
import pytest
from checks import MM, bars, check_pdf, pdf_segments
from samples import STAMP, elevation, plate, strip

from spanwright.drawings.display import Sheet, box
from spanwright.drawings.document import (
    Figure,
    Heading,
    Keep,
    PageBreak,
    Paragraph,
    SheetPages,
    Table,
    book_bytes,
)
from spanwright.drawings.layout.flow import column_widths
from spanwright.drawings.printer import Printer
from spanwright.drawings.tiles import pages
from spanwright.errors import InputError

A4 = Printer()
OFF = Printer(paper="A4", across=149.2, down=200.7)


def rows(count):
    return tuple(
        (f"bearing {k}", f"{100 + k}.00 ± 0.11", "cut long, then trim and test with the stick " * (1 + k % 3))
        for k in range(count)
    )


def blocks(printer=A4):
    return (
        Heading(level=1, text="Summary <b> & more"),
        Paragraph(text="It <i>passes</i> & clears. 橋 Ü\nA new line."),
        Paragraph(text="The blade cuts: away from the hand.", style="caution"),
        Paragraph(text="A note.", style="note", lead="Mind."),
        Paragraph(text="Small words.", style="small"),
        Heading(level=2, text="Heights"),
        Table(
            columns=("where", "height [mm]", "what to do"),
            rows=rows(60),
            align="lrl",
            title="Heights of the bearings",
            marked=(2, 50),
        ),
        Keep(blocks=(Heading(level=3, text="Kept"), Paragraph(text="with it"), Figure(sheet=elevation()))),
        Figure(sheet=plate()),
        PageBreak(),
        PageBreak(),
        Heading(level=1, text="Patterns"),
        SheetPages(pages=pages(plate(), printer=printer, stamp=STAMP), title="A small card"),
        SheetPages(pages=pages(strip(), printer=printer, stamp=STAMP), title="The opening"),
        Heading(level=1, text="Steps"),
        Paragraph(text="Glue. " * 400),
    )


def book(content=None, printer=A4, **more):
    return book_bytes(content or blocks(printer), title="Build book", stamp=STAMP, printer=printer, **more)


@pytest.fixture(scope="module")
def data():
    return book()


@pytest.fixture(scope="module")
def texts(data):
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]


@pytest.mark.parametrize("printer", [A4, OFF, Printer(paper="Letter")], ids=["A4", "A4 off", "Letter"])
def test_an_independent_reader_finds_no_fault(printer):
    assert check_pdf(book(printer=printer)) == []


def test_same_blocks_same_bytes(data):
    assert book() == data


def test_every_page_says_which_it_is_and_of_how_many(texts):
    for n, text in enumerate(texts, 1):
        assert f"page {n} of {len(texts)}" in text
        assert "7f3a" in text
        assert "Model only: not for real structures." in text


def test_contents_lead_to_the_right_page(texts):
    wanted = {
        "Summary <b> & more": "It <i>passes</i> & clears.",
        "Heights": "Heights of the bearings",
        "Patterns": "Patterns",
        "A small card": "corner crosses",
        "The opening": "plan of tiles",
        "Steps": "Glue.",
    }
    for name, there in wanted.items():
        page = int(re.search(re.escape(name) + r"\s+(\d+)", texts[0])[1])
        assert there in texts[page - 1], name
        assert not any(there in t for t in texts[1 : page - 1]), name


def test_contents_are_links(data):
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert sum(a.get_object()["/Subtype"] == "/Link" for a in reader.pages[0]["/Annots"]) == 6
    assert [entry.title for entry in reader.outline][:2] == ["Summary <b> & more", "Heights"]


def test_head_of_a_table_is_repeated_and_no_row_is_lost(texts):
    there = [t for t in texts[1:] if "bearing" in t and "what to do" in t]
    assert len(there) > 1
    found = [int(k) for t in there for k in re.findall(r"bearing (\d+)\s+\d+\.00", t)]
    assert sorted(found) == list(range(60))


def test_no_page_is_empty_but_for_its_head(texts):
    for text in texts:
        rest = [line for line in text.splitlines() if line.strip()]
        assert len(rest) > 5


def test_bars_of_a_true_figure():
    content = (Heading(level=1, text="a"), Figure(sheet=plate()))
    with pdfplumber.open(io.BytesIO(book(content, OFF))) as pdf:
        level, upright = bars(pdf_segments(pdf.pages[1]))
    assert level[0] * 149.2 / 150.0 == pytest.approx(100.0, abs=0.02)
    assert upright[0] * 200.7 / 200.0 == pytest.approx(100.0, abs=0.02)


def test_a_figure_is_drawn_to_its_scale():
    sheet = Sheet(
        id="g", title="Plan", items=(box((0, 0), (150, 40)),), true=False, scale=0.1, notes=("From above.",)
    )
    with pdfplumber.open(io.BytesIO(book((Figure(sheet=sheet),)))) as pdf:
        page = pdf.pages[1]
        sides = [(r["x1"] - r["x0"]) * MM for r in page.rects + page.curves]
        text = page.extract_text()
    assert pytest.approx(150.0, abs=0.01) in sides
    assert "Plan, scale 1:10" in text
    assert "From above." in text


def test_whole_pages_are_the_pages_themselves():
    made = pages(plate(), printer=OFF, stamp=STAMP)
    with pdfplumber.open(io.BytesIO(book((SheetPages(pages=made),), OFF))) as pdf:
        level, upright = bars(pdf_segments(pdf.pages[1]))
        assert float(pdf.pages[1].width) * MM == pytest.approx(210.0, abs=1e-3)
    assert level[0] * 149.2 / 150.0 == pytest.approx(100.0, abs=0.02)
    assert upright[0] * 200.7 / 200.0 == pytest.approx(100.0, abs=0.02)


def test_a_turned_page_lies_on_its_side():
    wide = Sheet(id="gauge/long", title="Long", items=(box((0, 0), (230, 60)),))
    data = book((SheetPages(pages=pages(wide, printer=A4, stamp=STAMP)), Paragraph(text="after")))
    sizes = [[float(v) for v in p.mediabox[2:]] for p in pypdf.PdfReader(io.BytesIO(data)).pages]
    assert [a > b for a, b in sizes] == [False, True, False]


def test_a_heading_stays_with_what_it_stands_over():
    filler = tuple(Paragraph(text="words " * 30) for _ in range(60))
    for k in range(40, 60, 3):
        content = (*filler[:k], Heading(level=2, text="Over"), Table(columns=("a",), rows=(("body",),)))
        texts = [p.extract_text() for p in pypdf.PdfReader(io.BytesIO(book(content))).pages]
        (page,) = [t for t in texts[1:] if "Over" in t]
        assert "body" in page


def test_a_row_taller_than_a_page_is_parted():
    content = (Table(columns=("a", "b"), rows=(("x", "long words " * 900), ("y", "z"))),)
    data = book(content)
    assert check_pdf(data) == []
    text = " ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(data)).pages)
    assert text.count("long") == 900


def test_settings_and_fonts(data):
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert reader.viewer_preferences.print_scaling == "/None"
    names = {
        str(font.get_object()["/BaseFont"])
        for page in reader.pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert all("Vera" in name for name in names)


def test_progress_grows_to_the_end():
    seen = []
    book(progress=lambda done, most: seen.append(done / most))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert len(seen) > 10


def test_columns_are_as_wide_as_their_words_want_if_there_is_room():
    table = Table(columns=("a", "b"), rows=(("one", "two words"),))
    assert sum(column_widths(table, 170.0)) < 60.0


def test_columns_never_outgrow_the_text():
    table = Table(columns=("a", "b", "c"), rows=(("x" * 200, "words " * 60, "1.00 ± 0.10"),))
    widths = column_widths(table, 170.0)
    assert sum(widths) <= 170.0 + 1e-6
    assert widths[2] > 20.0  # a number and its doubt stay in one line
    given = Table(columns=("a", "b"), rows=(("x", "y"),), widths=(300.0, 100.0))
    assert column_widths(given, 170.0) == pytest.approx([127.5, 42.5])


def test_a_table_without_rows_and_long_names_can_be_set():
    content = (Table(columns=("a" * 300, "b"), rows=()), Heading(level=1, text="x" * 200))
    stamp = type(STAMP)(job="橋" * 200, revision="r" * 60, made_from="m " * 200)
    data = book_bytes(content, title="t" * 120, stamp=stamp, printer=A4)
    assert check_pdf(data) == []


@pytest.mark.parametrize(
    ("content", "code", "said"),
    [
        ((), "DR003", "Build book"),
        ((SheetPages(pages=()),), "DR003", "Build book"),
        ((Table(columns=("a", "b"), rows=(("1",),), title="short"),), "DR007", "short"),
        ((Figure(sheet=strip()),), "DR008", "pattern/opening top"),
        ((Figure(sheet=Sheet(id="bare", title="", items=())),), "DR003", "bare"),
    ],
)
def test_what_cannot_be_set_is_refused(content, code, said):
    with pytest.raises(InputError, match=said) as caught:
        book_bytes(content, title="Build book", stamp=STAMP, printer=A4)
    assert caught.value.code == code

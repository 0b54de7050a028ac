"""PDF read back by independent readers: sizes in the file, sizes in the picture, texts, settings."""

import io
import math
import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pdfplumber
import pypdf
import pypdfium2
import pytest
from checks import MM, bars, check_page, check_pdf, pdf_runs, pdf_segments
from PIL import Image
from samples import OUTLINE, STAMP, elevation, plate, strip

from spanwright.drawings.display import STROKES, Role, Sheet, Text, box
from spanwright.drawings.pdf import pdf_bytes
from spanwright.drawings.printer import Printer
from spanwright.drawings.tiles import pages
from spanwright.errors import InputError

A4 = Printer()
OFF = Printer(paper="A4", across=149.2, down=200.7)
LETTER = Printer(paper="Letter", across=151.0, down=199.0)
PRINTERS = pytest.mark.parametrize("printer", [A4, OFF, LETTER], ids=["A4", "A4 off", "Letter off"])
PIXELS = 10  # a mm, at 254 dots an inch


def made(sheet, printer=A4):
    return pages(sheet, printer=printer, stamp=STAMP)


def written(sheet, printer=A4):
    return pdf_bytes(made(sheet, printer), title=sheet.title, subject=STAMP.job)


@PRINTERS
def test_bars_in_the_file(printer):
    with pdfplumber.open(io.BytesIO(written(plate(), printer))) as pdf:
        level, upright = bars(pdf_segments(pdf.pages[0]))
    # On this printer what is drawn f times as long comes out true.
    assert level[0] * printer.across / 150.0 == pytest.approx(100.0, abs=0.02)
    assert upright[0] * printer.down / 200.0 == pytest.approx(100.0, abs=0.02)


@PRINTERS
def test_outline_in_the_file(printer):
    (page,) = made(plate(), printer)
    with pdfplumber.open(io.BytesIO(written(plate(), printer))) as pdf:
        runs = pdf_runs(pdf.pages[0])
        width = [c["linewidth"] * MM for c in pdf.pages[0].curves if len(c["pts"]) in (5, 6)]
    want = np.array([page.to_page(p) for p in OUTLINE])
    assert (
        min(max(min(math.dist(p, q) for q in run) for p in want) for run in runs if len(run) in (5, 6)) < 0.01
    )
    assert STROKES[Role.CUT].width in [pytest.approx(w, abs=1e-4) for w in width]


def grey(image):
    """Darkness, 0 to 1, rows from the top."""
    return 1.0 - np.asarray(image.convert("L"), dtype=float) / 255.0


def tick_to_tick(dark, ends, scale, *, upright):
    """Distance in mm of a bar's end ticks in a picture: centres of darkness, off the bar's own line."""
    places = []
    for x, y in ends:
        row, column = dark.shape[0] - y * scale[1], x * scale[0]
        if upright:
            column += 3.0 * scale[0]
            piece = dark[round(row) - 6 : round(row) + 6, round(column) - 4 : round(column) + 4].sum(axis=1)
        else:
            row -= 3.0 * scale[1]
            piece = dark[round(row) - 4 : round(row) + 4, round(column) - 6 : round(column) + 6].sum(axis=0)
        places.append(round(row if upright else column) + (piece * np.arange(12)).sum() / piece.sum())
    return abs(places[1] - places[0]) / scale[1 if upright else 0]


def bar_ends(page):
    """Ends of both bars as laid out, level first; in mm on the page."""
    lines = [i.points for i in page.furniture if getattr(i, "points", ()) and len(i.points) == 2]
    lengths = bars(lines)
    level = next(p for p in lines if p[0][1] == p[1][1] and abs(p[1][0] - p[0][0] - lengths[0][0]) < 1e-9)
    upright = next(p for p in lines if p[0][0] == p[1][0] and abs(p[1][1] - p[0][1] - lengths[1][0]) < 1e-9)
    return level, upright


def measure(image, page, printer):
    # PDFium stretches the page to whole pixels, by one in 2970 at most: so many pixels are a mm.
    scale = image.width / page.size[0], image.height / page.size[1]
    assert scale == pytest.approx((PIXELS, PIXELS), rel=5e-4)
    dark = grey(image)
    level, upright = bar_ends(page)
    across, down = (
        tick_to_tick(dark, level, scale, upright=False),
        tick_to_tick(dark, upright, scale, upright=True),
    )
    assert across * printer.across / 150.0 == pytest.approx(100.0, abs=0.02)
    assert down * printer.down / 200.0 == pytest.approx(100.0, abs=0.02)


@PRINTERS
def test_bars_in_the_picture(printer):
    (page,) = made(plate(), printer)
    pdf = pypdfium2.PdfDocument(written(plate(), printer))
    image = pdf[0].render(scale=254 / 72, draw_annots=False).to_pil()
    assert image.size == pytest.approx(tuple(v * PIXELS for v in page.size), abs=1)
    measure(image, page, printer)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm is not on this machine")
def test_bars_in_the_picture_of_another_reader(tmp_path):
    """Poppler moves thin lines to whole pixels, up to 0.05 mm at 254 dpi: look at ticks closer."""
    (page,) = made(plate(), OFF)
    (tmp_path / "a.pdf").write_bytes(written(plate(), OFF))
    close, window = 2540, 3.0  # dots an inch; mm around a tick
    dots = close / 25.4

    def tick(x, y, *, upright):
        x, y = (x + 3.0, y) if upright else (x, y + 3.0)  # off the bar's own line
        left, top = round((x - window / 2) * dots), round((page.size[1] - y - window / 2) * dots)
        crop = [
            "-x",
            str(left),
            "-y",
            str(top),
            "-W",
            str(round(window * dots)),
            "-H",
            str(round(window * dots)),
        ]
        command = ["pdftoppm", "-r", str(close), "-png", "-singlefile", *crop, "a.pdf", "a"]
        subprocess.run(command, cwd=tmp_path, check=True)
        with Image.open(tmp_path / "a.png") as image:
            dark = grey(image).sum(axis=1 if upright else 0)
        return ((top if upright else left) + (dark * np.arange(len(dark))).sum() / dark.sum()) / dots

    for ends, upright, measured, drawn in zip(
        bar_ends(page), (False, True), (OFF.across, OFF.down), (150.0, 200.0), strict=True
    ):
        a, b = (tick(*end, upright=upright) for end in ends)
        assert abs(b - a) * measured / drawn == pytest.approx(100.0, abs=0.02)


@pytest.mark.parametrize("sheet", [plate(), strip(), elevation()], ids=lambda s: s.id)
@PRINTERS
def test_an_independent_reader_finds_no_fault(sheet, printer):
    assert check_pdf(written(sheet, printer)) == []


def test_settings_and_fonts():
    reader = pypdf.PdfReader(io.BytesIO(written(strip(), LETTER)))
    assert reader.viewer_preferences.print_scaling == "/None"
    assert reader.metadata.title == "Pattern of the opening, top"
    for page in reader.pages:
        assert [float(v) * MM for v in page.mediabox[2:]] == pytest.approx([215.9, 279.4], abs=1e-3)
        used = [font.get_object() for font in page["/Resources"]["/Font"].values()]
        assert used
        assert all("/FontFile2" in f["/FontDescriptor"].get_object() for f in used)


def test_same_pages_same_bytes():
    assert written(strip()) == written(strip())


def test_names_in_any_script():
    made_pages = made(plate())
    data = pdf_bytes(made_pages, title="橋 <&> \x00 Ü", subject="جسر")
    assert "橋" in pypdf.PdfReader(io.BytesIO(data)).metadata.title


def test_nothing_to_write_is_refused():
    with pytest.raises(InputError, match="no page"):
        pdf_bytes([], title="none", subject="")


def test_the_checker_sees_what_it_should():
    bad = Sheet(
        id="bad",
        title="bad",
        items=(
            box((0, 0), (50, 50)),
            Text(at=(10, 10), text="one text"),
            Text(at=(11, 10.4), text="upon another", turn=0.2),
        ),
    )
    (page,) = made(bad)
    assert [f for f in check_page(page) if "text on text" in f]
    assert [f for f in check_pdf(pdf_bytes([page], title="", subject="")) if " on " in f]
    wild = replace(page, drawing=(*page.drawing, box((190, 0), (230, 20))))
    assert [f for f in check_page(wild) if "outside" in f]
    assert [f for f in check_pdf(pdf_bytes([wild], title="", subject="")) if "outside" in f]

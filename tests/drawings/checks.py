"""What every page must be: nothing outside it, no text upon another, true bars.

Made to be used on any page, and on any PDF, by tests of other folders as well.
"""

import io
import math

import numpy as np
import pdfplumber
from shapely import STRtree
from shapely.geometry import Polygon

from spanwright.drawings import fonts
from spanwright.drawings.display import Circle, Path, Text, text_box

MM = 25.4 / 72.0


def box_of(text):
    return Polygon(text_box(text, max(fonts.width(text.text, text.size, bold=text.bold), 0.05)))


def overlaps(shapes, least=0.0):
    """Pairs of shapes of which more than a share of the smaller lies on the other."""
    tree = STRtree(shapes)
    a, b = tree.query(shapes, predicate="intersects")
    for i, j in zip(a, b, strict=True):
        if i < j:
            common = shapes[i].intersection(shapes[j]).area
            if common > least * min(shapes[i].area, shapes[j].area) + 1e-6:
                yield int(i), int(j)


def check_items(items, size, edge=0.0):
    """Faults of items on a page: outside it, text upon text, nothing at all."""
    texts = [i for i in items if isinstance(i, Text) and i.text]
    points = []
    for item in items:
        if isinstance(item, Path):
            points += [(p, item) for p in item.points]
        elif isinstance(item, Circle):
            (x, y), r = item.centre, item.radius
            points += [((x - r, y - r), item), ((x + r, y + r), item)]
    points += [(p, t) for t in texts for p in box_of(t).exterior.coords]
    faults = [
        f"outside the page: {item}"
        for (x, y), item in points
        if not (edge - 1e-6 <= x <= size[0] - edge + 1e-6 and edge - 1e-6 <= y <= size[1] - edge + 1e-6)
    ]
    shapes = [box_of(t) for t in texts]
    faults += [f"text on text: {texts[i].text!r}, {texts[j].text!r}" for i, j in overlaps(shapes, 0.02)]
    if not points:
        faults.append("empty page")
    return faults


def check_page(page, margin=10.0):
    """Faults of a page made by ``tiles.pages``."""
    return check_items(page.items, page.size, edge=margin)


def _letter(char):
    """The lower half of a letter as the PDF places it, turned texts too."""
    a, b, c, d, e, f = char["matrix"]
    scale = math.hypot(a, b)
    cos, sin = abs(a) / scale, abs(b) / scale
    wide, high, adv = char["x1"] - char["x0"], char["y1"] - char["y0"], char["adv"] * scale
    size = (high - sin * adv) / cos if cos >= sin else (wide - cos * adv) / sin
    x0, x1, y1 = 0.12 * adv, 0.88 * adv, 0.5 * size
    u, v = np.array([a, b]) / scale, np.array([c, d]) / math.hypot(c, d)
    corners = [np.array([e, f]) + p * u + q * v for p, q in ((x0, 0), (x1, 0), (x1, y1), (x0, y1))]
    return Polygon(corners)


def check_pdf(data):
    """Faults of a PDF as an independent reader sees it: outside its page, letter upon letter, empty pages."""
    faults = []
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        for n, page in enumerate(pdf.pages, 1):
            wide, high = float(page.width), float(page.height)
            things = [*page.chars, *page.lines, *page.rects, *page.curves]
            if not things:
                faults.append(f"page {n} is empty")
            faults += [
                f"page {n}: outside the page: {t['object_type']} {t.get('text', '')}"
                for t in things
                if t["x0"] < -0.1 or t["y0"] < -0.1 or t["x1"] > wide + 0.1 or t["y1"] > high + 0.1
            ]
            chars = [c for c in page.chars if c["text"].strip()]
            shapes = [_letter(c) for c in chars]
            for i, j in overlaps(shapes, 0.1):
                at = f"{chars[i]['x0'] * MM:.0f}, {chars[i]['y0'] * MM:.0f} mm"
                faults.append(f"page {n}: {chars[i]['text']!r} on {chars[j]['text']!r} at {at}")
            page.close()
    return faults


def bars(segments, count=11):
    """Lengths of the level and of the upright bars among straight lines ((x0, y0), (x1, y1)).

    A bar is known by its ticks: a line on which that many others begin, at a right angle to it.
    """
    found = ([], [])
    for axis in (0, 1):
        other = 1 - axis
        along = [s for s in segments if abs(s[0][other] - s[1][other]) < 1e-4]
        ticks = [s for s in segments if abs(s[0][axis] - s[1][axis]) < 1e-4]
        for a, b in along:
            low, high = sorted((a[axis], b[axis]))
            on = {
                round(s[0][axis], 3)
                for s in ticks
                if min(abs(p[other] - a[other]) for p in s) < 1e-3
                and low - 1e-3 <= s[0][axis] <= high + 1e-3
                and 1.0 < abs(s[0][other] - s[1][other]) < 4.5
            }
            if len(on) == count:
                found[axis].append(high - low)
    return found


def pdf_segments(page):
    """Straight lines of a page of pdfplumber, in mm from its lower left corner."""
    return [((t["x0"] * MM, t["y0"] * MM), (t["x1"] * MM, t["y1"] * MM)) for t in page.lines]


def pdf_runs(page):
    """Corners of all lines of a page of pdfplumber, in mm from its lower left corner."""
    high = float(page.height)
    return [
        [(x * MM, (high - y) * MM) for x, y in t["pts"]] for t in [*page.lines, *page.curves, *page.rects]
    ]

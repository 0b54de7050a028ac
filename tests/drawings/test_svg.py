"""SVG read back: as numbers in the file, and as a picture by another renderer."""

import io
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import resvg_py
from checks import bars
from PIL import Image
from samples import OUTLINE, STAMP, elevation, plate, strip

from spanwright.drawings.display import STROKES, Role, Sheet, Text, box
from spanwright.drawings.svg import svg_text
from spanwright.errors import InputError

SVG = "{http://www.w3.org/2000/svg}"


def parsed(sheet):
    return ET.fromstring(svg_text(sheet, stamp=STAMP))


def runs(root, role):
    found = []
    for path in root.findall(f"./{SVG}g[@data-role='{role}']/{SVG}path"):
        steps = path.get("d").replace("M", "").replace("Z", "").split("L")
        found.append([tuple(float(v) for v in s.split()) for s in steps])
    return found


def test_size_is_stated_in_mm_and_the_view_is_in_mm():
    root = parsed(plate())
    wide, high = (float(root.get(k).removesuffix("mm")) for k in ("width", "height"))
    assert [float(v) for v in root.get("viewBox").split()] == [0.0, 0.0, wide, high]


@pytest.mark.parametrize("sheet", [plate(), strip()], ids=lambda s: s.id)
def test_bars(sheet):
    level, upright = bars([tuple(r) for r in runs(parsed(sheet), "fine") if len(r) == 2])
    assert level == pytest.approx([100.0], abs=1e-3)
    assert upright == pytest.approx([100.0], abs=1e-3)


def test_outline_up_to_its_place():
    (cut,) = [r for r in runs(parsed(plate()), "cut") if len(r) == 5]
    got = np.array(cut) * (1, -1)
    assert got - got[0] == pytest.approx(np.array(OUTLINE) - OUTLINE[0], abs=0.001)


def test_one_group_a_role_with_its_own_line():
    root = parsed(plate())
    groups = {g.get("data-role"): g for g in root.findall(f"{SVG}g")}
    assert len(groups) == len(root.findall(f"{SVG}g"))
    assert {"area", "cut", "fold", "centre", "outline", "fine", "text"} == set(groups)
    for role in (Role.CUT, Role.FOLD):
        assert float(groups[role.value].get("stroke-width")) == STROKES[role].width
    looks = {
        (g.get("stroke-width"), g.get("stroke-dasharray"))
        for r, g in groups.items()
        if r not in ("area", "text")
    }
    assert len(looks) == 5  # each can be told from the others without colour


def test_bar_and_diagonal_in_the_picture():
    text = svg_text(plate(), stamp=STAMP)
    root = ET.fromstring(text)
    image = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=254))))
    wide, high = (float(v) for v in root.get("viewBox").split()[2:])
    assert image.size == pytest.approx((wide * 10, high * 10), abs=1)
    dark = np.asarray(image.convert("RGBA"), dtype=float)[:, :, 3] / 255.0
    # The corner of both bars is 5 mm from the left edge; its ticks reach 4 mm, so measure at 3 mm.
    fine = runs(root, "fine")
    left = min(x for r in fine for x, _ in r)
    base = max(y for r in fine for _, y in r)

    def centre(piece):
        return (piece * np.arange(len(piece))).sum() / piece.sum()

    def column(x, y):
        a, b = round(x * 10), round(y * 10)
        return (a - 6 + 0.5 + centre(dark[b - 4 : b + 4, a - 6 : a + 6].sum(axis=0))) / 10

    def row(x, y):
        a, b = round(x * 10), round(y * 10)
        return (b - 6 + 0.5 + centre(dark[b - 6 : b + 6, a - 4 : a + 4].sum(axis=1))) / 10

    across = column(left + 100, base - 3) - column(left, base - 6)
    down = row(left + 6, base) - row(left + 3, base - 100)
    assert across == pytest.approx(100.0, abs=0.02)
    assert down == pytest.approx(100.0, abs=0.02)
    assert np.hypot(across, down) == pytest.approx(100.0 * np.sqrt(2.0), abs=0.03)


def test_texts_are_texts_and_escaped():
    name = '橋 <b>"&" Ü\x07\n'
    sheet = Sheet(id="a", title=name, items=(box((0, 0), (9, 9)), Text(at=(1, 1), text=name, turn=0.5)))
    root = parsed(sheet)
    words = [t.text for t in root.iter(f"{SVG}text")]
    assert words.count('橋 <b>"&" Ü ') == 1
    assert root.find(f"{SVG}title").text.strip() == '橋 <b>"&" Ü'


def test_what_goes_with_it_is_said_beneath():
    words = " ".join(t.text for t in parsed(plate()).iter(f"{SVG}text"))
    for part in ("Card of the plate", "full size", "printed side up", "mirrored", "7f3a", "Model only"):
        assert part in words


def test_a_drawing_not_to_full_size_has_no_bars():
    assert not runs(parsed(elevation(0.2)), "fine")
    assert "scale 1:5" in " ".join(t.text for t in parsed(elevation(0.2)).iter(f"{SVG}text"))


def test_same_sheet_same_text():
    assert svg_text(strip()) == svg_text(strip())


def test_an_empty_sheet_is_refused():
    with pytest.raises(InputError, match="bare"):
        svg_text(Sheet(id="bare", title="bare", items=()))

"""DXF read back and audited by the library that defines what others read."""

import io
import os
import subprocess
import sys
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from checks import bars
from samples import OUTLINE, STAMP, elevation, plate, strip

from spanwright.drawings.display import STROKES, Role, Sheet, Text, box
from spanwright.drawings.dxf import dxf_text
from spanwright.errors import InputError


def read(sheet):
    return ezdxf.read(io.StringIO(dxf_text(sheet, stamp=STAMP)))


@pytest.mark.parametrize("sheet", [plate(), strip(), elevation()], ids=lambda s: s.id)
def test_the_audit_finds_no_fault(sheet):
    audit = read(sheet).audit()
    assert not audit.has_errors
    assert not audit.fixes


def test_every_run_gives_the_same_text():
    """Sets of words stand in another order in each run of Python."""
    code = "from samples import STAMP, plate; from spanwright.drawings.dxf import dxf_text;"
    code += "import sys; sys.stdout.buffer.write(dxf_text(plate(), stamp=STAMP).encode())"
    paths = os.pathsep.join([str(Path(__file__).parent), *sys.path])
    texts = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONPATH": paths, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in "12345"
    ]
    assert len(set(texts)) == 1
    assert texts[0].decode() == dxf_text(plate(), stamp=STAMP)


def test_units_and_version():
    drawing = read(plate())
    assert drawing.dxfversion == "AC1024"  # R2010
    assert drawing.header["$INSUNITS"] == 4  # mm, in the DXF reference
    assert drawing.header["$MEASUREMENT"] == 1


@pytest.mark.parametrize("sheet", [plate(), strip()], ids=lambda s: s.id)
def test_bars(sheet):
    lines = [
        tuple((x, y) for x, y, *_ in line.get_points())
        for line in read(sheet).modelspace().query("LWPOLYLINE[layer=='FINE']")
    ]
    level, upright = bars([line for line in lines if len(line) == 2])
    assert level == pytest.approx([100.0], abs=1e-6)
    assert upright == pytest.approx([100.0], abs=1e-6)


def test_outline_hole_and_text():
    space = read(plate()).modelspace()
    (cut,) = space.query("LWPOLYLINE[layer=='CUT']")
    assert cut.closed
    assert np.array([p[:2] for p in cut.get_points()]) == pytest.approx(np.array(OUTLINE), abs=1e-9)
    (hole,) = space.query("CIRCLE[layer=='CUT']")
    assert (hole.dxf.center.x, hole.dxf.center.y, hole.dxf.radius) == (40.0, 30.0, 6.25)
    (word,) = [t for t in space.query("TEXT") if t.dxf.text == "town"]
    assert word.dxf.rotation == pytest.approx(90.0)
    (name,) = [t for t in space.query("TEXT") if t.dxf.text == "hole 12.5 mm"]
    assert tuple(name.get_placement()[1])[:2] == (40.0, 40.0)


def test_layers_carry_the_lines():
    drawing = read(plate())
    for role in Role:
        layer = drawing.layers.get(role.value.upper())
        assert layer.dxf.lineweight == round(100 * STROKES[role].width)
        if STROKES[role].dash:
            tags = drawing.linetypes.get(layer.dxf.linetype).pattern_tags.tags
            lengths = [abs(t.value) for t in tags if t.code == 49]
            assert lengths == pytest.approx(list(STROKES[role].dash))


def test_areas_have_a_layer_of_their_own():
    space = read(plate()).modelspace()
    assert {h.dxf.layer for h in space.query("HATCH")} == {"AREA"}
    assert len(space.query("HATCH")) == 1


def test_same_sheet_same_text():
    assert dxf_text(strip(), stamp=STAMP) == dxf_text(strip(), stamp=STAMP)


def test_the_library_is_left_as_it_was():
    before = ezdxf.options.write_fixed_meta_data_for_testing
    dxf_text(plate())
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


def test_names_in_any_script():
    name = "橋 Ü\n\x00 %%c"
    sheet = Sheet(id="a", title=name, items=(box((0, 0), (9, 9)), Text(at=(1, 1), text=name)))
    drawing = read(sheet)
    assert not drawing.audit().has_errors
    assert any("橋 Ü" in t.dxf.text for t in drawing.modelspace().query("TEXT"))


def test_an_empty_sheet_is_refused():
    with pytest.raises(InputError, match="bare"):
        dxf_text(Sheet(id="bare", title="bare", items=()))

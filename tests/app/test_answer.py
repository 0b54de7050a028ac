"""What was measured or made goes into the job file; the new answer says what changes and what is void."""

import re
from importlib import resources

import pytest

from spanwright.files.job_file import load_job
from spanwright.job import derive

pytestmark = pytest.mark.slow
LOW = "yard abutment/shaft, length = 52.4 mm by caliper"
GAP = "yard abutment / span C aisle, shoe above yard abutment shaft base = 58.2 by stepped block"


@pytest.fixture
def demo(make_job):
    text = resources.files("spanwright.files").joinpath("demo", "job.toml").read_text(encoding="utf-8")
    return make_job(text=text)


def test_a_pier_set_low_is_packed_and_the_next_is_known_better(cli, demo):
    cut = cli("build", demo, "--made", "yard abutment cut")
    assert 'state = "cut"' in (demo / "job.toml").read_text(encoding="utf-8")
    assert "No pattern or gauge that you may have printed is void" in cut.out
    kept = (demo / "job.toml").read_text(encoding="utf-8")

    refused = cli("build", demo, "--measured", LOW)
    assert refused.status == 1
    assert "CONTRADICTS" in refused.out
    assert "-1.80" in refused.out
    assert f'--measured "{LOW} certain"' in refused.out
    assert (demo / "job.toml").read_text(encoding="utf-8") == kept

    before = derive(load_job(demo))
    done = cli("build", demo, "--measured", f"{LOW} certain", "--measured", GAP)
    assert done.err == ""
    assert " , " not in done.out  # blanks about a stroke of a name as it was written
    after = derive(load_job(demo))
    assert "Packing (mm)" in done.out
    assert "sheet 1.0" in done.out
    far = float(re.search(r"bearings packed, (\d\.\d\d) mm off on average", done.out)[1])
    offs = [
        abs(float(one)) for one in re.findall(r"sheet .* (-?\d\.\d\d) ± \d\.\d\d$", done.out, re.MULTILINE)
    ]
    assert far == pytest.approx(sum(offs) / len(offs), abs=0.011)
    assert "Limits of the railhead" in done.out
    assert "Void: print these anew" in done.out
    assert "yard abutment: seat plan" in done.out
    assert "  pier 1: seat plan" not in done.out
    assert "spanwright history" in done.out
    assert "--as-it-was" in done.out  # without it what was measured is carried over: nothing would go back
    seats = [{s.bearing: s for x in p.structures.supports for s in x.seats} for p in (before, after)]
    low = [key for key in seats[0] if key.startswith("yard abutment/")]
    for key in low:
        assert float(seats[1][key].packing.value) == pytest.approx(
            float(seats[0][key].packing.value) + 1.8, abs=0.2
        )
    wanted = [
        next(c.wanted for s in p.structures.supports for c in s.cuts if c.id == "pier 1/shaft")
        for p in (before, after)
    ]
    doubts = [float(w.sd(p.inputs.spread)) for w, p in zip(wanted, (before, after), strict=True)]
    assert doubts[1] < doubts[0]


def test_what_is_cut_anew_is_not_held_to_the_readings_of_what_was_spoiled(cli, demo):
    early = cli("build", demo, "--measured", "pier 1 shaft length = 48.9 by caliper")
    assert early.status == 2
    assert '--made "pier 1 cut"' in early.err
    first = derive(load_job(demo))
    cli("build", demo, "--made", "pier 1 cut", "--measured", "pier 1 shaft length = 48.9 by caliper")
    spoiled = cli("build", demo, "--made", "pier 1 spoiled")
    assert spoiled.err == ""
    assert "former = true" in (demo / "job.toml").read_text(encoding="utf-8")
    again = cli("build", demo, "--made", "pier 1 dry-fitted")
    assert "Measured (mm)" not in again.out
    after = derive(load_job(demo))
    cuts = [
        next(c for s in p.structures.supports for c in s.cuts if c.id == "pier 1/shaft")
        for p in (first, after)
    ]
    assert cuts[1].length == cuts[0].length
    doubts = [float(c.built.sd(p.inputs.spread)) for c, p in zip(cuts, (first, after), strict=True)]
    assert doubts[1] == doubts[0]


def test_of_two_readings_the_one_that_contradicts_is_to_be_read_again(cli, demo):
    cli("build", demo, "--made", "yard abutment cut", "--made", "pier 1 cut")
    refused = cli("build", demo, "--measured", LOW, "--measured", "pier 1 shaft length = 49.1 by caliper")
    assert refused.status == 1
    assert f'--measured "{LOW} certain"' in refused.out
    assert "49.1 by caliper certain" not in refused.out


@pytest.mark.parametrize(
    ("option", "said", "told"),
    [
        ("--measured", "yard abutment/shaft, length", "this is not a reading"),
        ("--measured", "yard abutment/shaft, lenght = 3 by caliper", "no number of this name"),
        ("--measured", "yard abutment/shaft, length = 3 by caliper", "not said to be cut"),
        ("--measured", "yard abutment/shaft, length = 3 by eye", "this tool is not known"),
        ("--made", "yard abutment glued", "how far a support is"),
    ],
)
def test_nonsense_is_one_line_and_the_file_stays(cli, demo, option, said, told):
    kept = (demo / "job.toml").read_text(encoding="utf-8")
    result = cli("build", demo, option, said)
    assert result.status == 2
    assert told in result.err
    assert len(result.err.splitlines()) == 1
    assert (demo / "job.toml").read_text(encoding="utf-8") == kept
    assert not (demo / "history").exists()

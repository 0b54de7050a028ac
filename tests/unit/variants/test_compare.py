"""The demo beside the demo with a thinner cap: what differs does, what does not is left out."""

import numpy as np
import pytest

from spanwright.book.versions.compare_text import compare_text
from spanwright.cli.layout import WIDTH, plain
from spanwright.drawings.speech import Speech, Words
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Verdict
from spanwright.variants.compare import WORDS, compare, shows

NAMES = ("thick", "thin")
LESS = 1.9  # mm, the cap of the one less that of the other


def page(found, one, other):
    return "\n".join(plain(compare_text(found, NAMES, (one.say, other.say))))


def test_a_plan_beside_itself(thick):
    same = compare(thick, thick)
    assert same.is_same
    told = page(same, thick, thick)
    assert "Nothing differs" in told
    assert f"all {len(thick.plan.clearance.gaps)} gaps" in " ".join(told.split())


def test_the_readings_are_the_same_and_the_decision_is_named(found):
    assert (found.readings, found.sizes) == ((), ())
    assert [(d.what, d.one, d.other) for d in found.decided] == [("supports, bent, cap", "4.0", "2.1")]
    assert not found.is_same


def test_gaps_are_counted_by_word(found, thick, thin):
    for word, one, other in found.counts:
        assert one == sum(g.verdict is word for g in thick.plan.clearance.gaps)
        assert other == sum(g.verdict is word for g in thin.plan.clearance.gaps)
    assert sum(one for _, one, _ in found.counts) == len(thick.plan.clearance.gaps)


def test_gaps_whose_word_changes_are_all_there_and_no_others(found, thick, thin):
    other = {g.id: g for g in thin.plan.clearance.gaps}
    changed = {g.id for g in thick.plan.clearance.gaps if g.verdict is not other[g.id].verdict}
    assert changed == {one.id for one, _ in found.words}
    assert changed
    ranks = [min(WORDS.index(g.verdict) for g in pair) for pair in found.words]
    assert ranks == sorted(ranks)
    assert found.only == ((), ())


def test_the_gap_under_the_cap_grows_by_what_the_cap_loses(found):
    one, other = next(pair for pair in found.words if pair[0].part == "bent/cap")
    assert one.verdict is not Verdict.CLEAR
    assert other.verdict is Verdict.CLEAR
    assert float(other.gap.value - one.gap.value) == pytest.approx(LESS, abs=0.05)


def test_what_is_cut_otherwise(found):
    sizes = {(s.id, s.name): s for s in found.cuts}
    cap = sizes["bent/cap", "depth"]
    assert (cap.one.cut, cap.other.cut) == (4.0, 2.1)
    for side in ("left", "right"):
        column = sizes[f"bent/column {side}", "height"]
        assert float(column.other.finished.value - column.one.finished.value) == pytest.approx(LESS, abs=0.01)
    assert {key.split("/")[0] for key, _ in sizes} == {"bent"}
    assert found.buys == ()


def test_seats_stay_where_the_rails_ask_for_them(found):
    assert not [h for h in found.heights if h.name in ("railhead", "seat")]


def test_the_least_gaps_of_both_are_there(found, thick, thin):
    ids = {(one or other).id for one, other in found.least}
    for variant in (thick, thin):
        near = [g for g in variant.plan.clearance.gaps if not g.beyond_reach]
        assert min(near, key=lambda g: float(g.gap.value)).id in ids


def test_the_other_way_round_it_is_the_mirror(found, thick, thin):
    back = compare(thin, thick)
    assert {(a.id, b.id) for b, a in back.words} == {(a.id, b.id) for a, b in found.words}
    assert [(word, b, a) for word, a, b in back.counts] == list(found.counts)
    assert {(s.id, s.name) for s in back.cuts} == {(s.id, s.name) for s in found.cuts}
    assert back.findings == found.findings[::-1]


def test_it_is_one_page(found, thick, thin):
    told = page(found, thick, thin)
    for part in (
        "Both rest on the same readings.",
        "supports, bent, cap",
        "From thick to thin:",
        "Gaps by word",
        "Gaps whose word changes (mm)",
        "Least gaps (mm)",
        "Cut sizes (mm)",
        "± is give or take",
    ):
        assert part in told
    lines = told.splitlines()
    assert len(lines) <= 70
    assert max(map(len, lines)) <= WIDTH
    assert "NOT A FAIR" not in told


MM = Speech(words=Words(left="l", right="r", start="s", finish="f"), inputs=Inputs(items=()), k=2.0)
INCH = Speech(
    words=Words(left="l", right="r", start="s", finish="f", unit="inch"), inputs=Inputs(items=()), k=2.0
)


@pytest.mark.parametrize(
    ("one", "other", "say", "differs"),
    [
        ((10.0, 0.1), (10.0, 0.1), MM, False),
        ((10.0, 0.1), (10.001, 0.1), MM, False),
        ((10.0, 0.1), (10.2, 0.1), MM, True),
        ((10.0, 0.1), (10.0, 0.2), MM, True),
        # either side of the middle between two printed figures, a hair apart
        ((10.005 - 1e-9, 0.1), (10.005 + 1e-9, 0.1), MM, False),
        ((10.015 - 1e-9, 0.1), (10.015 + 1e-9, 0.1), MM, False),
        ((10.0, 0.0), (np.inf, 0.0), MM, True),
        ((254.0, 1.0), (254.0 + 1e-6, 1.0), INCH, False),
        ((254.0, 1.0), (257.0, 1.0), INCH, True),
    ],
)
def test_only_what_shows_in_print_differs(one, other, say, differs):
    assert shows(one, other, say) is differs
    assert shows(other, one, say) is differs


def test_a_moved_pier_moves_heights_and_cuts(text, thick, variant):
    """Without trains, so that it is quick: what the page says of the bridge is what the two bridges say."""
    moved = variant(text.replace('name         = "pier 1"', 'name = "pier 1"\nshift = "3"'), trains=False)
    found = compare(thick, moved)
    assert [d.what for d in found.decided] == ["supports, pier 1, shift"]
    seats = {h.id: (h.one, h.other) for h in found.heights if h.name == "seat"}
    bearings = {b.id: b for b in moved.plan.structures.bearings}
    for one in thick.plan.structures.bearings:
        gap = abs(float(one.seat.value - bearings[one.id].seat.value))
        assert gap < 0.0101 if one.id not in seats else gap >= 0.005
    assert any(key.startswith("pier 1/") for key in seats)
    cuts = {c.id: c.length for s in thick.plan.structures.supports for c in s.cuts}
    after = {c.id: c.length for s in moved.plan.structures.supports for c in s.cuts}
    differing = {key for key in cuts if cuts[key] != after[key]}
    assert differing <= {c.id for c in found.cuts}
    told = page(found, thick, moved)
    assert "Heights and packing at the bearings (mm)" in told
    assert "Found only for thin" in told  # the girders' ends meet over the bent, or the like

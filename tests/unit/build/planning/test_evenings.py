"""Work shared out over evenings: against every order of small networks, and by hand."""

import random
from itertools import pairwise

import pytest

from spanwright.build.planning.evenings import evenings_of, least_evenings, placed, share_out
from spanwright.build.planning.network import Activity
from spanwright.errors import InputError

EVENING = 2.0


def act(key, work, wait=0.0, needs="", follows=""):
    return Activity(id=key, work=work, wait=wait, needs=tuple(needs), follows=tuple(follows))


def chance_network(rng, most=6):
    activities = []
    for k in range(rng.randint(1, most)):
        before = [a.id for a in activities]
        needs = rng.sample(before, rng.randint(0, min(2, len(before))))
        activities.append(act("abcdefgh"[k], rng.randint(1, 14) / 4.0, rng.choice([0, 0, 3, 12, 24]), needs))
    return activities


class Every:
    """Every order of a network tried, quarter hour by quarter hour: slow, and told in another way."""

    def __init__(self, activities):
        self.known = {a.id: a for a in activities}
        self.seen = {}

    def fewest(self, clock=0, rest=None, ready=None):
        """Fewest evenings from a moment on; rest is work begun and laid aside, ready what is done."""
        rest, ready = rest or {}, ready or {}
        open_ = [a for a in self.known.values() if a.id not in ready]
        if not open_:
            return -(-clock // 96)
        state = (clock, tuple(sorted(rest.items())), tuple(sorted(ready.items())))
        if state not in self.seen:
            self.seen[state] = min(self._tried(clock, rest, ready, open_))
        return self.seen[state]

    def _tried(self, clock, rest, ready, open_):
        room = 8 - clock % 96
        if room <= 0:
            yield self.fewest(clock - clock % 96 + 96, rest, ready)
            return
        able = [a for a in open_ if all(ready.get(n, 10**9) <= clock for n in a.needs)]
        for one in able:
            whole = round(one.work * 4)
            left = rest.get(one.id, whole)
            if left <= room:
                after = {k: v for k, v in rest.items() if k != one.id}
                over = clock + left
                yield self.fewest(over, after, {**ready, one.id: over + round(one.wait * 4)})
            elif whole > 8:
                yield self.fewest(clock + room, {**rest, one.id: left - room}, ready)
        later = [t for t in ready.values() if clock < t < clock + room]
        if room < 8 or any(t > clock for t in ready.values()):  # else nothing is gained by waiting
            yield self.fewest(min(later, default=clock - clock % 96 + 96), rest, ready)


@pytest.mark.parametrize("seed", range(40))
def test_between_the_bound_and_what_the_best_order_takes(seed):
    activities = chance_network(random.Random(seed), most=5)
    least = least_evenings(activities, EVENING)
    assert least <= Every(activities).fewest() <= evenings_of(share_out(activities, EVENING))


def test_the_rule_of_thumb_is_seldom_off():
    off = 0
    for seed in range(40):
        activities = chance_network(random.Random(seed), most=5)
        off += evenings_of(share_out(activities, EVENING)) > Every(activities).fewest()
    assert off <= 4  # one in ten: what it is worth, not a promise


@pytest.mark.parametrize("seed", range(40, 80))
def test_one_thing_at_a_time_in_evenings_and_nothing_too_early(seed):
    activities = chance_network(random.Random(seed), most=8)
    slots = share_out(activities, EVENING)
    over = {s.id: s for s in slots if not s.left}
    for one in activities:
        mine = [s for s in slots if s.id == one.id]
        assert all(mine[0].start >= over[n].ready - 1e-9 for n in one.needs)
        assert sum(s.end - s.start for s in mine) == pytest.approx(one.work)
        assert len(mine) == 1 or one.work > EVENING
        assert over[one.id].ready == over[one.id].end + one.wait
    for slot in slots:
        assert slot.start % 24 < EVENING
        assert slot.end <= 24 * (slot.evening - 1) + EVENING + 1e-9
    assert all(b.start >= a.end - 1e-9 for a, b in pairwise(slots))


def test_by_hand():
    # a is glued and left overnight; b is long and fills the time, laid aside for c when a's glue is hard
    given = [act("a", 0.5, 12), act("b", 5.0), act("c", 1.0, 20, "a"), act("d", 1.0, needs="c")]
    slots = share_out(given, EVENING)
    assert [(s.id, s.start, s.end, s.left) for s in slots] == [
        ("a", 0.0, 0.5, 0.0),
        ("b", 0.5, 2.0, 3.5),
        ("c", 24.0, 25.0, 0.0),
        ("b", 25.0, 26.0, 2.5),
        ("b", 48.0, 50.0, 0.5),
        ("d", 72.0, 73.0, 0.0),
        ("b", 73.0, 73.5, 0.0),
    ]
    assert [s.evening for s in slots] == [1, 1, 2, 2, 3, 4, 4]
    assert (evenings_of(slots), least_evenings(given, EVENING)) == (4, 4)


def test_what_follows_an_activity_is_done_at_once_in_the_same_evening():
    # 1.5 h of other work leave half an hour: glue alone would fit, glue and its reading do not
    given = [act("x", 1.5), act("g", 0.4, 24, "x"), act("r", 0.2, follows="g"), act("y", 0.3, needs="x")]
    found = {s.id: s for s in share_out(given, EVENING)}
    assert found["y"].start == 1.5
    assert (found["g"].start, found["r"].start) == (24, pytest.approx(24.4))


def test_a_cure_that_is_under_way_takes_no_hands():
    given = [act("g", 0.0, 10), act("a", 1.0), act("b", 1.0, needs="g")]
    found = {s.id: s.start for s in share_out(given, EVENING)}
    assert found == {"g": 0, "a": 0, "b": 24}


def test_long_work_goes_on_evening_after_evening():
    assert placed(1.5, 4.0, 2.0) == (1.5, 49.5)
    assert placed(1.5, 2.5, 2.0) == (1.5, 26.0)
    assert placed(2.0, 1.0, 2.0) == (24.0, 25.0)
    assert placed(5.0, 0.0, 2.0) == (5.0, 5.0)
    assert placed(0.0, 5.0, 24.0) == (0.0, 5.0)


def test_no_work_takes_no_evening():
    assert (share_out((), EVENING), least_evenings((), EVENING), evenings_of(())) == ((), 0, 0)


@pytest.mark.parametrize("hours", [0.0, -1.0, 25.0, float("nan"), float("inf")])
def test_an_evening_that_cannot_be_meant(hours):
    for reckon in (share_out, least_evenings):
        with pytest.raises(InputError, match="evening") as caught:
            reckon([act("a", 1.0)], hours)
        assert caught.value.code == "BU003"
        assert repr(hours) in str(caught.value)

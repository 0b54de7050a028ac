"""The critical path against every path of small networks walked by hand, and what makes one impossible."""

import random

import pytest

from spanwright.build.planning.network import Activity, critical_path, find_ring, in_sequence
from spanwright.errors import InputError


def paths(activities):
    """Every path as (ids, length, start of its last), longest chains of all being the answer."""
    known = {a.id: a for a in activities}
    found = []

    def back(one, ids, spent):
        before = [(known[k], known[k].work + known[k].wait) for k in one.needs]
        before += [(known[k], known[k].work) for k in one.follows]
        found.append((ids, spent))
        for other, time in before:
            back(other, (other.id, *ids), spent + time)

    for one in activities:
        back(one, (one.id,), 0)
    return found


def chance_network(rng):
    activities = []
    for k in range(rng.randint(1, 7)):
        before = [a.id for a in activities]
        needs = tuple(rng.sample(before, rng.randint(0, min(2, len(before)))))
        rest = [b for b in before if b not in needs]
        follows = tuple(rng.sample(rest, rng.randint(0, min(1, len(rest)))))
        work, wait = rng.randint(0, 9), rng.choice([0, 0, 4, 24])
        activities.append(Activity(id=f"{k}", work=work, wait=wait, needs=needs, follows=follows))
    rng.shuffle(activities)
    return activities


@pytest.mark.parametrize("seed", range(60))
def test_against_every_path_of_a_small_network(seed):
    activities = chance_network(random.Random(seed))
    found = critical_path(activities)
    every = paths(activities)
    known = {a.id: a for a in activities}
    whole = {k: a.work + a.wait for k, a in known.items()}
    for t in found.timed:
        key = t.activity.id
        assert t.earliest_start == max(spent for ids, spent in every if ids[-1] == key)
        after = max(spent + whole[ids[-1]] for ids, spent in every if ids[0] == key)
        assert t.latest_start == found.length - after
    assert found.length == max(spent + whole[ids[-1]] for ids, spent in every)
    spent = next(spent for ids, spent in every if ids == found.chain)
    assert spent + whole[found.chain[-1]] == found.length
    assert set(found.chain) <= set(found.critical)


def test_a_wait_holds_up_what_needs_it_but_not_what_follows():
    glue = Activity(id="glue", work=1, wait=24)
    read = Activity(id="read", work=0.5, follows=("glue",))
    pack = Activity(id="pack", work=2, needs=("glue", "read"))
    found = {t.activity.id: t for t in critical_path((glue, read, pack)).timed}
    assert [found[k].earliest_start for k in ("glue", "read", "pack")] == [0, 1, 25]
    assert [found[k].slack for k in ("glue", "read", "pack")] == [0, 23.5, 0]
    assert (found["read"].earliest_finish, found["read"].latest_finish) == (1.5, 25)


def test_nothing_takes_no_time():
    found = critical_path(())
    assert (found.length, found.work, found.chain, found.critical) == (0.0, 0, (), ())


def test_the_order_given_is_kept_where_it_can_be():
    late = Activity(id="c", work=1, needs=("a",))
    assert [a.id for a in in_sequence((late, Activity(id="b", work=1), Activity(id="a", work=1)))] == [
        "b",
        "a",
        "c",
    ]


@pytest.mark.parametrize(
    ("activities", "where", "value"),
    [
        ([("a", 1, 0, "b"), ("b", 1, 0, "c"), ("c", 1, 0, "b"), ("d", 1, 0, "a")], None, "b after c after b"),
        ([("a", 1, 0, "a")], None, "a after a"),
        ([("a", 1, 0, "x")], "a", "x"),
        ([("a", 1, 0, ""), ("a", 2, 0, "")], "a", 2),
        ([("a", -1, 0, "")], "a", -1),
        ([("a", 1, -24, "")], "a", -24),
        ([("a", float("inf"), 0, "")], "a", float("inf")),
    ],
    ids=["ring", "itself", "gone", "twice", "negative work", "negative wait", "endless"],
)
def test_an_impossible_network_says_what_and_where(activities, where, value):
    given = [Activity(id=k, work=d, wait=w, needs=tuple(n)) for k, d, w, n in activities]
    with pytest.raises(InputError) as caught:
        critical_path(given)
    error = caught.value
    assert (error.code, error.where, error.value) == ("BU002", where or "what waits for what", value)
    assert str(value) in str(error)


def test_a_network_without_a_ring_has_none():
    assert find_ring({"a": ("b", "c"), "b": ("c",), "c": ()}) == ()

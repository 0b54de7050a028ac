"""Two critical-path examples of public teaching pages, whole numbers, no waits.

CPM-01: "Example Problem", six activities, https://www.scribd.com/document/783336345/Example-Problem
(read in a copy of the page). It prints one critical path, A-B-D-E-F; A-C-E-F is as long.

CPM-03: "Example 1", an assembly of seven activities, https://studylib.net/doc/8378728/

Tolerance: none, all are whole numbers.
"""

import pytest

from spanwright.build.planning.network import Activity, critical_path

SIX = "Example Problem (six activities), scribd.com document 783336345"
SEVEN = "Example 1 (assembly of seven activities), studylib.net doc 8378728"


def network(**activities):
    given = [Activity(id=k, work=time, needs=tuple(needs)) for k, (time, needs) in activities.items()]
    found = critical_path(given)
    return found, {t.activity.id: t for t in found.timed}


@pytest.mark.validates(source=SIX, item="CPM-01: six activities, two critical paths", page="web page")
def test_six_activities():
    found, times = network(A=(4, ""), B=(3, "A"), C=(5, "A"), D=(2, "B"), E=(6, "CD"), F=(4, "E"))
    assert found.length == 19
    early = {"A": 0, "B": 4, "C": 4, "D": 7, "E": 9, "F": 15}
    assert {k: t.earliest_start for k, t in times.items()} == early
    assert {k: t.latest_start for k, t in times.items()} == early
    assert [t.slack for t in times.values()] == [0] * 6
    assert "".join(found.critical) == "ABCDEF"
    assert "".join(found.chain) in ("ABDEF", "ACEF")


@pytest.mark.validates(source=SEVEN, item="CPM-03: assembly of seven activities", page="web page")
def test_seven_activities():
    found, times = network(A=(6, ""), B=(2, "A"), C=(2, "A"), D=(3, "B"), F=(2, "C"), E=(4, "DF"), G=(1, "E"))
    assert found.length == 16
    assert "".join(found.chain) == "".join(sorted(found.critical)) == "ABDEG"
    assert {k: times[k].latest_start for k in "CF"} == {"C": 7, "F": 9}
    assert {k: times[k].slack for k in "CF"} == {"C": 1, "F": 1}

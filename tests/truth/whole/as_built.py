"""Some of the work is done and read: what the plan then says, and whether reading late equals reading early."""

from __future__ import annotations

from dataclasses import replace

from spanwright.job import Choices, Plan, derive
from spanwright.measured.given import Made, Measured, PartState
from spanwright.structures.given import Standing
from truth.whole.as_true import AsTrue
from truth.whole.jobs import Known

#: What is read when supports stand: number, mark it is read from, doubt of the reading. [mm]
READ = (
    ("pier 1/shaft/length", "", 0.05),
    ("bent/column left/length", "", 0.05),
    ("town abutment/cap top", "P5", 0.1),
    ("pier 1/span A/left/packing", "", 0.1),
    ("bent/cap top", "P6", 0.1),
)
MADE = ("town abutment", "pier 1", "bent")
LATE = 0.3  # mm, of the level


def as_built(known: Known, plan: Plan, true: AsTrue) -> Plan:
    """Cut and set three supports, read some of what has become of them, and derive the plan again."""
    really = {q.id: float(q.value.value) for q in true.structures.quantities}
    marks, rng = known.world.truth.marks, known.rng
    some = sorted(rng.choice(len(READ), size=3, replace=False))
    readings = []
    for k in some:
        number, above, sd = READ[k]
        value = really[number] - (marks[above][2] if above else 0.0) + rng.normal(0.0, sd)
        readings.append(Measured(id=f"m{k}", number=number, above=above, value=value, sd=sd, tool="caliper"))
    cuts, stations = dict(plan.structures.choices.cuts), dict(plan.structures.choices.stations)
    made = tuple(Made(part=p, state=PartState.BUILT, lengths=cuts[p], station=stations[p]) for p in MADE)
    standing = tuple(Standing(support=m.part, lengths=m.lengths, station=m.station) for m in made)
    job = replace(
        plan.job,
        structures=replace(plan.job.structures, standing=standing),
        clearance=replace(plan.job.clearance, runs=plan.job.clearance.runs[:1]),
        made=made,
        measured=tuple(readings),
    )
    return derive(job, Choices(alignment=plan.choices.alignment, structures=None, clearance=None))


def late_and_early(known: Known) -> tuple[float, float]:
    """Read one height late, as a number of the plan, or early, in the survey: by how much they differ.

    Returns the largest difference of the bridge's numbers in parts of their doubt, and that of the doubts.
    """
    job = replace(known.job, clearance=None)
    rows = [key for key, row in known.world.truth.rows["heights"] if row.startswith('of = "b')]
    key = rows[int(known.rng.integers(4, len(rows) - 4))]
    mark, above = dict(known.world.truth.rows["heights"])[key].split('"')[1::2][:2]
    value = float(job.inputs[key].value)
    early = replace(job, survey=replace(job.survey, set_aside=job.survey.set_aside | {key}))
    before = derive(early)
    held = Choices(alignment=before.choices.alignment, structures=before.choices.structures, clearance=None)
    late = Measured(id="late", number=f"{mark}/height", above=above, value=value, sd=LATE, tool="level")
    one, other = derive(replace(early, measured=(late,)), held), derive(job, held)
    if not one.choices.taught.tested[0].used:
        return float("nan"), float("nan")
    apart, wider = 0.0, 0.0
    for a, b in zip(one.structures.quantities, other.structures.quantities, strict=True):
        u, v = float(a.value.sd(one.inputs.spread)), float(b.value.sd(other.inputs.spread))
        if v > 0.0:
            apart = max(apart, abs(float(a.value.value) - float(b.value.value)) / v)
            wider = max(wider, abs(u / v - 1.0))
    return apart, wider

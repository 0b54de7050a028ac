"""The survey stage: readings in, adjusted marks with their derivatives out.

Order to read: :func:`adjust_survey`, then ``network`` (which unknowns), ``equations`` (what each
reading shows), ``rough`` (where to start).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.errors import NoSolutionError, NotConvergedError
from spanwright.estimation.adjust import (
    UNCHECKED,
    Adjustment,
    Problem,
    adjust,
    adjust_near,
    misfit,
    residuals,
)
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.estimation.reliability import Suspects, critical_value, find_suspects
from spanwright.findings import Finding, Severity
from spanwright.survey.network import (
    Network,
    build_network,
    build_problem,
    centred_heights,
    inner_constraints,
)
from spanwright.survey.readings import DatumKind, Mark, SurveyInput
from spanwright.survey.rough import RoughPlaces, reflect, rough_places

FloatArray = np.ndarray

#: How much better the square sum of one side must be before a two-sided mark is believed.
SURE = 12.0
#: A mirrored place whose square sum is worse by this (a hundred doubts) is no rival to a good fit.
HOPELESS = 1e4


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspicion:
    """A contradiction between readings.

    Parameters
    ----------
    readings : tuple of str
        Ids that may cause it, likeliest first; more than one means "cannot tell which of these".
    standardised : tuple of float
        Their standardised residuals. [1]
    slips : tuple of float
        By how much each would be wrong if it alone were, in the reading's own unit. [any]
    """

    readings: tuple[str, ...]
    standardised: tuple[float, ...]
    slips: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AdjustedSurvey:
    """All that the survey stage knows.

    Parameters
    ----------
    marks : tuple of Mark
        The marks, as given.
    names : tuple of str
        Names of the unknowns: ``mark.x``, ``.y``, ``.z``, ``.c`` (cant), or a shared error's id.
    values : Derived
        Adjusted unknowns with derivatives, shape (u,).
    reading_ids : tuple of str
        Ids of the observations, shared errors last.
    adjustment : Adjustment
        Residuals, redundancy and the rest.
    residual_by_input : ndarray, shape (n, inputs)
        Derivatives of the residuals to the base inputs. [any]
    computed_by_input : ndarray, shape (n, inputs)
        Derivatives of what the adjusted marks would show. [any]
    suspects : tuple of Suspicion
        Contradictions; all readings are still in.
    limit : float
        Limit of the standardised residuals. [1]
    unchecked : tuple of str
        Readings that nothing else checks.
    findings : tuple of Finding
        What the builder should know.
    """

    marks: tuple[Mark, ...]
    names: tuple[str, ...]
    values: Derived
    reading_ids: tuple[str, ...]
    adjustment: Adjustment
    residual_by_input: FloatArray
    computed_by_input: FloatArray
    suspects: tuple[Suspicion, ...]
    limit: float
    unchecked: tuple[str, ...]
    findings: tuple[Finding, ...]

    def has(self, name: str) -> bool:
        """Tell whether an unknown was adjusted.

        Parameters
        ----------
        name : str
            Such as ``b3.z``.

        Returns
        -------
        bool
            True if it was.
        """
        return name in self.names

    def value(self, name: str) -> Derived:
        """Return one adjusted unknown.

        Parameters
        ----------
        name : str
            Such as ``b3.z``.

        Returns
        -------
        Derived
            A scalar.

        Raises
        ------
        NoSolutionError
            If nothing was read that leads to it.
        """
        if name not in self.names:
            raise NoSolutionError(
                f"nothing was read that gives {name}",
                code="SU023",
                where=name.rpartition(".")[0],
                hint="Measure it",
            )
        return self.values[self.names.index(name)]


def adjust_survey(given: SurveyInput, inputs: Inputs, near: AdjustedSurvey | None = None) -> AdjustedSurvey:
    """Adjust all readings together.

    Parameters
    ----------
    given : SurveyInput
        Marks, readings, datum.
    inputs : Inputs
        The base inputs.
    near : AdjustedSurvey, optional
        A former answer with the same unknowns: the steps start there, and every mark stays on its side. It
        is right but for the last bits if no mark ought to change sides.

    Returns
    -------
    AdjustedSurvey
        Adjusted unknowns, residuals, suspects.

    Raises
    ------
    InputError
        If a reading or the datum names what is not there.
    NoSolutionError
        If the readings leave a mark undetermined, or on either side of a line.
    NotConvergedError
        If the adjustment does not settle.
    """
    network = build_network(given, inputs)
    if near is not None and near.names == network.names:
        adjustment = _solve(given, network, near.values.value, near=True)
    else:
        rough = rough_places(given, network)
        adjustment = _solve(given, network, _better_hand(given, network, rough))
        adjustment = _right_side(given, network, adjustment, rough.two_sided)
    values = Derived(adjustment.values, _by_inputs(adjustment.by_observed, network.observed.jac))
    ids = tuple(r.id for r in network.readings) + network.shared
    found = find_suspects(
        adjustment.residuals, network.sds, adjustment.residual_by_observed, unchecked=UNCHECKED
    )
    suspects = tuple(_suspicion(s, ids) for s in found)
    unchecked = tuple(i for i, r in zip(ids, adjustment.redundancy, strict=True) if r <= UNCHECKED)
    checked = int(np.sum(adjustment.redundancy > UNCHECKED))
    residual_by_input = _by_inputs(adjustment.residual_by_observed, network.observed.jac)
    return AdjustedSurvey(
        marks=given.marks,
        names=network.names,
        values=values,
        reading_ids=ids,
        adjustment=adjustment,
        residual_by_input=residual_by_input,
        computed_by_input=network.observed.jac - residual_by_input,
        suspects=suspects,
        limit=critical_value(checked),
        unchecked=unchecked,
        findings=_findings(suspects, unchecked, adjustment, given),
    )


def _by_inputs(by_observed: FloatArray, jac: FloatArray) -> FloatArray:
    """Return ``by_observed @ jac``; most inputs are known to one observation only: a column is moved then."""
    known = jac != 0.0
    count = np.sum(known, axis=0)
    own, shared = np.flatnonzero(count == 1), np.flatnonzero(count > 1)
    rows = np.argmax(known[:, own], axis=0)
    found = np.zeros((len(by_observed), jac.shape[1]))
    found[:, own] = by_observed[:, rows] * jac[rows, own]
    found[:, shared] = by_observed @ jac[:, shared]
    return found


def _solve(given: SurveyInput, network: Network, start: FloatArray, *, near: bool = False) -> Adjustment:
    problem = build_problem(network, start)
    if given.datum.kind is DatumKind.FREE:
        start = centred_heights(network, start)
        problem = replace(problem, start=start)
        problem = replace(problem, constraints=inner_constraints(network, start))
    try:
        return adjust_near(problem) if near else adjust(problem)
    except NotConvergedError as error:
        raise NotConvergedError(
            error.what, code=error.code, where="survey", hint=f"Look for a slip: {_worst(network, problem)}"
        ) from error


def _worst(network: Network, problem: Problem) -> str:
    """Name the readings that fit the rough places worst."""
    off = np.abs(residuals(problem, problem.start) / problem.sds)[: len(network.readings)]
    names = [network.readings[k].id for k in np.argsort(-off)[:3]]
    return f"the readings that fit least are {', '.join(names)}"


def _mirrored(network: Network, values: FloatArray, mark: str, a: str, b: str) -> FloatArray:
    index = {n: k for k, n in enumerate(network.names)}
    at = {m: values[[index[f"{m}.x"], index[f"{m}.y"]]] for m in (mark, a, b)}
    start = values.copy()
    start[[index[f"{mark}.x"], index[f"{mark}.y"]]] = reflect(at[mark], at[a], at[b])
    return start


def _may_be_mirrored(given: SurveyInput, two_sided: tuple[tuple[str, str, str], ...]) -> bool:
    hinted = any(m.rough is not None for m in given.marks)
    return bool(two_sided) and given.datum.kind is not DatumKind.FIXED and not hinted


def _all_mirrored(network: Network, values: FloatArray) -> FloatArray:
    start = values.copy()
    start[[k for k, n in enumerate(network.names) if n.endswith(".y")]] *= -1.0
    return start


def _better_hand(given: SurveyInput, network: Network, rough: RoughPlaces) -> FloatArray:
    """Start from the layout or its mirror image, whichever the readings like better.

    The steps from the wrong one may never settle.
    """
    if not _may_be_mirrored(given, rough.two_sided):
        return rough.start
    starts = (rough.start, _all_mirrored(network, rough.start))
    return min(starts, key=lambda start: misfit(build_problem(network, start), start))


def _right_side(
    given: SurveyInput, network: Network, best: Adjustment, two_sided: tuple[tuple[str, str, str], ...]
) -> Adjustment:
    """Try the mirrored places; keep the better fit, refuse when both fit."""
    hinted = {m.name for m in given.marks if m.rough is not None}
    trials: list[tuple[str, FloatArray]] = []
    if _may_be_mirrored(given, two_sided):
        trials.append(("the whole layout", _all_mirrored(network, best.values)))
    trials += [(m, _mirrored(network, best.values, m, a, b)) for m, a, b in two_sided if m not in hinted]
    for mark, start in trials:
        fits = best.chi_square < 4.0 * max(best.degrees_of_freedom, 1)
        if fits and misfit(build_problem(network, start), start) > best.chi_square + HOPELESS:
            continue
        try:
            other = _solve(given, network, start)
        except (NoSolutionError, NotConvergedError, ArithmeticError, np.linalg.LinAlgError):
            continue
        if np.max(np.abs(other.values - best.values)) < 1e-3:
            continue
        if other.chi_square < best.chi_square - SURE:
            best = other
        elif other.chi_square < best.chi_square + SURE:
            raise NoSolutionError(
                f"the readings allow {mark} to lie on either side",
                code="SU024",
                where=mark,
                hint="Give a rough place for one mark, or an offset with its side",
            )
    return best


def _suspicion(found: Suspects, ids: tuple[str, ...]) -> Suspicion:
    return Suspicion(
        readings=tuple(ids[k] for k in found.rows), standardised=found.standardised, slips=found.slips
    )


def _findings(
    suspects: tuple[Suspicion, ...], unchecked: tuple[str, ...], adjustment: Adjustment, given: SurveyInput
) -> tuple[Finding, ...]:
    found = []
    for s in suspects:
        alone = len(s.readings) == 1
        text = (
            f"reading {s.readings[0]} does not agree with the rest"
            if alone
            else "cannot tell which of these is wrong: " + ", ".join(s.readings)
        )
        found.append(
            Finding(
                code="SU101",
                severity=Severity.WARNING,
                where=s.readings[0],
                text=text,
                value=abs(s.standardised[0]),
                remedy="Read it again; if it was a slip, correct it or list it under set_aside",
                source="Baarda's test of standardised residuals, limit by Sidak",
            )
        )
    if unchecked:
        found.append(
            Finding(
                code="SU102",
                severity=Severity.NOTE,
                where=", ".join(unchecked),
                text="nothing else checks these readings: a slip in one of them would not be seen",
                remedy="One more reading to the same mark checks them",
            )
        )
    dof = adjustment.degrees_of_freedom
    if not suspects and dof >= 5 and abs(adjustment.scale - 1.0) > 2.0 / np.sqrt(2.0 * dof) * 1.5:
        wider = "worse" if adjustment.scale > 1.0 else "better"
        found.append(
            Finding(
                code="SU103",
                severity=Severity.NOTE,
                where="survey",
                text=f"the readings agree {wider} than their stated doubts say; the stated doubts are used",
                value=adjustment.scale,
                limit=1.0,
                remedy="Restate the tools' doubts if they were guessed",
            )
        )
    found += [
        Finding(code="SU104", severity=Severity.NOTE, where=key, text="set aside by the builder: not used")
        for key in sorted(given.set_aside)
    ]
    return tuple(found)

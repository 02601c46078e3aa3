"""The solvers: CP-SAT and HiGHS, which share no code, on one and the same model."""

from __future__ import annotations

import time
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import floor, inf, isfinite, log10
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leyfold.plan.linear import Linear, Solved

__all__ = ["Relaxed", "highs_model", "relaxed", "run_highs", "solve_cpsat", "solve_highs", "version"]

FAR = 2**62
UNIT = 100_000.0
"""Gain is handed to HiGHS in so much of its whole numbers."""


def version() -> str:
    """Name and version of the solver that plans."""
    from importlib.metadata import version as installed

    return f"CP-SAT {installed('ortools')}"


def solve_cpsat(
    linear: Linear,
    *,
    effort: float,
    seconds: float,
    seed: int = 0,
    groups: Collection[str] | None = None,
    hint: Sequence[int] | None = None,
    fixed: Mapping[int, int] = MappingProxyType({}),
    level: int = 1,
    brief: bool = False,
    any_answer: bool = False,
) -> Solved:
    """The answer with the largest gain, with `effort` units of deterministic work and `seconds` as a cap.

    `groups`: only the rows of these are held to. `hint`: values to begin from. `fixed`: variables that keep a
    value. `level`: how much of the model its relaxation holds, 0 to 2. `brief`: little is thought before
    the search, which suits a small part of a model. `any_answer`: the first will do.
    One search at a time: the same answer on any machine, however many cores it has.
    """
    from ortools.sat.python import cp_model_helper as cp_sat

    began = time.monotonic()
    parameters = cp_sat.SatParameters()
    parameters.random_seed = seed
    parameters.num_workers = 1
    parameters.linearization_level = level
    parameters.max_deterministic_time = effort
    if brief:
        parameters.cp_model_probing_level = 0
        parameters.symmetry_level = 0
        parameters.max_presolve_iterations = 1
    parameters.max_time_in_seconds = max(seconds, 0.01)
    solver: Any = cp_sat.SolveWrapper()
    solver.set_parameters(parameters)
    answer = solver.solve(_cp_model(linear, groups, hint, fixed, any_answer))
    took = time.monotonic() - began
    is_ = cp_sat.CpSolverStatus
    done = answer.status in (is_.OPTIMAL, is_.INFEASIBLE)
    stopped = not done and answer.wall_time >= max(seconds, 0.01) * 0.99
    if answer.status not in (is_.OPTIMAL, is_.FEASIBLE):
        return Solved(None, 0, inf, answer.status == is_.INFEASIBLE, stopped, took)
    values = tuple(answer.solution)
    gain = linear.worth(values)
    bound = gain if any_answer else answer.best_objective_bound
    return Solved(values, gain, float(bound), answer.status == is_.OPTIMAL, stopped, took)


def _cp_model(
    linear: Linear,
    groups: Collection[str] | None,
    hint: Sequence[int] | None,
    fixed: Mapping[int, int],
    any_answer: bool,
) -> Any:
    """The model for CP-SAT, laid out as `ortools.sat.python.cp_model` would: that module takes a second to
    load, for tables that are not needed here. What is to be large is small with its sign turned round."""
    from ortools.sat.python import cp_model_helper as cp_sat

    model = cp_sat.CpModelProto()
    for v, span in enumerate(linear.spans()):
        model.variables.add().domain.extend([fixed[v], fixed[v]] if v in fixed else list(span))
    for row in linear.rows if groups is None else linear.only(groups):
        least, most = -FAR if row.least is None else row.least, FAR if row.most is None else row.most
        of, own = model.constraints.add().linear, sorted(row.terms)
        of.vars.extend(own)
        of.coeffs.extend([row.terms[v] for v in own])
        of.domain.extend([least, most])
    if not any_answer:
        own = sorted(linear.gain)
        model.objective.vars.extend(own)
        model.objective.coeffs.extend([-linear.gain[v] for v in own])
        model.objective.scaling_factor = -1.0
    if hint:
        known = list(hint)[: len(linear.low)]
        model.solution_hint.vars.extend(list(range(len(known))))
        model.solution_hint.values.extend(known)
    return model


def solve_highs(
    linear: Linear,
    *,
    seconds: float,
    seed: int = 0,
    gap: float = 0.0,
    nodes: int | None = None,
) -> Solved:
    """The same model by HiGHS, a branch-and-cut solver that shares no code with CP-SAT: to the `gap` (a share
    of the gain), or as far as so many `nodes` of its tree lead.

    It reckons in floating point: its bound is widened by a part in a million, and an answer of it that breaks
    a row by its rounding is none.
    """
    import highspy

    began = time.monotonic()
    model = highs_model(linear)
    model.integrality_ = [highspy.HighsVarType.kInteger] * model.num_col_
    options: dict[str, Any] = {"mip_rel_gap": gap, "mip_abs_gap": 0.5 / UNIT}
    if nodes is not None:
        options["mip_max_nodes"] = nodes
    highs = run_highs(model, seconds=seconds, seed=seed, **options)
    info, took = highs.getInfo(), time.monotonic() - began
    status = highs.getModelStatus()
    proven = status in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kInfeasible)
    stopped = status == highspy.HighsModelStatus.kTimeLimit
    bound = _widened(info.mip_dual_bound)
    if info.primal_solution_status != 2:
        return Solved(None, 0, bound, proven, stopped, took)
    values = tuple(round(x) for x in highs.getSolution().col_value)
    if not linear.holds(values):
        return Solved(None, 0, bound, False, stopped, took)
    return Solved(values, linear.worth(values), bound, proven and gap == 0.0, stopped, took)


@dataclass(frozen=True, slots=True, eq=False)
class Relaxed:
    """The best answer were parts of everything allowed: `values` by variable; `margin`: what one unit more of
    each would gain, in the same measure throughout; `bound`: no answer in whole numbers passes it."""

    values: NDArray[np.float64]
    margin: NDArray[np.float64]
    bound: float


def relaxed(linear: Linear, *, seconds: float, seed: int = 0) -> Relaxed | None:
    """None where the clock ran out first, or there is none."""
    import highspy

    highs = run_highs(highs_model(linear), seconds=seconds, seed=seed)
    if highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    found = highs.getSolution()
    bound = _widened(highs.getInfo().objective_function_value)
    return Relaxed(np.array(found.col_value), np.array(found.col_dual), bound)


def _widened(bound: float) -> float:
    bound = float(bound) * UNIT
    return bound + 1e-6 * abs(bound) + 1.0 if isfinite(bound) and abs(bound) < FAR else inf


def highs_model(linear: Linear) -> Any:
    """The model for HiGHS. Coefficients lie between 1 and 1e9: each row and the gain are scaled to what a
    float solver likes."""
    import highspy

    rows, n, far = linear.rows, len(linear.low), highspy.kHighsInf
    scale = [10.0 ** floor(log10(max(map(abs, row.terms.values()), default=1)) / 2) for row in rows]
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = n, len(rows)
    model.col_cost_ = np.array([linear.gain.get(v, 0) / UNIT for v in range(n)])
    model.col_lower_, model.col_upper_ = np.array(linear.low, float), np.array(linear.high, float)
    least = [-far if r.least is None else r.least / s for r, s in zip(rows, scale, strict=True)]
    most = [far if r.most is None else r.most / s for r, s in zip(rows, scale, strict=True)]
    model.row_lower_, model.row_upper_ = np.array(least), np.array(most)
    model.sense_ = highspy.ObjSense.kMaximize
    matrix = model.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.cumsum([0, *(len(r.terms) for r in rows)])
    matrix.index_ = np.array([v for r in rows for v in r.terms], dtype=np.int32)
    matrix.value_ = np.array([c / s for r, s in zip(rows, scale, strict=True) for c in r.terms.values()])
    return model


def run_highs(model: Any, *, seconds: float, seed: int, **options: Any) -> Any:
    """HiGHS after it has run on a model, silent and on one core."""
    import highspy

    # The class behind `highspy.Highs`, which greets on stdout as it is made: `--json` may hold nothing else.
    highs: Any = highspy._core._Highs()
    options |= {"log_to_console": False, "output_flag": False, "parallel": "off"}
    options |= {"time_limit": float(max(seconds, 0.01)), "random_seed": seed}
    for option, value in options.items():
        highs.setOptionValue(option, value)
    highs.passModel(model)
    highs.run()
    return highs

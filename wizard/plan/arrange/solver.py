"""HiGHS for our programs: the only module that names the solver. One thread and a fixed seed, so that the same
program always gives the same answer. The solver is loaded when it is first needed: with numpy it takes 0.1 s and
30 MB, which the start of the window should not pay for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from wizard.plan.arrange.program import Program

if TYPE_CHECKING:
    import highspy

Status = Literal["optimal", "feasible", "infeasible", "stopped"]


@dataclass(frozen=True)
class Answer:
    """What the solver says. `values` are missing if it found nothing; `bound` is the best cost it could not
    rule out; `feasible` means that time ran out before `cost` was proven."""

    status: Status
    values: tuple[float, ...] = ()
    cost: float = 0.0
    bound: float = 0.0


OPTIONS: Mapping[str, bool | int | float] = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 1,
    "mip_rel_gap": 0.0,
    # Programs within the program, which look for a first answer: ours is found without, in a third of the time (as
    # measured on the desks of tests/bench).
    "mip_heuristic_run_rins": False,
    "mip_heuristic_run_rens": False,
    "mip_heuristic_run_root_reduced_cost": False,
    "mip_allow_restart": False,
}


def solve(
    program: Program,
    costs: Mapping[int, float],
    seconds: float,
    stop: Callable[[], bool] = lambda: False,
    gap: float = 0.0,
) -> Answer:
    """Minimise the sum of `costs` over the program within so many seconds; an answer at most `gap` dearer than the
    best counts as the best."""
    import highspy

    highs = highspy.Highs()  # type: ignore[no-untyped-call]  # its constructor carries no annotations
    for option, value in OPTIONS.items():
        highs.setOptionValue(option, value)
    highs.setOptionValue("mip_abs_gap", max(gap, 1e-6))
    limit = max(0.01, seconds)
    highs.setOptionValue("time_limit", limit)
    highs.cbMipInterrupt.subscribe(lambda event: event.interrupt() if stop() else None)
    highs.passModel(_as_lp(program, costs))
    if stop():
        return Answer("stopped")
    highs.run()
    status = highs.getModelStatus()
    info = highs.getInfo()
    # An answer that came at the very limit is not taken for a proof of anything.
    late = highs.getRunTime() >= limit or stop()
    if status == highspy.HighsModelStatus.kInfeasible and not late:
        return Answer("infeasible")
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Answer("stopped", bound=info.mip_dual_bound)
    values = tuple(highs.getSolution().col_value)
    proven = status == highspy.HighsModelStatus.kOptimal and not late
    bound = info.objective_function_value if proven else info.mip_dual_bound
    return Answer("optimal" if proven else "feasible", values, info.objective_function_value, bound)


def _as_lp(program: Program, costs: Mapping[int, float]) -> highspy.HighsLp:
    import highspy
    import numpy as np

    lp = highspy.HighsLp()
    count = len(program.whole)
    lp.num_col_ = count
    lp.num_row_ = len(program.rows)
    lp.col_cost_ = np.array([costs.get(v, 0.0) for v in range(count)], dtype=np.double)
    lp.col_lower_ = np.zeros(count, dtype=np.double)
    lp.col_upper_ = np.ones(count, dtype=np.double)
    lp.row_lower_ = np.array([row.low for row in program.rows], dtype=np.double)
    lp.row_upper_ = np.array([row.high for row in program.rows], dtype=np.double)
    lp.integrality_ = [
        highspy.HighsVarType.kInteger if whole else highspy.HighsVarType.kContinuous for whole in program.whole
    ]
    starts = np.zeros(len(program.rows) + 1, dtype=np.int32)
    np.cumsum([len(row.terms) for row in program.rows], out=starts[1:])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = starts
    lp.a_matrix_.index_ = np.array([v for row in program.rows for v, _ in row.terms], dtype=np.int32)
    lp.a_matrix_.value_ = np.array([f for row in program.rows for _, f in row.terms], dtype=np.double)
    return lp

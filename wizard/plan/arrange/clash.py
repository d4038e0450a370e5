"""Why nothing fits: the fewest named rows of a program that can't be held together.

A row is dropped for good if the rest still has no solution; what stays is a set from which nothing can be
left out (a deletion filter). Knows no budgets, only names.
"""

from collections.abc import Callable

from wizard.plan.arrange.program import Program
from wizard.plan.arrange.solver import solve


def clashing(program: Program, left: Callable[[], float], stop: Callable[[], bool]) -> tuple[str, ...]:
    """Names of rows that clash, in order of name. If time runs out on the way more may be named than needed."""
    names = sorted({row.name for row in program.rows if row.name})
    needed = set(names)
    for name in names:
        if left() <= 0 or stop():
            break
        trial = Program(program.whole, [r for r in program.rows if not r.name or r.name in needed - {name}])
        if solve(trial, {}, left(), stop).status == "infeasible":
            needed.discard(name)
    return tuple(sorted(needed))

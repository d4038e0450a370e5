"""A linear program as plain values: variables, named rows and costs. Knows no bus and no solver."""

from collections.abc import Iterable
from dataclasses import dataclass, field

Terms = Iterable[tuple[int, float]]
"""Variables with their coefficients; a variable may come more than once."""


@dataclass(frozen=True)
class Row:
    """`low` ≤ sum of terms ≤ `high`. `name` says which budget the row stands for, or is empty."""

    name: str
    terms: tuple[tuple[int, float], ...]
    low: float
    high: float


@dataclass
class Program:
    """A program while it is built; variables are numbered from 0 and lie between 0 and 1."""

    whole: list[bool] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)

    def variable(self, whole: bool = True) -> int:
        """A new variable: 0 or 1 if `whole`, else anything between."""
        self.whole.append(whole)
        return len(self.whole) - 1

    def row(self, terms: Terms, low: float = float("-inf"), high: float = float("inf"), name: str = "") -> None:
        """A new row; terms of one variable are added up."""
        summed: dict[int, float] = {}
        for variable, factor in terms:
            summed[variable] = summed.get(variable, 0.0) + factor
        self.rows.append(Row(name, tuple(sorted((v, f) for v, f in summed.items() if f)), low, high))

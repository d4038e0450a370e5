"""One fact that several rules see counts once: an answer and the log line it was read from are no two witnesses.

Rules that name the same `fact` are told from each other only here. For each cause the weightiest of them counts,
once for and once against (of two alike, the one with a figure of the ledger); the others say nothing more.
Knows no fact by name.
"""

from collections.abc import Iterable, Iterator

from wizard.diagnosis.rulebook import Rule

Weighed = tuple[Rule, float]
"""A rule that applies, and the part of its weight that is trusted."""


def counted(weighed: Iterable[Weighed]) -> Iterator[tuple[Rule, dict[str, float]]]:
    """What each rule adds, in decibans by cause, in the order given; rules that only echo another add nothing."""
    told = [(rule, {cause: part * weight for cause, weight in rule.weights().items()}) for rule, part in weighed]
    heaviest: dict[tuple[str, str, bool], tuple[tuple[float, bool], str]] = {}
    for rule, weights in told:
        if rule.fact is not None:
            for cause, weight in weights.items():
                key = (rule.fact, cause, weight > 0)
                rank = (abs(weight), any(condition.ledger for condition in rule.when))
                if key not in heaviest or rank > heaviest[key][0]:
                    heaviest[key] = (rank, rule.id)
    for rule, weights in told:
        if rule.fact is None:
            yield rule, weights
        else:
            yield rule, {c: w for c, w in weights.items() if heaviest[rule.fact, c, w > 0][1] == rule.id}


def heard(weighed: Iterable[Weighed]) -> frozenset[str]:
    """The facts that some rule sees already."""
    return frozenset(rule.fact for rule, _ in weighed if rule.fact is not None)

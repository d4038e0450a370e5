"""Evidence added up: a share of belief for each cause, with every reason for and against it.

Weights are decibans and simply add (I. J. Good, Probability and the Weighing of Evidence, 1950); shares
are the normalised odds. The addition assumes that rules speak independently; rules that see the same
thing twice must be written as one, or name it as their `fact` and count once.
"""

from collections.abc import Iterable, Iterator, Mapping

from wizard.budget.entry import Entry
from wizard.diagnosis.advice import Evidence, Finding
from wizard.diagnosis.clashes import doubts, trust
from wizard.diagnosis.echoes import counted
from wizard.diagnosis.facts import Facts, beside, is_beyond
from wizard.diagnosis.rule_index import RuleIndex
from wizard.diagnosis.rulebook import Condition, Rule, Rulebook
from wizard.diagnosis.texts import Texts

STRONG_CASE_DB = 10.0
"""Net evidence from which a cause stands on its own feet beside another: one `strong` reason."""


def priors(rulebook: Rulebook, symptoms: tuple[str, ...]) -> dict[str, float]:
    """Decibans before evidence. With several symptoms the worst one counts twice: common practice (no source)."""
    weighted = (symptoms[0], *symptoms) if symptoms else ()
    return {
        cause.id: sum(cause.prior_for(s) for s in weighted) / len(weighted) if weighted else cause.prior_for("")
        for cause in rulebook.causes
    }


def scores_by_answer(
    rulebook: Rulebook, facts: Facts, observation: str, answers: Iterable[str | float]
) -> Iterator[dict[str, float]]:
    """Decibans of each cause after each of these answers to an open question."""
    index = rulebook.once(RuleIndex.of)
    known = index.applying(facts)
    for answer in answers:
        told = facts.with_answer(observation, answer)
        yield added_up(rulebook, told, _trusted(rulebook, told, index.applying_more(known, told, observation)))


def weigh(rulebook: Rulebook, facts: Facts) -> tuple[tuple[Rule, float], ...]:
    """The rules that apply, each with the part of its weight that counts."""
    return _trusted(rulebook, facts, rulebook.once(RuleIndex.of).applying(facts))


def _trusted(rulebook: Rulebook, facts: Facts, applying: Iterable[int]) -> tuple[tuple[Rule, float], ...]:
    doubted = doubts(rulebook, facts)
    return tuple((rule, trust(rule, doubted)) for rule in (rulebook.rules[number] for number in applying))


def added_up(rulebook: Rulebook, facts: Facts, weighed: Iterable[tuple[Rule, float]]) -> dict[str, float]:
    """Decibans of each cause after these rules, as `weigh` gives them."""
    totals = priors(rulebook, facts.symptoms)
    for _, weights in counted(weighed):
        for cause, weight in weights.items():
            totals[cause] += weight
    return totals


def shares(totals: Mapping[str, float]) -> dict[str, float]:
    """Shares of belief that sum to one."""
    top = max(totals.values(), default=0.0)
    odds = {cause: 10 ** ((value - top) / 10) for cause, value in totals.items()}
    whole = sum(odds.values())
    return {cause: value / whole for cause, value in odds.items()}


def rank(rulebook: Rulebook, texts: Texts, facts: Facts) -> tuple[Finding, ...]:
    """Every cause, the likeliest first (ties in the order of the rulebook), with its reasons, weightiest first."""
    speaking: dict[str, list[tuple[float, Evidence]]] = {c.id: [] for c in rulebook.causes}
    weighed = weigh(rulebook, facts)
    for (_, part), (rule, weights) in zip(weighed, counted(weighed), strict=True):
        on, why = _reason(rule, part, texts, facts)
        for cause, weight in weights.items():
            evidence = Evidence(on=on, weight=abs(weight), why=why, source=rule.source)
            speaking[cause].append((weight, evidence))
    share = shares(added_up(rulebook, facts, weighed))
    order = {c.id: i for i, c in enumerate(rulebook.causes)}
    ranked = sorted(share, key=lambda cause: (-share[cause], order[cause]))
    return tuple(
        Finding(
            id=cause,
            share=share[cause],
            for_=_heaviest(e for w, e in speaking[cause] if w > 0),
            against=_heaviest(e for w, e in speaking[cause] if w < 0),
        )
        for cause in ranked
    )


def _heaviest(evidence: Iterable[Evidence]) -> tuple[Evidence, ...]:
    return tuple(sorted(evidence, key=lambda e: -e.weight))


def both_at_work(findings: tuple[Finding, ...]) -> tuple[tuple[str, str], ...]:
    """Pairs of causes that each stand on evidence of their own: two troubles at once are possible."""
    strong = [f for f in findings if net(f) >= STRONG_CASE_DB]
    pairs = []
    for i, one in enumerate(strong):
        for other in strong[i + 1 :]:
            if not {e.on for e in one.for_} & {e.on for e in other.for_}:
                pairs.append((one.id, other.id))
    return tuple(pairs)


def net(finding: Finding) -> float:
    """Decibans for a cause less those against it, prior aside."""
    return sum(e.weight for e in finding.for_) - sum(e.weight for e in finding.against)


def _reason(rule: Rule, part: float, texts: Texts, facts: Facts) -> tuple[str, str]:
    """What a rule is named after in this case, and its reason in words."""
    on, detail = _named(rule.when[0], facts)
    doubt = texts.get("note.doubted") if part < 1 else None
    why = texts.get(f"rule.{rule.id}.why") or rule.id
    return on, " ".join(words for words in (why, detail, doubt) if words)


def _named(condition: Condition, facts: Facts) -> tuple[str, str]:
    """What a condition rests on in this case, and the figure to show with it."""
    if condition.observation is not None:
        return condition.observation, ""
    if condition.ledger is not None:
        entry = next(e for e in facts.entries(condition) if _speaks(e, condition))
        if condition.beyond is not None:
            entry = entry.model_copy(update={"used": beside(entry, condition.beyond)})
        return f"{entry.budget}@{entry.where}", f"({figures(entry)})"
    if condition.sign:
        sign = max((s for s in facts.signs if s.kind in condition.sign), key=lambda s: s.count)
        return f"{sign.kind}@{sign.where}", f"({sign.count} × in the log, at {sign.where})"
    return facts.symptoms[0], ""


def _speaks(entry: Entry, condition: Condition) -> bool:
    if condition.beyond is not None:
        return is_beyond(entry, condition.beyond) is True
    return entry.state in condition.state


def figures(entry: Entry) -> str:
    """`1043.2 of 900 us/frame at 1-4/tt`, with what is not known called unknown."""
    used = "unknown" if entry.used is None else f"{entry.used:g}"
    if entry.limit is not None:
        limit = f"{entry.limit:g}"
    elif entry.bracket is not None:
        limit = f"{entry.bracket[0]:g} to {entry.bracket[1]:g}"
    else:
        limit = "unknown"
    return f"{used} of {limit} {entry.unit} at {entry.where}"

"""Which remedies a plan holds and in what order. Knows shares and effort, no words.

Least invasive first; among comparable ones the greatest chance per minute; and what belongs to a leading
cause before odds and ends. After each step the causes it cures are believed in less (it would have
helped), so that two remedies for one thing do not stand in a row. All constants here are common practice
(no source): judgements of what a tired person should do first.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from wizard.diagnosis.facts import Facts
from wizard.plan.steps import Remedy

SURE = 0.8
"""Chance that a remedy ends a cause it cures."""
MAYBE = 0.25
"""Chance that it ends a cause it may cure."""
AGAIN = 0.3
"""What is left of these chances where the same act was tried without effect."""
PERHAPS = 0.5
"""What is left of them where the step is about a hub and nobody knows yet whether there is one."""
LEAST = 0.04
"""Share of belief that a remedy must speak to."""
LEAST_OF_BEST = 0.12
"""The same, as a part of what the best remedy speaks to."""
STANDING = 0.05
"""Chance of ending one single cause that a step must have to be worth money, an opened case or new firmware."""
GREAT_PART = 0.25
"""The same for such a step, as a part of what the best remedy speaks to."""
REDUNDANT = 0.25
"""A remedy stays only if that part of the least is left once those before it are done."""
LEADING = 0.5
"""Remedies with at least this part of the best chance are comparable; among them the harmless go first."""
CLEAR = 0.4
"""Share from which the first cause leads clearly; below it, remedies that bring evidence count for more."""
GATHERING = 1.5
CHECK_MIN = 2.0
"""Minutes that checking whether it helped costs, whatever the step."""
FEWEST, MOST = 3, 10
"""Steps in a plan, the last resort among them, as far as there are any."""

_FREE_TIERS = 1
_LAST_UNPAID = 2


@dataclass(frozen=True)
class _Weighed:
    """A remedy with its chances in this case; `proven` if the same act was seen to help."""

    remedy: Remedy
    chances: Mapping[str, float]
    proven: bool

    def gain(self, belief: Mapping[str, float]) -> float:
        """Chance that it ends the trouble."""
        return sum(chance * belief.get(cause, 0.0) for cause, chance in self.chances.items())


def tier(remedy: Remedy) -> int:
    """How far a remedy goes: 0 free and harmless, 1 changes settings or drivers, 2 files or people at risk,
    3 a small purchase, 4 a larger one, 5 opens a case, 6 firmware, 7 board set-up, 8 the last resort."""
    rungs = (
        (8, remedy.last_resort),
        (7, "board_setup" in remedy.touches),
        (6, "firmware" in remedy.touches),
        (5, remedy.opens_case or "case" in remedy.touches),
        (4, remedy.spend in ("medium", "high")),
        (3, remedy.spend == "low"),
        (2, remedy.risk in ("data", "injury")),
        (1, bool({"settings", "driver"} & set(remedy.touches))),
    )
    return next((rung for rung, met in rungs if met), 0)


def stage(remedy: Remedy) -> int:
    """Tiers that compete with each other form a stage: all that is free and reversible does."""
    return max(0, tier(remedy) - _FREE_TIERS)


def is_open(remedy: Remedy, facts: Facts, platform: str | None) -> bool:
    """Whether a remedy makes sense in this case: what it surely needs is known, nothing known is against it."""
    if remedy.systems and platform in ("windows", "linux", "macos") and platform not in remedy.systems:
        return False
    if tried(remedy, facts, "worse"):
        return False
    if not all(facts.holds(condition) is True for condition in remedy.surely_if):
        return False
    kept = all(facts.holds(condition) is not False for condition in remedy.only_if)
    return kept and not any(facts.holds(condition) is True for condition in remedy.not_if)


def order_remedies(
    remedies: Iterable[Remedy],
    shares: Mapping[str, float],
    facts: Facts,
    platform: str | None = None,
    marks: Mapping[str, str] | None = None,
) -> tuple[Remedy, ...]:
    """The remedies of a plan in the order to try them.

    Marked ones stay so that they can be undone: skipped ones after the open ones, tried ones at the very end.
    """
    marked = marks or {}
    everything = tuple(remedies)
    belief = _after_failures(everything, shares, marked, facts)
    chosen = _chosen(everything, belief, facts, platform, marked)
    ordered = _by_stages(chosen, belief, keep_all=False)
    if len(ordered) < FEWEST - 1:
        ordered = _by_stages(chosen, belief, keep_all=True)
    kept = _capped(ordered, belief)
    last = tuple(r for r in everything if r.last_resort and r.id not in marked)
    skipped = tuple(r for r in everything if marked.get(r.id) == "skipped")
    done = tuple(r for r in everything if marked.get(r.id, "skipped") != "skipped")
    return (*kept, *skipped, *last, *done)


def first_remedy(
    remedies: Iterable[Remedy],
    shares: Mapping[str, float],
    facts: Facts,
    platform: str | None = None,
    marks: Mapping[str, str] | None = None,
) -> str | None:
    """The id of the first of `order_remedies`, without ordering the rest; None if there is none at all."""
    everything = tuple(remedies)
    marked = marks or {}
    belief = _after_failures(everything, shares, marked, facts)
    chosen = _chosen(everything, belief, facts, platform, marked)
    if not chosen:
        return next((r.id for r in order_remedies(everything, shares, facts, platform, marked)), None)
    lowest = min(stage(w.remedy) for w in chosen)
    group = [w for w in chosen if stage(w.remedy) == lowest]
    return _next(group, belief, _unclear(belief)).remedy.id


def tried(remedy: Remedy, facts: Facts, *results: str) -> bool:
    """Whether the test that is the same act had one of these results."""
    return remedy.tried_as is not None and any(word in results for word in facts.words(remedy.tried_as))


def _weigh(remedy: Remedy, facts: Facts) -> _Weighed:
    part = AGAIN if tried(remedy, facts, "same", "fails") else 1.0
    if any(c.observation == "hub_between" and facts.holds(c) is None for c in remedy.not_if):
        part *= PERHAPS
    chances = dict.fromkeys(remedy.cures, SURE * part) | dict.fromkeys(remedy.may_cure, MAYBE * part)
    return _Weighed(remedy, chances, tried(remedy, facts, "cures", "works"))


def _after_failures(
    remedies: Iterable[Remedy], shares: Mapping[str, float], marks: Mapping[str, str], facts: Facts
) -> Mapping[str, float]:
    """Belief after what was done without effect, by Bayes' rule: a cause is left what the remedy would have missed.
    Where the facts hold it as the result of a test, the shares have it in them already."""
    belief = {cause: max(0.0, share) for cause, share in shares.items()}
    for remedy in remedies:
        if marks.get(remedy.id) == "did_not_help" and not tried(remedy, facts, "same", "fails"):
            belief = {c: s * (1 - _plain_chance(remedy, c)) for c, s in belief.items()}
    whole = sum(belief.values())
    return {c: s / whole for c, s in belief.items()} if whole > 0 else belief


def _plain_chance(remedy: Remedy, cause: str) -> float:
    return SURE if cause in remedy.cures else MAYBE if cause in remedy.may_cure else 0.0


def _chosen(
    remedies: Iterable[Remedy],
    belief: Mapping[str, float],
    facts: Facts,
    platform: str | None,
    marks: Mapping[str, str],
) -> list[_Weighed]:
    """Open remedies that speak to enough belief; where they are too few, the next best as well."""
    thinkable = [
        _weigh(r, facts) for r in remedies if not r.last_resort and r.id not in marks and is_open(r, facts, platform)
    ]
    weighed = [(w, w.gain(belief)) for w in thinkable]
    best = max((gain for _, gain in weighed), default=0.0)
    least = max(LEAST * SURE, LEAST_OF_BEST * best)
    kept = [w for w, gain in weighed if w.proven or (gain >= least and _worth_its_price(w, gain, belief, best))]
    if len(kept) < FEWEST - 1:
        chosen = {w.remedy.id for w in kept}
        spare = [
            (w, gain)
            for w, gain in weighed
            if w.remedy.id not in chosen and gain > 0 and tier(w.remedy) <= _LAST_UNPAID
        ]
        rest = sorted(spare, key=lambda found: -found[1])
        chosen.update(w.remedy.id for w, _ in rest[: FEWEST - 1 - len(kept)])
        kept = [w for w in thinkable if w.remedy.id in chosen]
    return kept


def _worth_its_price(w: _Weighed, gain: float, belief: Mapping[str, float], best: float) -> bool:
    """Nobody should pay, open a case or touch firmware for many small doubts that merely add up."""
    if tier(w.remedy) <= _LAST_UNPAID:
        return True
    greatest = max((chance * belief.get(cause, 0.0) for cause, chance in w.chances.items()), default=0.0)
    return greatest >= STANDING and gain >= GREAT_PART * best


def _unclear(belief: Mapping[str, float]) -> bool:
    return max(belief.values(), default=0.0) < CLEAR


def _next(group: list[_Weighed], belief: Mapping[str, float], unclear: bool) -> _Weighed:
    """The remedy of a stage to try next; ties go by the order of the data. What wipes evidence away waits until all
    that gathers it is done."""
    gains = [(w, w.gain(belief)) for w in group]
    best = max(gain for _, gain in gains)
    gathering = any(w.remedy.gathers for w in group)

    def rank(found: tuple[_Weighed, float]) -> tuple[bool, bool, bool, int, float]:
        w, gain = found
        weight = GATHERING if unclear and w.remedy.gathers else 1.0
        rate = weight * gain / (w.remedy.effort_min + CHECK_MIN)
        early = gathering and w.remedy.clears
        return (not w.proven, early, gain < LEADING * best, tier(w.remedy), -rate)

    return min(gains, key=rank)[0]


def _by_stages(chosen: list[_Weighed], belief: Mapping[str, float], keep_all: bool) -> list[_Weighed]:
    stages = sorted({stage(w.remedy) for w in chosen})
    groups = [[w for w in chosen if stage(w.remedy) == number] for number in stages]
    return [w for group in groups for w in _in_turn(group, belief, keep_all)]


def _in_turn(group: list[_Weighed], belief: Mapping[str, float], keep_all: bool) -> Iterator[_Weighed]:
    """A stage in order, less what the remedies before have made superfluous."""
    left = dict(belief)
    waiting = list(group)
    unclear = _unclear(belief)
    best = max(w.gain(belief) for w in group)
    least = REDUNDANT * max(LEAST * SURE, LEAST_OF_BEST * best)
    while waiting:
        chosen = _next(waiting, left, unclear)
        waiting.remove(chosen)
        if keep_all or chosen.proven or chosen.gain(left) >= least:
            yield chosen
            for cause, chance in chosen.chances.items():
                left[cause] = left.get(cause, 0.0) * (1 - chance)


def _capped(ordered: list[_Weighed], belief: Mapping[str, float]) -> tuple[Remedy, ...]:
    """At most `MOST` steps with the last resort: the ones that speak to least go, but never the first."""

    def worth(i: int) -> tuple[bool, bool, float, int]:
        return (i > 0, not ordered[i].proven, -ordered[i].gain(belief), i)

    by_worth = sorted(range(len(ordered)), key=worth)
    keep = set(by_worth[: MOST - 1])
    return tuple(w.remedy for i, w in enumerate(ordered) if i in keep)

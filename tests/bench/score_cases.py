"""How often the rulebook names the right cause, on a file of real troubles with known outcomes.

    python tests/bench/score_cases.py CASES.jsonl [--questions] [--misses] [--apart]   (with Portmend installed there)

One JSON object a line: `id`, `cause` (what it turned out to be), `accept` (causes that count as right
too), `before` and `full` (the case before any test, and with the tests answered). A file that ends in
`.toml` holds situations of our own, as `trials.toml` does. Beside the score stands what always naming the
most common causes of each symptom would reach; that guesser has seen the answers of the very file it is
scored on, so it is flattered. So is the rulebook, if whoever wrote it had read the file:
`--apart` judges each trouble without the rules that apply to no other trouble in the file, which is as harsh as
leaving the trouble out. Changes nothing; knows no rule by name.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any

from wizard import wiring
from wizard.case.model import Case
from wizard.diagnosis.ranking import rank, weigh
from wizard.diagnosis.rulebook import UNKNOWN

LONGEST_DIALOGUE = 12
"""Questions after which a wizard stops asking: the house's own promise (common practice, no source)."""

NEVER = LONGEST_DIALOGUE + 1
"""The figure of a dialogue in which the right cause does not lead at the end."""

PARTS = ("before", "full")


@dataclass(frozen=True)
class Trouble:
    """One real trouble. `right` holds the cause first, then what counts as right too."""

    id: str
    right: tuple[str, ...]
    before: Case
    full: Case

    def part(self, name: str) -> Case:
        """The case before any test (`before`) or with all that is known (`full`)."""
        return self.before if name == "before" else self.full


@dataclass(frozen=True)
class Result:
    """How one trouble fared: the causes in order with their shares of belief."""

    trouble: Trouble
    ranked: tuple[tuple[str, float], ...]

    @property
    def place(self) -> int:
        """Where the first cause that counts as right stands, from 1."""
        return 1 + next(i for i, (cause, _) in enumerate(self.ranked) if cause in self.trouble.right)

    @property
    def strict(self) -> bool:
        """Whether the very cause stands first."""
        return self.ranked[0][0] == self.trouble.right[0]


def read_troubles(lines: Iterable[str]) -> tuple[Trouble, ...]:
    """The troubles of a file. Raises KeyError or ValueError for a line that is none."""
    rows: list[dict[str, Any]] = [json.loads(line) for line in lines if line.strip()]
    return tuple(
        Trouble(
            row["id"],
            (row["cause"], *row.get("accept", ())),
            Case.model_validate(row["before"]),
            Case.model_validate(row["full"]),
        )
        for row in rows
    )


def read_situations(text: str) -> tuple[Trouble, ...]:
    """The situations of a file like `trials.toml`. Raises KeyError or ValueError for one that is none."""
    troubles = []
    for number, one in enumerate(tomllib.loads(text)["situation"]):
        told = {name: one[name] for name in ("symptom", "platform", "log") if name in one}
        cases = [
            Case.model_validate({**told, "observations": known})
            for known in (one["told"], {**one["told"], **one.get("tested", {})})
        ]
        troubles.append(Trouble(f"{one.get('set', 'situation')}-{number}", tuple(one["right"]), *cases))
    return tuple(troubles)


def score(services: wiring.Services, troubles: Iterable[Trouble], part: str) -> tuple[Result, ...]:
    """What the rulebook says of each trouble."""
    results = []
    for trouble in troubles:
        advice = wiring.advise(services, trouble.part(part))
        results.append(Result(trouble, tuple((f.id, f.share) for f in advice.causes)))
    return tuple(results)


def score_apart(services: wiring.Services, troubles: Sequence[Trouble], part: str) -> tuple[Result, ...]:
    """What the rulebook would say of each trouble without the rules that it alone could have taught."""
    book = services.rulebook
    applying = [
        {rule.id for name in PARTS for rule, _ in weigh(book, wiring.facts_of(trouble.part(name)))}
        for trouble in troubles
    ]
    known = Counter(rule for rules in applying for rule in rules)
    results = []
    for trouble, rules in zip(troubles, applying, strict=True):
        kept = tuple(r for r in book.rules if r.id not in rules or known[r.id] > 1)
        less = book.model_copy(update={"rules": kept})
        ranked = rank(less, services.texts, wiring.facts_of(trouble.part(part)))
        results.append(Result(trouble, tuple((f.id, f.share) for f in ranked)))
    return tuple(results)


def guess_by_symptom(troubles: Sequence[Trouble], part: str) -> tuple[int, int]:
    """Hits among the first and the first three of a guesser who names each symptom's most common causes."""
    common: dict[str, Counter[str]] = {}
    for trouble in troubles:
        common.setdefault(trouble.part(part).symptom, Counter())[trouble.right[0]] += 1
    first = three = 0
    for trouble in troubles:
        names = [cause for cause, _ in common[trouble.part(part).symptom].most_common(3)]
        first += names[0] in trouble.right
        three += any(name in trouble.right for name in names)
    return first, three


@dataclass(frozen=True)
class Played:
    """One dialogue. `leads`: after no answer, one answer, and so on, whether a cause that counts as right was first."""

    trouble: Trouble
    leads: tuple[bool, ...]
    in_three: bool
    answered: int

    @property
    def figure(self) -> int:
        """The first number of questions after which the right cause is first and stays first; else `NEVER`."""
        if not self.leads[-1]:
            return NEVER
        return len(self.leads) - next((i for i, led in enumerate(reversed(self.leads)) if not led), len(self.leads))

    @property
    def put(self) -> int:
        """Questions put."""
        return len(self.leads) - 1


def dialogue(services: wiring.Services, trouble: Trouble) -> Played:
    """Play a dialogue that starts with the symptom, the system, the log and the snapshot and nothing else, answered
    from what is known of the trouble in the end and `unknown` otherwise. Every question counts."""
    known = trouble.full.observations
    case = trouble.full.model_copy(update={"observations": {}})
    leads: list[bool] = []
    answered = 0
    while True:
        advice = wiring.advise(services, case)
        leads.append(advice.causes[0].id in trouble.right)
        question = advice.next_question
        if question is None or len(leads) > LONGEST_DIALOGUE:
            break
        answered += question.observation in known
        case = case.answered(question.observation, known.get(question.observation, UNKNOWN))
    in_three = any(f.id in trouble.right for f in advice.causes[:3])
    return Played(trouble, tuple(leads), in_three, answered)


def share(hits: int, whole: int) -> str:
    """`47/50 = 94 %`."""
    return f"{hits}/{whole} = {100 * hits / whole:.0f} %"


def table(services: wiring.Services, troubles: Sequence[Trouble], misses: bool) -> Iterator[str]:
    """Lines of the score: for all troubles, by symptom and by cause, beside the guesser."""
    for part in PARTS:
        results = score(services, troubles, part)
        yield f"{part}:"
        yield _line("all", results, part)
        for symptom in sorted({t.part(part).symptom for t in troubles}):
            yield _line(symptom, [r for r in results if r.trouble.part(part).symptom == symptom], part)
        for cause in sorted({t.right[0] for t in troubles}):
            yield _short_line(cause, [r for r in results if r.trouble.right[0] == cause])
        for result in results if misses else ():
            if result.place > 1:
                leaders = ", ".join(f"{cause} {belief:.2f}" for cause, belief in result.ranked[:4])
                yield f"  {result.trouble.id}: {'/'.join(result.trouble.right)} at {result.place}, behind {leaders}"


def _line(name: str, results: Sequence[Result], part: str) -> str:
    guess = guess_by_symptom([r.trouble for r in results], part)
    return (
        f"{_short_line(name, results)}  (the very cause first {share(sum(r.strict for r in results), len(results))};"
        f" most common of the symptom {share(guess[0], len(results))}, {share(guess[1], len(results))})"
    )


def _short_line(name: str, results: Sequence[Result]) -> str:
    first, three = sum(r.place == 1 for r in results), sum(r.place <= 3 for r in results)
    return f"  {name:<20} first {share(first, len(results)):<14}  first three {share(three, len(results)):<14}"


def apart_lines(services: wiring.Services, troubles: Sequence[Trouble], misses: bool) -> Iterator[str]:
    """Lines about each trouble judged without the rules that it alone supports."""
    yield "without the rules that no other trouble of the file supports:"
    for part in PARTS:
        results = score_apart(services, troubles, part)
        yield _short_line(part, results)
        for result in results if misses else ():
            if result.place > 1:
                yield f"  {result.trouble.id}: {'/'.join(result.trouble.right)} at {result.place}"


def dialogue_lines(services: wiring.Services, troubles: Sequence[Trouble], misses: bool) -> Iterator[str]:
    """Lines about the dialogues. Most answers are not known of a reported trouble, so this is a hard game."""
    played = [dialogue(services, trouble) for trouble in troubles]
    yield "dialogues from symptom, system, log and snapshot:"
    for symptom in (None, *sorted({t.full.symptom for t in troubles})):
        some = [p for p in played if symptom in (None, p.trouble.full.symptom)]
        figures = [p.figure for p in some]
        yield (
            f"  {symptom or 'all':<20} questions until the right cause leads for good: median "
            f"{statistics.median(figures):g}, at most 4 in {share(sum(n <= 4 for n in figures), len(some))}, "
            f"never in {share(sum(n == NEVER for n in figures), len(some))}; "
            f"first three at the end {share(sum(p.in_three for p in some), len(some))}"
        )
    yield (
        f"  questions put: median {statistics.median(p.put for p in played):g}, "
        f"of which known of the trouble: median {statistics.median(p.answered for p in played):g}"
    )
    for one in played if misses else ():
        if one.figure == NEVER:
            yield f"  {one.trouble.id}: {'/'.join(one.trouble.right)} never leads for good"


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the score of a file; 0 done, 2 if the file can't be read."""
    parser = argparse.ArgumentParser(description="How often the rulebook names the right cause.")
    parser.add_argument("cases", type=Path)
    parser.add_argument("--questions", action="store_true", help="play the dialogues too (takes longer)")
    parser.add_argument("--misses", action="store_true", help="list the troubles that were missed")
    parser.add_argument("--apart", action="store_true", help="judge each without the rules that it alone supports too")
    given = parser.parse_args(arguments)
    try:
        text = given.cases.read_text("utf-8")
        troubles = read_situations(text) if given.cases.suffix == ".toml" else read_troubles(text.splitlines())
    except (OSError, ValueError, KeyError) as problem:
        sys.stderr.write(f"{given.cases} can't be read as cases: {problem}\n")
        return 2
    services = wiring.load_services()
    lines = [table(services, troubles, given.misses)]
    lines += [apart_lines(services, troubles, given.misses)] if given.apart else []
    lines += [dialogue_lines(services, troubles, given.misses)] if given.questions else []
    for line in chain.from_iterable(lines):
        sys.stdout.write(f"{line}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

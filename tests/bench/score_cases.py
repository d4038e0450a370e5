"""How often the rulebook names the right cause, on a file of real troubles with known outcomes.

    python tests/bench/score_cases.py CASES.jsonl [--questions] [--misses]   (with Portmend installed in that Python)

One JSON object a line: `id`, `cause` (what it turned out to be), `accept` (causes that count as right
too), `before` and `full` (the case before any test, and with the tests answered). Beside the score stands
what always naming the most common causes of each symptom would reach; that guesser has seen the answers of
the very file it is scored on, so it is flattered. Changes nothing; knows no rule by name.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wizard import wiring
from wizard.case.model import Case
from wizard.diagnosis.rulebook import UNKNOWN

LONGEST_DIALOGUE = 12
"""Questions after which a wizard stops asking: the house's own promise (common practice, no source)."""

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


def score(services: wiring.Services, troubles: Iterable[Trouble], part: str) -> tuple[Result, ...]:
    """What the rulebook says of each trouble."""
    results = []
    for trouble in troubles:
        advice = wiring.advise(services, trouble.part(part))
        results.append(Result(trouble, tuple((f.id, f.share) for f in advice.causes)))
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


def dialogue(services: wiring.Services, trouble: Trouble) -> tuple[int | None, int, bool]:
    """Play a dialogue that starts with the symptom and what a program can measure or read in the log, answered from
    what is known of the trouble and `unknown` otherwise.

    Returns the number of answers from which a right cause led to the end (None if it did not lead at the end),
    the number of questions put, and whether a right cause was among the first three at the end.
    """
    known = trouble.full.observations
    measured = {o.id for o in services.rulebook.observations if o.how == "measure"}
    start = {name: value for name, value in known.items() if name in measured}
    case = trouble.full.model_copy(update={"observations": start})
    leads_since: int | None = None
    put = 0
    while True:
        advice = wiring.advise(services, case)
        if advice.causes[0].id not in trouble.right:
            leads_since = None
        elif leads_since is None:
            leads_since = put
        question = advice.next_question
        if question is None or put == LONGEST_DIALOGUE:
            break
        case = case.answered(question.observation, known.get(question.observation, UNKNOWN))
        put += 1
    return leads_since, put, any(f.id in trouble.right for f in advice.causes[:3])


def share(hits: int, whole: int) -> str:
    """`47/50 = 94 %`."""
    return f"{hits}/{whole} = {100 * hits / whole:.0f} %"


def table(services: wiring.Services, troubles: Sequence[Trouble], misses: bool) -> Iterator[str]:
    """Lines of the score, for all troubles and by symptom."""
    for part in PARTS:
        results = score(services, troubles, part)
        yield f"{part}:"
        symptoms = sorted({t.part(part).symptom for t in troubles})
        for symptom in (None, *symptoms):
            some = [r for r in results if symptom in (None, r.trouble.part(part).symptom)]
            first, three = sum(r.place == 1 for r in some), sum(r.place <= 3 for r in some)
            guess = guess_by_symptom([r.trouble for r in some], part)
            yield (
                f"  {symptom or 'all':<16} first {share(first, len(some)):<14} "
                f" first three {share(three, len(some)):<14} (the very cause first "
                f"{share(sum(r.strict for r in some), len(some))};"
                f" most common of the symptom {share(guess[0], len(some))}, {share(guess[1], len(some))})"
            )
        for result in results if misses else ():
            if result.place > 1:
                leaders = ", ".join(f"{cause} {belief:.2f}" for cause, belief in result.ranked[:4])
                yield f"  {result.trouble.id}: {'/'.join(result.trouble.right)} at {result.place}, behind {leaders}"


def dialogue_lines(services: wiring.Services, troubles: Sequence[Trouble]) -> Iterator[str]:
    """Lines about the dialogues. Most answers are not known of a reported trouble, so this is a hard game."""
    played = [(t, dialogue(services, t)) for t in troubles]
    ended = [since for _, (since, _, _) in played if since is not None]
    yield "dialogues from the symptom alone:"
    yield f"  right cause leads at the end: {share(len(ended), len(played))}"
    yield f"  among the first three at the end: {share(sum(three for _, (_, _, three) in played), len(played))}"
    if ended:
        yield f"  questions until it leads for good: median {statistics.median(ended):g}, most {max(ended)}"
    yield f"  questions put: median {statistics.median(put for _, (_, put, _) in played):g}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the score of a file; 0 done, 2 if the file can't be read."""
    parser = argparse.ArgumentParser(description="How often the rulebook names the right cause.")
    parser.add_argument("cases", type=Path)
    parser.add_argument("--questions", action="store_true", help="play the dialogues too (takes longer)")
    parser.add_argument("--misses", action="store_true", help="list the troubles that were missed")
    given = parser.parse_args(arguments)
    try:
        troubles = read_troubles(given.cases.read_text("utf-8").splitlines())
    except (OSError, ValueError, KeyError) as problem:
        sys.stderr.write(f"{given.cases} can't be read as cases: {problem}\n")
        return 2
    services = wiring.load_services()
    for line in table(services, troubles, given.misses):
        sys.stdout.write(f"{line}\n")
    if given.questions:
        for line in dialogue_lines(services, troubles):
            sys.stdout.write(f"{line}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

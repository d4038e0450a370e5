"""`portmend paths`: the decision tree as it results from rules and priors, for review by people.

Answers that lead to the same are one line. Judges nothing; what is printed is what the wizard would do.
"""

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from wizard import wiring
from wizard.case.model import Case
from wizard.diagnosis.advice import Question
from wizard.report.advice_part import cause_words, percent
from wizard.report.blocks import Item, Listing, Para, Section
from wizard.report.case_part import symptom_words
from wizard.report.words import answer_words
from wizard.terminal.judging import DONE
from wizard.terminal.screen import Screen

HELP = "print the decision tree for review"

DEEPEST = 6
"""Levels beyond which the tree has more branches than anybody reads: common practice (no source)."""

NAMED = 6
"""Answers that are named on one line; where more lead to the same, the largest group is 'any other answer'."""

Shape = tuple[object, ...]


@dataclass(frozen=True)
class Branch:
    """Answers that lead to the same: the first cause after them, its lowest and highest share, what is asked next."""

    answers: tuple[str, ...]
    cause: str
    shares: tuple[float, float]
    then: "Fork | None"

    def shape(self) -> Shape:
        """What must be the same for answers to share a line: all that follows, shares aside."""
        return (self.cause, self.then and self.then.shape())


@dataclass(frozen=True)
class Fork:
    """A question and where its answers lead."""

    question: Question
    branches: tuple[Branch, ...]

    def shape(self) -> Shape:
        """The question and its folded answers, shares aside."""
        return (self.question.observation, *((b.answers, b.shape()) for b in self.branches))


def arguments(parser: ArgumentParser) -> None:
    """What may follow `paths`."""
    parser.add_argument(
        "--depth", metavar="N", type=_depth, default=2, help=f"questions in a row to follow, 1 to {DEEPEST} (2)"
    )
    parser.add_argument("--symptom", metavar="ID", type=_symptom, help="the tree of this trouble only, main or not")


def run(args: Namespace, screen: Screen) -> int:
    """Print the tree of each main symptom, for a case of which nothing else is known, and what can't agree."""
    services = wiring.load_services()
    for symptom in services.rulebook.symptoms:
        if symptom.id == args.symptom or (args.symptom is None and symptom.main):
            fork = grow(services, Case(symptom=symptom.id), args.depth)
            blocks = (Listing(tuple(_items(fork, services, 0))),) if fork else (Para("There is nothing to ask."),)
            screen.section(Section(symptom.id, symptom_words(symptom.id, services.texts), blocks))
    screen.section(Section("clashes", "Answers that can’t agree", (Listing(tuple(_clashes(services))),)))
    return DONE


def grow(services: wiring.Services, case: Case, depth: int) -> Fork | None:
    """The next question of a case with all that follows from each answer, `depth` questions in a row; or None."""
    question = wiring.advise(services, case).next_question if depth else None
    if question is None:
        return None
    branches = []
    for value in question.values:
        told = case.answered(question.observation, (str(value),) if question.many and value != "unknown" else value)
        first = wiring.advise(services, told).causes[0]
        shown = _shown(question, value, services)
        branches.append(Branch((shown,), first.id, (first.share, first.share), grow(services, told, depth - 1)))
    return Fork(question, fold(branches))


def fold(branches: Sequence[Branch]) -> tuple[Branch, ...]:
    """Branches with answers that lead to the same made one, in the order they first came."""
    found: dict[Shape, Branch] = {}
    for branch in branches:
        shape = branch.shape()
        found[shape] = _merged(found[shape], branch) if shape in found else branch
    return tuple(found.values())


def _merged(one: Branch, other: Branch) -> Branch:
    answers = one.answers if one.answers == other.answers else (*one.answers, *other.answers)
    shares = (min(one.shares[0], other.shares[0]), max(one.shares[1], other.shares[1]))
    if one.then is None or other.then is None:
        return Branch(answers, one.cause, shares, None)
    pairs = zip(one.then.branches, other.then.branches, strict=True)
    return Branch(answers, one.cause, shares, Fork(one.then.question, tuple(_merged(a, b) for a, b in pairs)))


def _items(fork: Fork, services: wiring.Services, depth: int) -> Iterator[Item]:
    """A question, its folded answers, and below each what comes next; the largest group last if it is long."""
    question = fork.question
    yield Item(f"{question.text} ({question.kind}, {question.observation})", depth)
    most = max(fork.branches, key=lambda branch: len(branch.answers))
    rest = most if len(most.answers) > NAMED else None
    for branch in sorted(fork.branches, key=lambda branch: branch is rest):
        answers = "Any other answer" if branch is rest else " · ".join(branch.answers)
        yield Item(f"{answers} → {cause_words(branch.cause, services.texts)} ({_range(branch.shares)})", depth + 1)
        if branch.then is not None:
            yield from _items(branch.then, services, depth + 2)


def _clashes(services: wiring.Services) -> Iterator[Item]:
    for clash in services.rulebook.clashes:
        yield Item(f"{services.texts[f'clash.{clash.id}.why']} (asked again: {clash.ask})")


def _range(shares: tuple[float, float]) -> str:
    low, high = percent(shares[0]), percent(shares[1])
    return low if low == high else f"{low} to {high}"


def _shown(question: Question, value: str | float, services: wiring.Services) -> str:
    words = answer_words(question.observation, value, services.texts)
    return f"{words} {question.unit}" if question.unit and value != "unknown" else words


def _depth(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= DEEPEST):
        raise ArgumentTypeError(f"{text!r} is not a number from 1 to {DEEPEST}")
    return int(text)


def _symptom(text: str) -> str:
    known = [symptom.id for symptom in wiring.load_services().rulebook.symptoms]
    if text not in known:
        raise ArgumentTypeError(f"{text!r} is none of {', '.join(known)}")
    return text

"""`portmend paths`: the decision tree as it results from rules and priors, for review by people."""

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Iterator

from wizard import wiring
from wizard.case.model import Case
from wizard.diagnosis.advice import Question
from wizard.report.advice_part import cause_words, percent
from wizard.report.blocks import Item, Listing, Section
from wizard.report.case_part import symptom_words
from wizard.report.words import answer_words
from wizard.terminal.judging import DONE
from wizard.terminal.screen import Screen

HELP = "print the decision tree for review"

DEEPEST = 6
"""Levels beyond which the tree has more branches than anybody reads: common practice (no source)."""


def arguments(parser: ArgumentParser) -> None:
    """What may follow `paths`."""
    parser.add_argument(
        "--depth", metavar="N", type=_depth, default=2, help=f"questions in a row to follow, 1 to {DEEPEST} (2)"
    )


def run(args: Namespace, screen: Screen) -> int:
    """Print the tree of each main symptom, for a case of which nothing else is known."""
    services = wiring.load_services()
    for symptom in services.rulebook.symptoms:
        if symptom.main:
            items = tuple(_level(services, Case(symptom=symptom.id), args.depth, 0))
            screen.section(Section(symptom.id, symptom_words(symptom.id, services.texts), (Listing(items),)))
    return DONE


def _level(services: wiring.Services, case: Case, left: int, depth: int) -> Iterator[Item]:
    """The question that comes next, and what each answer leads to."""
    question = wiring.advise(services, case).next_question if left else None
    if question is None:
        return
    yield Item(f"{question.text} ({question.kind}, {question.observation})", depth)
    for value in question.values:
        told = case.answered(question.observation, (str(value),) if question.many and value != "unknown" else value)
        first = wiring.advise(services, told).causes[0]
        shown = _shown(question, value, services)
        yield Item(f"{shown} → {cause_words(first.id, services.texts)} ({percent(first.share)})", depth + 1)
        yield from _level(services, told, left - 1, depth + 2)


def _shown(question: Question, value: str | float, services: wiring.Services) -> str:
    words = answer_words(question.observation, value, services.texts)
    return f"{words} {question.unit}" if question.unit and value != "unknown" else words


def _depth(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= DEEPEST):
        raise ArgumentTypeError(f"{text!r} is not a number from 1 to {DEEPEST}")
    return int(text)

"""`portmend demo`: lists the invented scenarios, or runs one through to the plan and the check after it."""

from argparse import ArgumentParser, Namespace

from wizard import wiring
from wizard.report.advice_part import findings_section, plan_section
from wizard.report.blocks import Block, Item, Listing, Para, Part, Section
from wizard.report.bus_part import bus_section
from wizard.report.case_part import VERDICT_WORDS, comparison_items
from wizard.report.ledger_part import ledger_section, signs_section
from wizard.report.words import answer_words
from wizard.terminal.judging import DONE
from wizard.terminal.playing import Played, play
from wizard.terminal.screen import Screen

HELP = "list the demo scenarios, or run one through to the plan"


def arguments(parser: ArgumentParser) -> None:
    """What may follow `demo`."""
    parser.add_argument("name", metavar="NAME", nargs="?", help="which demo to run; without it they are listed")


def run(args: Namespace, screen: Screen) -> int:
    """List, or play."""
    if args.name is None:
        for name in wiring.demo_names():
            screen.blocks(Para(wiring.load_demo(name).title, name))
        return DONE
    demo = wiring.load_demo(args.name)
    services = wiring.load_services()
    played = play(services, demo)
    screen.section(Section("demo", demo.title, (Para(demo.story),)))
    screen.section(bus_section(played.before))
    screen.section(ledger_section(played.before, services.texts))
    screen.section(signs_section(played.before.signs, played.before, services.texts))
    screen.section(_questions(played, services))
    screen.section(findings_section(played.advice, services.texts, played.before))
    screen.section(plan_section(played.advice, played.before, services.texts))
    screen.section(_after(played, demo.fix, services))
    return DONE


def _questions(played: Played, services: wiring.Services) -> Section:
    blocks: list[Block] = [
        Part(
            f"{number}. {question.text}",
            (
                Para(question.why, tone="quiet"),
                Para(answer_words(question.observation, answer, services.texts), "Answer"),
            ),
        )
        for number, (question, answer) in enumerate(played.turns, 1)
    ]
    return Section("questions", "Questions and what this user answers", tuple(blocks) or (Para("None was needed."),))


def _after(played: Played, fix: str, services: wiring.Services) -> Section:
    items = comparison_items(played.comparison, played.before, played.after, services.texts)
    words = wiring.verdict_words(services, played.verdict)
    return Section(
        "after",
        "After the fix",
        (
            Para(fix, "What was done"),
            Listing(items),
            Para(VERDICT_WORDS[played.verdict.verdict], "Verdict"),
            Listing(tuple(Item(word) for word in words)),
        ),
    )

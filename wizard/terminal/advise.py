"""`portmend advise`: what a saved case comes to."""

from argparse import ArgumentParser, Namespace
from pathlib import Path

from wizard import wiring
from wizard.report.advice_part import findings_section, plan_section, unknown_section
from wizard.terminal.judging import DONE, STANDS_OUT, one_leads
from wizard.terminal.screen import Screen

HELP = "ranked causes with their reasons, the next useful question and the plan for a saved case"


def arguments(parser: ArgumentParser) -> None:
    """What may follow `advise`."""
    parser.add_argument("case", metavar="CASE.json", type=Path, help="a saved case")
    parser.add_argument("--json", action="store_true", help="print one JSON document instead of words")


def run(args: Namespace, screen: Screen) -> int:
    """Advise, print, and say by the exit code whether one cause leads."""
    case = wiring.open_case(args.case)
    services = wiring.load_services()
    found = wiring.arrangements(case)
    advice = wiring.with_arrangements(wiring.advise(services, case), found)
    if args.json:
        screen.document(advice)
    else:
        look = wiring.look_of(case)
        screen.section(findings_section(advice, services.texts, look))
        screen.section(unknown_section(case, look, advice, services.texts))
        screen.section(plan_section(advice, look, services.texts, case.marks))
    return STANDS_OUT if one_leads(advice.causes) else DONE

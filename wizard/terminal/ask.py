"""`portmend ask`: the whole wizard in a terminal, page by page, the case saved as it grows."""

from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping
from pathlib import Path

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.terminal.ask_begin import ledger_page, look_page, subject_page, trouble_page
from wizard.terminal.ask_plan import again_page, plan_page, report_page
from wizard.terminal.ask_questions import findings_page, questions_page
from wizard.terminal.asking import Desk, Page, Talk
from wizard.terminal.judging import DONE
from wizard.terminal.screen import Screen, is_terminal

HELP = "the wizard's questions in this terminal, to the plan and the report"

PAGES: Mapping[Page, Callable[[Desk, Talk], Talk]] = {
    "trouble": trouble_page,
    "look": look_page,
    "subject": subject_page,
    "ledger": ledger_page,
    "questions": questions_page,
    "findings": findings_page,
    "plan": plan_page,
    "again": again_page,
    "report": report_page,
}


def arguments(parser: ArgumentParser) -> None:
    """What may follow `ask`."""
    parser.add_argument("case", metavar="CASE.json", type=Path, nargs="?", help="a saved case to go on with")


def run(args: Namespace, screen: Screen) -> int:
    """Talk until the end. Raises BadInputError where nobody can answer."""
    if not is_terminal():
        raise BadInputError(
            "portmend ask",
            "there is no terminal to ask in",
            "Start it in a terminal, or see 'portmend demo' for an example that asks nothing.",
        )
    talk = Talk() if args.case is None else resumed(args.case)
    hold(Desk(wiring.load_services(), screen), talk)
    return DONE


def resumed(path: Path) -> Talk:
    """A saved case taken up where its questions are."""
    case = wiring.open_case(path)
    look = wiring.look_of(case) if case.snapshot is not None else None
    return Talk(page="ledger", symptoms=(case.symptom, *case.also), case=case, look=look, path=path)


def hold(desk: Desk, talk: Talk) -> Talk:
    """Page after page to the end; however it ends, the user learns where the case is."""
    last = talk
    try:
        while last.page != "end":
            desk.screen.say()
            last = PAGES[last.page](desk, last)
    except KeyboardInterrupt:
        desk.screen.say()
    if last.path is not None:
        desk.screen.say(f"The case is saved in {last.path}. To go on with it: portmend ask {last.path}")
    return last

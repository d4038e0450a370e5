"""`portmend look`: what is on the bus, what it can carry, and what a log says of it."""

from argparse import ArgumentParser, Namespace
from contextlib import nullcontext
from pathlib import Path

from wizard import wiring
from wizard.bus.model import System
from wizard.case.documents import Look
from wizard.report.blocks import Para
from wizard.report.bus_part import bus_section
from wizard.report.ledger_part import ledger_section, signs_section
from wizard.report.sleep_part import sleep_section
from wizard.terminal.judging import DONE, NO_BUS, STANDS_OUT, overdrawn_now
from wizard.terminal.screen import Screen

HELP = "look at the bus of this computer, or at a captured one"


def arguments(parser: ArgumentParser) -> None:
    """What may follow `look`."""
    parser.add_argument(
        "--root",
        metavar="DIR|FILE",
        help="a captured tree (a folder that holds sys, or an archive), or a list of devices from Windows or macOS",
    )
    parser.add_argument("--log", metavar="FILE|-", help="a log to read as well; - is standard input")
    parser.add_argument("--json", action="store_true", help="print one JSON document instead of words")


def run(args: Namespace, screen: Screen) -> int:
    """Look, print, and say by the exit code whether anything stands out."""
    said: list[str] = []
    with nullcontext() if args.log is None else wiring.open_log(args.log, screen.note) as log:
        seen = wiring.look_live(log=log) if args.root is None else wiring.look_captured(Path(args.root), log=log)
    if not (seen.has_bus or seen.notes):
        said.append("No USB bus was found.")
    seen = seen.model_copy(update={"notes": (*seen.notes, *said)})
    if args.json:
        screen.note("This document is not redacted: it holds serial numbers and names. Look before you pass it on.")
        screen.document(seen)
    else:
        show(seen, screen)
    if not seen.has_bus:
        screen.note("No USB bus was found here. Use --root for a captured one, or 'portmend demo'.")
        return NO_BUS
    return STANDS_OUT if overdrawn_now(seen.ledger) else DONE


def show(seen: Look, screen: Screen) -> None:
    """A look for people: the tree, the budgets, the signs."""
    texts = wiring.load_services().texts
    screen.blocks(Para(_system_words(seen.snapshot.system), "Computer"))
    screen.say()
    screen.section(bus_section(seen))
    if seen.has_bus:
        screen.section(ledger_section(seen, texts))
    understood = seen.log is not None and seen.log.understood
    sleep = sleep_section(seen, understood or bool(seen.signs))
    if sleep is not None:
        screen.section(sleep)
    if seen.log is not None or seen.signs:
        screen.section(signs_section(seen.signs, seen, texts))


def _system_words(system: System) -> str:
    known = (system.os, system.version, system.kernel, system.board_maker, system.board_model)
    return " ".join(part for part in known if part) or "unknown"

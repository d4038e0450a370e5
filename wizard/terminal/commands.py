"""All sub-commands, how they are called, and the way from a command line to one of them."""

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import NoReturn

import wizard
from wizard.bus.errors import BadInputError
from wizard.terminal import (
    advise,
    ask,
    capture,
    check,
    compare,
    demo,
    drive,
    fit,
    look,
    pace,
    paths,
    report,
    schema,
    watch,
)
from wizard.terminal.check import WindowChecks
from wizard.terminal.faults import guarded
from wizard.terminal.judging import DONE
from wizard.terminal.screen import Screen

ABOUT = "Finds out why USB gear misbehaves, and ends in an ordered, safe plan to fix it."
ENDINGS = (
    "Without a command the window opens; without a display the questions come in the terminal. "
    "Exit codes: 0 done; 1 done, and something stands out; 2 the input or the call is wrong; "
    "3 there is no bus to read; 4 a fault of Portmend itself."
)


@dataclass(frozen=True)
class Command:
    """One sub-command."""

    help: str
    arguments: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace, Screen], int]


def commands(window: WindowChecks) -> dict[str, Command]:
    """The sub-commands by name, in the order to show them."""
    return {
        "look": Command(look.HELP, look.arguments, look.run),
        "ask": Command(ask.HELP, ask.arguments, ask.run),
        "advise": Command(advise.HELP, advise.arguments, advise.run),
        "compare": Command(compare.HELP, compare.arguments, compare.run),
        "watch": Command(watch.HELP, watch.arguments, watch.run),
        "pace": Command(pace.HELP, pace.arguments, pace.run),
        "drive": Command(drive.HELP, drive.arguments, drive.run),
        "capture": Command(capture.HELP, capture.arguments, capture.run),
        "report": Command(report.HELP, report.arguments, report.run),
        "fit": Command(fit.HELP, fit.arguments, fit.run),
        "demo": Command(demo.HELP, demo.arguments, demo.run),
        "schema": Command(schema.HELP, schema.arguments, schema.run),
        "paths": Command(paths.HELP, paths.arguments, paths.run),
        "check": Command(check.HELP, check.arguments, partial(check.run, window)),
    }


def execute(argv: Sequence[str], window: WindowChecks, screen: Screen) -> int:
    """Run one command line to its exit code."""
    return guarded(lambda: _dispatched(argv, commands(window), screen), screen)


class _Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in one line, as everything else does."""

    def error(self, message: str) -> NoReturn:
        raise BadInputError(self.prog, message, f"'{self.prog} --help' shows how it is called.")


def _dispatched(argv: Sequence[str], known: dict[str, Command], screen: Screen) -> int:
    parser = _Parser(prog="portmend", description=ABOUT, epilog=ENDINGS, allow_abbrev=False)
    parser.add_argument("--version", action="version", version=f"Portmend {wizard.__version__}")
    choices = parser.add_subparsers(metavar="COMMAND", dest="command", required=True, parser_class=_Parser)
    for name, command in known.items():
        command.arguments(choices.add_parser(name, help=command.help, description=command.help, allow_abbrev=False))
    try:
        args = parser.parse_args(argv)
    except SystemExit:  # help or version was printed
        return DONE
    return known[args.command].run(args, screen)

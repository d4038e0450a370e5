"""`portmend fit`: whether one more device of a kind fits on this bus, a captured one or that of a case, and where."""

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from pathlib import Path

from wizard import wiring
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.report.blocks import Item, Listing
from wizard.terminal.judging import DONE, NO_BUS, STANDS_OUT
from wizard.terminal.screen import Screen

HELP = "say whether one more device of a kind fits, how many, and where best; without a kind, list the kinds"

MOST = 127
"""The most that may be asked about: a bus has 127 addresses (USB 2.0 §9.4.6)."""


def arguments(parser: ArgumentParser) -> None:
    """What may follow `fit`."""
    parser.add_argument("kind", metavar="KIND", nargs="?", help="the kind of device; without it the kinds are listed")
    where = parser.add_mutually_exclusive_group()
    where.add_argument(
        "--root",
        metavar="DIR|FILE",
        help="a captured tree (a folder that holds sys, or an archive), or a list of devices from Windows or macOS",
    )
    where.add_argument("--case", metavar="CASE.json", type=Path, help="the bus that a saved case holds")
    parser.add_argument(
        "--most", metavar="N", type=_number, default=wiring.MOST_TO_FIT, help="how many to try at the most"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON document instead of words")


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= MOST):
        raise ArgumentTypeError(f"{text} is not a number from 1 to {MOST}")
    return int(text)


def run(args: Namespace, screen: Screen) -> int:
    """List the kinds, or answer; the exit code says whether at least one more fits."""
    services = wiring.load_services()
    if args.kind is None:
        _list(services, screen, args.json)
        return DONE
    wiring.known_kind(services, args.kind)
    snapshot, setup = _bus(args)
    found = wiring.fit(services, snapshot, setup, args.kind, args.most)
    if args.json:
        screen.document(found)
    else:
        screen.section(wiring.fit_answer_section(services, found, snapshot))
    if not snapshot.sockets:
        screen.note("No socket was found here. Use --root for a captured bus, or --case for that of a case.")
        return NO_BUS
    return DONE if found.fit.perhaps.count else STANDS_OUT


def _list(services: wiring.Services, screen: Screen, as_json: bool) -> None:
    choices = wiring.kind_choices(services)
    if as_json:
        screen.document({"schema": "portmend/kinds/1", "kinds": [c.model_dump(mode="json") for c in choices]})
        return
    screen.say("Kinds of typical devices; 'portmend fit KIND' tells whether one more fits.")
    screen.blocks(Listing(tuple(Item(f"{c.id}: {c.title}") for c in choices)))


def _bus(args: Namespace) -> tuple[Snapshot, Setup]:
    if args.case is not None:
        return wiring.bus_of_case(args.case)
    seen = wiring.look_live() if args.root is None else wiring.look_captured(Path(args.root))
    return seen.snapshot, Setup()

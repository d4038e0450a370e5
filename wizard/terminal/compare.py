"""`portmend compare`: two looks or cases side by side."""

from argparse import ArgumentParser, Namespace
from pathlib import Path

from wizard import wiring
from wizard.report.blocks import Listing, Section
from wizard.report.case_part import comparison_items
from wizard.terminal.judging import DONE
from wizard.terminal.screen import Screen

HELP = "two looks or cases side by side"


def arguments(parser: ArgumentParser) -> None:
    """What may follow `compare`."""
    parser.add_argument("before", metavar="BEFORE.json", type=Path, help="a saved case, or what look --json printed")
    parser.add_argument("after", metavar="AFTER.json", type=Path, help="the same, from later")
    parser.add_argument("--all", action="store_true", help="name every budget that changed, those with room too")
    parser.add_argument("--json", action="store_true", help="print one JSON document instead of words")


def run(args: Namespace, screen: Screen) -> int:
    """Compare and print."""
    before, after = wiring.open_looks(args.before, args.after)
    found = wiring.compare(before, after)
    if args.json:
        screen.document(found)
    else:
        items = comparison_items(found, before, after, wiring.load_services().texts, args.all)
        screen.section(Section("compare", "Before and after", (Listing(items),)))
    return DONE

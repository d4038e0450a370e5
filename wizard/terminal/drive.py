"""`portmend drive`: from the bus to the files of one drive, link by link, reading only."""

from argparse import ArgumentParser, Namespace
from pathlib import Path

from wizard import wiring
from wizard.bus.drive import DriveDocument, DriveLink
from wizard.report.blocks import Item, Listing, Para
from wizard.terminal.judging import DONE, NO_BUS, STANDS_OUT
from wizard.terminal.screen import Screen

HELP = "the chain from the bus to the files of one drive; nothing is written to it"

_STATES = {"ok": "ok", "fails": "FAILS", "unknown": "unknown"}


def arguments(parser: ArgumentParser) -> None:
    """What may follow `drive`."""
    parser.add_argument("device", metavar="DEVICE", help="an id such as 1-4.2, or the name of a disk such as /dev/sdb")
    parser.add_argument("--root", metavar="DIR|CAPTURE", help="look into a captured tree instead of this computer")
    parser.add_argument("--log", metavar="FILE|-", help="a log to read in place of the kernel's; - is standard input")
    parser.add_argument("--json", action="store_true", help="print one JSON document instead of words")


def run(args: Namespace, screen: Screen) -> int:
    """Look, print, and say by the exit code whether a link fails."""
    said: list[str] = []
    log = None if args.log is None else wiring.read_log(args.log, said.append)
    found = wiring.drive(args.device, None if args.root is None else Path(args.root), log)
    found = found.model_copy(update={"notes": (*found.notes, *said)})
    if args.json:
        screen.document(found)
    else:
        show(found, screen)
    for note in found.notes:
        screen.note(note)
    if not found.opened:
        return NO_BUS
    return STANDS_OUT if any(link.state == "fails" for link in found.links) else DONE


def show(found: DriveDocument, screen: Screen) -> None:
    """The chain for people."""
    name = f" ({found.name})" if found.name else ""
    screen.blocks(Para(found.words, f"{found.device}{name}"))
    screen.blocks(Listing(tuple(item for link in found.links for item in _items(link))))


def _items(link: DriveLink) -> list[Item]:
    items = [Item(f"{link.link.replace('_', ' ')}: {_STATES[link.state]}. {link.found}")]
    if link.follows and link.state != "ok":
        items.append(Item(link.follows, 1))
    if link.signs:
        items.append(Item(f"In the log: {', '.join(sign.replace('_', ' ') for sign in link.signs)}", 1, "quiet"))
    return items

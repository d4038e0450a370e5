"""`portmend capture`: this machine's bus and log in one file that others can look at."""

from argparse import ArgumentParser, Namespace
from pathlib import Path

from wizard import wiring
from wizard.terminal.judging import DONE, NO_BUS
from wizard.terminal.screen import Screen

HELP = "write a picture of this computer's bus and log for others, without serial numbers and names"


def arguments(parser: ArgumentParser) -> None:
    """What may follow `capture`."""
    parser.add_argument("--to", metavar="FILE", type=Path, required=True, help="a new file ending in .tar.gz")
    parser.add_argument("--replace", action="store_true", help="replace a file of that name")


def run(args: Namespace, screen: Screen) -> int:
    """Write the capture and say what is in it."""
    made = wiring.capture(args.to, args.replace)
    for note in made.notes:
        screen.note(note)
    screen.say(f"Written: {made.path} (left out: serial numbers, names of people and computers, addresses)")
    screen.say(f"Whoever gets it can look at it with: portmend look --root {made.path.name}")
    return DONE if made.has_bus else NO_BUS

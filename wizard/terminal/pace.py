"""`portmend pace`: how evenly a control reports while it is being moved."""

from argparse import ArgumentParser, Namespace

from wizard import wiring
from wizard.bus.pace import Beat, PaceDocument
from wizard.report.blocks import Item, Listing, Para
from wizard.report.words import figure
from wizard.terminal.interrupts import interrupts
from wizard.terminal.judging import DONE, NO_BUS, STANDS_OUT
from wizard.terminal.screen import Screen

HELP = "the pace of a controller, pedal, mouse or other input device, while you move it"

_MOST_SHOWN = 20
_EVERY_S = 5.0


def arguments(parser: ArgumentParser) -> None:
    """What may follow `pace`."""
    parser.add_argument("device", metavar="DEVICE", help="an id such as 1-4.2, /dev/input/eventN or /dev/hidrawN")
    parser.add_argument(
        "--for", metavar="SECONDS", dest="seconds", type=float, default=wiring.PACE_SECONDS,
        help="how long to measure (default %(default)g)",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print one JSON document instead of words")


def run(args: Namespace, screen: Screen) -> int:
    """Measure, print, and say by the exit code whether anything stands out. Ctrl-C ends it early and still tells."""
    with interrupts() as stopped:
        found = wiring.pace(args.device, args.seconds, stopped, _Told(screen, args.seconds).beat)
    if args.json:
        screen.document(found)
    else:
        show(found, screen)
    for note in found.notes:
        screen.note(note)
    if not found.opened:
        return NO_BUS
    return STANDS_OUT if found.verdict in ("gaps", "slow", "irregular") else DONE


def show(found: PaceDocument, screen: Screen) -> None:
    """The measurement for people."""
    name = f" ({found.name})" if found.name else ""
    screen.blocks(Para(found.words, f"{found.device}{name}"))
    if not found.reports:
        return
    figures = [
        Item(f"{figure(found.reports)} reports in {figure(found.seconds)} s"),
        Item(f"Promised: every {figure(found.promised_ms, 3)} ms" if found.promised_ms else "Promised: unknown"),
        Item(f"Half of the intervals are at most {figure(found.median_ms, 3)} ms long"),
        Item(f"99 of 100 are at most {figure(found.p99_ms, 3)} ms; the longest is {figure(found.longest_ms, 3)} ms"),
        Item(f"Polls that went by without a report while it was moved: {figure(found.skipped)}"),
    ]
    gaps = [Item(f"Gap of {figure(gap.ms)} ms after {figure(gap.at_s)} s", 1) for gap in found.gaps[:_MOST_SHOWN]]
    more = len(found.gaps) - len(gaps)
    screen.blocks(Listing((*figures, *gaps, *([Item(f"and {more} more gaps", 1)] if more else []))))


class _Told:
    """Says what to do once it has begun, and now and then how far it is, so that nobody thinks it hangs."""

    def __init__(self, screen: Screen, seconds: float) -> None:
        self._screen = screen
        self._seconds = seconds
        self._next = 0.0

    def beat(self, beat: Beat) -> None:
        if not self._next:
            self._next = _EVERY_S
            self._screen.note(f"Move it all the time for {self._seconds:g} s, without lifting it; Ctrl-C ends it.")
        if beat.at_s >= self._next:
            self._next += _EVERY_S
            self._screen.note(f"{beat.at_s:.0f} s: {beat.reports} reports so far")

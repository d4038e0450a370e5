"""`portmend watch`: what happens on the bus, line by line, until Ctrl-C or for a while; then what it amounts to."""

import json
import select
import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace

from wizard import wiring
from wizard.bus.tree import natural_key
from wizard.bus.watching import Together, WatchEvent, WatchSummary
from wizard.terminal.interrupts import interrupts
from wizard.terminal.judging import DONE, NO_BUS, STANDS_OUT
from wizard.terminal.screen import Screen, is_terminal

HELP = "follow the bus: every event as it happens, a summary at the end"
_MOST_PLACES = 20
_LONGEST_S = 10 * 24 * 3600.0


def arguments(parser: ArgumentParser) -> None:
    """What may follow `watch`."""
    parser.add_argument("--for", dest="seconds", metavar="SECONDS", type=_seconds, help="stop after so many seconds")
    parser.add_argument("--json", action="store_true", help="print one event a line, the summary as the last line")


def _seconds(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0 < number <= _LONGEST_S:
        raise ArgumentTypeError(f"'{text}' is not a number of seconds above 0 and up to ten days")
    return number


def run(args: Namespace, screen: Screen) -> int:
    """Watch, tell, sum up; the exit code says whether anything stands out."""
    tell = _tell_program if args.json else _tell_person
    can_mark = is_terminal() and not args.json

    def begun() -> None:
        if not args.json:
            screen.say(_opening(args.seconds, can_mark))
            screen.flush()

    with interrupts() as stopped:
        summary = wiring.watch(
            stopped,
            lambda event: tell(event, screen),
            seconds=args.seconds,
            mark=_enter_pressed if can_mark else lambda: False,
            begun=begun,
        )
    if args.json:
        _line(summary.model_dump(mode="json", by_alias=True), screen)
    elif summary.has_bus:
        _show(summary, screen)
    if not summary.has_bus:
        screen.note(" ".join(("Nothing could be watched.", *summary.notes)))
        return NO_BUS
    for note in summary.notes:
        screen.note(note)
    return STANDS_OUT if summary.stands_out else DONE


def _opening(seconds: float | None, can_mark: bool) -> str:
    until = "Ctrl-C ends it" if seconds is None else f"it ends after {seconds:g} s, or with Ctrl-C"
    marking = " Press Enter whenever the trouble has just happened." if can_mark else ""
    return f"Watching the bus; {until}.{marking}"


def _enter_pressed() -> bool:
    """Whether a line was typed since this was asked last."""
    if sys.platform == "win32":
        return _key_on_windows()
    ready, _, _ = select.select([sys.stdin], [], [], 0)
    return bool(ready) and bool(sys.stdin.readline())


def _key_on_windows() -> bool:
    if sys.platform != "win32":
        return False
    import msvcrt

    pressed = False
    while msvcrt.kbhit():
        pressed = msvcrt.getwch() in "\r\n" or pressed
    return pressed


def _tell_program(event: WatchEvent, screen: Screen) -> None:
    _line(event.model_dump(mode="json"), screen)


def _line(document: dict[str, object], screen: Screen) -> None:
    """One document on one line, at once: ASCII only, so that it arrives whole on any console."""
    screen.say(json.dumps(document))
    screen.flush()


def _tell_person(event: WatchEvent, screen: Screen) -> None:
    name = f" ({event.name})" if event.name else ""
    times = f" [{event.count} times]" if event.count > 1 else ""
    screen.say(f"{event.t:9.2f} s  {event.where}{name}  {event.kind.replace('_', ' ')}: {event.text}{times}")
    screen.flush()


def _show(summary: WatchSummary, screen: Screen) -> None:
    screen.say()
    total = sum(summary.by_kind.values())
    screen.say(f"Watched for {summary.seconds:.0f} s: {total or 'no'} event{'' if total == 1 else 's'}.")
    for kind, count in sorted(summary.by_kind.items(), key=lambda pair: -pair[1]):
        screen.say(f"  {count:6}  {kind.replace('_', ' ')}")
    for line in _by_place(summary):
        screen.say(line)
    for group in summary.together:
        screen.say(_together_words(group))
    for marked in summary.marked:
        _show_mark(marked.t, marked.before, screen)


def _by_place(summary: WatchSummary) -> list[str]:
    """What happened where, the place with most first."""
    places: dict[str, dict[str, int]] = {}
    names: dict[str, str] = {}
    for event in summary.events:
        if event.where != "-":
            kinds = places.setdefault(event.where, {})
            kinds[event.kind] = kinds.get(event.kind, 0) + event.count
            names[event.where] = event.name or names.get(event.where, "")
    order = sorted(places, key=lambda place: (-sum(places[place].values()), natural_key(place)))
    lines = []
    for place in order[:_MOST_PLACES]:
        told = ", ".join(f"{kind.replace('_', ' ')} ({count})" for kind, count in places[place].items())
        lines.append(f"At {place}{f' ({names[place]})' if names[place] else ''}: {told}.")
    if len(order) > _MOST_PLACES:
        lines.append(f"And {len(order) - _MOST_PLACES} more places.")
    return lines


def _together_words(group: Together) -> str:
    devices = ", ".join(group.devices)
    if group.hub_left:
        return f"At {group.t:.2f} s {group.where} left and took along {devices}."
    return f"At {group.t:.2f} s {devices} left together; they share the {group.what} {group.where}."


def _show_mark(t: float, before: tuple[WatchEvent, ...], screen: Screen) -> None:
    if not before:
        screen.say(f"Before your mark at {t:.2f} s nothing was seen.")
        return
    screen.say(f"Before your mark at {t:.2f} s:")
    for event in before:
        screen.say(f"  {t - event.t:6.2f} s earlier  {event.where}  {event.kind.replace('_', ' ')}: {event.text}")

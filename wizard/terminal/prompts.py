"""Asking one thing at a time in a terminal: numbered answers, and a few letters that always mean the same.

`?` explains, `b` goes back, `f` goes on to the findings, `q` leaves; enter alone means "don't know" or
"go on". Knows nothing of what is asked.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from wizard.terminal.screen import Screen

Move = Literal["answer", "nothing", "back", "findings", "quit"]

_LETTERS: dict[str, Move] = {"": "nothing", "b": "back", "f": "findings", "q": "quit"}


@dataclass(frozen=True)
class Reply:
    """What was typed. `chosen` are positions in the options, in their order; `text` is what was typed freely."""

    move: Move
    chosen: tuple[int, ...] = ()
    text: str = ""


def choose(
    screen: Screen, options: Sequence[str], enter: str, many: bool = False, why: str = "", letters: str = "bq"
) -> Reply:
    """One of the options, or several. `enter` says what enter alone means; `letters` which letters may be used.

    Asks again until the line can be used. End of input counts as `q`.
    """
    screen.options(options)
    prompt = f"{_hint(len(options), many)}, enter = {enter}{_letters_hint(letters, bool(why))}: "
    while True:
        typed = read_line(screen, prompt)
        if typed is None:
            return Reply("quit")
        typed = typed.strip().lower()
        if typed == "?" and why:
            screen.say(why)
        elif typed in _LETTERS and (not typed or typed in letters):
            return Reply(_LETTERS[typed])
        else:
            chosen = _positions(typed, len(options), many)
            if chosen:
                return Reply("answer", chosen)
            screen.say(f"That can't be used here. Please type {_hint(len(options), many).lower()}, or press enter.")


def ask_text(screen: Screen, prompt: str, letters: str = "bq") -> Reply:
    """A line of free text; a letter alone is a move, enter alone is `nothing`."""
    typed = read_line(screen, prompt)
    if typed is None:
        return Reply("quit")
    typed = typed.strip()
    if typed in _LETTERS and (not typed or typed in letters):
        return Reply(_LETTERS[typed])
    return Reply("answer", text=typed)


def read_line(screen: Screen, prompt: str) -> str | None:
    """A line as it was typed, or None when nobody answers any more."""
    screen.flush()
    try:
        return screen.ask(prompt)
    except EOFError:
        screen.say()
        return None


def _hint(count: int, many: bool) -> str:
    if count == 0:
        return "Nothing to choose"
    if count == 1:
        return "Type 1"
    return f"Numbers from 1 to {count}, as 1,3" if many else f"A number from 1 to {count}"


def _letters_hint(letters: str, explains: bool) -> str:
    words = {"b": "b = back", "f": "f = to the findings", "q": "q = leave"}
    said = (["? = why this is asked"] if explains else []) + [words[letter] for letter in letters]
    return f" ({', '.join(said)})" if said else ""


def _positions(typed: str, count: int, many: bool) -> tuple[int, ...]:
    """Positions from `2` or `1, 3`; empty if the line names none or one that is not there."""
    parts = typed.replace(",", " ").split()
    numbers = {int(part) for part in parts if part.isascii() and part.isdigit() and len(part) < 6}
    fits = parts and all(part.isascii() and part.isdigit() for part in parts) and all(1 <= n <= count for n in numbers)
    if not fits or (len(numbers) > 1 and not many):
        return ()
    return tuple(number - 1 for number in sorted(numbers))

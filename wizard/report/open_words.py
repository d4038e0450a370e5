"""What a verdict hangs on where a limit is known only between two ends: both verdicts, and what would settle it.

Judges nothing: it says of an entry what the entry says, at either end of its bracket.
"""

from wizard.budget.entry import Entry, State, state_of
from wizard.diagnosis.texts import Texts
from wizard.report.words import amount, text_or

_VERDICTS: dict[State, str] = {"over": "overdrawn", "tight": "tight", "room": "room"}


def bracket_words(entry: Entry, texts: Texts) -> str | None:
    """`Overdrawn if this is an older controller (64 endpoints), room if it is a later one (254 endpoints). What would
    settle it: …`; None where the limit is known, none is, or both ends say the same."""
    if entry.limit is not None or entry.bracket is None or entry.used is None or entry.state != "unknown":
        return None
    ends = zip(("lower", "higher"), entry.bracket, strict=True)
    said = [_at(entry, end, limit, texts) for end, limit in ends]
    words = ", ".join(said)
    return f"{words[0].upper()}{words[1:]}{settled_words(entry, texts)}"


def settled_words(entry: Entry, texts: Texts) -> str:
    """`. What would settle it: Rating of the hub's supply`, or nothing where no observation would."""
    if entry.settles is None:
        return ""
    return f". What would settle it: {text_or(texts, f'observation.{entry.settles}.name', entry.settles)}"


def _at(entry: Entry, end: str, limit: float, texts: Texts) -> str:
    verdict = _VERDICTS.get(state_of(entry.used, limit), "unknown")
    told = texts.get(f"bracket.{entry.budget}.{end}")
    if told is None:
        return f"{verdict} if the limit is {amount(limit, entry.unit)}"
    return f"{verdict} if {told} ({amount(limit, entry.unit)})"

"""What stands beside the figures of a ledger entry: what is wrong by itself, peaks, notes, and what a verdict hangs on
where a limit is known only between two ends.

Judges nothing: it says what the entry says, at either end of its bracket.
"""

from wizard.budget.entry import Entry, State, state_of
from wizard.diagnosis.texts import Texts
from wizard.report.words import amount, figure, text_or


def beside_words(entry: Entry, texts: Texts) -> tuple[str, ...]:
    """Sentences that belong to an entry beside its figures, the weightiest first. For window, terminal and report."""
    told = [entry.finding, bracket_words(entry, texts), _peak_words(entry), _share_words(entry), entry.note]
    return tuple(f"{sentence}." for sentence in told if sentence)


def stands_out(entry: Entry, texts: Texts) -> bool:
    """Whether an entry deserves words of its own: overdrawn, tight, wrong by itself, or hanging on an open limit."""
    return entry.state in ("over", "tight") or bool(entry.finding) or bracket_words(entry, texts) is not None


def _share_words(entry: Entry) -> str | None:
    """What is reserved of a fast link for sound, picture and input, where anything is."""
    share = entry.periodic
    if share is None or not share.used or share.bracket is None:
        return None
    low, high = (figure(limit) for limit in share.bracket)
    return (
        f"Reserved of it for sound, picture and input: {figure(share.used)} of {low} to {high} MB/s (sources disagree)"
    )


def _peak_words(entry: Entry) -> str | None:
    if entry.peak is None or entry.peak == entry.used or "at start-up" in f"{entry.finding} {entry.note}":
        return None
    return f"For a moment at start-up it may be about {amount(entry.peak, entry.unit)} (typical)"


_VERDICTS: dict[State, str] = {"over": "overdrawn", "tight": "tight", "room": "room"}


def bracket_words(entry: Entry, texts: Texts) -> str | None:
    """`Overdrawn if this is an older controller (64 endpoints), room if it is a later one (254 endpoints). What would
    settle it: …`; None where the limit is known, none is, or both ends say the same."""
    if entry.limit is not None or entry.bracket is None or entry.used is None or entry.state != "unknown":
        return None
    low, high = entry.bracket
    limits = [("lower", low), *(("between", limit) for limit in entry.between), ("higher", high)]
    said = [_at(entry, end, limit, texts) for end, limit in limits]
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

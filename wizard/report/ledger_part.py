"""The chapters on the budgets and on what the log reports: the overdrawn places first, with who uses what."""

from wizard.budget.entry import Basis, Entry, State
from wizard.bus.sign import LogRead, Sign
from wizard.bus.tree import BusTree
from wizard.case.documents import Look
from wizard.diagnosis.texts import Texts
from wizard.report.blocks import Block, Item, Listing, Para, Part, Row, Section, Table, Tone
from wizard.report.clean import shortened
from wizard.report.open_words import beside_words, stands_out
from wizard.report.words import (
    NOT_KNOWN,
    amount,
    balance_words,
    basis_words,
    limit_words,
    place_words,
    text_or,
    used_words,
    user_words,
)

WORST_FIRST: tuple[State, ...] = ("over", "tight", "unknown", "room")

FIGURES: frozenset[str] = frozenset({"latency"})
"""Budgets that have no limit by their nature: a figure to know, neither a fault nor something unknown."""

_STATE_WORDS: dict[State, str] = {"over": "OVERDRAWN", "tight": "tight", "unknown": NOT_KNOWN, "room": "room"}
_STATE_TONES: dict[State, Tone] = {"over": "warning", "tight": "plain", "unknown": "quiet", "room": "plain"}


def ledger_section(look: Look, texts: Texts) -> Section:
    """All budgets in one table, then each that stands out with its users, and where the limits come from."""
    tree = BusTree(look.snapshot)
    entries = sorted(
        look.ledger, key=lambda e: (e.budget in FIGURES, WORST_FIRST.index(e.state), e.budget == "periodic_time")
    )
    if not entries:
        return Section("ledger", "What the bus can carry", (Para("No budget could be worked out."),))
    rows = tuple(Row(_cells(entry, tree, texts), _STATE_TONES[entry.state], _figures(entry)) for entry in entries)
    blocks: list[Block] = [
        Para(ledger_summary(look.ledger)),
        Table(("State", "What", "Where", "Used", "Limit", "Balance", "How it is known"), rows),
    ]
    told = one_fact_once(tuple(entries))
    blocks.extend(_entry_part(entry, tree, texts) for entry in told if stands_out(entry, texts))
    sources = dict.fromkeys(f"{text_or(texts, f'budget.{e.budget}.title', e.budget)}: {e.source}" for e in entries)
    blocks.append(Part("Where the limits come from", (Listing(tuple(Item(s, tone="quiet") for s in sources)),)))
    return Section("ledger", "What the bus can carry", tuple(blocks))


def ledger_summary(ledger: tuple[Entry, ...]) -> str:
    """One sentence: how many places are overdrawn, tight, unknown and have room."""
    limited = one_fact_once(ledger)
    counts = {state: sum(e.state == state for e in limited) for state in WORST_FIRST}
    total = len(limited)
    return (
        f"{total} budget{'' if total == 1 else 's'} in all: {counts['over']} overdrawn, {counts['tight']} tight, "
        f"{counts['unknown']} unknown, {counts['room']} with room."
    )


def one_fact_once(ledger: tuple[Entry, ...]) -> list[Entry]:
    """What can be overdrawn, to be counted or told: where bus time at most reads as bus time now does, only the one in
    use; mere figures left out."""
    now = {e.where: (e.state, e.used, e.limit) for e in ledger if e.budget == "periodic_time_active"}
    return [
        e
        for e in ledger
        if e.budget not in FIGURES and (e.budget != "periodic_time" or now.get(e.where) != (e.state, e.used, e.limit))
    ]


def overdrawn_words(ledger: tuple[Entry, ...], tree: BusTree, texts: Texts) -> tuple[str, ...]:
    """A sentence for each overdrawn place, for a first glance."""
    return tuple(
        f"{text_or(texts, f'budget.{e.budget}.title', e.budget)}, {place_words(e.where, tree, e.budget)}: "
        f"{amount(e.used, e.unit)} used, limit {limit_words(e)}"
        for e in one_fact_once(ledger)
        if e.state == "over"
    )


def signs_section(signs: tuple[Sign, ...], look: Look, texts: Texts) -> Section:
    """What the log reports, the most frequent first."""
    title = "What the log says"
    if not signs:
        return Section("signs", title, (Para(_read_words(look.log)),))
    tree = BusTree(look.snapshot)
    rows = tuple(
        Row(
            (
                text_or(texts, f"sign.{sign.kind}.words", sign.kind),
                NOT_KNOWN if sign.where == "-" else place_words(sign.where, tree),
                f"{sign.count} ×",
                sign.first or NOT_KNOWN,
                sign.last or NOT_KNOWN,
                shortened(sign.text),
            )
        )
        for sign in sorted(signs, key=lambda s: -s.count)
    )
    return Section("signs", title, (Table(("What", "Where", "How often", "First", "Last", "One line of it"), rows),))


def _read_words(read: LogRead | None) -> str:
    """What an absence of signs means: no log, one that tells nothing, or one that was read to its end."""
    if read is None:
        return "No log was given."
    if not read.understood:
        looked = "No line of it looks like a line of a system log" if read.lines else "The log is empty"
        return f"{looked}: nothing can be told from it."
    if read.lines is None:
        return "The file was read: nothing in it reports trouble with USB."
    lines = f"{read.lines:,} line{'' if read.lines == 1 else 's'}".replace(",", "\u202f")
    return f"The log was read, {lines}: nothing in it reports trouble with USB."


def _cells(entry: Entry, tree: BusTree, texts: Texts) -> tuple[str, ...]:
    title = text_or(texts, f"budget.{entry.budget}.title", entry.budget)
    where = place_words(entry.where, tree, entry.budget)
    if entry.budget in FIGURES:
        return ("a figure", title, where, amount(entry.used, entry.unit), "none", "none", basis_words(entry.basis))
    use, limit = basis_words(entry.basis), _RANGE if _has_range(entry) else basis_words(entry.limit_basis)
    known = use if use == limit else f"use {use}, limit {limit}"
    return (
        f"{_STATE_WORDS[entry.state]}, see below" if entry.finding else _STATE_WORDS[entry.state],
        title,
        where,
        amount(entry.used, entry.unit),
        limit_words(entry),
        _FREE if takes_what_is_free(entry) else balance_words(entry),
        known,
    )


_RANGE = "known as a range"


def _has_range(entry: Entry) -> bool:
    """Whether the limit is known, if only between two ends: that is not called unknown."""
    return entry.limit is None and entry.bracket is not None


_FREE = "what is free goes to drives and the like"

_BASES: dict[Basis, str] = {
    "measured": "measured", "declared": "as declared", "assumed": "assumed", "unknown": NOT_KNOWN,
}  # fmt: skip


def _figures(entry: Entry) -> str:
    """`480 of 500 mA, 20 mA left (both as declared)`."""
    use, limit = _BASES[entry.basis], _RANGE if _has_range(entry) else _BASES[entry.limit_basis]
    if entry.budget in FIGURES:
        return f"{amount(entry.used, entry.unit)} ({use})"
    words = [used_words(entry.used, entry.limit, entry.bracket, entry.unit)]
    if takes_what_is_free(entry):
        words.append(_FREE)
    elif entry.left is not None:
        words.append(balance_words(entry))
    return f"{', '.join(words)} ({f'both {use}' if use == limit else f'use {use}, limit {limit}'})"


def takes_what_is_free(entry: Entry) -> bool:
    """Whether something hangs there that fills the link, as the note says: then the balance promises too much."""
    greedy = "as fast as the link lets them" in (entry.note or "")
    return entry.budget == "link_rate" and greedy and (entry.left or 0) >= 0


def _entry_part(entry: Entry, tree: BusTree, texts: Texts) -> Part:
    title = text_or(texts, f"budget.{entry.budget}.title", entry.budget)
    state = _STATE_WORDS[entry.state]
    blocks: list[Para | Listing | Table] = []
    words = texts.get(f"budget.{entry.budget}.words")
    if words:
        blocks.append(Para(words, tone="quiet"))
    blocks.append(Para(f"{amount(entry.used, entry.unit)} used, limit {limit_words(entry)}: {balance_words(entry)}."))
    blocks.extend(Para(sentence) for sentence in beside_words(entry, texts))
    users = tuple(Item(f"{user_words(who, tree)}: {_part_words(used, entry)}") for who, used in _by_user(entry))
    if users:
        blocks.append(Listing(users))
    return Part(f"{state}: {title}, {place_words(entry.where, tree, entry.budget)}", tuple(blocks))


def _part_words(used: float, entry: Entry) -> str:
    """What a user takes; the entry is that of the fullest (micro)frame, in which not everybody has a turn."""
    if not used and entry.unit in ("us/frame", "us/microframe"):
        return "not in the worst frame" if entry.unit == "us/frame" else "not in the worst microframe"
    return amount(used, entry.unit)


def _by_user(entry: Entry) -> list[tuple[str, float]]:
    """Parts summed by who uses them, the greatest first."""
    used: dict[str, float] = {}
    for part in entry.parts:
        used[part.who] = used.get(part.who, 0.0) + part.used
    return sorted(used.items(), key=lambda item: -item[1])

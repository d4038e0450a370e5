"""The strips in words: the few that stand on them, the many that are told of one place, and the whole as a text.

The text is for whoever does not see the picture; it says all that the picture says.
"""

from collections.abc import Iterator

from wizard.budget.entry import Entry, State
from wizard.bus.tree import BusTree
from wizard.desktop.figures import FIGURES, by_user
from wizard.desktop.strip_bands import Bands, worst
from wizard.desktop.strip_figures import WORDS as FIGURE_WORDS
from wizard.desktop.strip_layout import Hidden
from wizard.desktop.strips import PC, Hole, Picture, Strip
from wizard.diagnosis.texts import Texts
from wizard.report.clean import one_line
from wizard.report.open_words import beside_words
from wizard.report.words import amount, balance_words, basis_words, figure, text_or, used_words, user_words

_SHORT = {
    "port_current": "Current",
    "hub_supply": "Supply",
    "group_current": "Shared feed",
    "periodic_time": "Bus time at most",
    "periodic_time_active": "Bus time now",
    "link_rate": "Data rate",
    "endpoints": "Endpoints",
    "slots": "Devices",
    "hub_depth": "Hubs in a row",
    "cable": "Cable run",
    "voltage": "Voltage lost",
    "latency": "Delay",
}

STATE_WORDS: dict[State, str] = {"over": "overdrawn", "tight": "tight", "room": "room", "unknown": "unknown"}
"""What is said of a state; it never stands by its colour alone."""


def short(budget: str) -> str:
    """The name of a budget where there is little room."""
    return _SHORT.get(budget, budget.replace("_", " "))


def numbers(entry: Entry) -> str:
    """What is used of what there is, and of what no more than a bracket or nothing is known."""
    return used_words(entry.used, entry.limit, entry.bracket, entry.unit)


def numbers_on_band(entry: Entry) -> str:
    """The same where there is little room: `1319 of 900 µs`. What is not known is told by `state_on_band`."""
    unit = entry.unit.partition("/")[0].replace("us", "µs")
    unit = "" if unit in _COUNTED else f" {unit}"
    used = "?" if entry.used is None else _round(entry.used)
    if entry.limit is not None:
        return f"{used} of {_round(entry.limit)}{unit}"
    if entry.bracket is not None and entry.state != "unknown":
        return f"{used} of {_round(entry.bracket[0])} to {_round(entry.bracket[1])}{unit}"
    return f"{used}{unit}"


_COUNTED = frozenset({"endpoints", "devices", "hubs"})


def _round(value: float) -> str:
    return figure(value, 0 if value >= 100 else 1)


def state_on_band(entry: Entry) -> str:
    """The state of an entry; for an unknown one, what is not known."""
    if entry.state != "unknown":
        return STATE_WORDS[entry.state]
    if entry.bracket is not None:
        return f"limit between {_round(entry.bracket[0])} and {_round(entry.bracket[1])}"
    return "use unknown" if entry.used is None else "limit unknown"


def tag_line(hole: Hole, entries: tuple[Entry, ...]) -> tuple[str, State | None]:
    """The small print of a tag, and the state it speaks of: what is the matter, else speed and current."""
    state = worst(entries)
    if state is not None and state != "room":
        entry = next(e for e in entries if e.state == state and e.budget not in FIGURES)
        name = "" if entry.budget == "port_current" and entry.used is not None else f"{short(entry.budget).lower()} "
        # The state first: where there is too little room, the end is cut off.
        return f"{state_on_band(entry)}: {name}{numbers_on_band(entry)}", state
    drawn = next((e for e in entries if e.budget == "port_current"), None)
    parts = [hole.plug.speed if hole.plug is not None else ""]
    if drawn is not None:
        parts.append(amount(drawn.used, drawn.unit))
    return ", ".join(p for p in parts if p), state


def free_words(hole: Hole) -> str:
    """What is said beside a socket without a plug."""
    if hole.hold == "built_in":
        return "wired for good"
    return "free, if it is led out of the PC" if hole.hold == "doubtful" else "free"


def hidden_words(hidden: Hidden) -> str:
    """What a folded strip hides."""
    parts = [f"{hidden.plugs} plug{'' if hidden.plugs == 1 else 's'} folded away"]
    parts += [f"{n} {word}" for n, word in ((hidden.over, "overdrawn"), (hidden.tight, "tight")) if n]
    if hidden.unknown:
        parts.append(f"{hidden.unknown} unknown")
    return ", ".join(parts)


def socket_title(hole: Hole) -> str:
    """A socket by its number and what it is."""
    kind = "USB 3 socket" if hole.fast else "USB 2 socket"
    side = f", {hole.side}" if hole.side else ""
    return f"{kind} {hole.label} ({hole.id}{side})"


def owner(strip: Strip) -> str:
    """Whose sockets a strip's are: `the PC`, or the name of a hub."""
    return "the PC" if strip.name == PC else strip.name


def hole_title(hole: Hole, strip: Strip) -> str:
    """A socket with what sits in it and where it is."""
    where = strip.words if strip.kind == "adrift" else f"{socket_title(hole)} of {owner(strip)}"
    if hole.plug is None:
        return f"{where}: {free_words(hole)}"
    facts = ", ".join(x for x in (FIGURE_WORDS[hole.plug.figure], hole.plug.speed) if x and x != hole.plug.name)
    return f"{hole.plug.name} – {facts} – in {where}" if strip.kind != "adrift" else f"{hole.plug.name}: {where}"


def strip_title(strip: Strip) -> str:
    """A strip by its name and what it is."""
    return f"{strip.name} – {strip.detail or strip.words}"


def entry_lines(entry: Entry, tree: BusTree, texts: Texts, long: bool = False) -> Iterator[str]:
    """One line of the ledger with its source; a `long` one also with what the budget is and who uses how much."""
    title = text_or(texts, f"budget.{entry.budget}.title", entry.budget)
    if entry.budget in FIGURES:
        yield f"{title}: {amount(entry.used, entry.unit)}, a figure to know. Source: {entry.source}"
        return
    yield (
        f"{title}: {numbers(entry)}; {STATE_WORDS[entry.state]}"
        + (f", {balance_words(entry)}" if entry.left is not None else "")
        + f". Use {basis_words(entry.basis)}, limit {basis_words(entry.limit_basis)}. Source: {entry.source}"
    )
    yield from beside_words(entry, texts)
    if long:
        words = texts.get(f"budget.{entry.budget}.words")
        if words:
            yield words
        users = [f"{user_words(who, tree)} {amount(used, entry.unit)}" for who, used in by_user(entry)]
        if users:
            yield "Used by: " + "; ".join(users)


def as_text(picture: Picture, bands: Bands) -> str:
    """The whole picture as lines of text, strip after strip."""
    lines: list[str] = []
    for strip in picture.strips.values():
        above = picture.holes.get(strip.above or "")
        hangs = f", hangs in socket {above.id}" if above is not None else ""
        lines.append(f"{strip_title(strip)}{hangs}")
        lines += [f"    {_band_words(e)}" for e in bands.at(strip.key, strip=True) if e.budget not in FIGURES]
        for hole in strip.holes:
            lines.append(f"    {_hole_words(hole)}")
            if hole.plug is not None:
                told = bands.at(hole.key, strip=False)
                lines += [f"        {_band_words(e)}" for e in told if e.budget not in FIGURES]
        lines.append("")
    return "\n".join(one_line(line) for line in lines)


def _hole_words(hole: Hole) -> str:
    if hole.plug is None:
        return f"{socket_title(hole)}: {free_words(hole)}"
    return f"{socket_title(hole)}: {hole.plug.name}, {FIGURE_WORDS[hole.plug.figure]}, {hole.plug.speed}"


def _band_words(entry: Entry) -> str:
    told = f"{short(entry.budget)}: {numbers(entry)}"
    return (
        told if entry.state == "unknown" and STATE_WORDS["unknown"] in told else f"{told}, {STATE_WORDS[entry.state]}"
    )

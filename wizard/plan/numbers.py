"""The figures that a step quotes: the budget that makes it necessary, and the specification of a purchase.

Reads ledger entries; where an entry does not tell, nothing is quoted. Words come from the texts
(`reason.*`, `step.<id>.need`), with named gaps for the figures.
"""

from collections.abc import Mapping
from math import ceil
from string import Formatter

from wizard.budget.entry import Entry
from wizard.diagnosis.facts import Facts, place_kind
from wizard.diagnosis.texts import Texts

CAUSES_OF: Mapping[str, tuple[str, ...]] = {
    "port_current": ("port_power", "over_current"),
    "group_current": ("port_power", "over_current"),
    "hub_supply": ("hub_supply",),
    "periodic_time.bus": ("periodic_bandwidth",),
    "periodic_time.translator": ("translator_bandwidth",),
    "periodic_time_active.bus": ("periodic_bandwidth",),
    "periodic_time_active.translator": ("translator_bandwidth",),
    "link_rate": ("controller_limit", "periodic_bandwidth"),
    "endpoints": ("endpoint_limit",),
    "slots": ("controller_limit",),
    "hub_depth": ("hub_depth",),
    "cable": ("cable_length",),
    "voltage": ("port_power", "cable_length"),
}
"""Which causes a budget in trouble stands for; bus time by the kind of place."""

STATES = ("over", "tight")

REASON_GAPS = frozenset(["used", "limit", "where", "per"])
"""Named gaps of the reasons, filled from a ledger entry."""
PLACE_GAPS = frozenset(["where"])
"""Named gaps of a kind of place."""
NEED_GAPS = frozenset(["amps", "sockets", "metres", "gauge", "biggest"])
"""Named gaps of a specification; where a figure is not known, the general text stands instead."""
COMMAND_GAPS = frozenset(["device", "hub", "subject"])
"""Named gaps of an instruction; where an id is not known, the gap shows a name to replace. `subject` is what the step
is done to, by name and place."""

HEADROOM = 1.25
"""A supply to ask for over what is declared: common practice (no source)."""

RUN_M: Mapping[str, str] = {"low": "3", "full": "5", "high": "5", "super": "3"}
"""Longest passive run in metres. Full and high speed: 26 ns at 5.2 ns/m, USB 2.0 §7.1.19 as cited in the USB-IF
white paper on propagation delay (2015); low speed: USB-IF FAQ, second-hand; SuperSpeed: what copper of AWG 26
carries in practice, second-hand."""

GAUGE_TO_M: tuple[tuple[int, float], ...] = ((28, 0.8), (26, 1.3), (24, 2.0), (22, 3.0), (20, 5.0))
"""Longest cable by gauge of its power pair: USB 2.0 Table 6-6 as quoted in public copies, second-hand; where the
copies differ, the shorter length."""


def budget_key(entry: Entry) -> str:
    """The budget, for bus time with the kind of place: `periodic_time.translator`."""
    if not entry.budget.startswith("periodic_time"):
        return entry.budget
    return f"{entry.budget}.{'translator' if place_kind(entry.where) == 'translator' else 'bus'}"


def reason_entry(causes: tuple[str, ...], ledger: tuple[Entry, ...]) -> Entry | None:
    """The entry that speaks loudest for one of the causes: over before tight, then the fullest."""
    speaking = [
        e
        for e in ledger
        if e.state in STATES and e.used is not None and set(CAUSES_OF.get(budget_key(e), ())) & set(causes)
    ]
    return min(speaking, key=lambda e: (STATES.index(e.state), -_fill(e), e.where, e.budget), default=None)


def reason_sentence(entry: Entry, texts: Texts, names: Mapping[str, str]) -> str:
    """One sentence with the figures of an entry; empty if the language has none. `names` are devices' by id."""
    template = texts.get(f"reason.{budget_key(entry)}.{entry.state}")
    top = _limit(entry)
    if template is None or entry.used is None or top is None:
        return ""
    per = texts.get("reason.per_microframe" if "microframe" in entry.unit else "reason.per_frame") or ""
    figures = {
        "used": shown(entry.used),
        "limit": shown(top),
        "where": where_words(entry.budget, entry.where, names, texts),
        "per": per,
    }
    return template.format_map(figures)


def greatest_user(entry: Entry) -> str | None:
    """The id that uses most of an entry over all its parts; None if the entry does not tell."""
    used: dict[str, float] = {}
    for part in entry.parts:
        used[part.who] = used.get(part.who, 0.0) + part.used
    return max(used, key=lambda who: (used[who], who), default=None)


def fill_gaps(template: str, figures: Mapping[str, str]) -> str | None:
    """The text with its gaps filled, or None if a figure is not known."""
    gaps = {name for _, name, _, _ in Formatter().parse(template) if name is not None}
    return template.format_map(dict(figures)) if gaps <= figures.keys() else None


def specification(facts: Facts) -> dict[str, str]:
    """The figures a purchase or command may quote, as far as the case tells them."""
    figures: dict[str, str] = {}
    fed = [e for e in facts.ledger if e.budget in ("hub_supply", "group_current", "port_current") and e.used]
    if fed:
        heaviest = max(fed, key=lambda e: e.used or 0.0)
        figures["amps"] = f"{ceil((heaviest.used or 0.0) * HEADROOM / 500) / 2:g}"
        users = {p.who for p in heaviest.parts}
        if users:
            figures["sockets"] = str(max(4, len(users) + 1))
    speed = next(iter(facts.words("device_speed")), "")
    if speed in RUN_M:
        figures["metres"] = RUN_M[speed]
    run = facts.number("cable_m")
    gauge = next((awg for awg, most in GAUGE_TO_M if run is not None and run <= most), None)
    if gauge is not None:
        figures["gauge"] = str(gauge)
    figures.update(_ids(facts))
    return figures


def shown(value: float) -> str:
    """A figure for people: whole from ten up, with a comma for thousands, else two places at most."""
    return f"{value:,.0f}" if abs(value) >= 10 or value == int(value) else f"{value:.2f}".rstrip("0").rstrip(".")


def _ids(facts: Facts) -> dict[str, str]:
    """Ids that may stand in a command: only what can't be anything but a device id."""
    subject = facts.subject[0] if facts.subject else ""
    if not subject or not subject[0].isdigit() or set(subject) - set("0123456789-."):
        return {}
    hub, dot, _ = subject.rpartition(".")
    return {"device": subject, **({"hub": hub} if dot else {})}


def _limit(entry: Entry) -> float | None:
    return entry.limit if entry.limit is not None else entry.bracket[1] if entry.bracket is not None else None


def _fill(entry: Entry) -> float:
    top = _limit(entry)
    return (entry.used or 0.0) / top if top else 0.0


UNITS: Mapping[str, str] = {"us/frame": "µs a frame", "us/microframe": "µs a microframe", "us": "µs"}
"""Units that are shown otherwise than they are written in a ledger."""

_NOUNS: Mapping[str, str] = {
    "hub_supply": "hub", "link_rate": "link", "endpoints": "controller", "slots": "controller", "group_current": "feed",
}  # fmt: skip

NOUNS = ("hub", "socket", "bus", "link", "controller", "feed")
"""Kinds of places, `place.<noun>` in the texts; besides these `place.translator`."""


def where_words(budget: str, where: str, names: Mapping[str, str], texts: Texts) -> str:
    """`Desk hub (1-3)` where the name is known, else `hub 1-3`. A translator goes by its hub, or by the socket that it
    serves alone."""
    owner = _place(where)
    if owner in names:
        return f"{names[owner]} ({owner})"
    noun = _NOUNS.get(budget, "socket")
    if owner.startswith("usb"):
        noun = "bus"
    elif where == f"{owner}/tt":
        noun = "hub"
    return f"{texts.get(f'place.{noun}') or noun} {owner}"


def _place(where: str) -> str:
    """The hub, socket or bus of a place. A translator that serves one socket alone goes by that socket."""
    owner, _, translator = where.partition("/tt")
    if not translator:
        return owner
    return f"{owner.removeprefix('usb')}-{translator}" if owner.startswith("usb") else f"{owner}.{translator}"

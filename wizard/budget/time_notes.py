"""What a sum of bus time alone does not say: a think time that can't be read, a host that fills less, what finds no
place in the microframes of a translator, and sockets that may have a bandwidth of their own.
"""

from collections.abc import Sequence

from wizard.budget.pipeline import Work, budgeted, by_ehci
from wizard.budget.places import EHCI_CAP, Place
from wizard.budget.schedule import Load, Schedule, schedule

THINK_NS = (666, 2664)
"""Shortest and longest time a translator thinks between two transactions: USB 2.0 §11.23.2.1, 8 to 32 full-speed bit
times (as Linux core/hub.c has them, confirmed)."""

THINK_TIME_UNREAD = (
    "The translator's think time can't be read here and is left out (USB 2.0 §11.23.2.1: 0.67 to 2.7 us)"
)


def note_words(place: Place, loads: Sequence[Load], plan: Schedule) -> str | None:
    """Sentences for the note of an entry, or None."""
    told = [place.note, _think_note(place, plan), _domain_note(place, loads, plan)]
    return ". ".join(t for t in told if t) or None


def finding_words(place: Place, loads: Sequence[Load], plan: Schedule) -> str | None:
    """What is wrong although the sum fits: work that finds no place, or a sum that the think time may push over."""
    if not place.is_translator or plan.worst_ns > 1000 * place.limit.value:
        return None
    refused = _refused(place, loads, plan)
    if refused:
        names = ", ".join(dict.fromkeys(w.who for w in refused))
        why = (
            "Linux's EHCI driver fills 780 us of a frame, and a stream longer than a microframe must find its "
            "microframes empty"
            if _by_ehci(place)
            else "USB 2.0 §11.18 lets nothing start so late in the frame"
        )
        return f"The sum fits, and yet {names} finds no place beside the others: {why}"
    most = _with_think(plan, THINK_NS[1]) if place.think_ns is None else 0.0
    if most > place.limit.value:
        return (
            f"With a slow translator it would be {most:g} us, more than the {place.limit.value:g} us there are: "
            "whether it fits hangs on the think time in the hub's own descriptor, which can't be read here"
        )
    return None


def _by_ehci(place: Place) -> bool:
    return place.note == EHCI_CAP


def _refused(place: Place, loads: Sequence[Load], plan: Schedule) -> tuple[Work, ...]:
    think = THINK_NS[0] if place.think_ns is None else 0  # a known one is in the pieces
    works = [
        Work(load.who, _unstuffed_bytes(load.service_ns), -(-(ns + think) // 1000), load.isochronous)
        for load, ns in zip(loads, plan.in_worst_ns, strict=True)
        if ns
    ]
    return (by_ehci(works) if _by_ehci(place) else budgeted(works)).refused


def _unstuffed_bytes(service_ns: int) -> int:
    """Full-speed bytes of a transaction without its host delay (1000 ns) and without bit stuffing (7/6)."""
    return max(0, service_ns - 1000) * 12 * 6 // (8 * 7 * 1000)


def _with_think(plan: Schedule, think_ns: int) -> float:
    """The worst frame with a think time for each of its transactions, in us."""
    return (plan.worst_ns + think_ns * sum(ns > 0 for ns in plan.in_worst_ns)) / 1000


def _think_note(place: Place, plan: Schedule) -> str | None:
    if not place.is_translator or place.think_ns is not None:
        return None
    least, most = (_with_think(plan, ns) for ns in THINK_NS)
    if least == most:
        return THINK_TIME_UNREAD
    return f"{THINK_TIME_UNREAD}; with it {least:g} to {most:g} us"


def _domain_note(place: Place, loads: Sequence[Load], plan: Schedule) -> str | None:
    """For an xHCI bus that is overdrawn: what its fullest socket alone takes. With room, nothing hangs on it."""
    if place.is_translator or place.kind != "xhci" or plan.worst_ns <= 1000 * place.limit.value:
        return None
    sockets: dict[str, list[Load]] = {}
    for load in loads:
        sockets.setdefault(load.who.split(".", 1)[0], []).append(load)
    if len(sockets) < 2:
        return None
    alone = {socket: schedule(own).worst_ns / 1000 for socket, own in sockets.items()}
    fullest = max(alone, key=lambda s: alone[s])
    return (
        "All sockets of the bus are added up. An xHCI controller may give each of its own sockets a bandwidth of its "
        f"own (Linux xhci-mtk-sch.c, confirmed there for its kind); then the fullest is {fullest} with "
        f"{alone[fullest]:g} of {place.limit.value:g} {place.unit}"
    )

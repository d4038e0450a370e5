"""Sentences for people about a look: what could not be read and why. Knows the snapshot only."""

from collections.abc import Sequence

from wizard.bus.model import Snapshot, Unreadable

NO_BUS = "No USB was found here: this computer has none, or the system hides it (as some virtual machines do)."
NO_BUS_IN_CAPTURE = "This capture holds no USB devices."


def notes_on(snapshot: Snapshot) -> tuple[str, ...]:
    """One sentence for each sort of trouble in the snapshot, the gravest first."""
    troubles = [*snapshot.unreadable, *(t for device in snapshot.devices for t in device.unreadable)]
    names = {d.id: d.name or d.id if d.root else f"{d.name or d.id} ({d.id})" for d in snapshot.devices}
    sentences = []
    for reason, text in _TEXTS.items():
        places = _places([t for t in troubles if t.reason == reason], names)
        if places:
            sentences.append(text.format(places=places))
    return tuple(sentences)


_TEXTS = {
    "blocked": (
        "{places} did not answer in time. A device plugged in there may be keeping it busy; "
        "what could not be read is shown as unknown. Look again in two minutes."
    ),
    "vanished": "{places}: unplugged, or dropped out, while it was being read.",
    "permission": "{places}: some details may be read only by an administrator.",
    "garbled": "{places}: some of what it says of itself makes no sense and was left out or put right.",
    "too_large": "{places}: some of what it says of itself is far too long and was left out.",
    "failed": "{places}: some details could not be read.",
}

_MOST = 4


def _places(troubles: Sequence[Unreadable], names: dict[str, str]) -> str:
    """`keyboard (1-4), drive (2-1) and 3 more`, each place once, in the order they were met."""
    ids = dict.fromkeys(t.where.partition("/")[0] for t in troubles)
    shown = [names.get(i, i) for i in ids]
    if len(shown) > _MOST:
        shown = [*shown[: _MOST - 1], f"{len(shown) - _MOST + 1} more"]
    return " and ".join([", ".join(shown[:-1]), shown[-1]]) if len(shown) > 1 else "".join(shown)

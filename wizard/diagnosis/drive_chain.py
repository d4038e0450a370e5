"""The chain from the bus to the files of one drive judged link by link: what holds, what does not, what follows.

Knows facts and signs as values; reads nothing. A link that can't be told is `unknown`, never fine. What follows
never tells anybody to write to a drive whose files may matter.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from wizard.bus.drive import Disk, DriveDocument, DriveFacts, DriveLink, LinkName, LinkState
from wizard.bus.sign import Sign
from wizard.diagnosis.drive_volumes import (
    file_system_link,
    mounted_link,
    partition_table_link,
    read_only_link,
    volume_observation,
)
from wizard.diagnosis.drive_words import COPY_FIRST, Told, size_words, told

USUAL_FAILURES = 5
"""So many refused requests are usual while a drive is being set up; it may be asked what it does not know. Seen on
Linux 6.1: 1 with usb-storage, 4 with uas; the rest is margin."""

LEAST_BYTES = 1024 * 1024
"""No drive is smaller: common practice (no source)."""

_IO_SIGNS = ("storage_io_error", "storage_offline", "filesystem_error", "storage_abort")
_LINKS: tuple[LinkName, ...] = (
    "enumerated", "driver", "block_device", "size", "partition_table", "file_system", "mounted", "read_only",
    "io_errors",
)  # fmt: skip
_FROM_ABOVE: tuple[LinkName, ...] = ("size", "partition_table", "file_system", "mounted")
_UAS = frozenset({"uas", "uaspstor"})
_WAYS = {
    "uas": "uas, the faster way",
    "usb-storage": "usb-storage, the older way",
    "uaspstor": "UASPStor, the faster way",
    "usbstor": "USBSTOR, the older way",
}
"""Drivers of Linux and of Windows, and how they talk to a drive."""
ABSENT = (
    "Nothing with this id is on the bus. Plug it straight into the PC with another cable. Until the bus sees it, "
    "nothing further works."
)
_SUMMED_UP: tuple[LinkName, ...] = ("read_only", "io_errors")


@dataclass(frozen=True)
class Chain:
    """The facts, the disk they are mostly about (the first with a size), and the signs that speak of it."""

    facts: DriveFacts
    disk: Disk | None
    signs: tuple[Sign, ...]
    signs_known: bool

    @classmethod
    def of(cls, facts: DriveFacts, signs: Sequence[Sign], signs_known: bool) -> "Chain":
        """Pick out what concerns this drive."""
        disk = next((d for d in facts.disks if d.bytes_), facts.disks[0] if facts.disks else None)
        places = {facts.device, *facts.hosts, *facts.also_called}
        for each in facts.disks:
            places |= {each.name, each.scsi or each.name, *(v.name for v in each.volumes)}
        mine = tuple(s for s in signs if s.where in places or s.where.casefold() in facts.also_called)
        return cls(facts, disk, mine, signs_known)


def judge_drive(facts: DriveFacts, signs: Sequence[Sign] = (), signs_known: bool = False) -> DriveDocument:
    """The document without name and notes. `signs_known` says whether there was a log to look into. A device that is
    not there has no chain."""
    if not facts.present:
        return DriveDocument(device=facts.device, opened=False, facts=facts, words=ABSENT)
    chain = Chain.of(facts, signs, signs_known)
    links: list[DriveLink] = []
    for name in _LINKS:
        broken = next((link.link for link in links if link.state == "fails"), None)
        here = _later(name, broken) if broken is not None and chain.disk is None else _JUDGES[name](chain)
        if broken in _FROM_ABOVE and name in _FROM_ABOVE:
            here = here._replace(follows=None)  # said above, and nothing else would help here
        links.append(_link(name, here, chain))
    return DriveDocument(
        device=facts.device,
        links=tuple(links),
        observations=_observations(chain, {link.link: link.state for link in links}),
        facts=facts,
        words=_summary(links),
    )


def _link(name: LinkName, here: Told, chain: Chain) -> DriveLink:
    seen = {s.kind for s in chain.signs}
    return DriveLink(
        link=name,
        state=here.state,
        found=here.found,
        follows=here.follows,
        signs=tuple(kind for kind in here.signs if kind in seen),
    )


def _later(name: LinkName, broken: LinkName) -> Told:
    return told("unknown", f"Can't be told before '{broken.replace('_', ' ')}' is mended.")


def _enumerated(chain: Chain) -> Told:
    facts = chain.facts
    if facts.vanished:
        return told(
            "fails", "It left the bus while it was being looked at.",
            "Something cuts it off: a cable or plug that moves, too little current, or the drive itself.",
            "disconnect", "reset", "over_current", "storage_offline",
        )  # fmt: skip
    if not facts.authorised:
        return told(
            "fails", "The system keeps it locked out by a rule.", "Ask whoever looks after this PC.", "not_authorised"
        )
    if facts.configured is False:
        return told(
            "fails", "It is on the bus, but the system could not take it into use.",
            "Often it asks for more current than its socket may give: try a socket of the PC itself, or a hub with its "
            "own supply.", "config_failed", "no_bus_power", "no_controller_resources",
        )  # fmt: skip
    return told("ok", f"On the bus as {facts.device}.")


def _driver(chain: Chain) -> Told:
    facts = chain.facts
    if facts.problem:
        return told(
            "fails", f"Windows gives problem code {facts.problem} for it, so its driver does not run.",
            "Device Manager says the same in its own words when you open the device there.", "driver_failed",
            "config_failed", "no_controller_resources", "enumeration_failed", "descriptor_read_failed",
        )  # fmt: skip
    if facts.drivers:
        return told("ok", "Driver: " + ", ".join(_WAYS.get(d.lower(), d) for d in facts.drivers) + ".")
    if facts.disks:
        return told("ok", "One has it, for a disk stands behind it; which one is not told.")
    if not facts.drivers_known and facts.is_storage is not False:
        return told("unknown", "The system does not say which driver has it.")
    if facts.is_storage is None:
        return told("unknown", "What it is for can't be told as long as it is not in use.")
    if not facts.is_storage:
        return told(
            "fails", "It does not present itself as a drive.",
            "A phone or camera has to be told to share its files, and then it may need a program of its own.",
        )  # fmt: skip
    return told(
        "fails", "It is a drive, but no driver has taken it.",
        "The driver is missing or held back: look for 'usb-storage' in what the system loads or forbids."
        if facts.system == "linux"
        else "The driver is missing or held back: the system's list of devices shows it with a mark.",
        "driver_failed", "interface_failed", "not_authorised",
    )  # fmt: skip


def _block_device(chain: Chain) -> Told:
    disk = chain.disk
    if disk is None and not chain.facts.disks_known:
        return told("unknown", "Which disk belongs to it is not told here.")
    if disk is None:
        return told(
            "fails", "The driver has it, but no disk has appeared behind it.",
            "The adapter answers and what is behind it does not: wait half a minute, then check the drive's own "
            "supply and its seat in the case. A drive that clicks or hums oddly is switched off and left alone.",
            "storage_abort", "reset", "storage_offline", "transfer_error",
        )  # fmt: skip
    if disk.why_offline is not None:
        return told(
            "fails", f"{disk.name} is there, but the system keeps it offline: {disk.why_offline}.",
            f"Disk Management can put it online again (right-click the disk, Online). {COPY_FIRST}", "storage_offline",
        )  # fmt: skip
    if disk.state in ("offline", "cancel", "deleted", "transport-offline"):
        return told(
            "fails", f"{disk.name} is there, but the system has taken it out of use after errors.",
            f"Unplug it, wait, plug it in again elsewhere. {COPY_FIRST}", "storage_offline", "storage_abort", "reset",
        )  # fmt: skip
    return told("ok", f"{', '.join(d.name for d in chain.facts.disks)}.")


def _size(chain: Chain) -> Told:
    size = chain.disk.bytes_ if chain.disk is not None else None
    if chain.disk is None or size is None:
        return told("unknown", "The system does not tell its size.")
    if size == 0:
        hint = "A reader without a card, or" if chain.disk.removable else "Either"
        return told(
            "fails", "It says it holds nothing at all.",
            f"{hint} a medium that is not recognised: take it out and put it in again, and try another one.",
        )  # fmt: skip
    if size < LEAST_BYTES:
        return told(
            "fails", f"It says it holds {size_words(size)}, which no drive does.",
            f"Its electronics answer with nonsense. {COPY_FIRST}",
        )  # fmt: skip
    return told("ok", f"{size_words(size)}.")


def _io_errors(chain: Chain) -> Told:
    disk = chain.disk
    spoken = {kind: sum(s.count for s in chain.signs if s.kind == kind) for kind in _IO_SIGNS}
    said = [f"{kind.replace('_', ' ')} ({count})" for kind, count in spoken.items() if count]
    unread = disk is not None and disk.contents is not None and disk.contents.reason in ("failed", "blocked")
    if said or unread:
        words = ["its first bytes could not be read"] if unread else []
        words += [f"the system's log says: {', '.join(said)}"] if said else []
        sentence = "; ".join(words)
        return told("fails", f"{sentence[0].upper()}{sentence[1:]}.", COPY_FIRST, *_IO_SIGNS, "reset")
    if disk is None or disk.failures is None:
        return told("unknown", "The system keeps no count.")
    count = f"{disk.failures} of {disk.requests} requests were refused" if disk.requests else f"{disk.failures} refused"
    if disk.failures > USUAL_FAILURES:
        return told(
            "unknown", f"{count}; some may be harmless questions the drive does not know.",
            "The system's log tells what they were.",
        )  # fmt: skip
    if not chain.signs_known:
        return told("unknown", f"{count}, which is usual; the system's log, which tells more, was not to be had.")
    return told("ok", f"None: {count}, which is usual, and the system's log says nothing.")


_JUDGES: dict[LinkName, Callable[[Chain], Told]] = {
    "enumerated": _enumerated,
    "driver": _driver,
    "block_device": _block_device,
    "size": _size,
    "partition_table": lambda chain: partition_table_link(chain.disk),
    "file_system": lambda chain: file_system_link(chain.disk),
    "mounted": lambda chain: mounted_link(chain.disk, chain.facts.mounts_known),
    "read_only": lambda chain: read_only_link(chain.disk),
    "io_errors": _io_errors,
}


def _observations(chain: Chain, states: dict[LinkName, LinkState]) -> dict[str, str | float | tuple[str, ...]]:
    """What it means for a case; what is not known stays out."""
    found: dict[str, str | float | tuple[str, ...]] = {}
    facts = chain.facts
    if facts.vanished:
        return found
    if facts.drivers:
        found["storage_transport"] = "uas" if _UAS & {d.lower() for d in facts.drivers} else "bulk_only"
    if facts.is_storage:
        found["device_kind"] = "storage"
        told_of = chain.disk is not None or facts.disks_known
        volume = volume_observation(chain.disk, states) if told_of else None
        if volume is not None:
            found["volume"] = volume
    medium = _medium(chain.disk, states)
    if medium:
        found["medium"] = medium
    return found


def _medium(disk: Disk | None, states: dict[LinkName, LinkState]) -> tuple[str, ...]:
    if disk is None or not disk.bytes_:
        return ()
    shown = [
        *(["bad_blocks"] if states["io_errors"] == "fails" else []),
        *(["read_only"] if disk.read_only else []),
        *(["several_partitions"] if len(disk.volumes) > 1 else []),
    ]
    sound = states["io_errors"] == "ok" and states["file_system"] == "ok" and states["mounted"] == "ok"
    return tuple(shown) or (("fine",) if sound and states["read_only"] == "ok" else ())


def _summary(links: Sequence[DriveLink]) -> str:
    broken = next((link for link in links if link.state == "fails"), None)
    if broken is not None:
        also = [link.found for link in links if link.state == "fails" and link.link in _SUMMED_UP and link != broken]
        return " ".join([broken.found, *([broken.follows] if broken.follows else []), *(f"Also: {a}" for a in also)])
    open_ = [link.link.replace("_", " ") for link in links if link.state == "unknown"]
    if open_:
        return f"Nothing wrong was found, but not everything could be seen: {', '.join(open_)}."
    return "The chain is whole from the bus to the files."

"""Observations that a sign says by itself: the words or the code the system gave, and what it shows of a disk.

Only signs of the subject's own entries and disks count; without a subject, only if all such signs name one place. That
the answer and the sign it was read from are one fact is the rulebook's to say (`fact`).
"""

from collections.abc import Iterable, Mapping

from wizard.bus.sign import Sign
from wizard.bus.tree import BusTree

MESSAGE_BY_SIGN: Mapping[str, str] = {
    # Windows' numbers: Microsoft, Error codes in Device Manager in Windows
    "windows_problem_10": "code_10",
    "windows_problem_12": "code_12",
    "windows_problem_43": "code_43",
    "no_controller_resources": "no_resources",
}
VOLUME_BY_SIGN: Mapping[str, str] = {
    # The first that was seen counts: what is offline shows no table, what has no table has no letters. Windows calls a
    # disk RAW that its disk management calls not initialised: MSFT_Disk.PartitionStyle.
    "windows_disk_offline": "offline",
    "windows_disk_raw": "no_partition",
    "windows_no_letter": "no_letter",
}
_REASONED = "windows_disk_offline_"  # the same with the number of Windows' reason
_SAID_BY_CODE = {"code_12": "no_resources"}
"""A code that says it all: the words behind it are no further message."""


def observations_of_signs(
    tree: BusTree, subject: tuple[str, ...], signs: Iterable[Sign]
) -> dict[str, str | tuple[str, ...]]:
    """`message` and `volume`, where signs tell them."""
    told = [(sign.kind, _owner(sign.where, tree)) for sign in signs if _speaks(sign.kind)]
    owners = {owner for _, owner in told}
    if subject:
        kinds = {_plain(kind) for kind, owner in told if owner == subject[0]}
    else:
        kinds = {_plain(kind) for kind, _ in told} if len(owners) == 1 else set()
    found: dict[str, str | tuple[str, ...]] = {}
    words = [word for kind, word in MESSAGE_BY_SIGN.items() if kind in kinds]
    spoken = tuple(w for w in words if not any(w == _SAID_BY_CODE.get(other) for other in words))
    if spoken:
        found["message"] = spoken
    volume = next((value for kind, value in VOLUME_BY_SIGN.items() if kind in kinds), None)
    if volume is not None and not (volume == "no_letter" and _has_letter(tree, subject)):
        found["volume"] = volume
    return found


def _speaks(kind: str) -> bool:
    return _plain(kind) in MESSAGE_BY_SIGN or _plain(kind) in VOLUME_BY_SIGN


def _plain(kind: str) -> str:
    return "windows_disk_offline" if kind.startswith(_REASONED) else kind


def _owner(where: str, tree: BusTree) -> str:
    """The device a sign is about, by the system's name for it or for its disk; else the place as it is."""
    behind = next((d.id for d in tree.devices.values() if where in d.disks), None)
    return behind or tree.place_of(where)


def _has_letter(tree: BusTree, subject: tuple[str, ...]) -> bool:
    """Whether another partition of the drive has one: then its files are reached, and one without may be meant so."""
    device = tree.devices.get(subject[0]) if subject else None
    return device is not None and any(len(name) == 2 and name.endswith(":") for name in device.disks)

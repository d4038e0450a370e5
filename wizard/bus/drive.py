"""The chain from the bus to the files on a drive: the facts read of it, and the document made of them.

Knows shapes only; reading is the observers' business, judging that of `wizard.diagnosis.drive_chain`.
"""

from collections.abc import Iterable
from typing import Literal

from pydantic import Field

from wizard.bus.document import Document
from wizard.bus.model import Reason, Snapshot

LinkName = Literal[
    "enumerated",
    "driver",
    "block_device",
    "size",
    "partition_table",
    "file_system",
    "mounted",
    "read_only",
    "io_errors",
]
LinkState = Literal["ok", "fails", "unknown"]


class Mount(Document):
    """One place where a volume can be reached, from the system's table of mounts."""

    where: str
    file_system: str
    read_only: bool


class Contents(Document):
    """What the first bytes of a disk or partition say.

    `table`: mbr, gpt, or None for none; `partitions` how many it lists. `file_system`: a name such as ext4, None
    where no known signature stands there. `blank`: every byte looked at was zero. `ends_at` is where the furthest
    partition ends and `claims` how large the file system says it is, in bytes; `other_sector` the sector size the
    table was made for, where that is not the disk's. `readable`: whether this system reads the file system, where it
    says so itself; None: judged by its name. `reason` says why the bytes could not be read: then all is
    unknown. `source` says who read them.
    """

    table: str | None = None
    partitions: int | None = None
    file_system: str | None = None
    blank: bool = False
    ends_at: int | None = None
    claims: int | None = None
    other_sector: int | None = None
    readable: bool | None = None
    reason: Reason | None = None
    source: Literal["signature", "system"] = "signature"


class Volume(Document):
    """A partition, or a whole disk without any. `bytes_` is its size; `holders` what is built on it (an unlocked
    container, a set of disks)."""

    name: str
    number: int | None = None
    bytes_: int | None = Field(default=None, alias="bytes")
    start: int | None = None
    read_only: bool | None = None
    contents: Contents | None = None
    mounts: tuple[Mount, ...] = ()
    holders: tuple[str, ...] = ()


class Disk(Document):
    """One disk of the system that hangs on the device: size in bytes, `sector` the bytes of a logical sector, state
    (Linux: `running`, `offline`, …), counts of requests and of failed ones. `why_offline` is the system's reason in a
    few words, where it keeps a disk out of use and says why."""

    name: str
    scsi: str | None = None
    bytes_: int | None = Field(default=None, alias="bytes")
    sector: int = 512
    removable: bool | None = None
    read_only: bool | None = None
    state: str | None = None
    why_offline: str | None = None
    requests: int | None = None
    failures: int | None = None
    contents: Contents | None = None
    volumes: tuple[Volume, ...] = ()
    mounts: tuple[Mount, ...] = ()
    holders: tuple[str, ...] = ()


class DriveFacts(Document):
    """Everything read about one drive. `present` says whether the device is on the bus, `configured` whether the
    system uses it, `authorised` whether policy lets it; `drivers` are those of its
    storage interfaces; `is_storage` whether it has such an interface; `hosts` how many adapters they made;
    `vanished` that it left while it was being looked at. `system` is the system that told all this; where it does not
    say which driver or which disks belong to a device, `drivers_known` or `disks_known` is false. `problem` is
    Windows' problem code of the device, None or 0 for none; `also_called` what its list and signs call the device, in
    lower case."""

    device: str
    present: bool = False
    configured: bool | None = None
    authorised: bool = True
    is_storage: bool | None = None
    drivers: tuple[str, ...] = ()
    hosts: tuple[str, ...] = ()
    disks: tuple[Disk, ...] = ()
    mounts_known: bool = False
    vanished: bool = False
    system: str = "linux"
    drivers_known: bool = True
    disks_known: bool = True
    problem: int | None = None
    also_called: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def with_disks(snapshot: Snapshot, drives: Iterable[DriveFacts]) -> Snapshot:
    """The snapshot with the system's names of each device's disks and volumes, by which signs call them. A folder
    that a volume is reached at is no name of it."""
    names = {
        facts.device: tuple(name for disk in facts.disks for name in (disk.name, *_short(disk))) for facts in drives
    }
    devices = tuple(d.model_copy(update={"disks": names[d.id]}) if names.get(d.id) else d for d in snapshot.devices)
    return snapshot.model_copy(update={"devices": devices})


def _short(disk: Disk) -> list[str]:
    return [volume.name for volume in disk.volumes if not set(volume.name) & set(" \\/")]


class DriveLink(Document):
    """One link of the chain: `found` says what is there in a sentence, `follows` what that means for the user,
    `signs` the kinds of signs in the log that speak of it."""

    link: LinkName
    state: LinkState
    found: str
    follows: str | None = None
    signs: tuple[str, ...] = ()


class DriveDocument(Document):
    """The chain of one drive: `portmend/drive/1`. `opened` is false where there is no such device to look at: then
    there are no links, and `notes` say so."""

    schema_: Literal["portmend/drive/1"] = Field(default="portmend/drive/1", alias="schema")
    device: str
    name: str | None = None
    opened: bool = True
    links: tuple[DriveLink, ...] = ()
    observations: dict[str, str | float | tuple[str, ...]] = Field(default_factory=dict)
    facts: DriveFacts | None = None
    words: str = ""
    notes: tuple[str, ...] = ()

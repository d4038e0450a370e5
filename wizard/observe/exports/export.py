"""What an exported file gave: signs, a snapshot where it tells enough of the topology, and notes. Values only."""

from dataclasses import dataclass

from wizard.bus.drive import DriveFacts
from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign


@dataclass(frozen=True)
class Export:
    """`snapshot` is None where the file lists no devices; `drives` is about its drives, where it lists those; `of`
    names the system the file is from."""

    of: str
    signs: tuple[Sign, ...] = ()
    snapshot: Snapshot | None = None
    notes: tuple[str, ...] = ()
    drives: tuple[DriveFacts, ...] = ()

"""What an observer hands back, and how it is told to report progress and to stop."""

from collections.abc import Callable
from dataclasses import dataclass, field

from wizard.bus.drive import DriveFacts
from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign


@dataclass(frozen=True)
class Seen:
    """A snapshot and sentences for people about it; `signs` where the system's own list tells of trouble, `drives`
    where it tells of the disks behind devices."""

    snapshot: Snapshot
    notes: tuple[str, ...] = ()
    signs: tuple[Sign, ...] = ()
    drives: tuple[DriveFacts, ...] = ()


@dataclass(frozen=True)
class Watcher:
    """How work reports back: `progress` takes a sentence and a share from 0 to 1 (None: unknown);
    `cancelled` says whether to stop. Both may be called from the working thread."""

    progress: Callable[[str, float | None], None] = field(default=lambda _text, _share: None)
    cancelled: Callable[[], bool] = field(default=lambda: False)

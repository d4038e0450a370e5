"""What was seen while the bus was followed for a while: events in order, what fell together, what came before a mark.

Values only: `portmend/watch/1` is the summary, and an event is one line of `portmend watch --json`.
"""

from typing import Literal

from pydantic import Field

from wizard.bus.document import Document
from wizard.bus.sign import Sign

MARK = "mark"
"""The kind of the event that the user makes: 'it happened just now'."""

SLEPT = "system_slept"
SPEED = "speed_changed"
SUSPENDED = "suspended"
RESUMED = "resumed"
SETTING = "reconfigured"

BUS_KINDS: frozenset[str] = frozenset({MARK, SLEPT, SPEED, SUSPENDED, RESUMED, SETTING})
"""Kinds that only a watch knows, beside those of signs (wizard.bus.sign.KINDS). A document may hold others."""

KnownBy = Literal["bus", "log", "look", "clock", "user"]


class WatchEvent(Document):
    """Something that happened. `t` is seconds since the watch began, time asleep included.

    `where` is a place as in a sign; `name` plain words for the device there, `text` what was said or
    seen: both untrusted. `count` is more than 1 where a flood was folded. `by` says how it is known:
    told by the system at once, from its log, by looking again, from the clock, or from the user.
    `at` is the stamp of the log, as text.
    """

    t: float
    kind: str
    where: str = "-"
    text: str = ""
    count: int = 1
    name: str | None = None
    by: KnownBy = "bus"
    at: str | None = None


class Together(Document):
    """Devices that left within one second of each other, and what they have in common.

    `where` is the hub or controller they hang on; `what` is `hub` or `controller`; `hub_left` is true
    where that hub left too, which takes everything on it along.
    """

    t: float
    where: str
    what: Literal["hub", "controller"]
    devices: tuple[str, ...]
    hub_left: bool = False


class Marked(Document):
    """One 'it happened just now': when, and what came in the seconds before it, nearest first."""

    t: float
    before: tuple[WatchEvent, ...] = ()


class WatchSummary(Document):
    """What a watch ends with: `portmend/watch/1`.

    `seconds` is how long it ran; `events` the last ones in order, at most 10 000; `by_kind` counts all;
    `observations` are those of a case that the watch settles, by id; `signs` the troubles by kind and
    place; `stands_out` is true if anything beyond plain coming and going was seen; `notes` are sentences
    for people.
    """

    schema_: Literal["portmend/watch/1"] = Field(default="portmend/watch/1", alias="schema")
    seconds: float = 0.0
    events: tuple[WatchEvent, ...] = ()
    by_kind: dict[str, int] = Field(default_factory=dict)
    together: tuple[Together, ...] = ()
    marked: tuple[Marked, ...] = ()
    observations: dict[str, str | tuple[str, ...]] = Field(default_factory=dict)
    signs: tuple[Sign, ...] = ()
    stands_out: bool = False
    has_bus: bool = True
    notes: tuple[str, ...] = ()

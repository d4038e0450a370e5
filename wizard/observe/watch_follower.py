"""What every way of following the bus has in common: what it hands over, and how it is driven."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from wizard.bus.watching import KnownBy


@dataclass(frozen=True)
class Happening:
    """Something that has just happened: an event but for its time. Texts are untrusted and may be of any length."""

    kind: str
    where: str
    text: str
    count: int = 1
    name: str | None = None
    by: KnownBy = "bus"
    at: str | None = None


class Follower(Protocol):
    """One way of following the bus, begun when it was made."""

    @property
    def has_bus(self) -> bool:
        """Whether there is anything to follow."""

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences for people about what can't be seen this way, and what would help."""

    def wait(self, seconds: float) -> None:
        """Until something comes, or that long."""

    def look_soon(self) -> None:
        """Look at the whole bus at the next step."""

    def step(self) -> Iterator[Happening]:
        """What has happened since the last step, in order. Never waits long."""

    def close(self) -> None:
        """Let go of everything."""

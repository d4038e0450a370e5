"""How a search knows when to end. Holds no clock itself: whoever starts a search brings one."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Clock:
    """`left` gives the seconds a search still has, `stop` whether it is called off."""

    left: Callable[[], float]
    stop: Callable[[], bool] = lambda: False

    @property
    def over(self) -> bool:
        """Whether to end now."""
        return self.left() <= 0 or self.stop()

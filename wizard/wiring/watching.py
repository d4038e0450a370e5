"""Following the bus while the user works, to a summary that a case can take in."""

from collections.abc import Callable, Iterable

from wizard.bus.errors import CancelledError
from wizard.bus.model import Snapshot
from wizard.bus.sign import told_by_both
from wizard.bus.watching import WatchEvent, WatchSummary
from wizard.case.model import Case
from wizard.diagnosis.rulebook import UNKNOWN
from wizard.diagnosis.watching import Chronicle
from wizard.observe import live
from wizard.observe.seen import Watcher
from wizard.observe.watch import follow

NO_BUS = "No USB bus was found here."


def watch(
    stop: Callable[[], bool],
    tell: Callable[[WatchEvent], None],
    seconds: float | None = None,
    mark: Callable[[], bool] = lambda: False,
    subject: Iterable[str] = (),
    snapshot: Snapshot | None = None,
    begun: Callable[[], None] = lambda: None,
) -> WatchSummary:
    """Follow this computer's bus until `stop()` says so, or for so many seconds; without a bus it ends at once.

    `tell` hears each event as it happens, in the calling thread. `mark` is asked ten times a second whether the
    user has just said 'it happened now'. `subject` are the devices a case is about; `snapshot` is the look it
    has, else one is taken first; `begun` is called once it is known that there is a bus. Never raises for what
    happens on the bus.
    """
    try:
        before = snapshot if snapshot is not None else live.look(Watcher(cancelled=stop)).snapshot
    except CancelledError:
        return WatchSummary()
    chronicle = Chronicle(before, subject)

    def heard(event: WatchEvent) -> None:
        chronicle.add(event)
        tell(event)

    followed = follow(stop, heard, seconds, mark, before, begun=begun)
    notes = followed.notes if followed.has_bus else (*followed.notes, NO_BUS)
    return chronicle.summary(followed.seconds, notes, followed.has_bus)


def with_watch(case: Case, summary: WatchSummary) -> Case:
    """The case with what a watch settled: open observations filled, and its signs if anything stood out. What the
    user said stands."""
    open_ones = {k: v for k, v in summary.observations.items() if case.observations.get(k, UNKNOWN) == UNKNOWN}
    signs = told_by_both(case.watched, summary.signs) if summary.stands_out else case.watched
    return case.model_copy(update={"observations": {**case.observations, **open_ones}, "watched": signs})

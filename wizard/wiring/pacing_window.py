"""Taking the pace of whatever moves a pointer or presses keys, from the events our own window gets.

The way out where the system lets nobody read a mouse or a keyboard. It is coarser, and the document says so: nobody
tells which device an event is from nor how often it was promised, and screens may hand on moves picture by picture.
"""

from collections.abc import Callable
from time import monotonic

from wizard.bus.pace import IN_WINDOW, Beat, Hear, PaceDocument
from wizard.diagnosis.pace import GAP_INTERVALS, PaceJudge

PICTURE_MS = 1000 / 60
"""A screen shows 60 pictures a second, and some systems hand on moves only that often: common practice (no source)."""
LEAST_GAP_MS = GAP_INTERVALS * PICTURE_MS
"""Only longer silences are gaps here."""
COARSER = (
    "Measured inside this window: coarser. Silences shorter than {least:.0f} ms and an uneven pace can't be told this "
    "way, nor which of several mice or keyboards it was."
)
_TICK_S = 0.1


def window_pace(hear: Hear, seconds: float, stop: Callable[[], bool], tell: Callable[[Beat], None]) -> PaceDocument:
    """Judge what `hear` gives for so many seconds, or until `stop` says so; `tell` gets a beat some ten times a second.

    Of several sorts of devices the busiest counts. Blocks this thread, not the window's.
    """
    judges: dict[str, PaceJudge] = {}

    def busiest() -> PaceJudge:
        return max(judges.values(), key=lambda judge: judge.reports, default=PaceJudge(None, LEAST_GAP_MS))

    started = told = monotonic()
    while (now := monotonic()) - started < seconds and not stop():
        if now - told >= _TICK_S:
            tell(busiest().beat(now - started))
            told = now
        heard = hear(_TICK_S)
        if heard is None:
            continue
        sort, report = heard
        judge = judges.setdefault(sort, PaceJudge(None, LEAST_GAP_MS))
        judge.interrupted() if report is None else judge.report(report)
    took = monotonic() - started
    tell(busiest().beat(took))
    return _coarser(busiest().document(IN_WINDOW, took))


def _coarser(found: PaceDocument) -> PaceDocument:
    """Only what such events can tell: gaps. Their stamps are too coarse to call a pace uneven."""
    return found.model_copy(
        update={
            "verdict": "steady" if found.verdict == "irregular" else found.verdict,
            "observations": {"report_gap_ms": found.longest_ms} if found.gaps and found.longest_ms else {},
            "notes": (COARSER.format(least=LEAST_GAP_MS),),
        }
    )

"""The pace judged from what a window hears: stalls are told, and what such events can't tell is not."""

from collections.abc import Callable, Iterable

from wizard.bus.pace import Beat, PaceDocument, Report
from wizard.wiring.pacing_window import LEAST_GAP_MS, window_pace

Heard = tuple[str, Report | None]


def moves(*waits_ms: float, sort: str = "pointer", start_ms: float = 1000.0) -> list[Heard]:
    at = start_ms
    found: list[Heard] = []
    for wait in waits_ms:
        at += wait
        found.append((sort, Report(at_us=round(at * 1000), way=10.0)))
    return found


def judged(heard: Iterable[Heard], beats: Callable[[Beat], None] = lambda _beat: None) -> PaceDocument:
    waiting = list(heard)
    return window_pace(lambda _seconds: waiting.pop(0) if waiting else None, 60.0, lambda: not waiting, beats)


def test_a_stall_in_full_swing_is_a_gap_and_the_note_says_how_coarse_it_is() -> None:
    found = judged(moves(*[8.0] * 60, 300.0, *[8.0] * 60))
    assert (found.device, found.verdict, found.opened) == ("window", "gaps", True)
    assert [round(gap.ms) for gap in found.gaps] == [300]
    assert found.observations == {"report_gap_ms": 300.0}
    assert "Measured inside this window: coarser" in found.notes[0]
    assert "67 ms" in found.notes[0]


def test_silences_that_the_way_here_may_have_made_are_no_gaps() -> None:
    found = judged(moves(*[8.0] * 60, LEAST_GAP_MS - 1, *[8.0] * 60))
    assert (found.verdict, found.gaps, found.observations) == ("steady", (), {})


def test_an_uneven_pace_is_not_told_from_stamps_in_whole_milliseconds() -> None:
    found = judged(moves(*[1.0, 0.0, 2.0, 1.0] * 60))
    assert found.verdict == "steady"
    assert "report_rate" not in found.observations


def test_the_time_outside_the_field_is_no_gap_and_no_lost_report() -> None:
    before = moves(*[8.0] * 60)
    after = moves(*[8.0] * 60, start_ms=1000.0 + 60 * 8.0 + 700.0)
    found = judged([*before, ("pointer", None), *after])
    assert (found.gaps, found.missing, found.reports) == ((), 0, 120)


def test_of_mouse_and_keyboard_the_busier_is_judged_by_itself() -> None:
    keys = moves(*[90.0] * 12, sort="keys")
    mouse = moves(*[8.0] * 100)
    found = judged(sorted([*keys, *mouse], key=lambda one: one[1].at_us if one[1] else 0))
    assert (found.reports, found.gaps, found.median_ms) == (100, (), 8.0)


def test_nothing_heard_is_said_and_nothing_made_of_it() -> None:
    beats: list[Beat] = []
    found = judged([], beats.append)
    assert (found.verdict, found.observations, found.reports) == ("no_reports", {}, 0)
    assert [beat.reports for beat in beats] == [0]

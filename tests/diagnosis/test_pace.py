"""Gaps against rests: hands and devices simulated, with what a person would say of them beforehand.

A hand's movement is the minimum-jerk curve (Flash and Hogan, Journal of Neuroscience 5(7), 1985):
x(s) = d · (10 s³ − 15 s⁴ + 6 s⁵), s from 0 to 1. The rest of the numbers are made for these tests.
"""

import random
from collections.abc import Iterable, Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wizard.bus.pace import PaceDocument, Report
from wizard.diagnosis.pace import PaceJudge


def judged(reports: Iterable[Report], promised_ms: float | None = 1.0) -> PaceDocument:
    judge = PaceJudge(promised_ms)
    for report in reports:
        judge.report(report)
    return judge.document("1-1", 10.0)


def even(count: int, period_us: int, start_us: int = 1_000_000, way: float | None = 1.0) -> list[Report]:
    return [Report(at_us=start_us + i * period_us, way=way) for i in range(count)]


def stalled(period_us: int, stalls: dict[int, int], count: int = 4000) -> list[Report]:
    """A device that reports evenly but for silences of so many microseconds before the reports of these numbers."""
    reports, at = [], 1_000_000
    for number in range(count):
        at += stalls.get(number, period_us)
        reports.append(Report(at_us=at, way=1.0))
    return reports


def reach(distance: float, seconds: float, period_us: int) -> list[float]:
    """Positions along one movement, a report apart."""
    steps = max(2, int(seconds * 1e6 / period_us))
    shares = [i / steps for i in range(steps + 1)]
    return [distance * (10 * s**3 - 15 * s**4 + 6 * s**5) for s in shares]


def moved_by_hand(
    moves: list[tuple[float, float, float]], period_us: int, hang: tuple[int, int] | None = None
) -> Iterator[Report]:
    """Reports of a device that tells whole units and only what changed. `moves` are (units, seconds, rest after);
    `hang`: from the middle of the movement of this number on it says nothing for so many microseconds."""
    clock, silent_until = 1_000_000, 0
    told = position = origin = 0.0
    for number, (distance, seconds, rest_s) in enumerate(moves):
        curve = reach(distance, seconds, period_us)
        for index, x in enumerate(curve):
            clock += period_us
            position = origin + x
            if hang is not None and hang[0] == number and index == len(curve) // 2:
                silent_until = clock + hang[1]
            way = abs(int(position) - int(told))
            if way and clock >= silent_until:
                told = position
                yield Report(at_us=clock, way=float(way))
        origin = position
        clock += int(rest_s * 1e6)


def test_an_even_kilohertz_is_steady_and_has_no_gap() -> None:
    found = judged(even(5000, 1000))
    assert (found.verdict, found.gaps, found.pauses) == ("steady", (), 0)
    assert (found.median_ms, found.p99_ms, found.longest_ms) == (1.0, 1.0, 1.0)
    assert found.observations == {"report_rate": "as_promised", "report_gap_ms": 1.0}


@pytest.mark.parametrize("gap_ms", [20, 200, 3000])
@pytest.mark.parametrize("period_us", [125, 1000])
def test_silence_in_full_swing_is_a_gap_of_its_length_at_its_time(gap_ms: int, period_us: int) -> None:
    found = judged(stalled(period_us, {2000: gap_ms * 1000}), period_us / 1000)
    assert found.verdict == "gaps"
    assert [(g.at_s, g.ms) for g in found.gaps] == [(pytest.approx(1999 * period_us / 1e6, abs=1e-3), gap_ms)]
    assert found.longest_ms == found.observations["report_gap_ms"] == gap_ms


def test_three_gaps_of_every_size_in_one_run_are_all_found() -> None:
    found = judged(stalled(1000, {500: 20_000, 1500: 200_000, 3000: 3_000_000}))
    assert [gap.ms for gap in found.gaps] == [20, 200, 3000]
    assert found.observations["report_rate"] == "as_promised"


@pytest.mark.parametrize(
    ("promised_ms", "silence_ms", "is_gap"), [(1, 15, False), (1, 16, True), (8, 32, False), (8, 33, True)]
)
def test_a_gap_is_longer_than_15_ms_and_than_four_promised_intervals(
    promised_ms: int, silence_ms: int, is_gap: bool
) -> None:
    """The published bound: max(4 × promised, 15 ms)."""
    found = judged(stalled(promised_ms * 1000, {400: silence_ms * 1000}, 800), promised_ms)
    assert bool(found.gaps) is is_gap


hands = st.lists(
    st.tuples(
        st.floats(150, 3000),  # units: a few centimetres to the width of a screen
        st.floats(0.35, 1.5),  # seconds for one movement
        st.floats(0.05, 4.0),  # seconds of rest
    ),
    min_size=2,
    max_size=6,
)


@settings(max_examples=60, deadline=None)
@given(hands, st.sampled_from([1000, 2000, 8000]))
def test_a_hand_that_stops_and_goes_on_makes_no_gap(moves: list[tuple[float, float, float]], period_us: int) -> None:
    assert judged(moved_by_hand(moves, period_us), period_us / 1000).gaps == ()


@settings(max_examples=60, deadline=None)
@given(hands, st.integers(50_000, 120_000), st.sampled_from([1000, 8000]))
def test_a_hang_in_the_middle_of_a_movement_is_a_gap(
    moves: list[tuple[float, float, float]], hang_us: int, period_us: int
) -> None:
    brisk = [(1500.0 + distance, 0.8, rest) for distance, _, rest in moves]
    found = judged(moved_by_hand(brisk, period_us, hang=(1, hang_us)), period_us / 1000)
    assert len(found.gaps) == 1
    assert found.gaps[0].ms == pytest.approx(hang_us / 1000, abs=2 * period_us / 1000)


def test_keys_pressed_one_after_the_other_are_no_gaps() -> None:
    """A person types 3 to 8 keys a second: each is pressed and let go."""
    chance = random.Random(5)
    at, reports = 0, []
    for _ in range(200):
        at += chance.randrange(40_000, 250_000)
        reports.append(Report(at_us=at))
    found = judged(reports, 8.0)
    assert found.gaps == ()
    assert found.verdict == "no_reports"
    assert "too few" in found.words


def test_a_pedal_held_at_its_stop_rests() -> None:
    down = [r._replace(held=False) for r in even(100, 1000)]
    down[-1] = down[-1]._replace(held=True)
    up = even(100, 1000, start_us=down[-1].at_us + 800_000)
    found = judged([*down, *up])
    assert (found.gaps, found.pauses, found.verdict) == ((), 1, "steady")
    assert found.words.endswith("One longer silence looked like rest and does not count.")


def test_the_silence_at_the_end_is_no_gap_because_nobody_knows() -> None:
    judge = PaceJudge(1.0)
    for report in even(500, 1000):
        judge.report(report)
    assert judge.document("1-1", 20.0).gaps == ()


def test_a_device_that_never_reports_has_no_verdict_but_that() -> None:
    found = judged([])
    assert (found.verdict, found.reports, found.median_ms, found.observations) == ("no_reports", 0, None, {})
    assert found.words.startswith("No reports came")


def test_a_device_that_takes_twice_as_long_as_promised_is_slow() -> None:
    found = judged(even(500, 8000), 4.0)
    assert (found.verdict, found.observations["report_rate"]) == ("slow", "lower")


def test_a_device_slower_than_the_bound_of_a_gap_is_slow_and_not_full_of_gaps() -> None:
    found = judged(even(500, 20_000), 1.0)
    assert (found.verdict, found.gaps, found.pauses) == ("slow", (), 0)


def test_a_slow_device_just_beyond_the_bound_has_only_its_real_gap() -> None:
    """60 times a second, where 4 ms were promised: each interval is longer than four promised ones."""
    found = judged(stalled(16_600, {150: 900_000}, 300), 4.0)
    assert ([gap.ms for gap in found.gaps], found.pauses) == ([900], 0)
    assert found.observations["report_rate"] == "lower"


def test_a_device_asked_less_often_than_it_could_is_no_worse_for_that() -> None:
    assert judged(even(500, 4000), 8.0).verdict == "steady"


def test_uneven_intervals_are_irregular() -> None:
    chance = random.Random(3)
    at, reports = 0, []
    for _ in range(2000):
        at += chance.choice([1000, 1000, 1000, 4000, 7000])
        reports.append(Report(at_us=at, way=5.0))
    found = judged(reports)
    assert (found.verdict, found.observations["report_rate"]) == ("irregular", "irregular")


def test_without_a_promise_the_rate_is_not_judged() -> None:
    found = judged(even(500, 8000), None)
    assert found.verdict == "steady"
    assert "report_rate" not in found.observations
    assert "not known" in found.words


def test_a_device_that_reports_at_rest_hangs_when_it_falls_silent() -> None:
    """Its reports say the same again and again, which no resting mouse does."""
    still = [r._replace(same=True, way=None) for r in even(100, 1000)]
    later = even(3, 1000, start_us=still[-1].at_us + 500_000)
    assert [g.ms for g in judged([*still, *later]).gaps] == [500]


def test_a_second_way_that_saw_reports_all_the_while_makes_it_a_rest() -> None:
    judge = PaceJudge(1.0)
    for report in even(500, 1000):
        judge.report(report)
    end = 1_000_000 + 499_000
    for at in range(end + 1000, end + 2_000_000, 1000):
        judge.witness(at)
    for report in even(500, 1000, start_us=end + 2_000_000):
        judge.report(report)
    assert (judge.document("1-1", 4.0).gaps, judge.document("1-1", 4.0).pauses) == ((), 1)


def test_a_burst_of_reports_after_a_gap_does_not_pass_for_a_witness() -> None:
    judge = PaceJudge(8.0)
    for report in even(100, 8000):
        judge.report(report)
    back = 1_000_000 + 99 * 8000 + 60_000
    for late in range(7):
        judge.witness(back + late * 50)
    for report in (*even(7, 100, start_us=back), *even(100, 8000, start_us=back + 8000)):
        judge.report(report)
    assert [g.ms for g in judge.document("1-1", 2.0).gaps] == [60]


def test_time_in_which_reports_were_lost_is_no_gap_but_for_what_is_known_of_it() -> None:
    lost = even(200, 1000, start_us=3_000_000)
    first = lost[0]._replace(missed=True)
    found = judged([*even(200, 1000), first, *lost[1:]])
    assert (found.gaps, found.missing) == ((), 1)
    known = first._replace(quiet_us=1_700_000)
    assert [g.ms for g in judged([*even(200, 1000), known, *lost[1:]]).gaps] == [1700]


def test_a_flood_leaves_memory_as_it_was() -> None:
    judge = PaceJudge(1.0)
    for at in range(200_000):
        judge.report(Report(at_us=at * 125, way=1.0))
    assert len(judge.beat(25.0).intervals) <= 2000
    assert len(judge._counts) == 1
    assert len(judge._steps) <= 512


def test_stamps_that_run_backwards_harm_nothing() -> None:
    found = judged([Report(at_us=at, way=1.0) for at in (5000, 4000, 6000, 1000, 2000) * 10])
    assert found.reports == 50
    assert (found.median_ms or 0) >= 0


@given(st.lists(st.builds(Report, at_us=st.integers(0, 10**12), way=st.none() | st.floats(0, 1e9),
                          held=st.booleans(), same=st.booleans(), missed=st.booleans(),
                          quiet_us=st.integers(0, 10**9)), max_size=60), st.none() | st.floats(0.125, 255))  # fmt: skip
def test_whatever_comes_is_judged(reports: list[Report], promised_ms: float | None) -> None:
    found = judged(reports, promised_ms)
    assert found.reports == len(reports)
    assert PaceDocument.model_validate_json(found.model_dump_json(by_alias=True)) == found
    assert (found.verdict == "gaps") is bool(found.gaps)


def test_the_sentence_says_what_it_means_for_the_user() -> None:
    found = judged(stalled(8000, {200: 1_900_000, 400: 900_000}, 800), 8.0)
    assert (
        found.words == "Reports every 8 ms as promised; two gaps of up to 1.9 s while it was moved: that is your lag."
    )

"""Budgets as bands: where each belongs, and that unknown and too much can't be taken for anything else."""

from typing import Any

import pytest
from bench.bench_ledger import made
from hypothesis import given
from hypothesis import strategies as st

from wizard.budget.entry import Entry, state_of
from wizard.budget.ledger import build_ledger
from wizard.desktop.strip_bands import FULL_AT, band, bands_of, shown_on_strip, worst
from wizard.desktop.strip_words import numbers_on_band, state_on_band
from wizard.desktop.strips import picture_of


def entry(used: float | None, limit: float | None, bracket: tuple[float, float] | None = None, **more: Any) -> Entry:
    told = {"budget": "hub_supply", "where": "1-1", "unit": "mA", "basis": "declared", "limit_basis": "declared"}
    return Entry(used=used, limit=limit, bracket=bracket, state=state_of(used, limit, bracket), source="s",
                 **{**told, **more})  # type: ignore[arg-type]  # fmt: skip  # a mapping of mixed values


amounts = st.floats(0, 1e6, allow_nan=False)


@given(amounts, st.floats(0.1, 1e6))
def test_a_band_runs_past_its_limit_exactly_where_the_budget_is_overdrawn(used, limit):
    shown = band(entry(used, limit))
    assert shown.fill is not None
    assert shown.limit == FULL_AT
    assert (shown.fill > FULL_AT) == (used > limit) or abs(used - limit) < 1e-6 * limit
    assert 0 <= shown.fill <= 1


@given(amounts, amounts, st.floats(0.1, 1e6))
def test_more_use_is_never_a_shorter_band(one, other, limit):
    less, more = sorted((one, other))
    assert (band(entry(less, limit)).fill or 0) <= (band(entry(more, limit)).fill or 0)


@pytest.mark.parametrize(
    ("shown", "fill", "limit", "low", "said"),
    [(entry(500, None), None, None, None, "limit unknown"), (entry(None, 500), None, FULL_AT, None, "use unknown"),
     (entry(None, None), None, None, None, "use unknown"),
     (entry(70, None, (64, 128)), 70 / 128 * FULL_AT, FULL_AT, FULL_AT / 2, "limit between 64 and 128")],
)  # fmt: skip
def test_what_is_not_known_is_not_drawn_as_if_it_were(shown, fill, limit, low, said):
    drawn = band(shown)
    assert (drawn.fill, drawn.limit, drawn.low) == (fill, limit, low)
    assert state_on_band(shown) == said


def test_the_numbers_on_a_band_are_those_of_the_entry():
    assert numbers_on_band(entry(1319.44, 900, unit="us/frame")) == "1319 of 900 µs"
    assert numbers_on_band(entry(29, None, (64, 254), unit="endpoints")) == "29 of 64 to 254"
    assert numbers_on_band(entry(None, 500)) == "? of 500 mA"
    assert numbers_on_band(entry(700, None)) == "700 mA"


def test_every_entry_of_a_ledger_has_its_place_on_the_strips():
    seen = made(2, 60)
    ledger = build_ledger(seen)
    bands = bands_of(picture_of(seen), ledger, seen)
    placed = [e for told in (*bands.of_strip.values(), *bands.of_hole.values()) for e in told]
    assert len(placed) == len(ledger)
    assert {id(e) for e in placed} == {id(e) for e in ledger}


def test_what_is_over_is_always_among_the_bands_that_are_drawn():
    entries = [entry(1, 10, budget=b) for b in ("port_current", "periodic_time", "periodic_time_active", "link_rate")]
    over = entry(20, 10, budget="endpoints")
    bands = bands_of(picture_of(made(1, 3)), [e.model_copy(update={"where": "usb1"}) for e in (*entries, over)],
                     made(1, 3))  # fmt: skip
    mine = bands.of_strip["0000:00:14.0"]
    assert "endpoints" in [e.budget for e in shown_on_strip(mine)]
    assert worst(mine) == "over"


def test_a_figure_without_a_limit_is_no_unknown_budget():
    assert worst([entry(9, None, budget="latency"), entry(1, 10)]) == "room"
    assert worst([entry(9, None, budget="latency")]) is None


def test_bus_time_at_most_is_drawn_only_where_it_is_more_than_bus_time_now():
    now, same = entry(10, 100, budget="periodic_time_active"), entry(10, 100, budget="periodic_time")
    assert shown_on_strip((now, same)) == (now,)
    more = entry(20, 100, budget="periodic_time")
    assert shown_on_strip((now, more)) == (more, now)

"""How many more of a kind fit, and what stops the next one."""

from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard.budget.fit import how_many_fit
from wizard.budget.setup import Setup
from wizard.budget.what_if import Bench
from wizard.bus.model import Socket


def bench(setup: Setup | None = None, translator: str = "single") -> Bench:
    sockets = [Socket(id=f"1-1.{i}", hub="1-1") for i in range(1, 5)]
    return Bench.of(snapshot(controller(), root(ports=1), hub("1-1", translator=translator), *sockets), setup)


def test_a_shared_translator_holds_one_big_stream_and_a_multi_translator_hub_four() -> None:
    """A 1023-byte stream takes 806 of 900 us (row bt-lx-fs-in-iso-1023)."""
    stream = device("x", "full", 100, iso(1023))
    single = how_many_fit(bench(), stream)
    assert (single.count, [e.where for e in single.blocked_by]) == (1, ["1-1/tt", "1-1/tt"])
    multi = how_many_fit(bench(translator="multi"), stream)
    assert (multi.count, multi.blocked_by) == (4, ())


def test_a_weak_supply_stops_the_third_hungry_device() -> None:
    fit = how_many_fit(bench(Setup(supplies_ma={"1-1": 1000})), device("x", "high", 500))
    assert (fit.count, [e.budget for e in fit.blocked_by]) == (2, ["hub_supply"])


def test_an_unknown_limit_makes_the_count_uncertain() -> None:
    many = tuple(interrupt(8, 8000, 0x81 + i) for i in range(15))
    fit = how_many_fit(bench(), device("x", "full", 10, *many))
    assert fit.count == 4
    assert not fit.certain
    assert how_many_fit(bench(Setup(endpoint_limit={"0000:00:14.0": 254})), device("x", "full", 10, *many)).certain

"""The machine that the ledger is timed on is what it claims to be, and its what-ifs can be done."""

from bench.bench_ledger import changes, made, median_ms, plain_pass

from wizard.budget.what_if import Bench


def test_the_machine_has_as_many_devices_as_asked_for_on_each_controller() -> None:
    seen = made(3, 127)
    assert len(seen.controllers) == 3
    for number in range(3):
        own = [d for d in seen.devices if not d.root and d.id.startswith(f"{2 * number + 1}-")]
        assert len(own) == 127
        assert {d.speed for d in own} == {"low", "full", "high"}
    ids = {d.id for d in seen.devices}
    assert all(d.parent in ids for d in seen.devices if not d.root)
    assert {d.id for d in seen.devices if not d.root} <= {s.id for s in seen.sockets}


def test_every_sort_of_what_if_can_be_done() -> None:
    seen = made(2, 60)
    bench = Bench.of(seen)
    for change in changes(seen).values():
        assert bench.tried(change).ledger != bench.ledger


def test_a_pass_and_a_run_are_counted() -> None:
    assert plain_pass(made(1, 20)) > plain_pass(made(1, 10))
    assert median_ms(lambda: sum(range(1000)), 3) > 0

"""'Where does one more go best?' and 'which plug goes where?' are answered by two modules, and must not disagree."""

from builders import device, iso
from hypothesis import given, settings
from small_desks import FOREVER, small_desks

from wizard.budget.fit import does_it_fit
from wizard.budget.replug import Add
from wizard.budget.setup import Setup
from wizard.budget.what_if import Bench
from wizard.bus.model import Snapshot
from wizard.plan.arrange.desk import survey
from wizard.plan.arrange.options import overdrawn
from wizard.plan.arrange.pursuit import Found
from wizard.plan.arrange.search import search

NEW = device("9-9", "full", 100, iso(400))


@settings(max_examples=40, deadline=None)
@given(small_desks())
def test_where_one_more_fits_the_planner_has_nothing_to_move(made: tuple[Snapshot, Setup]) -> None:
    bench = Bench.of(*made)
    if overdrawn(bench.ledger):
        return
    fit = does_it_fit(bench, lambda socket: Add(NEW, socket), most=1)
    if not fit.certain.sockets:
        return
    after = bench.tried(Add(NEW, fit.certain.sockets[0]))
    desk = survey(after.snapshot, after.setup)
    found = search(desk, "greatest", FOREVER)
    assert isinstance(found, Found)
    assert (found.proven, found.moved) == (True, ())


@settings(max_examples=40, deadline=None)
@given(small_desks())
def test_the_best_socket_for_one_more_is_one_that_the_planner_allows(made: tuple[Snapshot, Setup]) -> None:
    bench = Bench.of(*made)
    fit = does_it_fit(bench, lambda socket: Add(NEW, socket), most=1)
    for socket in fit.certain.sockets:
        after = bench.tried(Add(NEW, socket))
        desk = survey(after.snapshot, after.setup)
        assert desk.places[socket].open
        assert socket in desk.plugs

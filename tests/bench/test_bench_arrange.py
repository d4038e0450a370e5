"""The yardstick of the planner: it times the planner's own search, and its greedy hand plays by the rules."""

import pytest
from bench.bench_arrange import SIZES, TIGHT, greedy, main, over, watched
from bench.instances import make_desk, make_tight_desk

from wizard.budget.ledger import build_ledger
from wizard.plan.arrange.desk import Desk, survey
from wizard.plan.arrange.layout import Layout
from wizard.plan.arrange.pursuit import Found

SMALL = (2, 4, 22)


def small(number: int) -> Desk:
    return survey(*make_desk(*SMALL, seed=number))


@pytest.mark.parametrize("number", [1, 2, 3])
def test_the_proven_plan_moves_no_more_than_a_greedy_hand(number: int) -> None:
    desk = small(number)
    assert over(build_ledger(desk.snapshot, desk.setup))
    found, watch = watched(desk, 30.0)
    hand = greedy(desk)
    assert isinstance(found, Found)
    assert found.proven
    assert not over(found.ledger)
    if not hand.left:
        assert 0 < len(found.moved) <= hand.moves
    assert watch.solver_calls > 0
    assert watch.first_sound is not None
    assert 0 < watch.first_sound <= watch.seconds
    assert 0 < watch.solver_cpu <= watch.cpu


def test_a_greedy_hand_leaves_what_it_says_it_leaves() -> None:
    desk = small(1)
    hand = greedy(desk)
    layout = Layout(desk, hand.arrangement)
    after = over(build_ledger(layout.snapshot, layout.setup))
    assert {(budget, layout.was(where)) for budget, where in after} == set(hand.left)
    assert len(set(hand.arrangement.values())) == len(hand.arrangement)
    moved = [p for p in desk.plugs.values() if hand.arrangement[p.id] != p.at]
    assert 0 < len(moved) <= hand.moves
    assert all(desk.allows(p, desk.places[hand.arrangement[p.id]]) for p in moved)


@pytest.mark.parametrize(("controllers", "hubs", "devices"), SIZES)
def test_the_desks_are_of_the_size_that_is_promised(controllers: int, hubs: int, devices: int) -> None:
    snapshot, setup = make_desk(controllers, hubs, devices)
    desk = survey(snapshot, setup)
    assert len(snapshot.controllers) == controllers
    assert sum(p.is_hub for p in desk.plugs.values()) == hubs
    assert sum(not p.is_hub for p in desk.plugs.values()) == devices
    assert over(build_ledger(snapshot, setup))


def test_a_tight_desk_leaves_hardly_a_socket_free() -> None:
    snapshot, setup = make_tight_desk(*TIGHT[0])
    desk = survey(snapshot, setup)
    assert len(desk.places) - len(desk.plugs) <= 8
    assert any(p.is_hub and p.id.count(".") for p in desk.plugs.values())
    assert setup.apart
    assert setup.pinned


def test_it_prints_a_line_for_each_desk(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--desks", "2", "--seconds", "30"], sizes=[SMALL])
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[:2] for line in lines[2:]] == [["2/4/22", "1"], ["2/4/22", "2"]]
    assert all("proven" in line for line in lines[2:])

"""What-ifs on the strips: the figures are those of a fresh look, things keep their keys, and all can be taken back."""

import pytest
from bench.bench_ledger import made

from wizard import wiring
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.errors import BadInputError, CancelledError
from wizard.desktop.strip_trial_words import changes_words, stage_words
from wizard.desktop.trying import Trial, differences, seen_from, stages_of
from wizard.diagnosis.texts import Texts
from wizard.store import resources


@pytest.fixture
def theatre():
    """A demo with an overdrawn translator."""
    demo = wiring.load_demo("puppet-theatre")
    return Trial.of(demo.before, demo.setup)


def moved(trial, plug, hole):
    picture = trial.state.picture
    return trial.moved(picture.plug(plug), picture.holes[hole])


def test_a_move_gives_the_ledger_of_a_fresh_look_and_the_plug_keeps_its_key(theatre):
    after = moved(theatre, "1-3.2", "1-8")
    assert after.state.ledger == build_ledger(after.state.snapshot, after.bench.setup)
    assert after.state.picture.hole_of["1-3.2"] == "1-8"
    assert after.state.moved == {"1-3.2": "1-3.2"}
    assert theatre.state.moved == {}


def test_a_hub_that_moves_takes_its_strip_along_with_everything_under_its_old_name():
    trial = Trial.of(made(2, 60), Setup())
    after = moved(trial, "1-1", "3-7")
    strip = after.state.picture.strips["1-1"]
    assert strip.above == "3-7"
    before = trial.state.picture
    assert [h.key for h in strip.holes] == [h.key for h in before.strips["1-1"].holes]
    assert after.state.picture.hole_of.keys() == before.hole_of.keys()
    within = moved(after, "1-1.1.4", "1-7")
    assert within.state.picture.hole_of["1-1.1.4"] == "1-7"
    home = moved(within, "1-1.1.4", "1-1.1.4")
    assert home.state.moved == {"1-1": "1-1"}
    assert home.state.ledger == after.state.ledger


def test_back_to_where_it_was_leaves_nothing_moved_and_the_same_ledger(theatre):
    back = moved(moved(theatre, "1-3.2", "1-8"), "1-3.2", "1-3.2")
    assert back.state.moved == {}
    assert back.state.ledger == theatre.state.ledger
    assert differences(theatre.state, back.state) == ()


@pytest.mark.parametrize(("plug", "hole"), [("1-3.2", "1-5"), ("1-3", "1-3.2")])
def test_what_can_t_be_plugged_is_refused_with_the_reason(theatre, plug, hole):
    with pytest.raises(BadInputError) as refused:
        moved(theatre, plug, hole)
    assert refused.value.problem


def test_what_is_seen_while_a_plug_is_carried_is_what_is_so_once_it_is_put_down(theatre):
    once = moved(theatre, "1-3.2", "1-8")
    for start, plug, hole in ((theatre, "1-3.2", "1-8"), (once, "1-3", "1-2"), (once, "1-3.2", "1-3.2")):
        after = moved(start, plug, hole)
        carried = seen_from(start.state, after.state)
        for strip in start.state.picture.strips:
            there = {(e.budget, e.used) for e in after.state.bands.at(strip, strip=True)}
            assert {(e.budget, e.used) for e in carried.at(strip, strip=True)} == there
    called = seen_from(once.state, once.state)
    assert called == once.state.bands


def test_a_socket_that_only_a_number_of_ports_tells_of_can_be_tried():
    seen = made(1, 12)
    trial = Trial.of(seen.model_copy(update={"sockets": ()}), Setup())
    assert moved(trial, "1-4", "1-7").state.picture.hole_of["1-4"] == "1-7"


def test_the_words_name_the_worst_change_first_with_its_place(theatre):
    after = moved(theatre, "1-3.1", "1-8")
    told = changes_words(theatre.state, after.state).split("\n")
    assert told[0].startswith("Bus time now, translator of Seven-socket desk hub (1-3): 1319 of 900 µs, overdrawn →")
    assert changes_words(theatre.state, theatre.state) == "No budget that is short would change."


@pytest.mark.parametrize("name", wiring.demo_names())
def test_the_moments_of_an_arrangement_lead_from_the_desk_as_it_is_to_what_the_planner_promised(name):
    demo = wiring.load_demo(name)
    case = wiring.demo_case(demo)
    trial = Trial.of(demo.before, demo.setup)
    for option in wiring.arrangements(case, 20).options:
        stages = stages_of(trial.bench, option)
        moves = [s for s in stages if s.move is not None]
        assert [s.move for s in moves] == list(option.moves)
        first, last = stages[0].state, stages[-1].state
        seen = {(e.budget, e.where): e.used for e in trial.state.ledger}
        assert {k: v for (e, k, v) in ((e, (e.budget, e.where), e.used) for e in first.ledger) if k in seen} == seen
        assert trial.state.picture.hole_of.keys() <= last.picture.hole_of.keys()
        promised = {(e.budget, e.where): e.used for e in option.after}
        assert {(e.budget, e.where): e.used for e in last.ledger} == promised
        for stage in moves:
            assert stage.move.to is None or stage.state.picture.hole_of[stage.move.device] == stage.move.to
        texts = Texts("en", resources.texts("en"))
        assert all(all(stage_words(stages, number, texts)) for number in range(len(stages)))


def test_the_moments_can_be_called_off():
    demo = wiring.load_demo("puppet-theatre")
    option = wiring.arrangements(wiring.demo_case(demo), 20).options[0]
    with pytest.raises(CancelledError):
        stages_of(Trial.of(demo.before, demo.setup).bench, option, lambda: True)

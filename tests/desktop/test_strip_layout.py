"""Where the strips stand: none on another, all of them somewhere, and folding hides nothing without saying so."""

import pytest
from bench.bench_ledger import made
from hypothesis import given, settings
from hypothesis import strategies as st

from wizard.budget.ledger import build_ledger
from wizard.desktop.strip_layout import MOST_ROWS, empty_ones, folded_at_first, hidden_below, lay_out, opened_to
from wizard.desktop.trying import State


def state(controllers: int, devices: int) -> State:
    seen = made(controllers, devices)
    return State(seen, build_ledger(seen))


SMALL, HUGE = state(2, 30), state(8, 127)


def overlap(one, other) -> bool:
    return one.left < other.right and other.left < one.right and one.top < other.bottom and other.top < one.bottom


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 300), st.sets(st.sampled_from(sorted(SMALL.picture.strips))))
def test_no_strip_covers_another_whatever_the_width_and_the_folds(wide, folded):
    layout = lay_out(SMALL.picture, SMALL.bands, folded, wide)
    boxes = list(layout.boxes.values())
    assert not [(a.key, b.key) for i, a in enumerate(boxes) for b in boxes[i + 1 :] if overlap(a, b)]
    assert all(b.left >= 0 and b.top >= 0 and b.right <= layout.width and b.bottom <= layout.height for b in boxes)


def test_every_strip_and_socket_is_somewhere_and_every_hub_has_its_cord():
    layout = lay_out(HUGE.picture, HUGE.bands, (), 100)
    assert layout.boxes.keys() == HUGE.picture.strips.keys()
    assert {row.key for box in layout.boxes.values() for row in box.rows} == HUGE.picture.holes.keys()
    hubs = {key for key, strip in HUGE.picture.strips.items() if strip.kind == "hub"}
    assert {cord.plug for cord in layout.cords} == hubs
    for cord in layout.cords:
        row = layout.row(HUGE.picture, HUGE.picture.hole_of[cord.plug])
        assert row is not None
        assert cord.start[1] == pytest.approx(row.middle)
        assert cord.end == layout.boxes[cord.plug].inlet


def test_a_folded_strip_says_how_many_plugs_and_troubles_it_hides():
    key = next(iter(SMALL.picture.strips))
    layout = lay_out(SMALL.picture, SMALL.bands, {key}, 100)
    below = {s.key for s in SMALL.picture.below(key)}
    assert not below & layout.boxes.keys()
    hidden = layout.boxes[key].hidden
    assert hidden == hidden_below(SMALL.picture, SMALL.bands, key)
    assert hidden is not None
    assert hidden.plugs == 30


def test_a_desk_of_common_size_is_shown_whole_and_a_huge_one_folded_until_it_can_be_read():
    assert folded_at_first(state(1, 20).picture) == frozenset()
    folded = folded_at_first(HUGE.picture)
    shown = sum(len(box.rows) for box in lay_out(HUGE.picture, HUGE.bands, folded, 60).boxes.values())
    assert 0 < shown <= MOST_ROWS
    assert not any(HUGE.picture.strips[key].kind == "pc" for key in folded)


def test_the_way_to_what_misbehaves_stays_open_and_to_what_is_looked_for_is_opened():
    deep = max((d.id for d in HUGE.snapshot.devices if d.hub is None), key=lambda i: i.count("."))
    folded = folded_at_first(HUGE.picture, (deep,))
    assert lay_out(HUGE.picture, HUGE.bands, folded, 60).row(HUGE.picture, HUGE.picture.hole_of[deep]) is not None
    everything = frozenset(HUGE.picture.strips)
    opened = opened_to(HUGE.picture, everything, deep)
    assert lay_out(HUGE.picture, HUGE.bands, opened, 60).row(HUGE.picture, HUGE.picture.hole_of[deep]) is not None
    assert len(everything - opened) == deep.count(".") + 1


def test_controllers_on_which_nothing_hangs_stand_behind_the_others():
    seen = made(2, 5)
    bare = seen.model_copy(update={"devices": tuple(d for d in seen.devices if not d.id.startswith("1-"))})
    picture = State(bare, ()).picture
    assert list(picture.strips) == ["0000:00:14.0", "0000:01:14.0"]
    assert empty_ones(picture) == {"0000:00:14.0"}
    layout = lay_out(picture, State(bare, ()).bands, (), 10, empty_ones(picture))
    assert layout.boxes["0000:00:14.0"].top > layout.boxes["0000:01:14.0"].bottom


def test_nothing_to_show_is_no_trouble():
    empty = State(made(0, 0), ())
    assert lay_out(empty.picture, empty.bands, (), 50).boxes == {}

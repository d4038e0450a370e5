"""Windows over a log join without a gap, whatever the chunks, and count its lines rightly."""

from hypothesis import given
from hypothesis import strategies as st

from wizard.observe.kernel_log_window import AROUND, LONGEST_LINE, Window, windows


@given(st.lists(st.binary(max_size=30_000), max_size=6), st.integers(min_value=1, max_value=40_000))
def test_the_middles_joined_are_the_log_behind_one_line_end(chunks: list[bytes], step: int) -> None:
    middles = b"".join(window.data[window.start : window.limit] for window in windows(chunks, step))
    assert middles == b"\n" + b"".join(chunks)


@given(st.lists(st.sampled_from([b"a line\n", b"\n", b"x" * 700 + b"\n"]), max_size=200), st.integers(500, 9_000))
def test_a_line_number_counts_the_lines_of_the_whole_log(lines: list[bytes], step: int) -> None:
    log = b"".join(lines)
    done = 0
    for window in windows([log], step):
        for offset in range(window.start, window.limit, 301):
            position = done + offset - window.start
            assert window.line_number(offset) == (b"\n" + log).count(b"\n", 0, position)
        done += window.limit - window.start


def test_there_is_room_to_look_around_except_at_the_ends() -> None:
    found = list(windows([b"line\n" * 40_000], 20_000))
    assert len(found) > 5
    for window in found[2:-1]:
        assert window.start >= AROUND
        assert len(window.data) - window.limit >= AROUND


def test_one_huge_chunk_is_read_in_small_windows() -> None:
    assert max(len(window.data) for window in windows([b"line\n" * 1_000_000], 50_000)) < 150_000


def test_a_line_too_long_to_be_one_has_no_start() -> None:
    window = Window(b"\n" + b"x" * 3 * LONGEST_LINE, 0, 3 * LONGEST_LINE, 0)
    assert window.line_start(100) == 1
    assert window.line_start(2 * LONGEST_LINE) is None

"""A log is read as what it says, however it was saved; and whether it could be read at all is told."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.observe.kernel_log import read_kernel_log, read_signs
from wizard.observe.kernel_log_stamps import is_stamped
from wizard.observe.kernel_log_text import plain

LINE = "[    1.5] usb 1-2: reset high-speed USB device number 5 using xhci_hcd\n"
# The colours of `dmesg --color=always`, as it prints a line: from memory.
COLOURED = (
    "\x1b[32m[    1.5] \x1b[0m\x1b[33musb 1-2: \x1b[0mreset high-speed USB device number 5 using xhci_hcd\x1b[0m\n"
)
BARE = read_signs([LINE.encode()])


def test_the_line_is_a_sign() -> None:
    assert [(sign.kind, sign.where) for sign in BARE] == [("reset", "1-2")]


@pytest.mark.parametrize("cut", [1, 3, 7, 64, 1000])
def test_colours_do_not_hide_a_sign_wherever_the_log_is_cut(cut: int) -> None:
    data = COLOURED.encode()
    assert read_signs(data[i : i + cut] for i in range(0, len(data), cut)) == BARE


# Windows PowerShell 5 writes `>` as UTF-16 with a mark; others leave the mark out.
@pytest.mark.parametrize("mark", ["\ufeff", ""])
@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("cut", [1, 65, 1000])
def test_utf_16_is_read_wherever_it_is_cut(mark: str, encoding: str, cut: int) -> None:
    data = (mark + LINE * 3).encode(encoding)
    signs, read = read_kernel_log(data[i : i + cut] for i in range(0, len(data), cut))
    assert [(sign.kind, sign.lines) for sign in signs] == [("reset", (1, 2, 3))]
    assert (read.lines, read.understood) == (3, True)


def test_a_mark_of_utf_8_does_not_hide_the_first_line() -> None:
    assert read_signs([b"\xef\xbb\xbf" + LINE.encode()]) == BARE


def test_titles_and_links_meant_for_a_terminal_are_left_out() -> None:
    assert b"".join(plain([b"\x1b]0;title\x07a\x1b]8;;x\x1b\\b\x1b(Bc\x1bMd\n"])) == b"abcd\n"


@given(st.binary(max_size=300).map(lambda data: data.replace(b"\x1b", b"")), st.integers(1, 50))
def test_what_is_neither_coloured_nor_utf_16_stays_as_it_is(data: bytes, cut: int) -> None:
    shown = b"x" * 400 + data  # the letters tell that it is no UTF-16
    assert b"".join(plain(shown[i : i + cut] for i in range(0, len(shown), cut))) == shown


@given(st.lists(st.sampled_from([b"\x1b", b"[", b"3", b"m", b"]", b"\x07", b"\n", b"text", b"\\"]), max_size=40))
def test_broken_orders_end_no_reading_and_lose_no_line(pieces: list[bytes]) -> None:
    whole = b"".join(plain([b"x" * 64, *pieces]))
    assert whole == b"".join(plain([b"x" * 64 + b"".join(pieces)]))
    assert whole.count(b"\n") == pieces.count(b"\n")


@pytest.mark.parametrize(
    ("log", "lines", "understood"),
    [
        (b"", 0, False),
        (b"dear diary\nnothing much", 2, False),
        (random.Random(1).randbytes(300_000), None, False),
        (b"[    1.5] audit: type=1400\n", 1, True),
        (b"Dec 16 12:54:10 host systemd[1]: Started Session\nand more\n", 2, True),
        (b"usb 1-2: Product: Plain Keyboard\n", 1, True),  # dmesg -t
        (b"# my notes\n\nusb 1-2: reset high-speed USB device number 5 using xhci_hcd", 3, True),
    ],
)
def test_it_is_told_whether_a_log_could_be_read(log: bytes, lines: int | None, understood: bool) -> None:
    read = read_kernel_log([log])[1]
    assert read.understood is understood
    assert lines is None or read.lines == lines


def test_a_long_quotation_is_looked_at_in_no_time() -> None:
    assert not is_stamped(b"> " * 1000 + b"no stamp")

"""Asking a command of the system: slow, silent, failing, missing, endless, stopped — and always back in time."""

import stat
import sys
import time

import pytest

from wizard.observe import asking
from wizard.observe.asking import ask


@pytest.fixture
def command(tmp_path):
    """Makes a stand-in for a command that runs the given Python."""

    def make(code):
        path = tmp_path / "stand-in"
        path.write_text(f"#!{sys.executable}\nimport os, sys, time\n{code}\n")
        path.chmod(path.stat().st_mode | stat.S_IXUSR)
        return [str(path)]

    return make


def test_an_answer_comes_as_bytes(command):
    assert ask(command("sys.stdout.buffer.write(b'\\xff' * 10)"), 10.0) == asking.Answer(b"\xff" * 10)


def test_ten_megabytes_come_whole(command):
    answer = ask(command("sys.stdout.write('x' * 10_000_000)"), 20.0)
    assert (len(answer.output), answer.trouble) == (10_000_000, None)


def test_a_slow_command_is_given_up_and_what_it_said_is_kept(command):
    before = time.monotonic()
    answer = ask(command("print('first', flush=True); time.sleep(60)"), 1.0)
    assert (answer.output, answer.trouble) == (b"first\n", "slow")
    assert time.monotonic() - before < 5.0


def test_a_command_that_closes_its_mouth_but_stays_is_given_up(command):
    answer = ask(command("print('x', flush=True); os.close(1); time.sleep(60)"), 1.0)
    assert (answer.output, answer.trouble) == (b"x\n", "slow")


def test_failing_missing_and_refused_commands_are_told_apart(command, tmp_path):
    assert ask(command("print('half'); sys.exit(3)"), 10.0) == asking.Answer(b"half\n", "failed")
    assert ask([str(tmp_path / "nowhere")], 1.0) == asking.Answer(trouble="missing")
    assert ask([str(tmp_path)], 1.0) == asking.Answer(trouble="missing")


def test_a_wish_to_stop_is_heard_at_once(command):
    before = time.monotonic()
    assert ask(command("time.sleep(60)"), 60.0, lambda: True).trouble == "cancelled"
    assert time.monotonic() - before < 3.0


def test_an_endless_answer_ends(command, monkeypatch):
    monkeypatch.setattr(asking, "MOST_BYTES", 100_000)
    answer = ask(command("while True: sys.stdout.write('x' * 10000)"), 20.0)
    assert (len(answer.output), answer.trouble) == (100_000, "too_long")


def test_nothing_is_ever_asked_of_the_user(command):
    assert ask(command("print(len(sys.stdin.read()))"), 10.0).output == b"0\n"

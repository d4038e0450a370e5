"""Jobs that never come back are left behind; everything else is done and nothing is lost."""

import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from wizard.bus.errors import CancelledError
from wizard.observe.patience import do_all
from wizard.observe.seen import Watcher


@pytest.fixture
def lock():
    """Something to wait for that is never given while the test runs."""
    event = threading.Event()
    yield event
    event.set()


def test_every_job_is_done_once_and_in_order():
    done = []
    assert do_all([lambda n=n: done.append(n) for n in range(200)], Watcher(), "Working") == ()
    assert done == list(range(200))


def test_nothing_to_do_is_done_at_once():
    assert do_all([], Watcher(), "Working") == ()


def test_a_stuck_job_is_left_behind_and_the_others_are_done(lock):
    done = []
    jobs = [lambda: done.append(0), lock.wait, lambda: done.append(2), lambda: done.append(3)]
    started = time.monotonic()
    assert do_all(jobs, Watcher(), "Working") == (1,)
    assert done == [0, 2, 3]
    assert time.monotonic() - started < 2


def test_many_stuck_jobs_end_before_three_seconds(lock):
    # The target of the design: a look ends within 3 s, whatever blocks.
    started = time.monotonic()
    left = do_all([lock.wait] * 60, Watcher(), "Working")
    assert len(left) == 60
    assert time.monotonic() - started < 3


def test_a_slow_job_is_waited_for():
    done = []

    def slow():
        time.sleep(0.25)
        done.append("slow")

    assert do_all([slow, lambda: done.append("quick")], Watcher(), "Working") == ()
    assert sorted(done) == ["quick", "slow"]


def test_a_fault_in_a_job_comes_out():
    def broken():
        raise ZeroDivisionError("ours")

    with pytest.raises(ZeroDivisionError, match="ours"):
        do_all([lambda: None, broken, lambda: None], Watcher(), "Working")


def test_cancelling_ends_the_work_even_while_a_job_is_stuck(lock):
    asked = []

    def cancelled():
        asked.append(1)
        return len(asked) > 2

    started = time.monotonic()
    with pytest.raises(CancelledError):
        do_all([lock.wait], Watcher(cancelled=cancelled), "Working")
    assert time.monotonic() - started < 1


def test_progress_is_told_while_waiting(lock):
    told = []
    do_all([lambda: None, lock.wait], Watcher(progress=lambda text, share: told.append((text, share))), "Reading")
    assert told
    assert {text for text, _ in told} == {"Reading"}
    assert all(0 <= share <= 1 for _, share in told)


def test_a_stuck_job_does_not_hold_up_the_end_of_the_program():
    program = (
        "import threading\n"
        "from wizard.observe.patience import do_all\n"
        "from wizard.observe.seen import Watcher\n"
        "print(do_all([threading.Event().wait], Watcher(), 'Working'))\n"
    )
    started = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        timeout=30,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    assert done.stdout.strip() == "(0,)"
    assert time.monotonic() - started < 10  # half a second of patience, the rest is Python starting

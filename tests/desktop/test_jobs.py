"""Work off the GUI thread: results arrive in the GUI thread, the newest wins, nothing keeps a window from closing."""

import threading
import time

import pytest

from wizard.bus.errors import BadInputError, CancelledError
from wizard.desktop.jobs import Job, Runner, let_end


@pytest.fixture
def runner(qapp):
    runner = Runner()
    yield runner
    runner.close()


class Catch:
    """Keeps what a job brings and in which thread it came."""

    def __init__(self) -> None:
        self.results = []
        self.errors = []
        self.progress = []
        self.threads = set()

    def done(self, result):
        self.threads.add(threading.current_thread())
        self.results.append(result)

    def failed(self, error):
        self.threads.add(threading.current_thread())
        self.errors.append(error)

    def told(self, text, share):
        self.threads.add(threading.current_thread())
        self.progress.append((text, share))

    def job(self, run, kind="work", lane=""):
        return Job(kind, run, self.done, self.failed, self.told, lane)


def test_work_runs_elsewhere_and_its_result_arrives_in_the_gui_thread(runner):
    catch, worked_in = Catch(), []

    def work(watcher):
        worked_in.append(threading.current_thread())
        watcher.progress("half", 0.5)
        return 42

    runner.start(catch.job(work))
    assert runner.wait_for("work", 5000)
    assert (catch.results, catch.progress) == ([42], [("half", 0.5)])
    assert catch.threads == {threading.main_thread()}
    assert worked_in[0] is not threading.main_thread()


def test_a_newer_job_of_the_same_kind_replaces_the_older_one(runner):
    catch, let_go, told_to_stop = Catch(), threading.Event(), []

    def first(watcher):
        let_go.wait(5)
        told_to_stop.append(watcher.cancelled())
        return "old"

    runner.start(catch.job(first))
    runner.start(catch.job(lambda _watcher: "new"))
    let_go.set()
    assert runner.wait_for("work", 5000)
    deadline = time.monotonic() + 5
    while not told_to_stop and time.monotonic() < deadline:
        time.sleep(0.01)
    runner.wait_for("", 50)
    assert catch.results == ["new"]
    assert told_to_stop == [True]


def test_jobs_of_a_lane_take_turns_and_only_the_newest_waiting_one_of_a_kind_runs(runner):
    catch, ran, at_once, let_go = Catch(), [], [], threading.Event()

    def work(number):
        def run(_watcher):
            at_once.append(number)
            if number == 1:
                let_go.wait(5)
            ran.append((number, len(at_once)))
            at_once.remove(number)
            return number

        return run

    runner.start(catch.job(work(1), "advise", lane="computing"))
    runner.start(catch.job(work(2), "save", lane="computing"))
    runner.start(catch.job(work(3), "save", lane="computing"))
    runner.start(catch.job(work(4), "look"))
    assert runner.wait_for("look", 5000)
    let_go.set()
    assert runner.wait_for("", 5000)
    assert sorted(catch.results) == [1, 3, 4]
    assert [number for number, _ in ran if number != 4] == [1, 3]
    assert all(together == 1 for number, together in ran if number != 4 and number != 1)


def test_a_cancelled_job_of_a_lane_makes_way_for_the_next(runner):
    catch, let_go = Catch(), threading.Event()
    runner.start(catch.job(lambda _watcher: let_go.wait(5), "advise", lane="computing"))
    runner.start(catch.job(lambda _watcher: "newer", "advise", lane="computing"))
    runner.start(catch.job(lambda _watcher: "saved", "save", lane="computing"))
    runner.keep_only("save")
    let_go.set()
    assert runner.wait_for("", 5000)
    assert catch.results == ["saved"]


def test_trouble_is_handed_back_as_the_exception_it_was(runner):
    catch = Catch()

    def work(_watcher):
        raise BadInputError("a.json", "it is empty", "Choose another.")

    runner.start(catch.job(work))
    assert runner.wait_for("work", 5000)
    assert [str(e) for e in catch.errors] == ["a.json: it is empty. Choose another."]


def test_work_that_stopped_because_it_was_told_to_is_no_trouble(runner):
    catch = Catch()

    def work(_watcher):
        raise CancelledError("The look")

    runner.start(catch.job(work))
    assert runner.wait_for("work", 5000)
    assert (catch.results, catch.errors) == ([], [])


def test_a_cancelled_job_brings_nothing_even_if_it_goes_on(runner):
    catch, let_go, ended = Catch(), threading.Event(), threading.Event()

    def work(_watcher):
        let_go.wait(5)
        ended.set()
        return "late"

    runner.start(catch.job(work))
    runner.cancel("work")
    assert not runner.is_running()
    let_go.set()
    assert ended.wait(5)
    runner.wait_for("", 100)
    assert catch.results == []


def test_closing_does_not_wait_for_work_that_is_stuck(runner):
    catch, let_go = Catch(), threading.Event()
    runner.start(catch.job(lambda _watcher: let_go.wait(30)))
    began = time.monotonic()
    runner.close()
    assert time.monotonic() - began < 0.5
    let_go.set()
    runner.start(catch.job(lambda _watcher: "after the end"))
    assert not runner.is_running()
    assert catch.results == []


def test_progress_told_a_thousand_times_does_not_flood_the_window(runner):
    catch = Catch()

    def work(watcher):
        for number in range(1000):
            watcher.progress(str(number), number / 1000)
        return "done"

    runner.start(catch.job(work))
    time.sleep(0.3)
    assert runner.wait_for("work", 5000)
    assert len(catch.progress) < 1000
    assert catch.progress[-1] == ("999", 0.999)


def test_the_end_of_the_process_waits_for_work_that_ends_soon_and_not_for_work_that_hangs(qapp):
    ended, hang = threading.Event(), threading.Event()
    runner = Runner()

    def computes(_watcher):
        time.sleep(0.1)
        ended.set()

    runner.start(Job("short", computes, lambda _: None, lambda _: None))
    runner.start(Job("long", lambda _watcher: hang.wait(30), lambda _: None, lambda _: None))
    runner.close()
    begun = time.monotonic()
    let_end(0.5)
    assert ended.is_set()
    assert time.monotonic() - begun < 5
    hang.set()

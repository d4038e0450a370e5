"""The program as it is really called: a process of its own, its streams and its exit code."""

import json
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parents[2]
PROGRAM = [sys.executable, "-m", "wizard"]
posix_only = pytest.mark.skipif(os.name != "posix", reason="pipes and terminals of POSIX")


def environment() -> dict[str, str]:
    kept = {key: value for key, value in os.environ.items() if key not in ("DISPLAY", "WAYLAND_DISPLAY")}
    return {**kept, "PYTHONPATH": str(CHECKOUT)}


def called(*argv: object, stdin: bytes = b"", cwd: Path = CHECKOUT) -> subprocess.CompletedProcess[bytes]:
    command = [*PROGRAM, *(str(word) for word in argv)]
    return subprocess.run(
        command, input=stdin, capture_output=True, check=False, timeout=120, env=environment(), cwd=cwd
    )


def one_line(done: subprocess.CompletedProcess[bytes]) -> str:
    text = done.stderr.decode()
    assert text.count("\n") == 1, text
    assert "Traceback" not in text
    return text


def test_without_a_display_and_a_terminal_the_bare_call_says_what_to_do() -> None:
    done = called()
    assert done.returncode == 2
    assert done.stdout == b""
    assert "there is no terminal to ask in" in one_line(done)


def test_the_start_check_without_a_display_says_so() -> None:
    env = {key: value for key, value in environment().items() if key != "QT_QPA_PLATFORM"}
    done = subprocess.run(
        [*PROGRAM, "check", "--start"], capture_output=True, check=False, timeout=120, env=env, cwd=CHECKOUT
    )
    assert done.returncode == (2 if sys.platform == "linux" else 0)
    if done.returncode:
        assert "no display" in one_line(done)


def test_the_start_check_tells_seconds_and_memory() -> None:
    env = {**environment(), "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(
        [*PROGRAM, "check", "--start"], capture_output=True, check=False, timeout=120, env=env, cwd=CHECKOUT
    )
    assert done.returncode == 0
    assert b"ready after" in done.stdout


def test_a_wrong_command_is_one_line_and_2() -> None:
    done = called("watchh")
    assert done.returncode == 2
    assert "invalid choice" in one_line(done)


def test_a_look_at_this_machine_prints_one_document_and_an_exit_code_that_fits() -> None:
    done = called("look", "--json")
    document = json.loads(done.stdout)
    assert document["schema"] == "portmend/look/1"
    has_bus = bool(document["snapshot"]["devices"] or document["snapshot"]["controllers"])
    assert (done.returncode == 3) == (not has_bus)
    assert done.returncode in (0, 1, 3)
    assert b"not redacted" in done.stderr
    assert b"Traceback" not in done.stderr


def test_a_log_comes_in_on_standard_input() -> None:
    done = called(
        "look", "--json", "--log", "-", stdin=b"[ 1.0] usb 1-4: device descriptor read/64, error -71\n\xff\x00\n"
    )
    assert done.returncode in (0, 1, 3)
    signs = json.loads(done.stdout)["signs"]
    assert [(sign["kind"], sign["where"]) for sign in signs] == [("descriptor_read_failed", "1-4")]


def test_an_empty_folder_is_no_captured_tree(tmp_path: Path) -> None:
    done = called("look", "--root", tmp_path)
    assert done.returncode == 2
    assert done.stdout == b""
    assert str(tmp_path) in one_line(done)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "it is empty"),
        (b"no JSON", "it is not JSON"),
        (b'{"schema": "portmend/case/2"}', "newer version"),
        (b"\xff\xfe\x00\x01\x02", "not a text file"),
    ],
)
def test_a_bad_case_is_one_line_and_2(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "case.json"
    path.write_bytes(content)
    done = called("advise", path)
    assert done.returncode == 2
    assert done.stdout == b""
    assert said in one_line(done)


def test_fifty_megabytes_are_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    done = called("advise", path)
    assert done.returncode == 2
    assert "larger than 20 MB" in one_line(done)


@posix_only
def test_a_case_without_permission_is_one_line_and_2(tmp_path: Path) -> None:
    if os.geteuid() == 0:
        pytest.skip("root may read everything; the refusal itself is tested with the store")
    path = tmp_path / "case.json"
    path.write_text("{}")
    path.chmod(0)
    done = called("advise", path)
    assert done.returncode == 2
    assert "you may not read it" in one_line(done)


@posix_only
def test_a_reader_that_leaves_early_is_no_fault() -> None:
    with subprocess.Popen(
        [*PROGRAM, "schema", "case"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment(), cwd=CHECKOUT
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        complaint = process.stderr.read()
    assert process.returncode == 0
    assert complaint == b""


@posix_only
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device here")
def test_a_full_disk_is_one_line_and_2() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*PROGRAM, "schema", "case"],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
            env=environment(),
            cwd=CHECKOUT,
        )
    assert done.returncode == 2
    assert b"standard output: it can't be written" in done.stderr
    assert b"Traceback" not in done.stderr


def test_a_console_without_umlauts_stops_nothing() -> None:
    env = {**environment(), "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = subprocess.run([*PROGRAM, "demo"], capture_output=True, check=False, timeout=120, env=env, cwd=CHECKOUT)
    assert done.returncode == 0
    assert done.stderr == b""


class Terminal:
    """A real terminal with the program in it, driven as a person would."""

    def __init__(self, argv: Sequence[str]) -> None:
        import pty  # not there on Windows

        self.process_id, self.handle = pty.fork()
        if self.process_id == 0:
            os.chdir(CHECKOUT)
            os.execve(PROGRAM[0], [*PROGRAM, *argv], environment())
        self.seen = ""
        self.last = ""

    def until_it_waits(self) -> None:
        """Wait until the program does nothing for half a second; on a busy machine showing a prompt may take longer."""
        asleep = 0
        while asleep < 5:
            time.sleep(0.1)
            state = Path(f"/proc/{self.process_id}/stat")
            asleep = asleep + 1 if not state.exists() or state.read_text().rpartition(")")[2].split()[0] == "S" else 0

    def until(self, *words: str, seconds: float = 60.0) -> str:
        """Read until one of these comes; returns what came before it, and forgets that."""
        end = time.monotonic() + seconds
        while not any(word in self.seen for word in words):
            assert time.monotonic() < end, self.seen
            if select.select([self.handle], [], [], 0.2)[0]:
                try:
                    self.seen += os.read(self.handle, 65536).decode(errors="replace")
                except OSError:  # the other end has closed
                    end = time.monotonic()
        first = min((word for word in words if word in self.seen), key=self.seen.index)
        before, self.last, self.seen = self.seen.partition(first)
        return before

    def type(self, text: str) -> None:
        os.write(self.handle, text.encode())

    def exit_code(self) -> int:
        _, status = os.waitpid(self.process_id, 0)
        os.close(self.handle)
        return os.waitstatus_to_exitcode(status)


@posix_only
def test_a_person_at_a_terminal_gets_from_the_trouble_to_the_report() -> None:
    terminal = Terminal([])  # no display: the questions come by themselves
    terminal.until("Name everything that fits")
    terminal.type("1\n")
    terminal.until("What should be looked at?")
    terminal.type("3\n")
    terminal.until("enter = the first")
    terminal.type("\n")
    terminal.until("enter = go on")
    terminal.type("\n")
    terminal.until("of at most 12", "What was found")
    if terminal.last != "What was found":  # a question; the rulebook decides whether one is useful
        terminal.until("f = to the findings")
        terminal.type("f\n")
    terminal.until("on to the plan")
    terminal.type("\n")
    terminal.until("Step 1")
    terminal.until("enter = on to the report")
    terminal.type("1\n")
    terminal.until("How is it now?")
    terminal.type("1\n")
    terminal.until("Verdict: Solved")
    terminal.until("File: ")
    terminal.type("\n")
    terminal.until("leave all out")
    terminal.type("\n")
    report = Path(terminal.until("The case is saved in").rpartition("The report is in ")[2].strip())
    assert terminal.exit_code() == 0
    assert report.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@posix_only
def test_ctrl_c_in_the_questions_says_where_the_case_is() -> None:
    terminal = Terminal(["ask"])
    terminal.until("Name everything that fits")
    terminal.type("1\n")
    terminal.until("What should be looked at?")
    terminal.type("4\n")
    terminal.until("of at most 12")
    terminal.until("q = leave")
    terminal.until_it_waits()  # a signal between showing the prompt and waiting for a line is seen with the next line
    os.kill(terminal.process_id, signal.SIGINT)
    terminal.until("The case is saved in")
    assert terminal.exit_code() == 0

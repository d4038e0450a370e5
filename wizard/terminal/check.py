"""`portmend check`: the program checks itself, without touching any USB gear."""

import platform
import tempfile
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

import wizard
from wizard import wiring
from wizard.bus.errors import PortmendError, RulebookError
from wizard.terminal.judging import DONE, STANDS_OUT
from wizard.terminal.playing import play
from wizard.terminal.screen import Screen

HELP = "check Portmend itself: rulebook, demos, reports and pages"

_LIBRARIES = ("pydantic", "platformdirs", "pyusb", "libusb-package", "PySide6-Essentials")

_REPORTS = ("report.html", "report.pdf", "report.txt", "report.json")


@dataclass(frozen=True)
class WindowChecks:
    """What the window can check of itself; the terminal knows no window, so it is handed over.

    `pages` builds every page off screen and says what went wrong; `start` opens the window, says how that
    went and returns an exit code.
    """

    pages: Callable[[], list[str]]
    start: Callable[[Callable[[str], None]], int]


def arguments(parser: ArgumentParser) -> None:
    """What may follow `check`."""
    parser.add_argument(
        "--start", action="store_true", help="open the window, tell how long that took and how much memory, and leave"
    )


def run(window: WindowChecks, args: Namespace, screen: Screen) -> int:
    """Check everything and say what failed; 1 if anything did."""
    if args.start:
        return window.start(screen.say)
    failed = False
    for name, problems in _checks(window):
        failed = failed or bool(problems)
        screen.say(f"{'FAILED' if problems else 'ok'}: {name}")
        for problem in problems:
            screen.say(f"  {problem}")
    for line in _versions():
        screen.say(line)
    return STANDS_OUT if failed else DONE


def _checks(window: WindowChecks) -> Iterator[tuple[str, list[str]]]:
    try:
        services = wiring.load_services()
    except RulebookError as broken:
        yield "the rulebook loads", list(broken.problems)
        return
    yield "the rulebook fits together", [f"{problem.place}: {problem.text}" for problem in wiring.lint(services)]
    for name in wiring.demo_names():
        yield f"demo {name}, down to its reports", _demo_problems(services, name)
    yield "every page of the window", _page_problems(window)


def _demo_problems(services: wiring.Services, name: str) -> list[str]:
    try:
        played = play(services, wiring.load_demo(name))
        with tempfile.TemporaryDirectory(prefix="portmend-check-") as folder:
            for report in _REPORTS:
                wiring.write_report(services, played.case, Path(folder) / report)
    except PortmendError as error:
        return [str(error)]
    problems = []
    if not played.advice.plan.steps:
        problems.append("its plan has no steps")
    if played.advice.next_question is not None:
        problems.append("its dialogue does not end")
    if played.case.rechecks[-1].outcome == "gone" and played.verdict.verdict != "solved":
        problems.append(f"its fix ends in {played.verdict.verdict!r} instead of 'solved'")
    return problems


def _page_problems(window: WindowChecks) -> list[str]:
    try:
        return window.pages()
    except ImportError as missing:
        return [f"the window can't be built here: {missing}"]


def _versions() -> Iterator[str]:
    yield f"Portmend {wizard.__version__}, Python {platform.python_version()}, {platform.system()} {platform.machine()}"
    yield ", ".join(f"{name} {_version_of(name)}" for name in _LIBRARIES)


def _version_of(library: str) -> str:
    try:
        return metadata.version(library)
    except metadata.PackageNotFoundError:
        return "missing"

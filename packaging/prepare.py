"""Makes Portmend ready in a checkout, then runs it or its tests.

Knows the three commands and their order. Does not know how the environment is made (environment.py), what
Qt needs from the system (system.py), how a launcher looks (launcher.py) or what the checks are (gate.py).
Uses nothing but Python's standard library, since on a new machine there is nothing else.

    python3 packaging/prepare.py run [ARGUMENTS]   make ready, write the launcher, start Portmend
    python3 packaging/prepare.py test              make ready, run every check and test
    python3 packaging/prepare.py remove            take the launcher and the private environment away
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import environment
import gate
import launcher
import system
from trouble import PrepareError, say

CHECKOUT = Path(__file__).resolve().parent.parent
USAGE = "usage: python3 packaging/prepare.py run [ARGUMENTS] | test | remove"


def start(command: list[str], env: dict[str, str]) -> int:
    """Hand over to COMMAND for good; on Windows, where that loses the terminal, wait for it instead."""
    sys.stdout.flush()
    if os.name == "posix":
        os.execve(command[0], command, env)
    return subprocess.run(command, env=env, check=False).returncode


def main_job(has_window: bool) -> list[str]:
    """What `run` starts when nothing else is asked for.

    The window where one opens; else the questions in the terminal; and where nobody sits at a terminal
    either (a build machine), an invented case from trouble to plan, since there is no one to ask.
    """
    if has_window:
        return []
    if sys.stdin.isatty() and sys.stdout.isatty():
        say("no window here, so the questions come in this terminal")
        return ["ask"]
    say("no display and no terminal to answer in, so this shows an invented case from trouble to plan")
    return ["demo", min(path.name for path in (CHECKOUT / "resources" / "demo").iterdir() if path.is_dir())]


def run(arguments: list[str]) -> int:
    """Make ready for use, write the launcher, and start Portmend with ARGUMENTS."""
    home = environment.make_ready(CHECKOUT, "run")
    window_works = home.has_qt and system.window_works(home)
    if window_works:
        launcher.write(home)
    if not arguments:
        arguments = main_job(window_works and system.has_display())
    return start([str(home.script("portmend")), *arguments], environment.clean_variables())


def test() -> int:
    """Make ready for development and pass the gate; 0 if every check and test passed."""
    home = environment.make_ready(CHECKOUT, "test")
    system.ready_for_tests(home)
    return gate.run(home)


def remove() -> int:
    """Take away what `run` and `test` made. Saved cases stay: they are the user's."""
    launcher.remove(CHECKOUT)
    environment.remove(CHECKOUT)
    return 0


def main(arguments: list[str]) -> int:
    """Dispatch; every expected trouble ends in one line on stderr and exit code 2."""
    if sys.version_info < (3, 11):
        version = ".".join(str(part) for part in sys.version_info[:2])
        print(f"Portmend needs Python 3.11 or newer; this is {version}.", file=sys.stderr)
        return 2
    try:
        if arguments[:1] == ["run"]:
            return run(arguments[1:])
        if arguments == ["test"]:
            return test()
        if arguments == ["remove"]:
            return remove()
    except PrepareError as trouble:
        print(f"Portmend: {trouble}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("Portmend: stopped; run the same command to go on.", file=sys.stderr)
        return 130
    print(USAGE, file=sys.stderr)
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

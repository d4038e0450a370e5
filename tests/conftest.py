"""What holds for every test: no real home folder, no screen, no unexpected log record, the same examples in CI.

Knows pytest, Hypothesis and the variables that lead to a person's files. Knows nothing of Portmend.
"""

from __future__ import annotations

import functools
import logging
import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

# Before anything imports Qt.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

IN_CI = bool(os.environ.get("CI"))

settings.register_profile("here", deadline=None)
# The same examples every time: a red CI is then about the change and not about luck.
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if IN_CI else "here")

# Bytes of address space for the tests and each program they start: a test that asks for ever more memory fails
# by itself, and does not take the machine with it. Several times what the whole run needs.
MOST_MEMORY = 6 * 2**30

TOOLS = {"recorded": "umockdev-run", "lab": "qemu-system-x86_64"}
HOME_VARIABLES = (
    "HOME",
    "USERPROFILE",
    "APPDATA",
    "LOCALAPPDATA",
    "XDG_CONFIG_HOME",
    "XDG_DATA_HOME",
    "XDG_STATE_HOME",
    "XDG_CACHE_HOME",
)


def pytest_configure() -> None:
    """Limit the memory, where the system has a way to."""
    if sys.platform == "linux":
        import resource

        _, most = resource.getrlimit(resource.RLIMIT_AS)
        wanted = MOST_MEMORY if most == resource.RLIM_INFINITY else min(MOST_MEMORY, most)
        resource.setrlimit(resource.RLIMIT_AS, (wanted, most))


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test whose outside tool is missing; in CI it must be there."""
    for marker, tool in TOOLS.items():
        if item.get_closest_marker(marker) is None or shutil.which(tool) is not None:
            continue
        if IN_CI:
            pytest.fail(f"{tool} is missing, and CI must run the tests marked '{marker}'", pytrace=False)
        pytest.skip(f"needs {tool}")
    if item.get_closest_marker("recorded") and not has_terminals():
        pytest.skip("needs pseudo-terminals, and this system gives none (is /dev/pts mounted?)")


@functools.cache
def has_terminals() -> bool:
    """Whether a pseudo-terminal can be had: umockdev makes one for each device node it plays."""
    try:
        for end in os.openpty():
            os.close(end)
    except (AttributeError, OSError):
        return False
    return True


@pytest.fixture(autouse=True)
def a_home_of_its_own(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty home folder for this test; nobody's cases or settings are ever read or written."""
    home = tmp_path_factory.mktemp("home")
    for name in HOME_VARIABLES:
        monkeypatch.setenv(name, str(home))
    return home


@pytest.fixture(autouse=True)
def no_unexpected_log_record(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """Fail a test that logged a warning or worse.

    A test that expects such a record looks at `caplog.records` and then calls `caplog.clear()`.
    """
    yield
    records = [*caplog.get_records("setup"), *caplog.get_records("call")]
    unexpected = [record for record in records if record.levelno >= logging.WARNING]
    assert not unexpected, [f"{record.name}: {record.getMessage()}" for record in unexpected]

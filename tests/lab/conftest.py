"""Boots of the laboratory's machine, each once however many tests look at its results, one after the other.

Tests may run in several processes at once: they share the results on disk, and a lock lets one machine run at a
time, because timing suffers from company.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from lab.kernel import NoLabError
from lab.machine import Boot, Machine, Results

Booted = Callable[[str, Boot], Results]


@pytest.fixture(scope="session")
def booted(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Booted:
    """Results of a boot by its name; the machine runs only if no test of this run has done it yet."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "lab"
    store = Path(request.config.cache.mkdir("lab"))  # type: ignore[union-attr]  # the cache is part of pytest

    def _booted(name: str, boot: Boot) -> Results:
        folder = shared / name
        shared.mkdir(exist_ok=True)
        with one_at_a_time(shared / "lock"):
            if not folder.exists():
                folder.mkdir()
                _machine(store).run(boot, folder)
        ended = folder / "ended"
        code = int(ended.read_text()) if ended.is_file() else -1
        results = Results(folder, code)
        assert code == 0, results.story()
        return results

    return _booted


def _machine(store: Path) -> Machine:
    """Without a machine the tests are skipped with the reason; in CI that is a failure."""
    try:
        return Machine(store)
    except NoLabError as reason:
        if os.environ.get("CI"):
            pytest.fail(f"CI must run the laboratory: {reason}", pytrace=False)
        pytest.skip(str(reason))


@contextmanager
def one_at_a_time(path: Path) -> Iterator[None]:
    """Holds a lock that every process of this test run respects."""
    import fcntl  # Linux has it, and elsewhere the tests are skipped before they get here

    with path.open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield

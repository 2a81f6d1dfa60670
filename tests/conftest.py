"""What every test process has: how thorough it is, one profile of Hypothesis, one thread for linear algebra."""

import os
from importlib import import_module

import pytest

# read once, when numpy is imported; so is this file, before any test. Several with several threads wait for each other
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

WAITING = 1
"""Processes beyond the processors: many tests wait for a terminal, a worker or a clock."""
THOROUGH = "POISE_THOROUGH"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--thorough", action="store_true", help=f"all random cases and slow extras, as {THOROUGH}=1")


def pytest_configure(config: pytest.Config) -> None:
    told = f"takes long and proves little more; runs with --thorough or {THOROUGH}=1"
    config.addinivalue_line("markers", f"thorough: {told}")
    if config.getoption("--thorough"):
        os.environ.setdefault(THOROUGH, "1")
    from hypothesis import HealthCheck, settings

    # how long a case takes hangs on what else the machine does; usual runs take the same cases every time
    settings.register_profile(
        "poise",
        deadline=None,
        database=None,
        derandomize=not os.environ.get(THOROUGH),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
    )
    settings.load_profile("poise")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if not os.environ.get(THOROUGH):
        skip = pytest.mark.skip(reason=f"takes long; {THOROUGH}=1 runs it")
        for item in items:
            if item.get_closest_marker("thorough"):
                item.add_marker(skip)


@pytest.fixture
def in_this_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Batch, check and report start no processes, where these add nothing to the test."""
    from in_this_process import USERS, one_by_one

    for module in USERS:
        monkeypatch.setattr(import_module(module), "as_completed", one_by_one)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """The processes of `-n auto`."""
    return len(os.sched_getaffinity(0)) + WAITING

"""What every test process has: one thread for linear algebra; several with several threads wait for each other."""

import os

import pytest

# read once, when numpy is imported; so is this file, before any test
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

WAITING = 1
"""Processes beyond the processors: many tests wait for a terminal, a worker or a clock."""


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """The processes of `-n auto`."""
    return len(os.sched_getaffinity(0)) + WAITING

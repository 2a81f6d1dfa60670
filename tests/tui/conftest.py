"""What every test of the app has: keys that follow each other as fast as they are taken."""

import asyncio

import pytest


@pytest.fixture(autouse=True)
def quick_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    """After a key textual's pilot waits until the process rests, for two seconds where a thread of it works.

    It still waits until the screen has taken all keys; what a thread has to say is waited for by name.
    """

    async def passed_on(min_sleep: float = 0, max_sleep: float = 0) -> None:
        for _ in range(20):  # from the driver to the app, from the app to its screen
            await asyncio.sleep(0)

    monkeypatch.setattr("textual.app.wait_for_idle", passed_on)

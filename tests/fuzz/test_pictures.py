"""Hostile pictures: each becomes a frame that can be written again, or one line; nothing else, whatever is done to it.

More by hand: POISE_THOROUGH=100 pytest tests/fuzz/test_pictures.py
"""

from collections.abc import Iterator

import pytest
from court import Court
from hypothesis import given, settings
from hypothesis import strategies as st
from mutations import mutated, reassembled
from pictures import SEEDS
from thorough import many

MANY = many(60, 1200)


@pytest.fixture(scope="module")
def court() -> Iterator[Court]:
    court = Court()
    yield court
    court.end()


@pytest.fixture(scope="module", params=SEEDS)
def files(request: pytest.FixtureRequest) -> tuple[str, list[bytes]]:
    return request.param, SEEDS[request.param]()


def test_the_pictures_themselves_are_read(court: Court, files: tuple[str, list[bytes]]) -> None:
    for content in files[1]:
        assert court.verdict(files[0], content) == ""


@settings(max_examples=MANY)
@given(number=st.integers(0, 2**63))
def test_a_mutated_picture_is_a_frame_or_one_line(court: Court, files: tuple[str, list[bytes]], number: int) -> None:
    ending, contents = files
    mutate = reassembled if ending == ".png" and number % 4 else mutated
    assert court.verdict(ending, mutate(contents, number)) == ""

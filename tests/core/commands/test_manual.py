"""`poise manual`: topics, pages and search, as a person types them."""

import pytest
from click.testing import CliRunner

from poise.commands import main
from poise.manual import TOPICS, page, search


def run(*arguments: str) -> str:
    result = CliRunner().invoke(main, ["manual", *arguments])
    assert result.exit_code == 0, result.stderr
    return result.stdout


def test_without_a_topic_the_topics_are_listed() -> None:
    assert [line.split()[0] for line in run().splitlines()] == list(TOPICS)


@pytest.mark.parametrize("topic", TOPICS)
def test_every_topic_is_a_page_with_a_title(topic: str) -> None:
    text = run(topic)
    assert text == page(topic)
    assert text.startswith("# ")


def test_the_first_letters_of_a_topic_are_enough() -> None:
    assert run("side") == page("sidecar")


def test_another_word_is_searched_for() -> None:
    lines = run("Theil-Sen").splitlines()
    assert lines
    assert all(line.startswith("readings:") and "Theil-Sen" in line for line in lines)
    assert [hit.line for hit in search("theil-sen")] == [hit.line for hit in search("THEIL-SEN")] != []


def test_a_word_that_stands_nowhere_is_refused_with_the_topics() -> None:
    result = CliRunner().invoke(main, ["manual", "quaternion"])
    assert result.exit_code == 2
    assert result.stderr == f"poise: no topic 'quaternion' in the manual; its topics are {', '.join(TOPICS)}\n"

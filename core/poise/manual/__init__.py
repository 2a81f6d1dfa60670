"""The manual: one topic a Markdown file in this package, read on the machine itself."""

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files

from poise.errors import UsageError

TOPICS: Mapping[str, str] = {
    "app": "the app, mode by mode: balance, pick a grey, mattes, curves, sequences, the reel, groups, compare",
    "keys": "every key and every command of the app, and how to change keys",
    "readings": "what each figure means; drift and flicker over the frames of a sequence",
    "auto": "starting points: auto, match, chart",
    "sidecar": "the JSON file beside each picture: every control, mattes, encodings",
    "time": "over the frames of a sequence: keyframes, and removing flicker",
    "batch": "apply: resuming, what a failure costs, several machines",
    "check": "the delivery check and its limits",
    "handover": "ASC CDL, Common LUT Format, the contact sheet",
    "formats": "picture formats: what an output keeps of its source, and what is refused",
    "clips": "movie files: which are read, how their codes become pictures, what apply writes",
    "terminal": "colours, slow lines, plain characters",
}
"""Each topic and what it covers, in the order in which they are listed."""


@dataclass(frozen=True)
class Hit:
    """A line of the manual in which a text was found."""

    topic: str
    number: int
    line: str


def page(topic: str) -> str:
    """The text of a topic, as Markdown; the first letters of its name are enough where they fit one topic alone.

    Raises:
        UsageError: no such topic, or several that start so.

    Example:
        >>> page("bat").splitlines()[0]
        '# Applying: the batch'
    """
    fitting = [name for name in TOPICS if name == topic] or [
        name for name in TOPICS if topic and name.startswith(topic)
    ]
    if len(fitting) != 1:
        raise UsageError(f"no topic {topic!r} in the manual; its topics are {', '.join(TOPICS)}")
    return (files(__name__) / f"{fitting[0]}.md").read_text(encoding="utf-8")


def search(text: str) -> list[Hit]:
    """Every line of the manual that contains a text, in any case.

    Example:
        >>> {hit.topic for hit in search("PCHIP")}
        {'sidecar'}
    """
    sought = text.casefold()
    return [
        Hit(topic, number, line)
        for topic in TOPICS
        for number, line in enumerate(page(topic).splitlines(), 1)
        if sought in line.casefold()
    ]

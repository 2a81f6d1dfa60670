"""The model of the sidecar, and the JSON Schema generated from it."""

import inspect
import json
import os
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct

from poise.correction.keyframes import Keyframes, check_rising
from poise.correction.model import Correction, Encoding
from poise.correction.steady import Steady
from poise.frames.shots import Shot

VERSION = 1
State = Literal["new", "balanced", "held", "skipped"]


class ShotInfo(Struct, frozen=True):
    """The picture that a sidecar is about; `frames` are the first and last number of a sequence."""

    file: str = ""
    width: Annotated[int, Meta(ge=0)] = 0
    height: Annotated[int, Meta(ge=0)] = 0
    frames: tuple[int, int] | None = None

    @classmethod
    def of(cls, shot: Shot, width: int = 0, height: int = 0) -> "ShotInfo":
        """The information about a shot; bytes of its name that are not Unicode are escaped.

        Args:
            width, height: the size of its pictures; 0 if unknown.
        """
        return cls(os.fsencode(shot.name).decode("utf-8", "backslashreplace"), width, height, shot.frame_range)


class Written(Struct, frozen=True):
    """The program that wrote the file, and when (ISO 8601, UTC)."""

    by: str = ""
    at: str = ""


class Version(Struct, frozen=True):
    """A named state of the correction and its keyframes, and when it was kept (ISO 8601, UTC)."""

    correction: Correction = Correction()
    at: str = ""
    keyframes: Keyframes = ()

    def __post_init__(self) -> None:
        check_rising(self.keyframes)


VersionName = Annotated[str, Meta(min_length=1, max_length=64)]
MOST_VERSIONS = 64


class Sidecar(Struct, frozen=True):
    """The decisions about one shot.

    Attributes:
        poise: the version of the format.
        revision: counts the saves.
        encoding: null for the default of the file's format.
        correction: of all frames, unless there are keyframes.
        keyframes: the corrections of a sequence at some of its frames, in rising order; those between are interpolated.
        steady: gains in light for each frame of a sequence, on top of its correction; null without.
        by_hand: JSON key `hand`; false if the correction was found automatically, by neither a person nor a script.
        judged: the number of the frame of a sequence that the correction is judged on; null for its first.
        versions: states of the correction that were kept, by name.
        certainty: the probability, by auto's estimate, that it found the light of its starting point; null without one.
    """

    poise: Annotated[int, Meta(ge=1, le=VERSION)] = VERSION
    revision: Annotated[int, Meta(ge=0)] = 0
    shot: ShotInfo = ShotInfo()
    encoding: Encoding | None = None
    correction: Correction = Correction()
    keyframes: Keyframes = ()
    steady: Steady | None = None
    state: State = "new"
    note: Annotated[str, Meta(max_length=4096)] = ""
    by_hand: bool = msgspec.field(default=True, name="hand")
    judged: Annotated[int, Meta(ge=0)] | None = None
    versions: Annotated[dict[VersionName, Version], Meta(max_length=MOST_VERSIONS)] = {}
    certainty: Annotated[float, Meta(ge=0, le=1)] | None = None
    written: Written = Written()

    def __post_init__(self) -> None:
        check_rising(self.keyframes)


def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a sidecar."""
    built = json.loads(
        msgspec.json.encode(msgspec.json.schema(Sidecar)),  # defaults hold tuples, JSON has lists
        object_hook=_settled,
    )
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "poise sidecar", **built}


def _settled(item: dict[str, Any]) -> dict[str, Any]:
    """Remove differences between versions of msgspec: docstrings are not indented, null is the last choice."""
    description, choices = item.get("description"), item.get("anyOf")
    if isinstance(description, str):
        item["description"] = inspect.cleandoc(description)
    if isinstance(choices, list):
        choices.sort(key={"type": "null"}.__eq__)
    return item


if __name__ == "__main__":
    print(json.dumps(schema(), indent=2))

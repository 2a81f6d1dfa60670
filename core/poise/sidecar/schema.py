"""The sidecar's form: what the JSON file beside a shot holds, and the JSON Schema generated from it."""

import inspect
import json
import os
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct

from poise.correction.model import Correction, Encoding
from poise.frames.shots import Shot

VERSION = 1
State = Literal["new", "balanced", "held", "skipped"]


class ShotInfo(Struct, frozen=True):
    """Which picture the decisions are about; `frames` is the first and last number of a sequence."""

    file: str = ""
    width: Annotated[int, Meta(ge=0)] = 0
    height: Annotated[int, Meta(ge=0)] = 0
    frames: tuple[int, int] | None = None

    @classmethod
    def of(cls, shot: Shot, width: int = 0, height: int = 0) -> "ShotInfo":
        """Of a shot and the size of its pictures, 0 while it is unknown; JSON is Unicode, and a file name need not be.

        Example:
            >>> ShotInfo.of(Shot("quay\udcff.tif", Path("day"), (Path("day/quay\udcff.tif"),), False)).file
            'quay\\xff.tif'
        """
        return cls(os.fsencode(shot.name).decode("utf-8", "backslashreplace"), width, height, shot.frame_range)


class Written(Struct, frozen=True):
    """Who wrote the file, and when (ISO 8601, UTC)."""

    by: str = ""
    at: str = ""


class Version(Struct, frozen=True):
    """A named state of the correction, and when it was kept (ISO 8601, UTC)."""

    correction: Correction = Correction()
    at: str = ""


VersionName = Annotated[str, Meta(min_length=1, max_length=64)]
MOST_VERSIONS = 64


class Sidecar(Struct, frozen=True):
    """One shot's decisions.

    Attributes:
        encoding: null for the default of the file's format.
        hand: whether a person or a script made the correction; false when it was found automatically.
        judged: the number of the frame of a sequence that the correction is judged on; null for its first.
        versions: states of the correction that were kept, by name.
    """

    poise: Annotated[int, Meta(ge=1, le=VERSION)] = VERSION
    revision: Annotated[int, Meta(ge=0)] = 0
    shot: ShotInfo = ShotInfo()
    encoding: Encoding | None = None
    correction: Correction = Correction()
    state: State = "new"
    note: Annotated[str, Meta(max_length=4096)] = ""
    hand: bool = True
    judged: Annotated[int, Meta(ge=0)] | None = None
    versions: Annotated[dict[VersionName, Version], Meta(max_length=MOST_VERSIONS)] = {}
    written: Written = Written()


def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a sidecar."""
    built = json.loads(
        msgspec.json.encode(msgspec.json.schema(Sidecar)),  # defaults hold tuples, JSON has lists
        object_hook=_settled,
    )
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "poise sidecar", **built}


def _settled(item: dict[str, Any]) -> dict[str, Any]:
    """One form of what differs between versions of msgspec: docstrings are not indented, null is the last choice."""
    description, choices = item.get("description"), item.get("anyOf")
    if isinstance(description, str):
        item["description"] = inspect.cleandoc(description)
    if isinstance(choices, list):
        choices.sort(key={"type": "null"}.__eq__)
    return item


if __name__ == "__main__":
    print(json.dumps(schema(), indent=2))

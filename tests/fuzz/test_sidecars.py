"""Hostile sidecars: each is read, and can be saved again, or is refused in one line; whatever is in it.

More by hand: POISE_THOROUGH=100 pytest tests/fuzz/test_sidecars.py
"""

import json
import os
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from mutations import mutated
from thorough import many

from poise.correction import Correction, Encoding
from poise.correction.model import Matte
from poise.errors import PoiseError
from poise.frames.shots import Shot
from poise.sidecar import ShotInfo, Sidecar, load, save

MANY = many(150, 3000)
FULL = msgspec.to_builtins(
    Sidecar(
        shot=ShotInfo("quay.####.tif", 3840, 2160, (1001, 1040)),
        encoding=Encoding(),
        correction=Correction(mattes=(Matte("sail"), Matte("sea"))),
        note="fog until nine",
        judged=1003,
    )
)
NUMBERS = (0, -1, 1e308, -1e-308, 2**31, 2**63, 10**30, 10**400, 0.5, 360, float("inf"), float("nan"), 1.0000001)
TEXTS = (
    "",
    "poise",
    "crew",
    "../x",
    "/etc/passwd",
    "\x1b[2J",
    "\ud800",
    "\n\0",
    "a" * 5000,
    "__class__",
    "\u2028",
)


def _places(value: Any) -> list[tuple[Any, Any]]:
    """Every place in an object or a list, with what holds it."""
    if not isinstance(value, dict | list):
        return []
    keys = list(value) if isinstance(value, dict) else range(len(value))
    return [place for key in keys for place in ((value, key), *_places(value[key]))]


def _value(chance: Random, depth: int = 0) -> Any:
    kind = chance.randrange(4 if depth > 3 else 6)
    if kind == 4:
        return [_value(chance, depth + 1) for _ in range(chance.randrange(5))]
    if kind == 5:
        return {chance.choice(TEXTS): _value(chance, depth + 1) for _ in range(chance.randrange(4))}
    return (None, chance.random() < 0.5, chance.choice(NUMBERS), chance.choice(TEXTS))[kind]


def sidecar(number: int) -> bytes:
    """A whole sidecar of which some values are others, gone or doubled; of a third, bytes too; some are bytes alone."""
    chance = Random(number)
    found = json.loads(json.dumps(FULL))
    for _ in range(chance.choice((0, 1, 1, 2, 4))):
        places = _places(found)
        holder, key = chance.choice(places) if places else (found, "poise")
        step = chance.randrange(4)
        if step == 0 and isinstance(holder, dict) and key in holder:
            del holder[key]
        elif step == 1 and isinstance(holder, dict):
            holder[chance.choice(TEXTS)] = _value(chance)
        elif step == 2 and isinstance(holder, list):
            holder.extend([holder[key]] * chance.choice((1, 8, 60)))
        else:
            holder[key] = _value(chance)
    content = json.dumps(found).encode().replace(b"Infinity", chance.choice((b"1e999", b"Infinity")))
    if chance.randrange(50) == 0:
        return chance.randbytes(chance.randrange(300))
    return mutated([content], number) if chance.randrange(3) == 0 else content


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", lambda handle: None)  # the disk is not on trial
        yield tmp_path_factory.mktemp("sidecars") / "quay.####.tif.poise.json"


def refused(use: Any, *args: Any) -> PoiseError | None:
    """The refusal, in one line, if it is one; anything else that is raised is a fault."""
    fault = None
    try:
        use(*args)
    except PoiseError as told:
        fault = told
    assert fault is None or str(fault).isprintable()
    return fault


@settings(max_examples=MANY, deadline=10_000)
@given(number=st.integers(0, 2**63))
def test_a_hostile_sidecar_is_read_or_refused_in_one_line(path: Path, number: int) -> None:
    content = sidecar(number)
    path.unlink(missing_ok=True)
    path.write_bytes(content)
    if refused(load, path):
        assert refused(save, path, Sidecar(), Sidecar())
        assert path.read_bytes() == content  # left as it is
        return
    found = load(path)
    shot = Shot(path.name, path.parent, (path,) * 3, True, (1, 3, 9))
    assert 0 <= shot.nearest(found.judged) < 3
    if not refused(save, path, replace(found, note="held"), found):
        assert load(path).correction == found.correction
        assert json.loads(path.read_bytes()).keys() >= json.loads(content).keys()
    assert [one.name for one in path.parent.iterdir()] == [path.name]

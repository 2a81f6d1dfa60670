"""`poise copy --only mattes,curves`: those parts go over, all else that the other sidecar holds stays."""

import json
from pathlib import Path
from typing import Any

import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main

BUOY = {"name": "buoy", "hue": {"low": 340, "high": 20, "soft": 10}, "inside": {"turn": 30}}
CURVES = {"red": [[0, 0], [0.4, 0.5], [1, 1]], "master": [[0, 0.02], [1, 0.98]]}
WHOLE = {"red": CURVES["red"], "green": [[0, 0], [1, 1]], "blue": [[0, 0], [1, 1]], "master": CURVES["master"]}


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def decide(path: Path, **keys: Any) -> None:
    path.with_name(f"{path.name}.poise.json").write_text(json.dumps({"poise": 1, **keys}))


def sidecar(path: Path) -> dict[str, Any]:
    found = json.loads(path.with_name(f"{path.name}.poise.json").read_text())
    assert isinstance(found, dict)
    return found


@pytest.fixture
def quay(tmp_path: Path) -> tuple[Path, Path]:
    paths = tmp_path / "quay_02.png", tmp_path / "quay_03.png"
    for path in paths:
        Image.fromarray(skimage.data.astronaut()[:32, :48]).save(path)
    return paths


def test_other_parts_and_unknown_keys_stay(quay: tuple[Path, Path]) -> None:
    source, target = quay
    one, other = BUOY | {"inside": {"exposure": 0.5}}, BUOY | {"on": False, "denoise": 0.01}
    decide(source, crew="day", correction={"saturation": 1.5, "curves": CURVES, "mattes": [one, other], "extra": 1})
    old = [{"name": "sail", "lamp": "A"}, BUOY | {"lamp": "B"}]
    light = {"exposure": 0.25, "lamp": "C"}
    kept = {"light": light, "extra": [2], "curves": {"blue": [[0, 0], [1, 0.9]], "film": "D"}, "mattes": old}
    decide(target, crew="night", state="held", note="fog", correction=kept)
    before = source.with_name(f"{source.name}.poise.json").read_bytes()

    result = poise("copy", source, target, "--only", "mattes,curves")
    assert (result.exit_code, result.stdout, result.stderr) == (0, f"{target}\n", "")

    got = sidecar(target)
    assert (got["crew"], got["state"], got["note"], got["hand"]) == ("night", "held", "fog", True)
    decided = got["correction"]
    assert (decided["saturation"], decided["extra"]) == (1, [2])
    assert (decided["light"]["exposure"], decided["light"]["lamp"]) == (0.25, "C")
    assert decided["curves"] == {**WHOLE, "film": "D"}
    # of two mattes with one name the first keeps what stood in the first of that name, and the other has its own
    assert [(m["name"], m.get("lamp"), m["on"], m["denoise"]) for m in decided["mattes"]] == [
        ("buoy", "B", True, 0),
        ("buoy", None, False, 0.01),
    ]
    assert [(m["inside"]["exposure"], m["inside"]["turn"]) for m in decided["mattes"]] == [(0.5, 0), (0, 30)]
    assert [(m["hue"]["low"], m["hue"]["high"], m["hue"]["soft"]) for m in decided["mattes"]] == [(340, 20, 10)] * 2
    assert source.with_name(f"{source.name}.poise.json").read_bytes() == before


def test_flare_goes_over_with_light_and_reset_takes_it_off(quay: tuple[Path, Path]) -> None:
    source, target = quay
    decide(source, correction={"light": {"flare": [0.09, 0.1, 0.08], "flare_in_code": 1}, "saturation": 1.5})
    assert poise("copy", source, target, "--only", "light").exit_code == 0
    got = sidecar(target)["correction"]
    assert (got["light"]["flare"], got["light"]["flare_in_code"], got["saturation"]) == ([0.09, 0.1, 0.08], 1, 1)
    assert poise("reset", "--again", target).exit_code == 0
    assert sidecar(target)["correction"]["light"]["flare"] == [0, 0, 0]


def test_a_shot_without_a_sidecar_gets_nothing_but_the_parts(quay: tuple[Path, Path]) -> None:
    source, target = quay
    decide(source, correction={"saturation": 1.5, "curves": CURVES, "mattes": [BUOY]})
    assert poise("copy", source, target.parent, "--only", " curves , mattes").exit_code == 0
    got = sidecar(target)["correction"]
    assert (got["saturation"], got["curves"], len(got["mattes"])) == (1, WHOLE, 1)


def test_mattes_are_taken_away_where_the_other_shot_has_none(quay: tuple[Path, Path]) -> None:
    source, target = quay
    decide(source, correction={"saturation": 1.5})
    decide(target, correction={"saturation": 1.2, "curves": CURVES, "mattes": [BUOY]})
    assert poise("copy", source, target, "--only", "mattes").exit_code == 0
    got = sidecar(target)["correction"]
    assert (got["saturation"], got["curves"]["red"], got["mattes"]) == (1.2, CURVES["red"], [])


@pytest.mark.parametrize("parts", ["matte", "mattes,curve", "", "mattes,,curves"])
def test_a_part_that_there_is_not_is_told_with_those_there_are(quay: tuple[Path, Path], parts: str) -> None:
    source, target = quay
    decide(source, correction={"mattes": [BUOY]})
    result = poise("copy", source, target, "--only", parts)
    assert (result.exit_code, result.stdout) == (2, "")
    assert len(result.stderr.splitlines()) == 1
    wrong = next(part for part in parts.split(",") if part not in ("mattes", "curves"))
    assert f"there is no part {wrong!r}; use light,balance,levels,tone,curves,saturation,mattes" in result.stderr
    assert not target.with_name(f"{target.name}.poise.json").exists()


def test_the_help_has_mattes_for_an_example() -> None:
    assert "--only mattes,curves" in " ".join(poise("copy", "--help").stdout.split())

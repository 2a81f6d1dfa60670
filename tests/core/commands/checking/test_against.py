"""`poise check --against`: files that are missing, changed or extra, by a manifest and by a record."""

import json
import shutil
from pathlib import Path
from typing import Any

import msgspec
import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.batch.fingerprint import digest
from poise.commands import main
from poise.correction import Correction
from poise.delivery.record import Entry, Record, decision_hash


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def named(*args: object) -> tuple[int, set[tuple[str, str]]]:
    result = poise("check", "--json", "--against", *args)
    faults: list[dict[str, Any]] = json.loads(result.stdout)
    return result.exit_code, {(Path(one["file"]).name, one["fault"]) for one in faults}


@pytest.fixture(scope="module")
def applied(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two photographs (skimage.data) and their outputs in `out`, the manifest among them."""
    folder = tmp_path_factory.mktemp("reel")
    (folder / "day").mkdir()
    for name in ("cat.png", "coffee.png"):
        Image.fromarray(getattr(skimage.data, name[:-4])()[:30, :40]).save(folder / "day" / name)
        text = json.dumps({"poise": 1, "correction": {"saturation": 0.9}})
        (folder / "day" / f"{name}.poise.json").write_text(text)
    assert poise("apply", folder / "day", "--out", folder / "out", "--workers", "1").exit_code == 0
    return folder


@pytest.fixture
def reel(applied: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(applied, tmp_path / "reel"))


def test_a_manifest_holds_until_a_file_is_another(reel: Path) -> None:
    manifest = reel / "out" / "poise-manifest.jsonl"
    assert named(manifest) == named(manifest, reel / "day") == (0, set())
    shutil.copy(reel / "out" / "cat.png", reel / "out" / "dog.png")
    with (reel / "out" / "cat.png").open("ab") as file:
        file.write(b"!")
    (reel / "out" / "coffee.png").unlink()
    (reel / "day" / "cat.png").write_bytes(b"another")
    outputs = {("dog.png", "extra"), ("cat.png", "changed"), ("coffee.png", "missing")}
    assert named(manifest) == (1, outputs)
    code, found = named(manifest, reel / "day")
    assert (code, found) == (1, outputs)  # the source of that name is changed as well
    elsewhere = reel / "kept.jsonl"
    shutil.move(manifest, elsewhere)
    assert named(elsewhere, "--out", reel / "out") == (1, outputs)


def test_a_record_holds_sources_decisions_and_outputs(reel: Path) -> None:
    day, out, path = reel / "day", reel / "out", reel / "report.json"
    decision = decision_hash(Correction(saturation=0.9), None)
    files = tuple(
        Entry(name, digest(day / name), decision, name, digest(out / name)) for name in ("cat.png", "coffee.png")
    )
    path.write_bytes(msgspec.json.encode(Record(files=files)))
    assert named(path, day, "--out", out) == (0, set())
    told = poise("check", "--against", path, day)
    assert (told.exit_code, told.stderr) == (2, "poise: the record lists outputs; name their folder with --out\n")
    (day / "cat.png.poise.json").unlink()
    (day / "coffee.png").unlink()
    Image.new("RGB", (4, 4)).save(day / "lighthouse.png")
    expected = {("cat.png", "changed"), ("coffee.png", "missing"), ("lighthouse.png", "extra")}
    assert named(path, day, "--out", out) == (1, expected)


def test_folders_that_have_names_in_common_are_told_apart_by_content(reel: Path) -> None:
    night = reel / "night"
    shutil.copytree(reel / "day", night)
    Image.fromarray(skimage.data.cat()[:30, 10:50]).save(night / "cat.png")
    (night / "coffee.png.poise.json").unlink()
    path = reel / "report.json"
    path.write_text(poise("report", reel / "day", night, "--json", "--workers", 1).stdout)
    assert named(path, reel / "day", night) == named(path, night, reel / "day") == (0, set())
    (night / "cat.png").write_bytes(b"another")
    (reel / "day" / "coffee.png.poise.json").write_text(json.dumps({"poise": 1, "correction": {"saturation": 0.8}}))
    assert named(path, reel / "day", night) == (1, {("cat.png", "changed"), ("coffee.png", "changed")})


def test_paths_that_lead_out_are_told_and_not_read(reel: Path) -> None:
    path = reel / "day" / "report.json"
    files = (Entry("../out/cat.png", digest(reel / "out" / "cat.png")), Entry("/etc/hostname", "aa"))
    path.write_bytes(msgspec.json.encode(Record(files=files)))
    code, found = named(path)
    assert code == 1
    assert {("cat.png", "path"), ("hostname", "path")} <= found


def test_what_tells_of_nothing_is_nothing_to_check(reel: Path) -> None:
    path = reel / "report.json"
    path.write_bytes(msgspec.json.encode(Record()))
    assert poise("check", "--against", path).exit_code == 2
    assert poise("check", "--against", reel / "no such").exit_code == 2

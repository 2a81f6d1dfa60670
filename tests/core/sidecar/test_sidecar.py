"""Sidecars: bad input is told with its place, writing is whole, nobody's work is overwritten."""

import inspect
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import jsonschema
import msgspec
import pytest
from msgspec.structs import replace
from thorough import many

from poise.atomic import temporary_path
from poise.correction import Correction, Encoding, Light
from poise.errors import SidecarError
from poise.sidecar import ShotInfo, Sidecar, SidecarConflict, Version, load, save, schema, set_aside

PACKAGED = Path(__file__).parents[3] / "core" / "poise" / "sidecar" / "schema.json"
WARM = Sidecar(shot=ShotInfo("quay_02.tif", 3840, 2160), correction=Correction(light=Light(warmth=20)))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ('{"poise": 1, "corr', "not valid JSON"),
        ("[1]", "JSON object"),
        ('{"poise": 1, "versions": {"": {}}}', "Expected `str` of length >= 1"),
        (
            '{"poise": 1, "versions": {"cooler": {"correction": {"saturation": 9}}}}',
            "versions[...].correction.saturation: Expected `float` <= 4",
        ),
        ('{"correction": {}}', '"poise": 1'),
        ('{"poise": 2, "correction": {}}', "newer poise"),
        ('{"poise": 1, "correction": {"light": {"exposure": NaN}}}', "NaN"),
        (
            '{"poise": 1, "correction": {"light": {"exposure": 1e99}}}',
            "correction.light.exposure: Expected `float` <= 8",
        ),
        ('{"poise": 1, "judged": -1}', "judged: Expected `int` >= 0"),
        ('{"poise": 1, "judged": 10.5}', "judged: Expected `int | null`"),
        ('{"poise": 1, "correction": {"balance": {"slope": [1, 1]}}}', "correction.balance.slope"),
        ('{"poise": 1, "correction": {"balance": {"power": [1, 1, -2]}}}', "correction.balance.power[2]"),
        (
            '{"poise": 1, "correction": {"curves": {"red": [[0, 0], [0.5, 0.4], [0.5, 0.6], [1, 1]]}}}',
            "correction.curves.red[2]: inputs must rise by at least 0.0001",
        ),
        (
            '{"poise": 1, "correction": {"curves": {"master": [[0, 0], [0.5, 0.6], [0.4, 0.7], [1, 1]]}}}',
            "correction.curves.master[2]: inputs must rise",
        ),
        (
            '{"poise": 1, "correction": {"curves": {"blue": [[0, 0.1], [0.5, 0.6], [0.6, 0.5]]}}}',
            "correction.curves.blue[2]: outputs must not fall",
        ),
        ('{"poise": 1, "correction": {"curves": {"green": [[0, 0]]}}}', "correction.curves.green: "),
        ('{"poise": 1, "correction": {"curves": {"green": [[0, 0], [1, 5]]}}}', "correction.curves.green[1][1]: "),
        (
            json.dumps({"poise": 1, "correction": {"curves": {"red": [[i / 256, i / 256] for i in range(257)]}}}),
            "correction.curves.red: Expected `array` of length <= 256",
        ),
        (
            json.dumps({"poise": 1, "correction": {"mattes": [{"name": f"buoy {i}"} for i in range(9)]}}),
            "correction.mattes: Expected `array` of length <= 8",
        ),
        (
            '{"poise": 1, "correction": {"mattes": [{"name": "sail"}, {"name": "sea", "hue": {"low": 361}}]}}',
            "correction.mattes[1].hue.low: Expected `float` <= 360",
        ),
        (
            '{"poise": 1, "correction": {"mattes": [{"name": "sail", "inside": {"balance": {"slope": [1, 1]}}}]}}',
            "correction.mattes[0].inside.balance.slope: ",
        ),
        ('{"poise": 1, "correction": {"mattes": [{"on": false}]}}', "correction.mattes[0]: "),
        (
            '{"poise": 1, "correction": {"light": {"flare": [0, 0.81, 0]}}}',
            "correction.light.flare[1]: Expected `float` <= 0.8",
        ),
        (
            '{"poise": 1, "correction": {"light": {"flare": [0, 0, -0.6]}}}',
            "correction.light.flare[2]: Expected `float` >= -0.5",
        ),
        (
            '{"poise": 1, "correction": {"light": {"flare": [0, 0]}}}',
            "correction.light.flare: Expected `array` of length 3",
        ),
        ('{"poise": 1, "correction": {"light": {"flare": 0.1}}}', "correction.light.flare: Expected `array`"),
        (
            '{"poise": 1, "correction": {"light": {"flare_in_code": 1.1}}}',
            "correction.light.flare_in_code: Expected `float` <= 1",
        ),
        ('{"poise": 1, "state": "done"}', "state"),
        ('{"poise": 1, "note": "fog", "note": ""}', 'not valid JSON: the key "note" occurs twice in an object'),
        ('{"poise": 1, "correction": {"saturation": 1e999}}', "1e999 is beyond all numbers"),
        ('{"poise": 1, "crew": -1e999}', "-1e999 is beyond all numbers"),
        ('{"poise": 1, "crew": ' + "9" * 5000 + "}", "not valid JSON"),
        ('{"poise": 1, "correction": {"saturation": ' + "9" * 400 + "}}", "correction.saturation"),
        ('{"poise": 1, "note": "\\ud800"}', "not valid JSON"),
        ('{"poise": 1, "crew": ' + "[" * 33 + "]" * 33 + "}", "nested deeper than 32 levels"),
        ('{"poise": 1, "crew": ' + "[" * 100000 + "]" * 100000 + "}", "not valid JSON"),
        ('{"poise": 1, "encoding": {"range": "wide"}}', "encoding.range"),
    ],
)
def test_bad_input_names_file_place_and_limit(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "quay_02.tif.poise.json"
    path.write_text(text)
    with pytest.raises(SidecarError) as fault:
        load(path)
    assert told in str(fault.value)
    assert str(fault.value).startswith(str(path))
    assert "\n" not in str(fault.value)
    if text:
        with pytest.raises(SidecarError):
            save(path, WARM, WARM)
        assert path.read_text() == text  # left as it is


def test_not_utf_8_missing_and_folder(tmp_path: Path) -> None:
    (tmp_path / "a.poise.json").write_bytes(b'\xff\xfe{"poise"')
    (tmp_path / "b.poise.json").mkdir()
    for name in ("a", "b", "c"):
        with pytest.raises(SidecarError):
            load(tmp_path / f"{name}.poise.json")


def test_a_hand_written_sidecar_needs_two_keys(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    path.write_text('{"poise": 1, "correction": {"saturation": 1.1}}')
    found = load(path)
    assert found.correction == Correction(saturation=1.1)
    assert found.encoding is None
    assert found.by_hand


def test_who_made_the_correction_is_stored_under_the_key_of_the_format(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    path.write_text('{"poise": 1, "hand": false}')
    found = load(path)
    assert not found.by_hand
    save(path, found, found)
    written = json.loads(path.read_text())
    assert written["hand"] is False
    assert "by_hand" not in written


def test_a_sidecar_from_before_flare_has_none(tmp_path: Path) -> None:
    path = tmp_path / "old.poise.json"
    path.write_text('{"poise": 1, "correction": {"light": {"exposure": 0.25, "warmth": -20, "magenta": 5}}}')
    assert load(path).correction == Correction(light=Light(0.25, -20, 5))
    assert load(path).correction.light.flare == (0, 0, 0)


def test_what_is_saved_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    saved = save(path, replace(WARM, encoding=Encoding(range="narrow"), state="held", note="fog, ask"), None)
    assert saved.revision == 1
    assert load(path) == saved
    assert load(path).written.by.startswith("poise ")
    assert not [p for p in tmp_path.iterdir() if p != path]


def test_as_many_points_and_mattes_as_may_be_and_ranges_that_take_nothing_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    points = [[i / 255, (i / 255) ** 2] for i in range(256)]
    mattes = [{"name": "buoy", "hue": {"low": 350, "high": 10}, "luma": {"low": 0.9, "high": 0.1}}] * 8
    path.write_text(json.dumps({"poise": 1, "correction": {"curves": {"red": points}, "mattes": mattes}}))
    found = load(path)
    assert (len(found.correction.curves.red), len(found.correction.mattes)) == (256, 8)
    save(path, found, found)
    again = json.loads(path.read_text())["correction"]
    assert again["curves"]["red"] == points
    assert [(one["hue"]["low"], one["luma"]["low"]) for one in again["mattes"]] == [(350, 0.9)] * 8


def test_unknown_keys_are_kept_at_every_level(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    path.write_text(
        '{"poise": 1, "revision": 3, "crew": "night", "correction": {"light": {"exposure": 1, "lamp": "A"},'
        ' "extra": [1], "mattes": [{"name": "buoy", "colour": "red"}]}}'
    )
    save(path, replace(load(path), note="seen"), load(path))
    found = json.loads(path.read_text())
    assert found["crew"] == "night"
    neutral = {"warmth": 0.0, "magenta": 0.0, "flare": [0.0, 0.0, 0.0], "flare_in_code": 0.6}
    assert found["correction"]["light"] == {"exposure": 1.0, "lamp": "A", **neutral}
    assert found["correction"]["extra"] == [1]
    assert found["correction"]["mattes"][0]["colour"] == "red"
    assert (found["note"], found["revision"]) == ("seen", 4)


def test_versions_are_kept_with_their_unknown_keys_until_they_are_deleted(tmp_path: Path) -> None:
    path = tmp_path / "quay_02.tif.poise.json"
    cooler = {"correction": {"saturation": 1.1, "crew": "day"}, "at": "2026-11-26T09:00:00Z", "by": "night watch"}
    path.write_text(json.dumps({"poise": 1, "versions": {"cooler": cooler, "noon": {}, "dusk": {"lamp": "B"}}}))
    there = load(path)
    assert there.versions["cooler"] == Version(Correction(saturation=1.1), "2026-11-26T09:00:00Z")
    left = {name: one for name, one in there.versions.items() if name != "noon"}
    saved = save(path, replace(there, note="fog", versions=left), there)
    found = json.loads(path.read_text())["versions"]
    assert list(found) == ["cooler", "dusk"]
    assert (found["cooler"]["by"], found["cooler"]["correction"]["crew"]) == ("night watch", "day")
    assert found["dusk"]["lamp"] == "B"
    jsonschema.validate(json.loads(path.read_text()), json.loads(PACKAGED.read_text()))
    assert load(path) == saved


def test_a_later_save_by_someone_else_is_not_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    mine = save(path, WARM, None)
    theirs = save(path, replace(mine, note="theirs"), mine)
    with pytest.raises(SidecarConflict) as fault:
        save(path, replace(mine, note="mine"), mine)
    assert load(path) == theirs
    assert load(fault.value.kept).note == "mine"
    with pytest.raises(SidecarConflict):
        save(path, WARM, None)


@pytest.mark.parametrize(("old", "new"), [('"warmth": 20.0', '"warmth": -35'), ('"state": "new"', '"state": "held"')])
def test_a_hand_edit_that_leaves_the_revision_alone_is_not_overwritten(tmp_path: Path, old: str, new: str) -> None:
    path = tmp_path / "s.poise.json"
    mine = save(path, WARM, None)
    assert old in path.read_text()
    path.write_text(path.read_text().replace(old, new))
    edited = path.read_bytes()
    with pytest.raises(SidecarConflict) as fault:
        save(path, replace(mine, note="mine"), mine)
    assert path.read_bytes() == edited
    assert load(path).revision == mine.revision
    assert load(fault.value.kept).note == "mine"


def test_a_hand_edit_that_says_the_same_is_no_conflict(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    mine = save(path, WARM, None)
    path.write_text(json.dumps({"crew": "night", **json.loads(path.read_text())}))  # another layout, a key of one's own
    save(path, replace(mine, note="mine"), mine)
    assert json.loads(path.read_text())["crew"] == "night"
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_a_sidecar_that_is_gone_is_a_conflict(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    mine = save(path, WARM, None)
    path.unlink()
    with pytest.raises(SidecarConflict) as fault:
        save(path, mine, mine)
    assert not path.exists()
    assert load(fault.value.kept).correction == mine.correction


def test_a_conflict_copy_carries_the_unknown_keys(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    path.write_text('{"poise": 1, "crew": "night", "correction": {"light": {"lamp": "A"}}}')
    with pytest.raises(SidecarConflict) as fault:
        save(path, WARM, None)
    kept = json.loads(fault.value.kept.read_text())
    assert (kept["crew"], kept["correction"]["light"]["lamp"]) == ("night", "A")
    assert load(fault.value.kept).correction == WARM.correction


def test_mattes_of_one_name_keep_their_own_unknown_keys(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    mattes = [{"name": "buoy", "lamp": "A"}, {"name": "sail", "lamp": "B"}, {"name": "buoy", "lamp": "C"}]
    path.write_text(json.dumps({"poise": 1, "correction": {"mattes": mattes}}))
    found = load(path)
    one, sail, two = found.correction.mattes
    more = replace(found.correction, mattes=(sail, one, two, one))
    save(path, replace(found, correction=more), found)
    saved = json.loads(path.read_text())["correction"]["mattes"]
    assert [(matte["name"], matte.get("lamp")) for matte in saved] == [
        ("sail", "B"),
        ("buoy", "A"),
        ("buoy", "C"),
        ("buoy", None),
    ]


@pytest.mark.parametrize("text", ['{"poise": 1}', '{"poise": 1, "corr', ""])
def test_a_sidecar_set_aside_is_under_the_next_free_name_as_it_was(tmp_path: Path, text: str) -> None:
    path = tmp_path / "s.poise.json"
    path.with_name("s.poise.json.conflict-1").write_text("earlier")
    path.with_name("s.poise.json.conflict-2").symlink_to("nowhere")
    path.write_text(text)
    assert set_aside(path) == path.with_name("s.poise.json.conflict-3")
    assert path.with_name("s.poise.json.conflict-3").read_text() == text
    assert path.with_name("s.poise.json.conflict-1").read_text() == "earlier"
    assert save(path, WARM, None).revision == 1
    path.unlink()
    with pytest.raises(SidecarError, match="can't be set aside"):
        set_aside(path)


def test_mode_is_kept_and_orphans_are_swept(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    first = save(path, WARM, None)
    path.chmod(0o640)
    ended = subprocess.Popen(["true"])
    ended.wait()
    orphan = tmp_path / f".{path.name}.{ended.pid}.poise-tmp"
    orphan.write_text("half")
    save(path, first, first)
    assert path.stat().st_mode & 0o777 == 0o640
    assert not orphan.exists()


def test_a_missing_folder_is_made_and_one_that_cannot_be_is_told(tmp_path: Path) -> None:
    path = tmp_path / "sidecars" / "pier" / "s.poise.json"
    saved = save(path, WARM, None)
    assert load(path) == saved
    (tmp_path / "file").touch()
    with pytest.raises(SidecarError, match="can't be saved"):
        save(tmp_path / "file" / "s.poise.json", WARM, None)


def test_what_could_not_be_read_again_is_not_saved(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    for bad in (Correction(saturation=99), Correction(saturation=float("nan"))):
        with pytest.raises(SidecarError, match="saturation"):
            save(path, Sidecar(correction=bad), None)
    path.write_text('{"poise": 1, "crew": 1e999}')
    with pytest.raises(SidecarError, match="1e999 is beyond all numbers"):
        save(path, WARM, Sidecar())
    assert path.read_text() == '{"poise": 1, "crew": 1e999}'


def test_links_and_pipes_are_refused(tmp_path: Path) -> None:
    (tmp_path / "link.poise.json").symlink_to("/nowhere/else.json")
    with pytest.raises(SidecarError, match="a link"):
        save(tmp_path / "link.poise.json", WARM, None)
    assert (tmp_path / "link.poise.json").is_symlink()
    os.mkfifo(tmp_path / "pipe.poise.json")
    with pytest.raises(SidecarError, match="not a regular file"):
        load(tmp_path / "pipe.poise.json")
    (tmp_path / "zero.poise.json").symlink_to("/dev/zero")
    with pytest.raises(SidecarError, match="not a regular file"):
        load(tmp_path / "zero.poise.json")
    (tmp_path / "large.poise.json").write_text('{"poise": 1}' + " " * 2**22)
    with pytest.raises(SidecarError, match="larger than 4 MB"):
        load(tmp_path / "large.poise.json")


def test_a_conflict_copy_follows_no_link(tmp_path: Path) -> None:
    path, elsewhere = tmp_path / "s.poise.json", tmp_path / "elsewhere"
    save(path, WARM, None)
    (tmp_path / "s.poise.json.conflict-1").symlink_to(elsewhere)
    with pytest.raises(SidecarConflict) as told:
        save(path, WARM, Sidecar())
    assert told.value.kept.name == "s.poise.json.conflict-2"
    temporary_path(path).symlink_to(elsewhere)
    save(path, WARM, load(path))
    assert not elsewhere.exists()


def test_the_packaged_schema_is_that_of_the_model_and_holds_for_what_is_written(tmp_path: Path) -> None:
    assert json.loads(PACKAGED.read_text()) == schema()
    path = tmp_path / "s.poise.json"
    save(path, WARM, None)
    validator = jsonschema.Draft202012Validator(schema())
    validator.validate(json.loads(path.read_text()))
    bad = {"poise": 1, "correction": {"balance": {"slope": [1, 1]}}}
    assert not validator.is_valid(bad)


def test_the_schema_is_the_same_under_every_version_of_msgspec(monkeypatch: pytest.MonkeyPatch) -> None:
    """Their output was read: up to 0.22 docstrings keep their indentation, and up to 0.21 null is the first choice."""
    generate = msgspec.json.schema

    def older(kind: type) -> dict[str, Any]:
        built = generate(kind)
        for part in built["$defs"].values():
            if "description" in part:
                part["description"] = inspect.cleandoc(part["description"]).replace("\n", "\n    ")
        built["$defs"]["Sidecar"]["properties"]["encoding"]["anyOf"].reverse()
        return built

    monkeypatch.setattr(msgspec.json, "schema", older)
    assert schema() == json.loads(PACKAGED.read_text())


WRITER = """
import sys
from pathlib import Path
from poise.correction import Correction
from poise.sidecar import Sidecar, load, save
path = Path(sys.argv[1])
found = load(path)
print("ready", flush=True)
while True:
    found = save(path, Sidecar(note="x" * 4000), found)
"""


def test_kills_never_tear_a_sidecar(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    revision = save(path, WARM, None).revision
    for i in range(0, 100, many(10, 1)):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE)
        assert writer.stdout
        writer.stdout.readline()
        time.sleep(0.002 + i * 0.0002)
        os.kill(writer.pid, signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        found = load(path)
        assert found.revision >= revision
        revision = found.revision
    save(path, load(path), load(path))
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_of_two_writers_no_save_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "s.poise.json"
    save(path, WARM, None)
    code = """
import sys
from pathlib import Path
from poise.sidecar import SidecarConflict, load, save
path, done = Path(sys.argv[1]), 0
while done < 40:
    found = load(path)
    try:
        save(path, found, found)
        done += 1
    except SidecarConflict as fault:
        fault.kept.unlink()
"""
    writers = [subprocess.Popen([sys.executable, "-c", code, str(path)]) for _ in range(2)]
    assert [w.wait(60) for w in writers] == [0, 0]
    assert load(path).revision == 81

"""Reading a manifest or a record: neither is trusted."""

import json
from pathlib import Path

import msgspec
import pytest

from poise.correction import NEUTRAL, Correction, Encoding
from poise.delivery.read_record import read
from poise.delivery.record import Entry, Record, decision_hash
from poise.errors import UsageError

LINE = {
    "output": "pier/quay.tif",
    "source": "../day/pier/quay.dpx",
    "source_stamp": {"size": 1, "modified": 2, "changed": 3},
    "source_hash": "aa",
    "recipe": "r",
    "output_stamp": {"size": 1, "modified": 2, "changed": 3},
    "output_hash": "bb",
    "by": "poise 0.1.0",
}


def test_a_manifest_claims_outputs_and_their_sources(tmp_path: Path) -> None:
    path = tmp_path / "poise-manifest.jsonl"
    earlier = json.dumps(LINE | {"output_hash": "cc"})
    path.write_text(f"{earlier}\n{json.dumps(LINE)}\n" + '{"output": "torn')
    found = read(path)
    assert [(one.name, one.hash) for one in found.outputs] == [("pier/quay.tif", "bb")]
    assert [(one.name, one.hash) for one in found.sources] == [("pier/quay.dpx", "aa")]
    assert [(one.fault, one.value) for one in found.faults] == [("unreadable", 1)]
    assert found.decisions is None


def test_a_record_stands_at_the_top_of_a_reports_json(tmp_path: Path) -> None:
    record = Record(files=(Entry("quay.tif", "aa", "dd", "quay.png", "bb"), Entry("ferry.tif", "ee")))
    path = tmp_path / "report.json"
    path.write_text(json.dumps({**msgspec.to_builtins(record), "shots": [{"file": "quay.tif"}]}))
    found = read(path)
    assert [one.name for one in found.sources] == ["quay.tif", "ferry.tif"]
    assert [(one.name, one.hash) for one in found.outputs] == [("quay.png", "bb")]
    assert found.decisions == {"quay.tif": {"dd"}, "ferry.tif": {""}}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "neither a manifest of apply nor a record"),
        ("[1]", "neither"),
        ('{"poise_record": 1}', "neither"),
        ('{"poise_record": 2, "files": []}', "written by a newer poise"),
        ('{"poise_record": 1, "files": [{"source": 3}]}', "a damaged record"),
        ("[" * 100_000, "neither"),
        ("\xff", "neither"),
    ],
)
def test_what_is_neither_is_one_line(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "report.json"
    path.write_text(text, encoding="latin-1")
    with pytest.raises(UsageError, match=told):
        read(path)


def test_the_hash_of_a_decision_tells_decisions_apart() -> None:
    hashes = {
        decision_hash(NEUTRAL, None),
        decision_hash(Correction(saturation=1.1), None),
        decision_hash(NEUTRAL, Encoding()),
    }
    assert len(hashes) == 3
    assert decision_hash(Correction(saturation=1.0), None) in hashes

"""A CLF as a shot's source: what it gives, at every depth, against float64 formulas and published curves."""

import os
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from skimage import data

from poise.chain.source import ResolvedEncoding, clf_files, resolve_source, transform
from poise.colour.transfer import decode, encode
from poise.correction import CODED, LINEAR, Balance, Correction, Encoding, Inside, Interval, Levels, Light, Matte
from poise.engine import COARSE, compile_engine, reference, rounded
from poise.errors import PoiseError
from poise.frames.frame import Depth

HEAD = '<?xml version="1.0"?>\n<ProcessList id="camera_a" compCLFversion="3.0">\n'
MATRIX = np.array([[0.8, 0.15, 0.05], [0.1, 0.85, 0.05], [0.05, 0.1, 0.85]])
PHOTOGRAPH = data.coffee()[::8, ::8]
WARM = Correction(light=Light(0.4, 20, 5), balance=Balance(slope=(1.1, 1, 0.95)), levels=Levels(0.02, 0.95))


def table(values: np.ndarray) -> str:
    numbers = "\n".join(" ".join(f"{value:.9g}" for value in row) for row in values)
    dim = f"{len(values)} {values.shape[1]}"
    return f'<LUT1D inBitDepth="32f" outBitDepth="32f"><Array dim="{dim}">{numbers}</Array></LUT1D>'


def matrix(values: np.ndarray) -> str:
    numbers = " ".join(f"{value:.17g}" for value in values.ravel())
    return f'<Matrix inBitDepth="32f" outBitDepth="32f"><Array dim="3 3">{numbers}</Array></Matrix>'


def cube(size: int, function: object) -> str:
    """A cube, blue fastest (Academy S-2014-006, LUT3D)."""
    axis = np.linspace(0, 1, size)
    rgb = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    numbers = "\n".join("{:.9g} {:.9g} {:.9g}".format(*row) for row in function(rgb))  # type: ignore[operator]
    return (
        '<LUT3D interpolation="tetrahedral" inBitDepth="32f" outBitDepth="32f">'
        f'<Array dim="{size} {size} {size} 3">{numbers}</Array></LUT3D>'
    )


LOG = table(decode("ACEScct", np.linspace(0, 1, 4096))[:, None])
FILES = {"log": LOG, "log and matrix": LOG + matrix(MATRIX), "cube": cube(9, lambda rgb: rgb**2 @ MATRIX.T)}


@pytest.fixture(params=FILES)
def encoding(request: pytest.FixtureRequest, tmp_path: Path) -> Encoding:
    return written(tmp_path, FILES[request.param])


def written(folder: Path, nodes: str, **more: str) -> Encoding:
    (folder / "camera_a.clf").write_text(f"{HEAD}{nodes}</ProcessList>")
    return resolve_source(Encoding(source="camera_a.clf", **more), folder)


def codes(depth: Depth) -> np.ndarray:
    values = (PHOTOGRAPH + np.random.default_rng(3).random(PHOTOGRAPH.shape)) / 256
    return (values if depth.is_float else np.floor(values * (depth.maximum + 1))).astype(depth.dtype)


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U10, Depth.U16])
def test_integers_within_a_code_of_the_reference(encoding: Encoding, depth: Depth) -> None:
    for correction in (Correction(), WARM):
        ours = compile_engine(correction, encoding, depth).apply(codes(depth))
        exact = rounded(reference(codes(depth), correction, encoding, depth), depth)
        assert np.abs(ours.astype(int) - exact.astype(int)).max() <= 1


@pytest.mark.parametrize("depth", [Depth.HALF, Depth.FLOAT])
def test_float_within_2e_5_of_the_reference(encoding: Encoding, depth: Depth) -> None:
    for correction in (Correction(), WARM):
        ours = compile_engine(correction, encoding, depth, Depth.FLOAT).apply(codes(depth))
        exact = reference(codes(depth), correction, encoding, depth, Depth.FLOAT)
        assert (np.abs(ours - exact) / np.maximum(np.abs(exact), 1)).max() < 2e-5


def test_a_log_table_is_its_published_curve(tmp_path: Path) -> None:
    # ACEScct by colour-science (Academy S-2016-001); 65536 entries leave no error of the table's own
    long = written(tmp_path, table(decode("ACEScct", np.linspace(0, 1, 65536))[:, None]))
    named = Encoding(source="ACEScct")
    for correction in (Correction(), WARM):
        theirs = compile_engine(correction, named, Depth.U16).apply(codes(Depth.U16))
        ours = compile_engine(correction, long, Depth.U16).apply(codes(Depth.U16))
        assert np.abs(ours.astype(int) - theirs.astype(int)).max() <= 1


def test_a_matrix_behind_the_table_by_its_definition(tmp_path: Path) -> None:
    found = written(tmp_path, table(np.linspace(0, 1, 2)[:, None]) + matrix(MATRIX))
    pixels = codes(Depth.U16)
    light = (pixels / 65535) @ MATRIX.T
    exact = np.floor(np.clip(encode("sRGB", light), 0, 1) * 65535 + 0.5)
    ours = compile_engine(Correction(), found, Depth.U16).apply(pixels)
    assert np.abs(ours - exact).max() <= 1


def test_what_it_gives_may_be_code(tmp_path: Path) -> None:
    # a table to display code: with delivery the same, nothing but the table acts
    found = written(tmp_path, table(np.linspace(0.1, 0.9, 2)[:, None]), clf_gives="sRGB")
    every = np.arange(65536, dtype=np.uint16).repeat(3).reshape(256, 256, 3)
    ours = compile_engine(Correction(), found, Depth.U16).apply(every)
    assert np.abs(ours - np.floor((0.1 + 0.8 * every / 65535) * 65535 + 0.5)).max() <= 1
    other = compile_engine(Correction(), replace(found, delivery="ITU-R BT.1886"), Depth.U16).apply(every)
    light = decode("sRGB", 0.1 + 0.8 * every / 65535)
    assert np.abs(other - np.floor(encode("ITU-R BT.1886", light) * 65535 + 0.5)).max() <= 1


def test_range_and_primaries_count_as_for_any_source(tmp_path: Path) -> None:
    found = written(tmp_path, LOG, range="narrow", primaries="ACEScg", delivery_primaries="ITU-R BT.709")
    named = Encoding(source="ACEScct", range="narrow", primaries="ACEScg", delivery_primaries="ITU-R BT.709")
    pixels = codes(Depth.U10).clip(64, 940)  # a table holds what lies beyond
    ours, theirs = (compile_engine(WARM, one, Depth.U10).apply(pixels).astype(int) for one in (found, named))
    assert np.abs(ours - theirs).max() <= 2  # the table has 4096 entries


def test_mattes_and_scopes_see_what_comes_after_it(encoding: Encoding) -> None:
    inside = Inside(saturation=0.3, exposure=0.5)
    keyed = replace(WARM, mattes=(Matte("cup", luma=Interval(0.3, 1, 0.1), blur=0.01, inside=inside),))
    for depth in (Depth.U8, Depth.U16):
        ours = compile_engine(keyed, encoding, depth).apply(codes(depth))
        exact = rounded(reference(codes(depth), keyed, encoding, depth), depth)
        assert np.abs(ours.astype(int) - exact.astype(int)).max() <= (1 if depth is Depth.U8 else 8)
    work = compile_engine(WARM, encoding, Depth.U16, output="work").apply(codes(Depth.U16))
    assert np.array_equal(work, compile_engine(WARM, encoding, Depth.U16).apply(codes(Depth.U16)))


def test_coarse_tables_of_a_proxy_stay_near(encoding: Encoding) -> None:
    pixels = codes(Depth.U16)
    fine, coarse = (compile_engine(WARM, encoding, Depth.U16, entries=n).apply(pixels) for n in (65536, COARSE))
    assert np.abs(fine.astype(int) - coarse).max() <= 262  # 0.4 %


def test_even_a_neutral_correction_changes_something(encoding: Encoding) -> None:
    assert encoding.converts
    assert not compile_engine(Correction(), encoding, Depth.U8).identity
    assert not compile_engine(Correction(), replace(encoding, delivery="linear"), Depth.FLOAT).identity


def test_grey_pictures_take_tables_but_no_tints(tmp_path: Path) -> None:
    grey = codes(Depth.U8)[..., :1]
    alike = written(tmp_path, LOG)
    exact = rounded(reference(grey.repeat(3, -1), Correction(), alike, Depth.U8), Depth.U8)[..., :1]
    assert np.array_equal(compile_engine(Correction(), alike, Depth.U8).apply(grey), exact)
    tinted = written(tmp_path, matrix(np.diag([1.1, 1, 0.9])))
    with pytest.raises(PoiseError, match="use no CLF that tints"):
        compile_engine(Correction(), tinted, Depth.U8).apply(grey)


def test_another_content_is_another_encoding(tmp_path: Path) -> None:
    first = written(tmp_path, LOG)
    second = written(tmp_path, LOG + matrix(MATRIX))
    assert first != second
    with pytest.raises(PoiseError, match="changed while it was read"):
        transform(replace(first, clf=replace(first.clf, digest="0" * 32)))  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", ["../camera_a.clf", "/tmp/camera_a.clf", "away/../../camera_a.clf"])
def test_nothing_outside_the_folder_is_read(tmp_path: Path, name: str) -> None:
    written(tmp_path, LOG)
    day = tmp_path / "day"
    day.mkdir()
    with pytest.raises(PoiseError, match="names a place outside the shot's folder"):
        transform(resolve_source(Encoding(source=name), day))


def test_links_are_followed_within_the_folder_only(tmp_path: Path) -> None:
    written(tmp_path, LOG)
    day = tmp_path / "day"
    (day / "luts").mkdir(parents=True)
    (day / "out.clf").symlink_to(tmp_path / "camera_a.clf")
    with pytest.raises(PoiseError, match=r"its source out\.clf is a link that leads out"):
        transform(resolve_source(Encoding(source="out.clf"), day))
    (tmp_path / "camera_a.clf").rename(day / "luts" / "camera_a.clf")
    (day / "in.clf").symlink_to(day / "luts" / "camera_a.clf")
    for name in ("in.clf", "luts/camera_a.clf"):
        assert transform(resolve_source(Encoding(source=name), day)) is not None


def test_pipes_folders_and_nothing_are_refused_in_a_line(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.clf")
    (tmp_path / "folder.clf").mkdir()
    for name, said in (("pipe.clf", "can't be read"), ("folder.clf", "can't be read"), ("gone.clf", "is not in the")):
        with pytest.raises(PoiseError, match=f"its source {name} {said}"):
            transform(resolve_source(Encoding(source=name), tmp_path))
    assert isinstance(resolve_source(Encoding(source="gone.clf"), tmp_path), ResolvedEncoding)
    assert clf_files(tmp_path) == ("folder.clf", "pipe.clf")
    assert clf_files(tmp_path / "gone") == ()


def test_an_encoding_that_names_no_file_stays_itself(tmp_path: Path) -> None:
    assert resolve_source(CODED, tmp_path) is CODED
    assert transform(LINEAR) is None

"""Natural order of names."""

from poise.frames.natural import natural


def test_numbers_count_as_numbers() -> None:
    names = ["quay_10.tif", "Quay_2.tif", "quay_2a.tif", "quay.tif", "9.tif", "10.tif", "été_1.tif"]
    assert sorted(names, key=natural) == [
        "9.tif",
        "10.tif",
        "quay.tif",
        "Quay_2.tif",
        "quay_2a.tif",
        "quay_10.tif",
        "été_1.tif",
    ]


def test_equal_numbers_still_have_one_order() -> None:
    assert sorted(["a_01", "a_1", "A_1"], key=natural) == sorted(["A_1", "a_1", "a_01"], key=natural)


def test_other_digits_are_letters() -> None:
    assert sorted(["a²", "a\u0661", "a1"], key=natural)[0] == "a1"

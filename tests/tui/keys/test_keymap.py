"""The keymap: every action has a key of its own, and a user's file is taken or refused in one clear line."""

from pathlib import Path

import pytest
from textual.keys import Keys

from poise.errors import FileError, UsageError
from poise_tui.actions import ACTIONS, MODES, action
from poise_tui.keys import keymap as module
from poise_tui.keys.keymap import DEFAULT, NAMED, Keymap, keymap, load
from poise_tui.keys.names import key_of


def test_every_action_has_help_and_a_key_and_no_key_is_given_twice() -> None:
    assert [one.name for one in ACTIONS if not one.does] == []
    names = [one.name for one in ACTIONS]
    assert len(set(names)) == len(names)
    assert set(DEFAULT) == set(names)
    assert all(DEFAULT.values())
    for mode in MODES:
        general = [key for one in ACTIONS if one.modes == MODES for key in DEFAULT[one.name]]
        own = [key for one in ACTIONS if mode in one.modes != MODES for key in DEFAULT[one.name]]
        assert (len(set(general)), len(set(own))) == (len(general), len(own))
        actions = keymap().actions[mode]
        assert set(actions) == {*general, *own}
        assert all(action(name).modes != MODES for key, name in actions.items() if key in own)


def test_every_key_is_a_character_or_known_to_textual() -> None:
    known = {key.value for key in Keys}
    assert set(NAMED) <= known
    keys = {key for given in DEFAULT.values() for key in given}
    assert {key for key in keys if len(key) > 1} <= set(NAMED)
    assert all(key.isascii() for key in keys)
    # ASCII control codes that a terminal sends for other keys, or keeps: BS, HT, CR, XON/XOFF, INTR, SUSP
    assert not {f"ctrl+{letter}" for letter in "himjsqczab"} & set(NAMED)


def test_hands_lie_on_the_desk() -> None:
    """Three rows of ten keys of the layout of ISO/IEC 9995 keyboards in English, top row raising."""
    rows = ("qwertyuiop", "asdfghjkl;", "zxcvbnm,./")
    for row, move in zip(rows, ("raise", "neutral", "lower"), strict=True):
        assert "".join(DEFAULT[f"{name}.{move}"][0] for name in module.COLUMNS) == row


@pytest.mark.parametrize(
    ("key", "character", "name"),
    [("q", "q", "q"), ("Q", "Q", "Q"), ("semicolon", ";", ";"), ("space", " ", "space"), ("enter", "\r", "enter"),
     ("ctrl+l", "\x0c", "ctrl+l"), ("tab", "\t", "tab"), ("down", None, "down"), ("left_square_bracket", "[", "[")],
)  # fmt: skip
def test_a_key_press_is_called_as_in_a_keymap(key: str, character: str | None, name: str) -> None:
    assert key_of(key, character) == name
    assert name in keymap().actions["balance"]


def written(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "keys.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_a_file_changes_what_it_names(tmp_path: Path) -> None:
    found = load(written(tmp_path, '[keys]\nundo = "backspace"\n"red.raise" = ["é", "U"]\nmark = []\nfind = "q"\n'))
    actions = found.actions["balance"]
    assert (actions["backspace"], actions["é"], actions["U"]) == ("undo", "red.raise", "red.raise")
    assert found.actions["balance"]["q"] == "find"
    assert not {"Z", "X", "F"} & set(found.actions["balance"])
    assert (found.shown("red.raise"), found.shown("mark"), found.first("mark"), found.first("undo")) == (
        *("é U", "none", "", "backspace"),
    )
    assert {name: keys for name, keys in found.keys.items() if keys != DEFAULT[name]}.keys() == {
        *("undo", "red.raise", "mark", "find")
    }


def test_two_actions_may_change_keys(tmp_path: Path) -> None:
    found = load(written(tmp_path, '[keys]\nundo = "Y"\nredo = "Z"\n'))
    assert (found.actions["balance"]["Y"], found.actions["balance"]["Z"]) == ("undo", "redo")


def test_no_file_and_an_empty_one_give_the_default(tmp_path: Path) -> None:
    assert load(tmp_path / "none.toml") == load(written(tmp_path, "")) == keymap()


def test_the_example_in_the_module_is_good(tmp_path: Path) -> None:
    assert module.__doc__ is not None
    example = module.__doc__.split("```toml\n")[1].split("```")[0]
    assert isinstance(load(written(tmp_path, example)), Keymap)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[keys]\nundone = "u"', "no action is called 'undone'"),
        ('[keys]\nundo = "F13"', "undo: no key is called 'F13'"),
        ('[keys]\nundo = "ctrl+c"', "undo: no key is called 'ctrl+c'"),
        ('[keys]\nundo = " "', "undo: no key is called ' '"),
        ('[keys]\nundo = ""', "undo: no key is called ''"),
        ('[keys]\nundo = "q"', "the key 'q' is given to both red.raise and undo; give one another key"),
        ('[keys]\nundo = ["B", 7]', "undo: a key is a string"),
        ("[keys]\nundo = 3", "undo: a key is a string"),
        ('[keys]\nred.raise = "U"', "red: a key is a string"),
        ("keys = 3", "[keys] must be a table"),
        ('[colours]\nground = "black"', "unknown part 'colours'"),
        ("[keys\nundo", "not valid TOML"),
        (b'[keys]\nundo = "\xff"', "not valid TOML"),
    ],
)
def test_a_bad_file_is_refused_in_one_line_that_names_it(tmp_path: Path, text: str | bytes, told: str) -> None:
    path = written(tmp_path, text)
    with pytest.raises(FileError) as fault:
        load(path)
    assert str(fault.value).startswith(f"{path}: {told}")
    assert "\n" not in str(fault.value)


def test_a_folder_in_its_place_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="can't be read: Is a directory"):
        load(tmp_path)


def test_names_are_looked_up() -> None:
    assert action("undo").name == "undo"
    with pytest.raises(KeyError):
        action("undone")
    with pytest.raises(UsageError, match="no action"):
        keymap({"undone": ["u"]})

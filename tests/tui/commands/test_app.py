"""`poise FOLDER` from the command line: options on either side of the folder, and what the help says of them."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main
from poise_tui.app import Poise
from poise_tui.commands import app
from poise_tui.draw.capability import Capability


def poise(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(one) for one in arguments])


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[Poise]:
    """The apps that were opened, in a terminal that is not there."""
    found: list[Poise] = []
    monkeypatch.setattr(app, "_able", lambda plain: Capability(80, 24, "256", not plain))
    monkeypatch.setattr(Poise, "run", lambda one, **options: found.append(one))

    def leave(code: int) -> None:
        raise SystemExit(code)

    monkeypatch.setattr(app.os, "_exit", leave)
    return found


def test_options_of_the_app_stand_before_the_folder_or_behind_it(tmp_path: Path, opened: list[Poise]) -> None:
    Image.new("RGB", (8, 6)).save(tmp_path / "quay.png")
    for arguments in (("--light", tmp_path), (tmp_path, "--light"), ("--limits", "full", "--light", tmp_path)):
        assert poise(*arguments).exit_code == 0
    assert [one._look.theme for one in opened] == ["light"] * 3
    assert [one.limits.name for one in opened] == ["baseline", "baseline", "full"]
    assert poise("--debug", tmp_path).exit_code == 0
    assert opened[-1]._look.theme == "dark"
    nothing = poise("--light")
    assert (nothing.exit_code, len(opened)) == (2, 4)
    assert "Missing argument 'PATH...'" in nothing.stderr
    unknown = poise("--bright", tmp_path)
    assert (unknown.exit_code, len(opened)) == (2, 4)
    assert "No such option '--bright'" in unknown.stderr


def test_help_shows_the_app_and_its_options() -> None:
    text = poise("--help").stdout
    assert "[OPTIONS] FOLDER | COMMAND" in text.splitlines()[0]
    assert "Options of the app, as in poise --light FOLDER:" in text
    for option in ("--sidecars DIR", "--stills", "--ascii", "--light", "--limits SET", "--keys FILE"):
        assert f"\n  {option}  " in text, option
    assert "\nCommands:\n  demo " in text

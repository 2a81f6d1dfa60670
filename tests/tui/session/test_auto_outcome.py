"""What is listed after auto: the unsure, those held back on, and those left, with the reason."""

from poise_tui.session.auto_outcome import AutoOutcome, listed, summary

SURE = AutoOutcome("quay.png", 0.93, ("neutrals are level within 0.4 degrees, 93 % sure: left alone",))
UNSURE = AutoOutcome("ferry.png", 0.31, ("estimated light 4.0 degrees off neutral, 31 % sure: warmth -8.0 mired",))
HELD = AutoOutcome("fog.png", 0.7, ("estimated light 9.0 degrees off", "stretch held at x4: the picture may be dark"))
LEFT = AutoOutcome("pier.png", None, ("its correction was made by hand",), left=True)


def test_the_list_has_whom_to_look_at_and_why_the_least_certain_first() -> None:
    assert summary((SURE, HELD, LEFT, UNSURE)) == "1 under 50 %, 1 held back; see :unsure"
    assert summary((SURE, LEFT)) == "see :unsure"
    assert listed((SURE, HELD, LEFT, UNSURE)) == [
        ("31 %  ferry.png", "estimated light 4.0 degrees off neutral, 31 % sure: warmth -8.0 mired"),
        ("70 %  fog.png", "stretch held at x4: the picture may be dark"),
        (" -    pier.png", "its correction was made by hand"),
    ]


def test_nothing_to_look_at_is_not_mentioned() -> None:
    assert (summary((SURE,)), listed((SURE,))) == ("", [])

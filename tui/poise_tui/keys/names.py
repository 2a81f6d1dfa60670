"""Key names: from textual's name of a key press to the keymap's."""


def key_of(key: str, character: str | None) -> str:
    """The character that was typed, or the name of a key without one.

    Example:
        >>> key_of("semicolon", ";"), key_of("space", " "), key_of("ctrl+l", "\\x0c")
        (';', 'space', 'ctrl+l')
    """
    if "+" in key:  # with Ctrl or Alt it is a key of its own, whatever character it sends
        return key
    if character is not None and len(character) == 1 and character.isprintable() and character != " ":
        return character
    return key

"""The code that a CDL applies to, as text in its InputDescription, and whether a shot has the same code."""

from poise.correction.model import Encoding

_CODE = "code value: "


def code_descriptions(encoding: Encoding) -> tuple[str, str]:
    """The InputDescription and ViewingDescription of an exported CDL: the codes of its input and output.

    Example:
        >>> code_descriptions(Encoding())[0]
        'code value: sRGB; ITU-R BT.709'
    """
    narrow = "; narrow range scaled to 0..1" if encoding.range == "narrow" else ""
    return (
        f"{_CODE}{encoding.source}; {encoding.primaries}{narrow}",
        f"{_CODE}{encoding.delivery}; {encoding.work_primaries}{narrow}",
    )


def mismatched_code(description: str, encoding: Encoding) -> str:
    """The transfer function that a CDL was made for, if it is not that of the shot's work code; else empty.

    Args:
        description: its InputDescription; the result is empty if poise did not write it.

    Example:
        >>> mismatched_code("code value: linear; ITU-R BT.709", Encoding())
        'linear'
    """
    if not description.startswith(_CODE):
        return ""
    name = description.removeprefix(_CODE).split(";")[0].strip()
    return "" if name == encoding.work else name

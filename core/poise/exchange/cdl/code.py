"""What the numbers of a CDL work on, in the words of its InputDescription, and whether a shot has the same."""

from poise.correction.model import Encoding

_CODE = "code value: "


def code_descriptions(encoding: Encoding) -> tuple[str, str]:
    """The code that an exported CDL works on, and the one that comes out.

    Example:
        >>> coded(Encoding())[0]
        'code value: sRGB; ITU-R BT.709'
    """
    narrow = "; narrow range scaled to 0..1" if encoding.range == "narrow" else ""
    return (
        f"{_CODE}{encoding.source}; {encoding.primaries}{narrow}",
        f"{_CODE}{encoding.delivery}; {encoding.work_primaries}{narrow}",
    )


def mismatched_code(description: str, encoding: Encoding) -> str:
    """The transfer function of the code that a CDL was made for, where it isn't the one that it would work on.

    Args:
        description: its InputDescription; nothing is known where poise didn't write it, and then it is "".

    Example:
        >>> other("code value: linear; ITU-R BT.709", Encoding())
        'linear'
    """
    if not description.startswith(_CODE):
        return ""
    name = description.removeprefix(_CODE).split(";")[0].strip()
    return "" if name == encoding.work else name

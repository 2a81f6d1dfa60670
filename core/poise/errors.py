"""The exception tree: everything poise refuses, in one line that says what is wrong and what to do."""

from pathlib import Path


class PoiseError(Exception):
    """A fault that is told to the user in one line.

    Example:
        >>> str(PoiseError("nothing to do"))
        'nothing to do'
    """


class UsageError(PoiseError):
    """The call itself is wrong, or there is nothing to do (exit code 2)."""


class ValueFault(PoiseError):
    """A value lies outside the model's limits; `where` is its key path, such as `correction.balance.slope[1]`."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"{where}: {reason}")
        self.where = where
        self.reason = reason


class FileError(PoiseError):
    """A fault of one file: the rest of the work goes on.

    Example:
        >>> str(FileError(Path("quay_02.tif"), "the file is empty; copy it again"))
        'quay_02.tif: the file is empty; copy it again'
    """

    def __init__(self, path: Path | str, reason: str) -> None:
        super().__init__(f"{one_line(path)}: {one_line(reason)}")
        self.path = Path(path)
        self.reason = reason


class FrameError(FileError):
    """A picture can't be read, or its layout is not supported."""


class SidecarError(FileError):
    """A sidecar can't be read, holds bad values, or was changed by someone else."""


class OutputError(FileError):
    """A result can't be written."""


def in_words(fault: Exception) -> str:
    """What a fault says; what kind it is as well, where it was not foreseen.

    Example:
        >>> in_words(PoiseError("nothing to do")), in_words(ValueError("fog"))
        ('nothing to do', 'ValueError: fog')
    """
    return str(fault) if isinstance(fault, PoiseError) else f"{type(fault).__name__}: {fault}"


def why_not(file: Path, fault: Exception) -> str:
    """Why nothing came of one frame, in one line: whatever the fault is, it must cost that frame only.

    Args:
        file: the frame, which stands before the line anyway.

    Example:
        >>> why_not(Path("quay_02.tif"), FileError("quay_02.tif", "the file is empty; copy it again"))
        'the file is empty; copy it again'
    """
    if isinstance(fault, FileError) and fault.path == file:
        return fault.reason
    if isinstance(fault, PoiseError):
        return str(fault)
    if isinstance(fault, MemoryError):
        return "there is not enough memory for this picture; use fewer --workers"
    if isinstance(fault, OSError) and fault.strerror:  # a file that vanished, a disk that fails
        other = f"{fault.filename}: " if fault.filename and Path(fault.filename) != file else ""
        return one_line(f"{other}{fault.strerror[:1].lower()}{fault.strerror[1:]}")
    return one_line(f"an unforeseen fault ({in_words(fault)})")


def one_line(text: object) -> str:
    """Text made safe for one line: control characters are written as escapes.

    Example:
        >>> one_line("ferry\\nnight.tif")
        'ferry\\\\nnight.tif'
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape", "surrogatepass").decode() for c in str(text))

"""The exception tree: every error as one line that says what is wrong and what to do."""

from pathlib import Path


class PoiseError(Exception):
    """An error that is reported to the user in one line.

    Example:
        >>> str(PoiseError("nothing to do"))
        'nothing to do'
    """


class UsageError(PoiseError):
    """The call is wrong, or there is nothing to do (exit code 2)."""


class ValueFault(PoiseError):
    """A value is outside the limits of the model; `where` is its key path, such as `correction.balance.slope[1]`."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"{where}: {reason}")
        self.where = where
        self.reason = reason


class FileError(PoiseError):
    """An error that concerns one file only; the rest of the work goes on.

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
    """A sidecar can't be read or written, has invalid values, or was changed by someone else."""


class OutputError(FileError):
    """A result can't be written."""


def in_words(fault: Exception) -> str:
    """The message of an error; with the name of its class if it is not one of poise.

    Example:
        >>> in_words(PoiseError("nothing to do")), in_words(ValueError("fog"))
        ('nothing to do', 'ValueError: fog')
    """
    return str(fault) if isinstance(fault, PoiseError) else f"{type(fault).__name__}: {fault}"


def why_not(file: Path, fault: Exception) -> str:
    """Why one frame failed, in one line, for any exception.

    Args:
        file: the frame; not repeated in the line.

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
    if isinstance(fault, OSError) and fault.strerror:  # such as a file that vanished, or a failing disk
        other = f"{fault.filename}: " if fault.filename and Path(fault.filename) != file else ""
        return one_line(f"{other}{fault.strerror[:1].lower()}{fault.strerror[1:]}")
    return one_line(f"an unforeseen fault ({in_words(fault)})")


def one_line(text: object) -> str:
    """Text on one line, with control characters escaped.

    Example:
        >>> one_line("ferry\\nnight.tif")
        'ferry\\\\nnight.tif'
    """
    line = str(text)
    if line.isprintable():
        return line
    return "".join(c if c.isprintable() else c.encode("unicode_escape", "surrogatepass").decode() for c in line)

"""The command that the user called this program by, for messages that suggest a command."""

import os
import shlex
import shutil
import sys

NAME = "poise"


def program_name() -> str:
    """The program as the user can type it: its name if it is on PATH, else its path as it was called.

    Also its name if anything but the installed script runs, such as a test or a worker.

    Example:
        >>> program_name()
        'poise'
    """
    called = sys.argv[0]
    if os.path.basename(called) != NAME:
        return NAME
    found = shutil.which(NAME)
    try:
        same = found is not None and os.path.samefile(found, called)
    except OSError:
        same = False  # the script was deleted, or its folder can't be searched
    return NAME if same else shlex.quote(called)

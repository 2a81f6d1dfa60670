"""How the user called this program, for messages that name a command to type next."""

import os
import shlex
import shutil
import sys

NAME = "poise"


def program_name() -> str:
    """The program as the user's shell takes it: its name where PATH leads to it, else its path as it was called.

    It is the name as well where something else than the installed script runs, such as a test or a worker.

    Example:
        >>> program()
        'poise'
    """
    called = sys.argv[0]
    if os.path.basename(called) != NAME:
        return NAME
    found = shutil.which(NAME)
    try:
        same = found is not None and os.path.samefile(found, called)
    except OSError:
        same = False  # the script is gone since, or lies where this user may not look
    return NAME if same else shlex.quote(called)

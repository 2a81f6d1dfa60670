"""colour-science, imported quietly: it warns on stderr about plotting parts that poise has no use for.

Import this module only inside the functions that need it: it takes a second.
"""

import warnings

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

__all__ = ["colour"]

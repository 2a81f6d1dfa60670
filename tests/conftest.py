"""One thread a test process for linear algebra: several processes with several threads each wait for each other."""

import os

# read once, when numpy is imported; so is this file, before any test
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

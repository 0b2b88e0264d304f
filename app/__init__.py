"""Ebbstock's web application and command; everything it works out comes from `planner`."""

import os

# The planner multiplies many small matrices: more threads only get in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

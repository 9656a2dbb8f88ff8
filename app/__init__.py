"""Westering: where the low sun will stand in the picture, and when."""

import os

# The matrices here are small: a second thread of the linear-algebra library only
# gets in the way of the server's own. It reads this once, when numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

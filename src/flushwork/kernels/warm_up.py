"""The compiler's own tables loaded early, while there is time for it."""

from __future__ import annotations

import numpy as np

from flushwork.kernels.medial import prominence_mm


def load_kernels() -> None:
    """Run one small kernel: the first one called loads what all of them need.

    Done before this process is copied, it is done once and not in every copy.
    """
    prominence_mm(np.zeros((2, 3)), np.array([[0, 1]], dtype=np.int64))

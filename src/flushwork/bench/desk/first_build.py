"""How much of a first full build is done, room by room."""

from __future__ import annotations

from typing import Final

from flushwork.bench.desk.sheets import READING

SHARES: Final = (
    {
        READING: 0.0,
        "read the job, draw the artwork": 0.0,
        "infer the stages": 0.06,
        "fit the bits": 0.07,
        "write the G-code files, read them back": 0.24,
        "replay the process": 0.45,
        "measure the pours": 0.52,
        "paint the board": 0.54,
    },
    {
        READING: 0.56,
        "read the job, draw the artwork": 0.56,
        "infer the stages": 0.57,
        "fit the bits": 0.57,
        "write the G-code files, read them back": 0.57,
        "replay the process": 0.57,
        "paint the board": 0.73,
        "measure the pours": 0.77,
        "measure the pours, plan the days": 0.77,
        "check it": 0.82,
    },
)
"""How much of a first full build is done when each room begins: before the first picture, and
after it.  Measured on the travelling set; another job spends its time otherwise, so it is told as
about."""

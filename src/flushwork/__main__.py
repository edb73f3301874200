"""``python -m flushwork``: the same commands as the installed program."""

from flushwork.cli.main import run

run()

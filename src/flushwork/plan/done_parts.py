"""From what a log tells of a piece to when each of its stages was done."""

from __future__ import annotations

from collections.abc import Mapping

from flushwork.plan.progress import Progress
from flushwork.plan.stages import Plan, StageKind
from flushwork.plan.tasks import Span


def history(
    plan: Plan, progress: Progress, piece: int, usual_min: Mapping[int, int]
) -> dict[int, Span]:
    """Return from when until when each stage that is done was worked, by its number.

    A stage of which the log says nothing is done where a later one is.  It is taken to have ended
    as late as it can have, when the next one began: what was poured then is waited for longest.
    ``usual_min`` is how long each stage takes; no stage begins before the end of the one before.
    """
    logged, last = progress.ends(piece), progress.last(piece)
    found: dict[int, Span] = {}
    until = logged.get(last, 0)
    for stage in reversed(plan.stages[:last]):
        end = logged.get(stage.number, until)
        earlier = [each for number, each in logged.items() if number < stage.number]
        if stage.kind is StageKind.CURE:
            until = end
            continue
        until = max([0, end - usual_min[stage.number], *earlier])
        until = min(until, end)
        found[stage.number] = (until, end)
    return found


__all__ = ["Span", "history"]

"""Was what the day log tells of done when wood and resin allowed it?"""

from __future__ import annotations

from collections.abc import Iterator

from flushwork.built import Build
from flushwork.core.findings import Finding, Measure, Source, Subject
from flushwork.process.stages import StageKind
from flushwork.schedule.schedule import OutOfTime, Reached, Schedule
from flushwork.shelf.known_hazards import hazards_of


def log_out_of_time(build: Build) -> Iterator[Finding]:
    """Yield a warning for each line of the day log by which something was done out of its time."""
    if build.schedule is not None:
        for each in build.schedule.out_of_time:
            yield _told(build, build.schedule, each)


def _told(build: Build, schedule: Schedule, each: OutOfTime) -> Finding:
    code, why, remedy = _late() if each.late else _soon(build, each)
    before, after = build.plan.stage(each.before), build.plan.stage(each.after)
    hours = (each.at_min - each.since_min) / 60.0
    days = schedule.days
    at = f"{days.day_text(each.at_min)} {days.clock_text(each.at_min)}"
    bound = "at least" if each.late else "at most"
    return Finding.warning(
        code,
        message=f"By the day log stage {after.number} ({after.title}) was "
        f"{'not done before' if each.late else 'done by'} {at} on {each.piece.name}, {bound} "
        f"{_lasted(hours)} after stage {before.number} ({before.title}): {why}.",
        remedy=f"{remedy} Where the log is wrong, set its times right.",
        subjects=(Subject("mix", each.mix) if each.mix else Subject("name", each.piece.name),),
        source=Source(each.file, each.line, 1, ""),
        measure=Measure("time between", hours, None, "h"),
    )


def _lasted(hours: float) -> str:
    if hours < 1.5:
        return f"{hours * 60.0:.0f} min"
    return f"{hours:.1f} h" if hours < 72.0 else f"{hours / 24.0:.1f} days"


def _soon(build: Build, each: OutOfTime) -> tuple[str, str, str]:
    if each.what == Reached.HARD:
        return (
            "log-worked-soft",
            f"in this shop's air {each.mix} was not yet hard when it was cut or sanded; soft resin "
            "smears, and its dust can make you allergic for life",
            "Hold the piece suspect: press a nail into the resin, let it harden in full, and mill "
            "it flush and sand it again. Take the dust up damp or with a fine filter, never by "
            "brush or air, and go by the resin's safety sheet and what you were trained to do.",
        )
    if each.what == Reached.CURED:
        return (
            "log-finished-soft",
            f"in this shop's air {each.mix} was not yet fully cured when the finish went on; it "
            "goes on shrinking and gives off what it holds, and the coats may wrinkle or let go",
            "Hold the piece suspect: wait for the full cure, then look along the coats under a low "
            "lamp before it is sent off.",
        )
    if _burns(build, each):
        return (
            "log-too-soon",
            "what was put on was still wet; its vapour burns, and resin over it does not bond",
            "Keep flame, sparks and hot air away and air the room. Hold the piece suspect: try "
            "whether the fill holds, and go by the safety sheet of what was put on.",
        )
    return (
        "log-too-soon",
        f"that is sooner than the plan waits {each.what}; it does not bond as it should",
        "Hold the piece suspect: try whether what was put on holds before more work goes in.",
    )


def _burns(build: Build, each: OutOfTime) -> bool:
    sealer = build.job.sealer
    sealed = build.plan.stage(each.before).kind is StageKind.SEAL
    return sealed and sealer is not None and hazards_of(sealer).burns


def _late() -> tuple[str, str, str]:
    return (
        "log-window-past",
        "its window had closed by then, and what is put on later does not bond by itself",
        "If the face was washed and scuff-sanded first, nothing has to be done. If it was not, "
        "hold the piece suspect: try whether the fill holds before more work goes in.",
    )


RULES = (log_out_of_time,)

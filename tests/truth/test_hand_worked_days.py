"""Two pieces, a cure, a window that closes and a night, worked by hand to the minute.

The shop is open from 8:00 to 16:00.  From 8:00 to 18:00 it has 25 degrees, when the resin's clock
runs true; at night 15 degrees, when it runs at half that speed (twice as fast for every 10 degrees,
common practice, no source).  A night from 18:00 to 8:00 is thus worth 7 hours.

Each piece is cut (60 min), both are filled from one batch (30 min), capped (20 min) no sooner than
6 h and no later than 13 h on the resin's clock, and milled flush (40 min each) 24 h after the cap.

By hand: both are cut by 10:00.  Filled at once, until 10:30, the resin could be capped from 16:30,
when the shop is shut; until it opens the clock has run 7:30 + 7 = 14:30, and the window of 13 h
closed at 5:00.  A cap poured from 8:00 to 8:20 next morning is in time if the fill ends no sooner
than 12:20: 5:40 + 7 + 0:20 = 13 h.  So the fill is begun at 11:50.  From 8:20 the day gives 9:40
and the night 7 h; the 7:20 that are left of 24 h end at 15:20 on the third day.  One piece is
milled flush until 16:00, the other on the fourth day from 8:00 to 8:40.
"""

from __future__ import annotations

from dataclasses import replace

from flushwork.schedule.solve.solver import solve
from flushwork.schedule.solve.tasks import Cure, CureClock, Hold, Lag, Problem, Resource, Task

HOUR = 60
DAY = 24 * HOUR
OPENS, CLOSES = 8 * HOUR, 16 * HOUR
CLOCK = CureClock("resin", ((0, 8 * HOUR, 0.5), (8 * HOUR, 18 * HOUR, 1.0), (18 * HOUR, DAY, 0.5)))
CLOSED = ((0, OPENS), *((day * DAY + CLOSES, (day + 1) * DAY + OPENS) for day in range(9)))


def at(day: int, hour: int, minute: int = 0) -> int:
    return (day - 1) * DAY + hour * HOUR + minute


def hands(name: str, minutes: int) -> Task:
    return Task(name, minutes, (("hands", 1),))


CAPPING = Cure(
    "fill", "cap", "resin", 6 * HOUR, 13 * HOUR, "resin", missed_least=24 * HOUR, missed_minutes=30
)
TWO_PIECES = Problem(
    tasks=(
        hands("cut 1", 60),
        hands("cut 2", 60),
        hands("fill", 30),
        hands("cap", 20),
        hands("level 1", 40),
        hands("level 2", 40),
    ),
    resources=(Resource("hands", closed=CLOSED), Resource("machine")),
    lags=(Lag("cut 1", "fill"), Lag("cut 2", "fill")),
    clocks=(CLOCK,),
    cures=(
        CAPPING,
        Cure("cap", "level 1", "resin", 24 * HOUR),
        Cure("cap", "level 2", "resin", 24 * HOUR),
    ),
    holds=tuple(Hold("machine", name, name) for name in ("cut 1", "cut 2", "level 1", "level 2")),
    alike=(("cut 1", "cut 2"), ("level 1", "level 2")),
    horizon=9 * DAY,
)


def test_the_days_are_those_worked_by_hand() -> None:
    solution = solve(TWO_PIECES)
    assert solution.spans == {
        "cut 1": (at(1, 8), at(1, 9)),
        "cut 2": (at(1, 9), at(1, 10)),
        "fill": (at(1, 11, 50), at(1, 12, 20)),
        "cap": (at(2, 8), at(2, 8, 20)),
        "level 1": (at(3, 15, 20), at(3, 16)),
        "level 2": (at(4, 8), at(4, 8, 40)),
    }
    assert solution.missed == ()
    assert all(goal.proven for goal in solution.goals)
    assert solution.finish == at(4, 8, 40)


def test_a_window_that_no_day_can_meet_is_missed_and_keyed() -> None:
    """A window from 8 h to 9 h.

    Filled first thing, until 8:30, the cap could begin at 16:30, when the shop is shut; filled
    last thing, until 16:00, 2 + 7 + 0:20 = 9:20 h have passed when the cap is poured.  So the fill
    goes in at 10:00 and is scuff-sanded once it is hard, 24 h on the clock later: 7:30 on the first
    day, 7 h of night, 9:30 more until 17:30, when the shop is shut; so at 8:00 on the third day,
    and the cap takes 30 minutes longer.
    """
    narrow = replace(CAPPING, least=8 * HOUR, greatest=9 * HOUR)
    solution = solve(replace(TWO_PIECES, cures=(narrow, *TWO_PIECES.cures[1:])))
    assert solution.missed == (narrow,)
    assert solution.spans["fill"] == (at(1, 10), at(1, 10, 30))
    assert solution.spans["cap"] == (at(3, 8), at(3, 8, 50))
    assert [goal.reached for goal in solution.goals if goal.name == "windows missed"] == [1]


def test_a_window_that_may_not_be_missed_leaves_no_plan() -> None:
    hard = replace(CAPPING, least=8 * HOUR, greatest=9 * HOUR, missed_least=None)
    solution = solve(replace(TWO_PIECES, cures=(hard, *TWO_PIECES.cures[1:])))
    assert solution.impossible
    assert solution.spans == {}


def test_a_greatest_lag_holds() -> None:
    """Pot life: two cups of 20 min, each emptied within 30 min of mixing, by one pair of hands."""
    problem = Problem(
        tasks=(hands("mix a", 10), hands("mix b", 10), hands("pour a", 20), hands("pour b", 20)),
        resources=(Resource("hands"),),
        lags=(Lag("mix a", "pour a", 0, 30), Lag("mix b", "pour b", 0, 30)),
        horizon=200,
    )
    spans = solve(problem).spans
    for cup in "ab":
        assert 0 <= spans[f"pour {cup}"][1] - spans[f"mix {cup}"][1] <= 30
    assert max(end for _, end in spans.values()) == 60

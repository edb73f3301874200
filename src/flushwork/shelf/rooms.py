"""Rooms in which a finished piece may live: their air, month by month."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from typing import Annotated, Any, Final

from flushwork.core.keys.declare import OMIT, Group, Items, Key, Keyed
from flushwork.core.keys.quantities import Measured, near, share
from flushwork.core.keys.settle import At
from flushwork.core.keys.words import OneOf, Words
from flushwork.core.units import Quantity
from flushwork.shelf.tables import rows

MONTHS: Final = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


@dataclass(frozen=True, slots=True)
class MonthAir(Keyed):
    """The mean air of one month."""

    month: Annotated[str, OneOf(MONTHS), Key("January")]
    """The month."""
    at_c: Annotated[
        float, Measured(Quantity.TEMPERATURE, -1.0, 45.0), Key("20 degC", name="temperature")
    ]
    """Its mean temperature."""
    humidity: Annotated[float, share(0.05, 0.95), Key("30 %")]
    """Its mean relative humidity."""


@dataclass(frozen=True, slots=True)
class Room(Keyed):
    """A place where a piece lives; ``months`` hold the air of at least one month."""

    name: Annotated[str, Words(60), Key("hall")]
    """What you call it; alone, one of the packaged rooms."""
    months: Annotated[
        tuple[MonthAir, ...],
        Items(Group(MonthAir), 1, 12),
        Key("[{month: January, temperature: 20 degC, humidity: 30 %}]"),
    ] = ()
    """Its air; a month left out lies between those beside it, and one alone holds all year."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Take a room without months from the packaged ones; no month stands twice."""
        months = own.setdefault("months", ())
        if not months:
            known = {room.name: room for room in packaged_rooms()}
            if own["name"] in known:
                own["months"] = known[own["name"]].months
                return
            at.slip(
                "name-unknown",
                f"there is no packaged room called '{own['name']}'",
                f"{near(own['name'], tuple(known))}known here: {', '.join(known)}; or give it "
                "`months` with their temperature and humidity",
                "name",
            )
            own["months"] = packaged_rooms()[0].months
        said = [each.month for each in months]
        for index, month in enumerate(said):
            if month in said[:index]:
                at.slip(
                    "name-twice",
                    f"{month} stands twice",
                    "write each month once",
                    *("months", index, "month"),
                )

    @classmethod
    def shown(cls, record: Room) -> Mapping[str, Any]:
        """Tell a packaged room by its name alone."""
        return {"months": OMIT} if record in packaged_rooms() else {}

    @property
    def year(self) -> tuple[tuple[float, float], ...]:
        """Temperature (degrees C) and humidity (share) of each month, January first.

        A month that is not given lies on the straight line between those around it, the year
        taken as a ring.
        """
        given = {MONTHS.index(each.month): (each.at_c, each.humidity) for each in self.months}
        return tuple(_between(given, month) for month in range(len(MONTHS)))


def _between(given: Mapping[int, tuple[float, float]], month: int) -> tuple[float, float]:
    around = len(MONTHS)
    back, before = min(((month - each) % around, each) for each in given)
    ahead, after = min(((each - month) % around, each) for each in given)
    share_on = back / (back + ahead) if back + ahead else 0.0
    low, high = given[before], given[after]
    return tuple(  # type: ignore[return-value]
        first + share_on * (last - first) for first, last in zip(low, high, strict=True)
    )


@cache
def packaged_rooms() -> tuple[Room, ...]:
    """Return the packaged rooms, the usual one first."""
    return tuple(
        Room(name, tuple(MonthAir(row["month"], row["at_c"], row["humidity"]) for row in air))
        for name, air in groupby(rows("rooms"), key=lambda row: str(row["name"]))
    )


def usual_rooms() -> tuple[Room, ...]:
    """Return where the pieces of a job live that says nothing of it."""
    return packaged_rooms()[:1]

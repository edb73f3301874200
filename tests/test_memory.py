"""What a memory keeps, tells apart and lets go."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import Polygon

from flushwork.memory import WALKS, Memory, remembered
from flushwork.runtime.copies import may_copy
from flushwork.runtime.threads import map_threads

CALLS: list[object] = []


@dataclass(frozen=True)
class Record:
    """Something asked about."""

    name: str
    size: float


@remembered
def double(number: float) -> float:
    CALLS.append(number)
    return 2.0 * number


@remembered
def total(numbers: NDArray[np.float64], *, times: int = 1) -> float:
    CALLS.append(numbers.tolist())
    return times * float(numbers.sum())


@remembered
def told(record: Record) -> tuple[str, float]:
    CALLS.append(record)
    return (record.name, record.size)


@remembered
def covered(shapes: tuple[Polygon, ...]) -> float:
    CALLS.append(shapes)
    return sum(shape.area for shape in shapes)


@pytest.fixture(autouse=True)
def nothing_asked() -> None:
    CALLS.clear()


def test_without_a_memory_at_hand_every_question_is_asked() -> None:
    assert double(2.0) == double(2.0) == 4.0
    assert len(CALLS) == 2


def test_a_question_is_asked_once_on_all_walks_of_a_memory() -> None:
    memory = Memory()
    for _ in range(3):
        with memory.walk():
            assert told(Record("a", 1.0)) is told(Record("a", 1.0))
            assert told(Record("a", 2.0)) == ("a", 2.0)
    assert [Record("a", 1.0), Record("a", 2.0)] == CALLS
    with Memory().walk():
        told(Record("a", 1.0))
    assert len(CALLS) == 3


def test_arrays_are_told_apart_by_what_is_in_them_or_if_frozen_by_themselves() -> None:
    with Memory().walk():
        numbers = np.array([1.0, 2.0])
        assert total(numbers) == total(numbers.copy()) == 3.0
        assert len(CALLS) == 1
        numbers[0] = 5.0  # written to: another question
        assert total(numbers) == 7.0
        assert total(numbers, times=2) == 14.0
        assert total(numbers.reshape(1, 2)) == 7.0
        assert len(CALLS) == 4
        numbers.setflags(write=False)
        assert total(numbers) == total(numbers) == 7.0
        assert len(CALLS) == 5


def test_what_several_walks_have_not_asked_is_forgotten_but_not_by_walks_broken_off() -> None:
    memory = Memory()
    with memory.walk():
        double(1.0)
    for _ in range(3 * WALKS):
        with pytest.raises(KeyError), memory.walk():
            raise KeyError
    with memory.walk():
        double(1.0)
    assert len(CALLS) == 1
    for _ in range(WALKS):
        with memory.walk():
            double(2.0)
    with memory.walk():
        double(1.0)
    assert CALLS == [1.0, 2.0, 1.0]


def test_threads_that_share_a_walk_share_its_memory_and_no_copy_is_made() -> None:
    with Memory().walk():
        assert map_threads(double, [float(k) for k in range(8)]) == [2.0 * k for k in range(8)]
        assert map_threads(double, [float(k) for k in range(8)]) == [2.0 * k for k in range(8)]
        assert not may_copy()
    assert len(CALLS) == 8


def test_a_walk_can_be_left_at_any_question() -> None:
    def leave() -> None:
        raise TimeoutError

    memory = Memory()
    with memory.walk():
        double(1.0)
    with memory.walk(leave):
        assert double(1.0) == 2.0  # what is known is no new question
        with pytest.raises(TimeoutError):
            double(3.0)
    assert CALLS == [1.0]


def test_shapes_are_told_apart_by_their_points_in_every_walk() -> None:
    memory = Memory()
    for _ in range(2):
        with memory.walk():
            for side in (1.0, 2.0, 1.0):
                square = Polygon([(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)])
                assert covered((square,)) == covered((square,)) == side * side
    assert len(CALLS) == 2


@remembered
def fourfold(number: float) -> float:
    CALLS.append("fourfold")
    return sum(map_threads(double, [number, number + 0.5, number + 1.0, number + 1.5]))


def test_what_an_answer_rests_on_is_kept_as_long_as_the_answer() -> None:
    memory = Memory()
    for _ in range(3 * WALKS):
        with memory.walk():
            fourfold(1.0)
    assert CALLS.count("fourfold") == 1
    CALLS.clear()
    with memory.walk():
        assert double(1.5) == 3.0
    assert not CALLS, "asked only on the way to an answer that every walk has used"
    for _ in range(WALKS + 1):
        with memory.walk():
            pass
    with memory.walk():
        double(2.5)
    assert CALLS == [2.5]


@remembered
def filled(size: int, value: float) -> NDArray[np.float64]:
    CALLS.append(value)
    return np.full(size, value)


@remembered
def paired(size: int, value: float) -> tuple[NDArray[np.float64], dict[str, Record]]:
    made = filled(size, value)
    return made, {"of": Record("half", value)}


def test_what_is_remembered_is_bounded_and_the_last_walk_stays() -> None:
    memory, kilo = Memory(), 1000 * 8
    for number in range(4):
        with memory.walk():
            paired(1000, float(number))
    assert memory.shrink(10 * kilo) == 4 * kilo, "an array shared by answers counts once"
    assert memory.shrink(2 * kilo) == 2 * kilo
    CALLS.clear()
    with memory.walk():
        paired(1000, 3.0)
        paired(1000, 2.0)
        assert CALLS == []
        paired(1000, 1.0)
    assert CALLS == [1.0]
    assert memory.shrink(0) == 3 * kilo, "what the last walk asked for stays whatever it takes"


def test_walks_broken_off_leave_no_more_than_is_allowed() -> None:
    memory = Memory()
    with memory.walk():
        filled(1000, 0.0)
    for number in range(20):
        with suppress(TimeoutError), memory.walk():
            filled(1000, 1.0 + number)
            raise TimeoutError
    assert memory.shrink(10_000) == 8000
    CALLS.clear()
    with memory.walk():
        filled(1000, 0.0)
        assert CALLS == []
        filled(1000, 5.0)
    assert CALLS == [5.0]


def test_a_copy_knows_the_same_and_goes_its_own_way() -> None:
    memory = Memory()
    with memory.walk():
        double(2.0)
    copy = memory.copy()
    with copy.walk():
        assert (double(2.0), double(3.0)) == (4.0, 6.0)
    with memory.walk():
        assert (double(2.0), double(3.0)) == (4.0, 6.0)
    assert CALLS == [2.0, 3.0, 3.0], "each asks anew what only the other has learnt since"
    for _ in range(WALKS + 1):
        with memory.walk():
            pass
    with copy.walk():
        double(2.0)
    assert len(CALLS) == 3, "what one forgets the other still knows"

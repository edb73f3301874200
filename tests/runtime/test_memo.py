"""What a memory keeps, tells apart and lets go."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import Polygon

from flushwork.runtime.memo import KEPT_BUILDS, Memo, memoized
from flushwork.runtime.pool import map_threads, may_copy
from tests.many import examples

CALLS: list[object] = []


@dataclass(frozen=True)
class Record:
    """Something asked about."""

    name: str
    size: float


@memoized
def double(number: float) -> float:
    CALLS.append(number)
    return 2.0 * number


@memoized
def total(numbers: NDArray[np.float64], *, times: int = 1) -> float:
    CALLS.append(numbers.tolist())
    return times * float(numbers.sum())


@memoized
def told(record: Record) -> tuple[str, float]:
    CALLS.append(record)
    return (record.name, record.size)


@dataclass(frozen=True)
class Holder:
    """A record that cannot be compared by value."""

    numbers: NDArray[np.float64]


@memoized
def described(thing: object) -> str:
    return repr(thing)


@memoized
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
    memo = Memo()
    for _ in range(3):
        with memo.active():
            assert told(Record("a", 1.0)) is told(Record("a", 1.0))
            assert told(Record("a", 2.0)) == ("a", 2.0)
    assert [Record("a", 1.0), Record("a", 2.0)] == CALLS
    with Memo().active():
        told(Record("a", 1.0))
    assert len(CALLS) == 3


def test_arrays_are_told_apart_by_what_is_in_them_or_if_frozen_by_themselves() -> None:
    with Memo().active():
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


def test_one_key_however_arguments_are_passed_arrays_by_name_too() -> None:
    with Memo().active():
        numbers = np.array([1.0, 2.0])
        assert total(numbers=numbers) == total(numbers) == total(numbers, times=1) == 3.0
        assert double(number=4.0) == double(4.0) == 8.0
        assert len(CALLS) == 2
        numbers[0] = 5.0
        assert total(numbers=numbers) == 7.0
        assert len(CALLS) == 3


@given(st.lists(st.floats(0.0, 9.0), max_size=4), st.booleans(), st.booleans())
@settings(max_examples=examples(20), deadline=None)
def test_a_memo_changes_no_result_and_raises_nowhere_else(
    numbers: list[float], by_name: bool, listed: bool
) -> None:
    """Lists, mappings and records around arrays: what has no key is worked out each time."""
    array = np.array(numbers)
    things: list[object] = [array, [array], {"a": array}, (array, [1]), Holder(array), {1.0}]
    thing = things if listed else tuple(things)
    plain = described(thing)
    with Memo().active():
        for _ in range(2):
            assert (described(thing=thing) if by_name else described(thing)) == plain
            for each in things:
                assert described(each) == repr(each)


def test_what_several_walks_have_not_asked_is_forgotten_but_not_by_walks_broken_off() -> None:
    memo = Memo()
    with memo.active():
        double(1.0)
    for _ in range(3 * KEPT_BUILDS):
        with pytest.raises(KeyError), memo.active():
            raise KeyError
    with memo.active():
        double(1.0)
    assert len(CALLS) == 1
    for _ in range(KEPT_BUILDS):
        with memo.active():
            double(2.0)
    with memo.active():
        double(1.0)
    assert CALLS == [1.0, 2.0, 1.0]


def test_threads_that_share_a_walk_share_its_memory_and_no_copy_is_made() -> None:
    with Memo().active():
        assert map_threads(double, [float(k) for k in range(8)]) == [2.0 * k for k in range(8)]
        assert map_threads(double, [float(k) for k in range(8)]) == [2.0 * k for k in range(8)]
        assert not may_copy()
    assert len(CALLS) == 8


def test_a_walk_can_be_left_at_any_question() -> None:
    def leave() -> None:
        raise TimeoutError

    memo = Memo()
    with memo.active():
        double(1.0)
    with memo.active(leave):
        assert double(1.0) == 2.0  # what is known is no new question
        with pytest.raises(TimeoutError):
            double(3.0)
    assert CALLS == [1.0]


def test_shapes_are_told_apart_by_their_points_in_every_walk() -> None:
    memo = Memo()
    for _ in range(2):
        with memo.active():
            for side in (1.0, 2.0, 1.0):
                square = Polygon([(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)])
                assert covered((square,)) == covered((square,)) == side * side
    assert len(CALLS) == 2


@memoized
def fourfold(number: float) -> float:
    CALLS.append("fourfold")
    return sum(map_threads(double, [number, number + 0.5, number + 1.0, number + 1.5]))


def test_what_an_answer_rests_on_is_kept_as_long_as_the_answer() -> None:
    memo = Memo()
    for _ in range(3 * KEPT_BUILDS):
        with memo.active():
            fourfold(1.0)
    assert CALLS.count("fourfold") == 1
    CALLS.clear()
    with memo.active():
        assert double(1.5) == 3.0
    assert not CALLS, "asked only on the way to an answer that every walk has used"
    for _ in range(KEPT_BUILDS + 1):
        with memo.active():
            pass
    with memo.active():
        double(2.5)
    assert CALLS == [2.5]


@memoized
def filled(size: int, value: float) -> NDArray[np.float64]:
    CALLS.append(value)
    return np.full(size, value)


@memoized
def paired(size: int, value: float) -> tuple[NDArray[np.float64], dict[str, Record]]:
    made = filled(size, value)
    return made, {"of": Record("half", value)}


def test_what_is_remembered_is_bounded_and_the_last_walk_stays() -> None:
    memo, kilo = Memo(), 1000 * 8
    for number in range(4):
        with memo.active():
            paired(1000, float(number))
    assert memo.shrink(10 * kilo) == 4 * kilo, "an array shared by answers counts once"
    assert memo.shrink(2 * kilo) == 2 * kilo
    CALLS.clear()
    with memo.active():
        paired(1000, 3.0)
        paired(1000, 2.0)
        assert CALLS == []
        paired(1000, 1.0)
    assert CALLS == [1.0]
    assert memo.shrink(0) == 3 * kilo, "what the last walk asked for stays whatever it takes"


def test_walks_broken_off_leave_no_more_than_is_allowed() -> None:
    memo = Memo()
    with memo.active():
        filled(1000, 0.0)
    for number in range(20):
        with suppress(TimeoutError), memo.active():
            filled(1000, 1.0 + number)
            raise TimeoutError
    assert memo.shrink(10_000) == 8000
    CALLS.clear()
    with memo.active():
        filled(1000, 0.0)
        assert CALLS == []
        filled(1000, 5.0)
    assert CALLS == [5.0]


def test_a_copy_knows_the_same_and_goes_its_own_way() -> None:
    memo = Memo()
    with memo.active():
        double(2.0)
    copy = memo.copy()
    with copy.active():
        assert (double(2.0), double(3.0)) == (4.0, 6.0)
    with memo.active():
        assert (double(2.0), double(3.0)) == (4.0, 6.0)
    assert CALLS == [2.0, 3.0, 3.0], "each asks anew what only the other has learnt since"
    for _ in range(KEPT_BUILDS + 1):
        with memo.active():
            pass
    with copy.active():
        double(2.0)
    assert len(CALLS) == 3, "what one forgets the other still knows"

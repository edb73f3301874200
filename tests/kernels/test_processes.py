from __future__ import annotations

import os
import threading
import time

import pytest

from flushwork.kernels import processes
from flushwork.kernels.processes import beside, may_copy, shared_out


def test_work_is_done_in_order_and_by_both_processes() -> None:
    def one(number: int) -> tuple[int, int]:
        time.sleep(0.02)
        return number * number, os.getpid()

    done = shared_out(one, range(12))
    assert [square for square, _ in done] == [number * number for number in range(12)]
    if may_copy():
        assert len({process for _, process in done}) == 2


def test_the_first_and_heaviest_piece_stays_here() -> None:
    done = shared_out(lambda number: os.getpid(), range(5))
    assert done[0] == os.getpid()


def test_work_beside_this_process_comes_back() -> None:
    assert beside(lambda: {"told": [1, 2, 3]})() == {"told": [1, 2, 3]}


def test_what_goes_wrong_in_a_copy_goes_wrong_here() -> None:
    def fails() -> int:
        message = "no such board"
        raise ValueError(message)

    if may_copy():
        waiting = beside(fails)
        with pytest.raises(ValueError, match="no such board"):
            waiting()

    def one(number: int) -> int:
        return 1 // (number - 3)

    with pytest.raises(ZeroDivisionError):
        shared_out(one, range(6))


def test_what_a_copy_cannot_send_is_done_here() -> None:
    made = shared_out(lambda number: (number for _ in range(2)), range(4))
    assert [list(each) for each in made] == [[0, 0], [1, 1], [2, 2], [3, 3]]


def test_no_copy_is_made_beside_another_thread() -> None:
    go = threading.Event()
    other = threading.Thread(target=go.wait)
    other.start()
    try:
        assert not may_copy()
        assert shared_out(lambda number: os.getpid(), range(3)) == [os.getpid()] * 3
        assert beside(os.getpid)() == os.getpid()
    finally:
        go.set()
        other.join()


def test_one_core_makes_no_copy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(processes, "WORKERS", 1)
    assert not may_copy()
    assert shared_out(lambda number: os.getpid(), range(3)) == [os.getpid()] * 3

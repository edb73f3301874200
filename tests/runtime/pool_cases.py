"""Work shared with copies of the process ends as it would without, whatever becomes of a copy."""

from __future__ import annotations

import logging
import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.core.findings import Finding, FlushworkError, JobRefusedError, Severity
from flushwork.gcode.reader.line_words import LineError
from flushwork.runtime import pool
from flushwork.runtime.pool import cores, map_shared, may_copy, run_aside
from tests.many import examples

OWNER = os.getpid()
SHORT_S = 1.0
"""Long enough for a copy that is well, on a busy machine, too."""

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="no copy is made elsewhere")


def children() -> list[int]:
    told = Path(f"/proc/self/task/{threading.get_native_id()}/children").read_text("ascii")
    return [int(number) for number in told.split()]


def descriptors() -> set[str]:
    return set(os.listdir("/proc/self/fd"))


@pytest.fixture(autouse=True)
def _three_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pool, "cores", lambda: 3)


@pytest.fixture(autouse=True)
def _nothing_left() -> Iterator[None]:
    before = children(), descriptors()
    yield
    assert (children(), descriptors()) == before


def in_a_copy() -> bool:
    return os.getpid() != OWNER


def warned(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [each.getMessage() for each in caplog.records if each.levelno == logging.WARNING]


def awaited(condition: Callable[[], bool]) -> None:
    for _ in range(3000):
        if condition():
            return
        time.sleep(0.01)
    pytest.fail("what is awaited does not come")


def raises() -> None:
    raise ValueError("no such board\nat all")


def is_killed() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def hangs() -> None:
    time.sleep(60.0)


def stands_still() -> None:
    os.kill(os.getpid(), signal.SIGSTOP)


def leaves() -> None:
    os._exit(7)


FAILURES = [
    pytest.param(raises, "raised ValueError (no such board at all)", id="raises"),
    pytest.param(is_killed, "was ended by signal 9", id="is killed"),
    pytest.param(hangs, "gave no answer for 1 s", id="hangs"),
    pytest.param(stands_still, "gave no answer for 1 s", id="is stopped"),
    pytest.param(leaves, "ended with code 7", id="leaves"),
]


@pytest.mark.parametrize(("fails", "why"), FAILURES)
def test_work_aside_of_a_copy_that_fails_is_done_by_its_owner(
    fails: Callable[[], None], why: str, caplog: pytest.LogCaptureFixture
) -> None:
    def work() -> int:
        if in_a_copy():
            fails()
        return os.getpid()

    with run_aside(work, patience_s=SHORT_S) as result:
        assert result() == result() == OWNER
    assert warned(caplog) == [f"A copy of the process {why}: its share is done again by its owner."]


@pytest.mark.parametrize(("fails", "why"), FAILURES)
def test_the_share_of_a_copy_that_fails_is_done_by_its_owner(
    fails: Callable[[], None], why: str, caplog: pytest.LogCaptureFixture, tmp_path: Path
) -> None:
    flag = tmp_path / "one copy fails"

    def one(number: int) -> int:
        if not in_a_copy():
            awaited(flag.exists)
            return number * number
        try:
            flag.touch(exist_ok=False)
        except FileExistsError:
            return number * number
        fails()
        return -1

    assert map_shared(one, range(9), patience_s=SHORT_S) == [n * n for n in range(9)]
    assert warned(caplog) == [f"A copy of the process {why}: its share is done again by its owner."]


@pytest.mark.parametrize("error", [KeyboardInterrupt, SystemExit, ValueError])
def test_an_owner_that_is_interrupted_leaves_nothing_behind(error: type[BaseException]) -> None:
    def one(number: int) -> int:
        if in_a_copy():
            hangs()
        raise error

    with pytest.raises(error):
        map_shared(one, range(5), patience_s=SHORT_S)
    assert children() == []
    with pytest.raises(error), run_aside(hangs):
        raise error
    assert children() == []


def test_an_owner_that_is_interrupted_while_it_waits_leaves_nothing_behind() -> None:
    before = signal.signal(signal.SIGALRM, signal.default_int_handler)
    signal.setitimer(signal.ITIMER_REAL, SHORT_S / 2.0)
    try:
        with pytest.raises(KeyboardInterrupt), run_aside(hangs) as result:
            result()
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


def test_a_copy_ends_with_its_owner_even_if_that_is_killed() -> None:
    program = """
import os, time
from flushwork.runtime import pool
pool.cores = lambda: 2
def work():
    print(os.getpid(), flush=True)
    time.sleep(60)
with pool.run_aside(work) as result:
    result()
"""
    with subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE) as owner:
        assert owner.stdout is not None
        copy = int(owner.stdout.readline())
        owner.kill()
    awaited(lambda: not cmdline(copy))


def cmdline(process: int) -> bytes:
    """Return how a process was called; nothing where it has ended."""
    try:
        return Path(f"/proc/{process}/cmdline").read_bytes()
    except OSError:
        return b""


def refused() -> JobRefusedError:
    return JobRefusedError(
        Finding(code=f"code-{n}", severity=Severity.MUST_FIX, message=f"{n}; {n}", remedy="")
        for n in range(2)
    )


@pytest.mark.parametrize(
    "error", [refused(), FlushworkError("no room"), KeyboardInterrupt(), SystemExit(4)], ids=repr
)
def test_what_a_copy_raises_on_purpose_its_owner_raises(
    error: BaseException, caplog: pytest.LogCaptureFixture, tmp_path: Path
) -> None:
    def one(number: int) -> int:
        if number in {1, 2} and in_a_copy():
            (tmp_path / str(number)).touch()
            raise error
        if number == 0:
            awaited((tmp_path / "1").exists)
        return number

    with pytest.raises(type(error)) as aside, run_aside(lambda: one(2)) as result:
        result()
    with pytest.raises(type(error)) as shared:
        map_shared(one, range(6))
    for found in (aside.value, shared.value):
        assert found.args == error.args
        assert getattr(found, "findings", ()) == getattr(error, "findings", ())
    assert warned(caplog) == []


def test_an_error_of_ours_travels_whole() -> None:
    for error in (refused(), LineError("a; b", "c"), FlushworkError("one", 2)):
        same = pickle.loads(pickle.dumps(error))  # noqa: S301  (what was written on the line itself)
        assert type(same) is type(error)
        assert (str(same), same.args, vars(same)) == (str(error), error.args, vars(error))


def test_of_two_that_raise_the_first_is_heard(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pool, "cores", lambda: 2)
    begun, raised = tmp_path / "the copy has begun", tmp_path / "the owner raises"

    def one(number: int) -> None:
        if in_a_copy():
            begun.touch()
            awaited(raised.exists)
            raise FlushworkError("at 1")
        awaited(begun.exists)
        if number:
            raised.touch()
            raise ValueError("at 2")

    with pytest.raises(FlushworkError, match="at 1"):
        map_shared(one, range(3))


def test_when_one_raises_the_rest_is_left(tmp_path: Path) -> None:
    begun, ended = tmp_path / "a copy has begun", tmp_path / "all is done"

    def one(number: int) -> None:
        if in_a_copy():
            begun.touch()
            time.sleep(0.002)
            if number == 1499:
                ended.touch()
        else:
            awaited(begun.exists)
            raise ValueError("at 0")

    with pytest.raises(ValueError, match="at 0"):
        map_shared(one, range(1500))
    assert not ended.exists()


Outcome = tuple[str, object]


@dataclass(frozen=True)
class Fails:
    """Raises for some numbers, and ends or confuses the copies that take others."""

    raising: dict[int, type[Exception]]
    killing: frozenset[int]
    unsendable: frozenset[int]

    def __call__(self, number: int) -> object:
        if number in self.raising:
            raise self.raising[number](f"at {number}")
        if in_a_copy() and number in self.killing:
            is_killed()
        if in_a_copy() and number in self.unsendable:
            return threading.Lock()
        return [number] * (number * 700)


def outcome(work: Callable[[], object]) -> Outcome:
    try:
        return "done", work()
    except Exception as error:  # noqa: BLE001  (compared with what comes without processes)
        return type(error).__name__, str(error)


NUMBERS = st.integers(0, 24)


@settings(max_examples=examples(25), deadline=None)
@given(
    numbers=st.lists(NUMBERS, max_size=25),
    raising=st.dictionaries(NUMBERS, st.sampled_from([FlushworkError, ValueError]), max_size=2),
    killing=st.frozensets(NUMBERS, max_size=2),
    unsendable=st.frozensets(NUMBERS, max_size=2),
)
@example([3, 2, 1], {}, frozenset({1, 2}), frozenset())
@example([3, 2, 1], {2: ValueError, 1: FlushworkError}, frozenset(), frozenset())
def test_shared_work_ends_as_it_would_without_processes(
    numbers: list[int],
    raising: dict[int, type[Exception]],
    killing: frozenset[int],
    unsendable: frozenset[int],
) -> None:
    one = Fails(raising, killing, unsendable)
    alone = outcome(lambda: [one(number) for number in numbers])
    assert outcome(lambda: map_shared(one, numbers)) == alone
    assert children() == []


@pytest.mark.parametrize(("pieces", "taking_part"), [(12, 3), (3, 3), (2, 2)])
def test_every_core_takes_part_and_no_copy_makes_copies(
    tmp_path: Path, pieces: int, taking_part: int
) -> None:
    def one(number: int) -> tuple[int, int, bool]:
        (tmp_path / str(os.getpid())).touch()
        awaited(lambda: len(list(tmp_path.iterdir())) >= taking_part)
        return number, os.getpid(), may_copy()

    done = map_shared(one, range(pieces))
    assert [number for number, _, _ in done] == list(range(pieces))
    assert len({process for _, process, _ in done}) == taking_part
    assert not any(more for _, process, more in done if process != OWNER)


def test_the_cores_are_those_this_process_may_use() -> None:
    before = os.sched_getaffinity(0)
    try:
        os.sched_setaffinity(0, {min(before)})
        assert cores() == 1
    finally:
        os.sched_setaffinity(0, before)
    assert cores() == len(before)


def test_the_first_and_heaviest_piece_stays_here() -> None:
    done = map_shared(lambda number: os.getpid(), range(5))
    assert done[0] == OWNER


def test_work_aside_comes_back() -> None:
    with run_aside(lambda: {"told": [1, 2, 3], "by": os.getpid()}) as result:
        assert result()["told"] == [1, 2, 3]
        assert result()["by"] != OWNER


def test_what_a_copy_cannot_send_is_done_here() -> None:
    made = map_shared(lambda number: (number for _ in range(2)), range(4))
    assert [list(each) for each in made] == [[0, 0], [1, 1], [2, 2], [3, 3]]


def test_where_the_system_makes_no_copy_the_work_is_done_here(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def full() -> int:
        raise BlockingIOError(11, "no more processes")

    monkeypatch.setattr(os, "fork", full)
    assert map_shared(lambda number: os.getpid(), range(3)) == [OWNER] * 3
    with run_aside(os.getpid) as result:
        assert result() == OWNER
    assert (
        warned(caplog) == ["No copy of the process could be made (no more processes): slower."] * 2
    )


def test_no_copy_is_made_beside_another_thread() -> None:
    go = threading.Event()
    other = threading.Thread(target=go.wait)
    other.start()
    try:
        assert not may_copy()
        assert map_shared(lambda number: os.getpid(), range(3)) == [OWNER] * 3
        with run_aside(os.getpid) as result:
            assert result() == OWNER
    finally:
        go.set()
        other.join()


def test_one_core_makes_no_copy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pool, "cores", lambda: 1)
    assert map_shared(lambda number: os.getpid(), range(3)) == [OWNER] * 3
    with run_aside(os.getpid) as result:
        assert result() == OWNER

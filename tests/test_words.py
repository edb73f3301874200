"""Names in a row and things by number."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.words import counted, listed, plural
from tests.many import examples

NAMES = st.lists(st.text("abcdef", min_size=1), max_size=9)


@given(NAMES, st.none() | st.integers(1, 9))
@settings(max_examples=examples(40), deadline=None)
def test_every_name_is_listed_or_counted(names: list[str], most: int | None) -> None:
    told = listed(iter(names), most)
    shown = [name for name in told.replace(" and ", ", ").split(", ") if name]
    if most is None or len(names) <= most:
        assert shown == names
    else:
        assert shown == [*names[:most], f"{len(names) - most} more"]
    assert told.count(" and ") == (len(shown) > 1)


def test_one_is_one_and_all_else_is_several() -> None:
    assert [counted(count, "hole") for count in (0, 1, 2)] == ["0 holes", "1 hole", "2 holes"]
    assert [plural(count, "is", "are") for count in (0.5, 1.0, 2)] == ["are", "is", "are"]
    assert counted(3, "batch", "batches") == "3 batches"

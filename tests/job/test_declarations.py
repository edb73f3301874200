"""What is declared once holds together: every key has words, a field, and a name of its own."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from flushwork.core.keys.declare import Keyed, declared, inner_of
from flushwork.job.keys.shop import ShopKeys
from flushwork.job.records import Job


def reachable(record: type[Keyed]) -> Iterator[type[Keyed]]:
    yield record
    for key in declared(record):
        inner = inner_of(key.kind)
        if inner is not None:
            yield from reachable(inner)


RECORDS = sorted({*reachable(Job), *reachable(ShopKeys)}, key=lambda each: each.__name__)


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_every_key_is_said_in_words_and_has_a_name_of_its_own(record: type[Keyed]) -> None:
    keys = declared(record)
    assert keys
    assert len({key.name for key in keys}) == len(keys)
    for key in keys:
        assert key.doc.endswith("."), (record.__name__, key.name)

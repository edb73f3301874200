"""What is declared once holds together: every key has words, a field, and a name of its own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields

import pytest

from flushwork.job.keys import shelf as shelf_keys
from flushwork.job.keys import shop as shop_keys
from flushwork.job.keys.declare import Keyed, declared, inner_of
from flushwork.job.records import Job
from flushwork.shelf import items

OWN = {"like", "name", "ratio"}
FORMS = (
    (shelf_keys.CutterKeys, items.Cutter),
    (shelf_keys.ResinKeys, items.Resin),
    (shelf_keys.ThinnerShelfKeys, items.Thinner),
    (shelf_keys.PigmentShelfKeys, items.Pigment),
    (shelf_keys.SealerKeys, items.Sealer),
    (shelf_keys.FinishShelfKeys, items.Finish),
    (shelf_keys.ToolKeys, items.MeasuringTool),
    (shelf_keys.TimberKeys, items.Timber),
    (shelf_keys.HoldingKeys, items.Holding),
    (shop_keys.MachineKeys, items.Machine),
    (shop_keys.CutFileKeys, items.Dialect),
    (shop_keys.AirKeys, items.Air),
)


def reachable(record: type[Keyed]) -> Iterator[type[Keyed]]:
    yield record
    for key in declared(record):
        inner = inner_of(key.kind)
        if inner is not None:
            yield from reachable(inner)


RECORDS = sorted({*reachable(Job), *reachable(shop_keys.ShopKeys)}, key=lambda each: each.__name__)


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_every_key_is_said_in_words_and_has_a_name_of_its_own(record: type[Keyed]) -> None:
    keys = declared(record)
    assert keys
    assert len({key.name for key in keys}) == len(keys)
    for key in keys:
        assert key.doc.endswith("."), (record.__name__, key.name)


@pytest.mark.parametrize(("form", "record"), FORMS, ids=lambda each: each.__name__)
def test_what_a_shop_states_are_fields_of_its_record(form: type[Keyed], record: type) -> None:
    stated = {field for key in declared(form) for field in key.fields} - OWN
    assert stated <= {field.name for field in fields(record)}

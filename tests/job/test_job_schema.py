"""The schema is a valid one, agrees with the reader, and is told whole in the docs."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from flushwork.core.units import Quantity, quantity_text
from flushwork.job.read import read_job
from flushwork.job.schema import job_schema, shop_schema
from flushwork.shelf.tables import starter_shop
from flushwork.usecases.jobs import starter_job_text, starter_shop_text

ROOT = Path(__file__).parents[2]
SCHEMAS = {"job": job_schema(), "shop": shop_schema()}
FILES = [
    *((path, "job") for path in sorted((ROOT / "examples").glob("*/job.yaml"))),
    *((path, "shop") for path in sorted((ROOT / "examples").glob("*/shop.yaml"))),
]


def keys(schema: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for group, each in (("", schema), *schema["$defs"].items()):
        for key, known in each.get("properties", {}).items():
            yield group, key, known


def plain(text: str) -> Any:
    return YAML(typ="safe", pure=True).load(text)


@pytest.mark.parametrize("name", SCHEMAS)
def test_it_is_a_schema_of_2020_12(name: str) -> None:
    schema = SCHEMAS[name]
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema)
    json.dumps(schema)


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_key_is_described_and_its_examples_hold(name: str) -> None:
    schema = SCHEMAS[name]
    for group, key, known in keys(schema):
        assert known.get("description"), (group, key)
        assert {"type": "null"} not in known.get("anyOf", ())
        check = jsonschema.Draft202012Validator(known | {"$defs": schema["$defs"]})
        for example in [
            *known.get("examples", ()),
            *([known["default"]] if "default" in known else ()),
        ]:
            assert check.is_valid(example), (group, key, example)


@pytest.mark.parametrize(("path", "name"), FILES, ids=lambda value: str(value)[-30:])
def test_the_examples_hold(path: Path, name: str) -> None:
    jsonschema.Draft202012Validator(SCHEMAS[name]).validate(plain(path.read_text("utf-8")))


def test_the_starter_files_hold() -> None:
    jsonschema.Draft202012Validator(SCHEMAS["job"]).validate(plain(starter_job_text("A board")))
    jsonschema.Draft202012Validator(SCHEMAS["shop"]).validate(plain(starter_shop_text()))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("thickness: 12 mm", "thickness: 12"),
        ("wood:", "tmber:"),
        ("circle: 40 mm,", "circle: 40 mm, text: A, size: 3 mm,"),
        ("circle: 40 mm,", ""),
        ("circle: 40 mm,", "circle: 40 mm, size: 3 mm,"),
        ("pieces: 1", "pieces: 0"),
        ("depth: 2.5 mm", "depth: 2.5 g"),
        ("share: 3 %", "share: 3"),
    ],
)
def test_what_the_reader_refuses_the_schema_refuses(old: str, new: str) -> None:
    text = starter_job_text("A board")
    assert old in text
    document = plain(text.replace(old, new, 1))
    assert not jsonschema.Draft202012Validator(SCHEMAS["job"]).is_valid(document)


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_docs_tell_every_key_and_its_default(name: str) -> None:
    told = (ROOT / "docs" / "job-file.md").read_text("utf-8")
    rows = {
        (cells[1].strip().strip("`"), cells[2].strip().strip("`"))
        for cells in (line.split("|") for line in told.splitlines() if line.startswith("| `"))
    }
    for group, key, known in keys(SCHEMAS[name]):
        default = known.get("default", "")
        if isinstance(default, list):
            default = f"[{', '.join(map(str, default))}]"
        found = {each for row, each in rows if row == key}
        assert found, f"{group}: {key} is not told"
        if default != "":
            assert str(default) in found, f"{group}: {key} has the default {default}"


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_docs_say_of_every_key_what_its_declaration_says(name: str) -> None:
    told = (ROOT / "docs" / "job-file.md").read_text("utf-8")
    rows = [line.split("|") for line in told.splitlines() if line.startswith("| `")]
    for group, key, known in keys(SCHEMAS[name]):
        words = re.sub(r", [\d.]+ min where left out$", "", known["description"].rstrip("."))
        mine = [cells for cells in rows if cells[1].strip() == f"`{key}`" and words in cells[-2]]
        assert mine, (group, key, words)
        default = known.get("default")
        if isinstance(default, bool):
            default = "yes" if default else "no"
        if isinstance(default, (str, int, float)):
            assert any(f"`{default}`" in cells[2] for cells in mine), (group, key, default)
        choices = [each for each in known.get("enum", ()) if isinstance(each, str)]
        for cells in mine:
            shown = re.fullmatch(r"`([^`]+)`", cells[2].strip())
            assert not choices or shown is None or shown[1] in choices, (group, key, shown)


def test_the_docs_tell_the_starter_shop() -> None:
    told = (ROOT / "docs" / "job-file.md").read_text("utf-8")
    shop = starter_shop()
    for row in (
        f"| `feed` | `{quantity_text(shop.machine.feed_mm_min, Quantity.FEED)}` |",
        f"| `fastest spindle` | `{quantity_text(shop.machine.spindle_max_rpm, Quantity.SPEED)}` |",
        f"| `night temperature` | `{quantity_text(shop.air.night_c, Quantity.TEMPERATURE)}` |",
        f"| `cup loss` | `{quantity_text(shop.cup_loss_g, Quantity.MASS)}` |",
    ):
        assert row in told


def test_the_job_in_the_docs_reads(tmp_path: Path) -> None:
    told = (ROOT / "docs" / "job-file.md").read_text("utf-8")
    text = "".join(re.findall(r"```yaml\n(.*?)```", told, re.DOTALL))
    (tmp_path / "job.yaml").write_text(text, "utf-8")
    assert read_job(tmp_path / "job.yaml").title == "Kingfisher coaster"


def test_every_finding_of_this_room_is_catalogued() -> None:
    page = (ROOT / "docs" / "findings.md").read_text("utf-8")
    heading = r"^# The job file and the shop file$(.*?)^# "
    (part,) = re.findall(heading, page, re.MULTILINE | re.DOTALL)
    told = set(re.findall(r"^## ([a-z-]+)$", part, re.MULTILINE))
    sources = [
        *(ROOT / "src" / "flushwork" / "job").rglob("*.py"),
        *(ROOT / "src" / "flushwork" / "core" / "units").glob("*.py"),
        *(ROOT / "src" / "flushwork" / "core" / "keys").glob("*.py"),
    ]
    used: set[str] = set()
    for path in sources:
        text = path.read_text("utf-8")
        used |= set(re.findall(r'(?:slip|refuse|UnitError)\(\s*"([a-z]+(?:-[a-z]+)+)"', text))
        used |= set(re.findall(r'"(yaml-[a-z]+(?:-[a-z]+)*)"', text))
    assert used
    assert used <= told, used - told
    assert told <= used, told - used

"""Words that were given up do not come back in anything a user can meet."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.main import get_command

from flushwork.cli.main import app
from flushwork.core.keys import renamed
from flushwork.job.schema import job_schema, shop_schema
from flushwork.usecases.jobs import new

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "flushwork"
GIVEN_UP = (
    "mountings?", "cut[ -]files?", "cutters?", "vees?", "timbers?", "coupons?", "witness",
    "cautions?", "flooded", "levell(?:ed|ing)", "sawn across", "turned over", "abrad(?:e|ed|ing)",
    "gates?", "from elsewhere", "height ledger", "proofs?", "learn from it",
    "sanding spread", "least web",
)  # fmt: skip
"""Old words, each for one thing that has a plain word now (`docs/words.md`)."""

OLD = re.compile(rf"(?<![\w-])(?:{'|'.join(GIVEN_UP)})(?![\w-])", re.IGNORECASE)
MAY = re.compile(r"-proof|waterproof|Caution\. Uncured", re.IGNORECASE)
PAGES = sorted(
    path
    for path in (ROOT / "README.md", *(ROOT / "docs").glob("*.md"), *(ROOT / "examples").rglob("*"))
    if path.suffix in {".md", ".yaml"} and path.name != "words.md"
)
FACES = sorted(
    path
    for path in SOURCE.rglob("*")
    if path.suffix in {".j2", ".typ", ".js", ".css", ".csv", ".toml"}
)
MODULES = sorted(path for path in SOURCE.rglob("*.py") if path.name != "renamed.py")


def strings(path: Path) -> Iterator[tuple[int, str]]:
    """Yield the texts of a module with their lines, docstrings left out."""
    tree = ast.parse(path.read_text("utf-8"))
    docs = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.lineno, node.value


def found(text: str) -> list[str]:
    return [match.group(0) for match in OLD.finditer(MAY.sub("", text))]


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_no_page_uses_a_word_that_was_given_up(path: Path) -> None:
    lines = path.read_text("utf-8").splitlines()
    assert [(at, each) for at, line in enumerate(lines, 1) for each in found(line)] == []


@pytest.mark.parametrize("path", FACES, ids=lambda path: path.relative_to(SOURCE).as_posix())
def test_no_template_or_script_does(path: Path) -> None:
    lines = path.read_text("utf-8").splitlines()
    assert [(at, each) for at, line in enumerate(lines, 1) for each in found(line)] == []


def test_no_text_of_the_program_does() -> None:
    told = [
        (path.relative_to(SOURCE).as_posix(), line, each)
        for path in MODULES
        for line, text in strings(path)
        for each in found(text)
    ]
    assert told == []


def test_no_key_of_the_files_does() -> None:
    for schema in (job_schema(), shop_schema()):
        assert found(str(schema)) == []


def test_no_command_does() -> None:
    commands = getattr(get_command(app), "commands", {})
    assert commands
    assert not set(commands) & set(renamed.COMMANDS)
    for name, command in commands.items():
        options = [option for each in command.params for option in each.opts]
        helps = [getattr(each, "help", "") or "" for each in command.params]
        assert found(" ".join((name, command.help or "", *options, *helps))) == [], name


def test_the_glossary_has_every_word_that_was_renamed() -> None:
    told = (ROOT / "docs" / "words.md").read_text("utf-8")
    rows = {**renamed.KEYS, **renamed.VALUES, **renamed.CODES}
    assert [
        old for old, now in rows.items() if not re.search(rf"`{old}`[^|]*\| `{now}`", told)
    ] == []


def test_no_line_for_an_editor_stands_in_files_people_read(tmp_path: Path) -> None:
    new(tmp_path / "job")
    files = [*(ROOT / "examples").rglob("*.yaml"), *(tmp_path / "job").rglob("*.yaml")]
    assert len(files) >= 8
    for file in files:
        assert "language-server" not in file.read_text("utf-8"), file

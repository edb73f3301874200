"""From the text of a file to a tree that knows the line of every key.

The text is composed to nodes, never constructed to objects: every scalar keeps the characters the
user typed (a house number ``007`` stays ``007``), and aliases are expanded under a bound.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, NoReturn

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, ReusedAnchorWarning, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from flushwork.core.findings import Finding, JobRefusedError, Severity, Source
from flushwork.core.keys.renamed import AMERICAN
from flushwork.core.keys.tree import Kind, Path_, Scalar, Tree

# ---- What a broken file most likely lacks, in plain words


_SLIPS: Final[tuple[tuple[str, str, str], ...]] = (
    (
        "mapping values are not allowed",
        "a colon stands where none is expected",
        "indent keys of one group alike, and put a value that holds `: ` in quotes",
    ),
    (
        "could not find expected ':'",
        "a key has no colon",
        "write `key: value` with a space after the colon",
    ),
    (
        "expected <block end>",
        "this line does not line up with the ones above",
        "indent the keys of one group by the same number of spaces",
    ),
    (
        "unexpected end of stream",
        "a quote is opened and never closed",
        "close it, or leave both quotes out",
    ),
    (
        "expected ',' or",
        "a bracket is opened and not closed, or a comma is missing",
        "close every [ with ] and every { with }, with commas between the items",
    ),
    (
        "cannot start any token",
        "a value begins with a sign that has another meaning here",
        "put the value in quotes",
    ),
    (
        "found another document",
        "a second document begins",
        "keep one job per file: remove the line `---`",
    ),
    ("undefined alias", "a `*` reference names nothing", "write the value out"),
    (
        "special characters are not allowed",
        "the file holds a sign that cannot be printed",
        "save it as plain text in UTF-8",
    ),
)


def _source(error: YAMLError, text: str, shown: str) -> Source:
    mark = (
        (error.problem_mark or error.context_mark) if isinstance(error, MarkedYAMLError) else None
    )
    if mark is not None:
        return Source(file=shown, line=mark.line + 1, column=mark.column + 1, key="")
    at = getattr(error, "position", 0)
    line = text[:at].count("\n") + 1 if isinstance(at, int) else 1
    return Source(file=shown, line=line, column=1, key="")


def broken(error: YAMLError, text: str, shown: str) -> Finding:
    """Return the finding for a text that is not YAML."""
    source = _source(error, text, shown)
    problem = getattr(error, "problem", None) or str(error)
    lines = text.splitlines()
    line = lines[source.line - 1] if source.line <= len(lines) else ""
    if "'\\t'" in problem or "\t" in line[: len(line) - len(line.lstrip())]:
        return Finding.must_fix(
            "yaml-tab",
            message="a tab stands where the file may only have spaces",
            remedy="indent with spaces; most editors can turn tabs into spaces",
            source=source,
        )
    code = "yaml-several-documents" if "another document" in problem else "yaml-broken"
    message, remedy = next(
        ((said, cure) for words, said, cure in _SLIPS if words in problem),
        (
            f"the file cannot be read here ({problem})",
            "compare this line and the one above with docs/job-file.md",
        ),
    )
    return Finding.must_fix(code, message=message, remedy=remedy, source=source)


# ---- From the text of a file to a tree that knows the line of every key


LONGEST_BYTES: Final = 256 * 1024
"""About 10,000 typed points; reading more would take many seconds."""

MOST_NODES: Final = 60_000
DEEPEST: Final = 24
MOST_BRACKETS: Final = 100
"""Brackets open at once, those in quotes counted in; the parser slows down on thousands."""

NAMED: Final = (("mixes",), ("layouts",), ("parts",))
"""Groups whose keys are names of the user's own."""
READ_ON: Final = "key-twice"
"""The one slip of this room that the rest can be read in spite of."""

_BRACKET: Final = re.compile(r"[\[\]{}]")
_KINDS: Final[dict[str, Kind]] = {
    "tag:yaml.org,2002:str": "text",
    "tag:yaml.org,2002:timestamp": "text",
    "tag:yaml.org,2002:merge": "text",
    "tag:yaml.org,2002:value": "text",
    "tag:yaml.org,2002:int": "number",
    "tag:yaml.org,2002:float": "number",
    "tag:yaml.org,2002:bool": "truth",
    "tag:yaml.org,2002:null": "nothing",
}


def refuse(code: str, message: str, remedy: str, source: Source) -> NoReturn:
    """Refuse the file with one finding."""
    raise JobRefusedError([Finding.must_fix(code, message=message, remedy=remedy, source=source)])


def read_text(path: Path, shown: str, asked: Source | None = None) -> str:
    """Return the text of a file; ``asked`` is the key that named it, where one did."""
    source = asked or Source(file=shown, line=1, column=1, key="")
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        refuse(
            "file-absent",
            f"there is no file {shown}",
            "check the spelling and the folder; `flushwork new` writes a first job file",
            source,
        )
    except IsADirectoryError:
        refuse(
            "file-is-a-folder",
            f"{shown} is a folder",
            "name the file in it, such as job.yaml",
            source,
        )
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        refuse(
            "file-unreadable",
            f"{shown} cannot be opened: {reason}",
            "check its name, and who may read it",
            source,
        )
    if len(raw) > LONGEST_BYTES:
        refuse(
            "file-too-long",
            f"{shown} is {len(raw) // 1024} kB long; at most {LONGEST_BYTES // 1024} kB are read",
            "keep long lists of points in a file of their own (`points file`) or in an SVG",
            source,
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        refuse(
            "file-not-text",
            f"{shown} is not UTF-8 text: line {line} holds a byte that is no letter",
            "save it as plain text in UTF-8",
            Source(file=shown, line=line, column=1, key=""),
        )
    return text


def read_tree(text: str, shown: str) -> Tree:
    """Turn the text of a file into a tree; raises ``JobRefusedError``."""
    tree, slips = tree_and_slips(text, shown)
    if slips:
        raise JobRefusedError(slips)
    return tree


def tree_and_slips(text: str, shown: str) -> tuple[Tree, tuple[Finding, ...]]:
    """Turn the text of a file into a tree, and the slips that it can be read in spite of.

    Raises ``JobRefusedError`` where there is no tree in it.
    """
    start = Source(file=shown, line=1, column=1, key="")
    _refuse_bracket_towers(text, shown)
    try:
        root = composed(text)
    except (MarkedYAMLError, YAMLError) as error:
        raise JobRefusedError([broken(error, text, shown)]) from None
    except RecursionError:
        refuse("yaml-too-deep", "brackets are nested too deeply", "close them sooner", start)
    if root is None:
        refuse(
            "file-empty", f"{shown} holds nothing", "`flushwork new` writes a first job file", start
        )
    if not isinstance(root, MappingNode):
        refuse(
            "not-keys-and-values",
            f"{shown} is not a list of keys and values",
            "begin with `flushwork: 2` and give each key a line, `key: value`",
            start,
        )
    reader = _Reader(shown)
    tree = Tree(shown, reader.value(root, (), 0), reader.marks)
    if any(slip.code != READ_ON for slip in reader.findings):
        raise JobRefusedError(reader.findings)
    return tree, tuple(reader.findings)


@lru_cache(maxsize=8)
def composed(text: str) -> Node | None:
    """Return the nodes of a YAML text, which several readers share and none changes.

    Raises ``YAMLError``.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ReusedAnchorWarning)
        root: Node | None = YAML(typ="rt", pure=True).compose(text)
    return root


def _refuse_bracket_towers(text: str, shown: str) -> None:
    depth = 0
    for match in _BRACKET.finditer(text):
        depth = depth + 1 if match[0] in "[{" else max(0, depth - 1)
        if depth > MOST_BRACKETS:
            line = text.count("\n", 0, match.start()) + 1
            place = Source(file=shown, line=line, column=1, key="")
            refuse("yaml-too-deep", "brackets are nested too deeply", "close them sooner", place)


class _Reader:
    """Walks the nodes once, keeping marks, slips and a count."""

    def __init__(self, shown: str) -> None:
        self.shown = shown
        self.marks: dict[Path_, tuple[int, int]] = {}
        self.findings: list[Finding] = []
        self.count = 0

    def _source(self, node: Node, key: str = "") -> Source:
        mark = node.start_mark
        return Source(file=self.shown, line=mark.line + 1, column=mark.column + 1, key=key)

    def _slip(self, code: str, message: str, remedy: str, node: Node, key: str = "") -> None:
        self.findings.append(
            Finding(code, Severity.MUST_FIX, message, remedy, source=self._source(node, key))
        )

    def value(self, node: Node, path: Path_, depth: int) -> Any:
        """Return a node as dict, list or scalar."""
        self.count += 1
        if depth > DEEPEST:
            refuse(
                "yaml-too-deep",
                "the file nests deeper than any job does, or a value contains itself",
                "write the value out where it is used",
                self._source(node),
            )
        if self.count > MOST_NODES:
            refuse(
                "yaml-too-many-values",
                f"the file unfolds to more than {MOST_NODES} values",
                "use fewer `*` references, and keep long lists in a file of their own",
                self._source(node),
            )
        if isinstance(node, MappingNode):
            return {
                key: self.value(item, (*path, key), depth + 1)
                for key, item in self._entries(node, path)
            }
        if isinstance(node, SequenceNode):
            for index, item in enumerate(node.value):
                self.marks[(*path, index)] = (item.start_mark.line + 1, item.start_mark.column + 1)
            return [
                self.value(item, (*path, index), depth + 1) for index, item in enumerate(node.value)
            ]
        return self._scalar(node)

    def _entries(self, node: MappingNode, path: Path_) -> Iterator[tuple[str, Node]]:
        lines: dict[str, int] = {}
        for key_node, item in node.value:
            if not isinstance(key_node, ScalarNode):
                self._slip(
                    "key-not-a-word", "a key is a list", "write the key as plain words", key_node
                )
                continue
            key, line = str(key_node.value), key_node.start_mark.line + 1
            if path not in NAMED:
                key = AMERICAN.get(key, key)
            if key in lines:
                self._slip(
                    "key-twice",
                    f"`{key}` stands twice, first in line {lines[key]}",
                    "keep one of the two",
                    key_node,
                    key,
                )
                continue
            lines[key] = line
            self.marks[(*path, key)] = (line, key_node.start_mark.column + 1)
            yield key, item

    def _scalar(self, node: Node) -> Scalar:
        kind = _KINDS.get(str(node.tag))
        if kind is None:
            self._slip(
                "yaml-tag",
                f"the mark {node.tag} before a value means nothing here",
                "leave out the word that begins with `!`",
                node,
            )
            kind = "text"
        return Scalar(text=str(node.value), kind=kind)

"""Changing one value in a job's text: its own letters go, every other letter stays.

The text is composed to nodes that know where they begin and end; nothing is written out anew, so
comments, order, quotes and layout are kept because they are never touched.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from flushwork.errors import JobRefusedError
from flushwork.job.located import read_tree

LONGEST: Final = 200
_PLAIN: Final = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 ./+-%°")


class EditError(ValueError):
    """The value cannot be put there; the message says why."""


def with_value(text: str, path: Sequence[str | int], value: str) -> str:
    """Return a text with the scalar at ``path`` (keys, and items from 0) replaced by ``value``.

    Raises EditError where no single value stands there, where it is shared by a reference, or
    where the value is none.
    """
    if not value.strip() or len(value) > LONGEST or not value.isprintable():
        raise EditError(f"a value has 1 to {LONGEST} letters on one line")
    try:
        read_tree(text, "job")
        node = YAML(typ="rt", pure=True).compose(text)
    except (YAMLError, JobRefusedError) as error:
        raise EditError("the text has to be readable first; its slips are marked") from error
    for part in path:
        node = _step(node, part)
    if not isinstance(node, ScalarNode):
        raise EditError("no single value stands there")
    begin, end = node.start_mark.index, node.end_mark.index
    if text[begin : begin + 1] in ("|", ">", "&"):
        raise EditError("that value is written in a way that only the text itself can change")
    before = text[:begin].rstrip()
    if before.endswith("*"):
        raise EditError("that value stands elsewhere and is only referred to here")
    return text[:begin] + _spelled(value.strip(), text[begin:end]) + text[end:]


def _step(node: Node | None, part: str | int) -> Node:
    if isinstance(node, MappingNode) and isinstance(part, str):
        for key, item in node.value:
            if isinstance(key, ScalarNode) and str(key.value) == part:
                found: Node = item
                return found
    if isinstance(node, SequenceNode) and isinstance(part, int) and 0 <= part < len(node.value):
        inner: Node = node.value[part]
        return inner
    raise EditError(f"the text has no {part}")


def _spelled(value: str, was: str) -> str:
    """Return a value in quotes where it was, or where it needs them."""
    quoted = was[:1] if was[:1] in ("'", '"') else ""
    if not quoted and set(value) <= _PLAIN and value[0] not in "-. %":
        return value
    if quoted == "'":
        return "'" + value.replace("'", "''") + "'"
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'

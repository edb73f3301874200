"""Items of a list in a text: added, taken out, given keys of their own; all else stays as it was.

Each change is read back: a text in which anything else would have changed is never returned.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final

from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from flushwork.core.keys.words import quoted
from flushwork.job.text.change import plain
from flushwork.job.text.edit import EditError, child, nodes_of, tree_of, value_end

_SIZED: Final = re.compile(r"\d+(?:\.\d+)? [A-Za-z][A-Za-z0-9 .-]*[A-Za-z0-9]")
ONLY_TEXT: Final = "that list is written in a way that only the text itself can change"


def item_names(text: str, key: str) -> tuple[str, ...] | None:
    """Return what the items of a list at the top of a text go by; None where it is not there.

    A plain item is its name; one with keys goes by its ``name``, else by what it is ``like``.
    """
    held = plain(tree_of(text)).get(key)
    if held is None:
        return None
    return tuple(_name(each) for each in (held if isinstance(held, list) else [held]))


def _name(item: Any) -> str:
    if isinstance(item, dict):
        return str(item.get("name", item.get("like", "")))
    return str(item)


def bare(name: str) -> str:
    """Return a name as an item, without quotes where it needs none: ``3.175 mm flat``."""
    return name if _SIZED.fullmatch(name) else quoted(name)


def named_group(name: str, **more: str) -> tuple[str, dict[str, str]]:
    """Return an item with keys as it is written, and what it reads as."""
    keys = {"name": name, **more}
    return "{" + ", ".join(f"{key}: {bare(each)}" for key, each in keys.items()) + "}", keys


def with_list(text: str, key: str, names: Sequence[str], *, groups: bool = False) -> str:
    """Return a text with a list at its end, under a key that is not there yet.

    Its items are plain names, or ``groups`` that hold no other key.
    """
    root = nodes_of(text)
    if not isinstance(root, MappingNode) or root.flow_style:
        raise EditError(ONLY_TEXT)
    items: list[tuple[str, Any]]
    items = [named_group(name) if groups else (bare(name), name) for name in names]
    lines = [f"{quoted(key)}:", *(f"  - {item}" for item, _ in items)]
    wanted = [told for _, told in items]
    return _checked(text, f"{text.rstrip()}\n" + "\n".join(lines) + "\n", key, wanted)


def with_item(text: str, key: str, item: str, told: Any) -> str:
    """Return a text with an item at the end of a list; ``told`` is what ``item`` reads as."""
    node, held = _list(text, key)
    wanted = [*held, told]
    if not isinstance(node, SequenceNode):
        begin, end = node.start_mark.index, node.end_mark.index
        return _checked(text, f"{text[:begin]}[{text[begin:end]}, {item}]{text[end:]}", key, wanted)
    if node.flow_style:
        end = node.value[-1].end_mark.index if node.value else node.end_mark.index - 1
        comma = ", " if node.value else ""
        return _checked(text, f"{text[:end]}{comma}{item}{text[end:]}", key, wanted)
    end = text.find("\n", value_end(text, node.value[-1]))
    end = len(text) if end < 0 else end
    line = f"\n{' ' * node.start_mark.column}- {item}"
    return _checked(text, text[:end] + line + text[end:], key, wanted)


def with_whole_list(text: str, key: str, names: Sequence[str]) -> str:
    """Return a text with a list of plain values, each on a line, as another on one line."""
    node, _ = _list(text, key)
    begin, end = node.start_mark.index, value_end(text, node)
    if not isinstance(node, SequenceNode) or node.flow_style or "#" in text[begin:end]:
        raise EditError(ONLY_TEXT)
    told = f"[{', '.join(map(bare, names))}]"
    return _checked(text, text[:begin] + told + text[end:], key, list(names))


def without_item(text: str, key: str, index: int) -> str:
    """Return a text without an item of a list; the last one stays."""
    node, held = _list(text, key)
    if not isinstance(node, SequenceNode) or len(held) < 2:
        raise EditError("one of them has to stay")
    wanted = [each for at, each in enumerate(held) if at != index]
    items = node.value
    if node.flow_style:
        if index + 1 < len(items):
            begin, end = items[index].start_mark.index, items[index + 1].start_mark.index
        else:
            begin, end = items[index - 1].end_mark.index, items[index].end_mark.index
        return _checked(text, text[:begin] + text[end:], key, wanted)
    begin = text.rfind("\n", 0, items[index].start_mark.index) + 1
    end = text.find("\n", value_end(text, items[index]))
    end = len(text) if end < 0 else end + 1
    return _checked(text, text[:begin] + text[end:], key, wanted)


def with_keys_of_its_own(text: str, key: str, index: int) -> str:
    """Return a text in which a plain item of a list is a group with that name; one with keys is."""
    node, held = _list(text, key)
    item = node.value[index] if isinstance(node, SequenceNode) else node
    if isinstance(item, MappingNode):
        return text
    if not isinstance(item, ScalarNode):
        raise EditError(ONLY_TEXT)
    begin, end = item.start_mark.index, item.end_mark.index
    told = named_group(str(item.value))[0]
    if not isinstance(node, SequenceNode):
        told = f"[{told}]"
    wanted = [
        {"name": each} if at == index and not isinstance(each, dict) else each
        for at, each in enumerate(held)
    ]
    return _checked(text, text[:begin] + told + text[end:], key, wanted)


def _list(text: str, key: str) -> tuple[Node, list[Any]]:
    root = nodes_of(text)
    node = child(root, key) if isinstance(root, MappingNode) else None
    if node is None or isinstance(node, MappingNode):
        raise EditError(f"there is no list called {key}")
    begin = node.start_mark.index
    if text[begin : begin + 1] in ("&", "*", "|", ">") or text[:begin].rstrip().endswith("*"):
        raise EditError(ONLY_TEXT)
    held = plain(tree_of(text))[key]
    return node, held if isinstance(held, list) else [held]


def _checked(text: str, after: str, key: str, items: list[Any]) -> str:
    wanted = plain(tree_of(text))
    wanted[key] = items
    if plain(tree_of(after)) != wanted:
        raise EditError(ONLY_TEXT)
    return after

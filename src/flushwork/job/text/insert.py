"""Putting a whole item or group into a job's text, or taking an item out; the rest stays.

As in ``edit``, nothing is written out anew: comments, order, quotes and layout are never touched.
What is put in is written as a person would, ``- {name: star, ring: {outside: 84 mm}, fill: teal}``,
on as many lines as it needs.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from flushwork.job.text.change import plain
from flushwork.job.text.edit import (
    EditError,
    added,
    child,
    line_end,
    nodes_of,
    path_of,
    spelled,
    step_into,
    tree_of,
    value_end,
)

Value = str | Sequence["Value"] | Mapping[str, "Value"]
"""What can be put in: words as they are typed, lists of them, and groups of keys."""
Group = Mapping[str, Value]

_QUOTED: Final = re.compile(r"\"(?:[^\"\\]|\\.)*\"|'[^']*'")
_COMMENT: Final = re.compile(r"(?:^|\s)#")
WIDE: Final = 100
"""A line of a job file is broken before it gets longer."""


def with_item(text: str, steps: Sequence[str], item: Group) -> str:
    """Return a text with an item at the end of a list; what it lies in is added where it is not.

    Raises EditError where something else stands there, or would be changed by it.
    """
    wanted = plain(tree_of(text))
    place = _opened(wanted, steps[:-1])
    place[steps[-1]] = [*_of_kind(place.get(steps[-1]), list), _worded(item)]
    return _proved(_put(text, steps, item, listed=True), wanted)


def with_named(text: str, steps: Sequence[str], group: Group) -> str:
    """Return a text with a named group among its like, as ``mixes`` and ``layouts`` have them.

    ``steps`` lead to it, its own name the last.  Raises EditError as ``with_item`` does, and where
    the name stands there already.
    """
    wanted = plain(tree_of(text))
    place = _opened(wanted, steps[:-1])
    if steps[-1] in place:
        raise EditError(f"{steps[-1]} stands there already")
    place[steps[-1]] = _worded(group)
    return _proved(_put(text, steps, group, listed=False), wanted)


def with_told(text: str, steps: Sequence[str], value: Value) -> str:
    """Return a text with whatever a key holds written anew: words, a list, a group of keys.

    An item of a list goes by its name, or by its number from 1.  Groups on the way to the key that
    are not there yet are added with it.  Raises EditError where a comment stands in what is there,
    or something else would be changed.
    """
    path = path_of(text, steps)
    wanted = plain(tree_of(text))
    place: Any = wanted
    for part in path[:-1]:
        if isinstance(part, str):
            place[part] = _of_kind(place.get(part), list if place.get(part) else dict, dict)
        place = place[part]
    place[path[-1]] = _worded(value)
    node: Node = nodes_of(text)
    for depth, part in enumerate(path):
        if isinstance(part, str):
            inner = child(node, part) if isinstance(node, MappingNode) else None
            if inner is None or _empty(inner) or depth + 1 == len(path):
                return _proved(_told_in(text, node, path[depth:], value), wanted)
        node = step_into(node, part)
    raise EditError("no key is named")


def _told_in(text: str, group: Node, path: Sequence[str | int], value: Value) -> str:
    """Return a text with a value put where a path leads from a group, its last key not there."""
    keys = [str(each) for each in path]
    if not isinstance(group, MappingNode):
        raise EditError("no group of keys stands there")
    inner, rest = child(group, keys[0]), value
    for key in reversed(keys[1:]):
        rest = {key: rest}
    column = 0 if group.flow_style else group.start_mark.column
    if inner is None and group.flow_style:
        return added(text, group, f"{spelled(keys[0], '')}: {flow(rest)}")
    if inner is None:
        above = [
            f"{' ' * (column + 2 * at)}{spelled(key, '')}:" for at, key in enumerate(keys[:-1])
        ]
        last = _on_lines(keys[-1], value, column + 2 * len(above))
        return added(text, group, "\n".join([*above, last]))
    if _empty(inner):
        begin, after = _without(text, group, inner)
        return f"{text[:begin].rstrip(' ')} {flow(rest)}{after}"
    begin, end = _colon(text, group, inner), value_end(text, inner)
    if _COMMENT.search(_QUOTED.sub("", text[begin:end])):
        raise EditError("a comment stands in it; change it in the text itself")
    return f"{text[:begin]} {_on_lines(keys[0], value, column).partition(': ')[2]}{text[end:]}"


def _on_lines(key: str, value: Value, column: int) -> str:
    """Return a key with its value as it begins at a column, a long list on more lines."""
    before = f"{' ' * column}{spelled(key, '')}: "
    whole = before + flow(value)
    if len(whole) <= WIDE or isinstance(value, str | Mapping):
        return whole
    lines, line = [], f"{before}["
    for at, each in enumerate(value, start=1):
        told = flow(each) + ("]" if at == len(value) else ", ")
        if at > 1 and len(line) + len(told.rstrip()) > WIDE:
            lines.append(line.rstrip())
            line = " " * (column + 3)
        line += told
    return "\n".join([*lines, line])


def without_item(text: str, path: Sequence[str | int]) -> str:
    """Return a text without one item of a list; of its only one the list stays, empty.

    Raises EditError where a comment stands in it, or it is written in another way.
    """
    group: Node = nodes_of(text)
    for part in path[:-2]:
        group = step_into(group, part)
    node = step_into(group, path[-2])
    item, at = step_into(node, path[-1]), path[-1]
    if not isinstance(node, SequenceNode) or not isinstance(at, int):
        raise EditError("no list stands there")
    wanted = plain(tree_of(text))
    place = wanted
    for part in path[:-1]:
        place = place[part]
    del place[at]
    if node.flow_style:
        begin, end = item.start_mark.index, item.end_mark.index
        if at + 1 < len(node.value):
            end = node.value[at + 1].start_mark.index
        elif at:
            begin = node.value[at - 1].end_mark.index
        rest = ""
    else:
        begin, end = text.rfind("\n", 0, item.start_mark.index) + 1, line_end(text, item) + 1
        rest = "\n"
    if _COMMENT.search(_QUOTED.sub("", text[begin:end])):
        raise EditError("a comment stands in it; take it out in the text itself")
    if len(node.value) == 1 and not node.flow_style and isinstance(group, MappingNode):
        colon = _colon(text, group, node)
        return _proved(f"{text[:colon]} []{text[colon:begin].rstrip()}{rest}{text[end:]}", wanted)
    return _proved(text[:begin] + text[end:], wanted)


def _put(text: str, steps: Sequence[str], value: Group, *, listed: bool) -> str:
    """Return a text with a value put where ``steps`` lead: an item there, or that group itself."""
    node: Node = nodes_of(text)
    column = 0
    for depth, step in enumerate(steps):
        if not isinstance(node, MappingNode):
            raise EditError("no group of keys stands there")
        inner = child(node, step)
        if inner is None:
            rest = steps[depth:]
            if node.flow_style:
                return added(text, node, _in_braces(rest, value, listed=listed)[1:-1])
            return added(text, node, _lines(rest, value, node.start_mark.column, listed=listed))
        if _empty(inner):
            rest = steps[depth + 1 :]
            begin, after = _without(text, node, inner)
            if node.flow_style:
                gap = "" if text[begin - 1 : begin] == " " else " "
                return f"{text[:begin]}{gap}{_in_braces(rest, value, listed=listed)}{after}"
            column = node.start_mark.column + 2
            told = _lines(rest, value, column, listed=listed)
            return _beside(text[:begin], after, told)
        node = inner
    if not isinstance(node, SequenceNode):
        raise EditError("no list stands there")
    told = (
        flow(value) if node.flow_style else _lines((), value, node.start_mark.column, listed=True)
    )
    return added(text, node, told)


def _without(text: str, group: MappingNode, empty: Node) -> tuple[int, str]:
    """Return where the empty value of a key begins, and what follows it."""
    begin, end = empty.start_mark.index, empty.end_mark.index
    if begin == end:
        # nothing at all: it is taken to stand where the next key begins
        begin = end = _colon(text, group, empty)
    return begin, text[end:]


def _colon(text: str, group: MappingNode, value: Node) -> int:
    """Return the place behind the colon of a value's key."""
    key = next(key for key, each in group.value if each is value)
    return text.index(":", key.end_mark.index) + 1


def _beside(before: str, after: str, told: str) -> str:
    """Put lines below a key whose value was empty; a comment behind it stays behind it."""
    comment, newline, rest = after.partition("\n")
    comment = f"   {comment.strip()}" if comment.strip() else ""
    return f"{before.rstrip(' ')}{comment}\n{told}{newline}{rest}"


def _lines(keys: Sequence[str], value: Group, column: int, *, listed: bool) -> str:
    """Return a value as lines that begin at a column, below the keys that lead to it."""
    lines = [f"{' ' * (column + 2 * at)}{spelled(key, '')}:" for at, key in enumerate(keys)]
    if listed:
        column += 2 * len(keys)
        return "\n".join([*lines, _laid(value, f"{' ' * column}- ", column + 3)])
    column += 2 * (len(keys) - 1)
    return "\n".join([*lines[:-1], _laid(value, f"{lines[-1]} ", column + 2)])


def _in_braces(keys: Sequence[str], value: Group, *, listed: bool) -> str:
    told = f"[{flow(value)}]" if listed else flow(value)
    for key in reversed(keys):
        told = f"{{{spelled(key, '')}: {told}}}"
    return told


def flow(value: Value) -> str:
    """Return a value on one line, as it is written between braces and brackets."""
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False) if "\n" in value else spelled(value, "")
    if isinstance(value, Mapping):
        told = (f"{spelled(key, '')}: {flow(each)}" for key, each in value.items())
        return f"{{{', '.join(told)}}}"
    return f"[{', '.join(flow(each) for each in value)}]"


def _laid(value: Group, before: str, indent: int) -> str:
    """Return a group behind ``before``, its keys on more lines where one would be too long."""
    whole = before + flow(value)
    if len(whole) <= WIDE:
        return whole
    lines, line = [], f"{before}{{"
    for at, (key, each) in enumerate(value.items(), start=1):
        told = f"{spelled(key, '')}: {flow(each)}{'}' if at == len(value) else ', '}"
        if at > 1 and len(line) + len(told.rstrip()) > WIDE:
            lines.append(line.rstrip())
            line = " " * indent
        line += told
    return "\n".join([*lines, line])


def _empty(node: Node) -> bool:
    """Return whether a key has no value, or brackets with nothing between them."""
    nothing = node.start_mark.index == node.end_mark.index
    return bool(nothing if isinstance(node, ScalarNode) else not node.value)


def _opened(tree: Any, steps: Sequence[str]) -> dict[str, Any]:
    """Return the group that steps lead to, made where there is none."""
    for step in steps:
        tree[step] = _of_kind(tree.get(step), dict)
        tree = tree[step]
    return tree  # type: ignore[no-any-return]


def _of_kind(value: Any, kind: type, bare: type | None = None) -> Any:
    if value in (None, "", {}, []):
        return (bare or kind)()
    if not isinstance(value, kind if bare is None else (kind, bare)):
        raise EditError("something else stands there")
    return value


def _worded(value: Value) -> Any:
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, Mapping):
        return {key: _worded(each) for key, each in value.items()}
    return [_worded(each) for each in value]


def _proved(text: str, wanted: Any) -> str:
    """Return a text that holds what is wanted and nothing else.  Raises EditError else."""
    if plain(tree_of(text)) != wanted:
        raise EditError("that part is written in a way that only the text itself can change")
    return text

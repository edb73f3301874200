"""Setting a key in a job's text, or taking it out: every other letter stays.

The text is composed to nodes that know where they begin and end; nothing is written out anew, so
comments, order, quotes and layout are kept because they are never touched.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from copy import deepcopy
from typing import Any, Final

from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from flushwork.core.findings import JobRefusedError
from flushwork.core.keys.renamed import AMERICAN
from flushwork.job.text.located import composed, read_tree

LONGEST: Final = 200
_PLAIN: Final = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 ./+-%°")
_NESTING: Final = frozenset("[]{}'\"")


class EditError(ValueError):
    """The value cannot be put there; the message says why."""


def with_value(text: str, path: Sequence[str | int], value: str) -> str:
    """Return a text with the scalar at ``path`` (keys, and items from 0) replaced by ``value``.

    Raises EditError where no single value stands there, where it is shared by a reference, or
    where the value is none.
    """
    _check(value)
    node = nodes_of(text)
    for part in path:
        node = step_into(node, part)
    if not isinstance(node, ScalarNode):
        raise EditError("no single value stands there")
    begin, end = _span(text, node)
    return text[:begin] + spelled(value.strip(), text[begin:end]) + text[end:]


def with_path(text: str, path: Sequence[str | int], value: str) -> str:
    """Return a text with the scalar at ``path`` replaced, or added where its key is not there yet.

    A new key of two values, as ``at``, is written with nothing for the other; a group of the
    job itself, as ``trim line``, is added with its key.  Raises EditError as
    ``with_value`` does.
    """
    _check(value)
    node: Node | None = nodes_of(text)
    for depth, part in enumerate(path):
        if isinstance(node, MappingNode) and child(node, str(part)) is None:
            told, rest = spelled(value.strip(), ""), path[depth:]
            if len(rest) == 2 and rest[1] in (0, 1):
                told = f"[{told}, 0 mm]" if rest[1] == 0 else f"[0 mm, {told}]"
                rest = rest[:1]
            if len(rest) > 1 and (depth or not all(isinstance(each, str) for each in rest)):
                raise EditError(f"the text has no {part}")
            return _added(text, node, [str(each) for each in rest], told)
        node = step_into(node, part)
    return with_value(text, path, value)


def path_of(text: str, steps: Sequence[str]) -> tuple[str | int, ...]:
    """Return the path of a key told in steps; an item of a list goes by its name, or its number.

    Numbers count from 1.  Keys that are not there yet end the path as they are.  Raises EditError
    where a step leads into a plain value or to an item that is not there.
    """
    node: Node | None = nodes_of(text)
    path: list[str | int] = []
    for step in steps:
        if isinstance(node, SequenceNode):
            index = _item(node, step)
            path.append(index)
            node = node.value[index]
        elif isinstance(node, MappingNode):
            path.append(step)
            node = child(node, step)
        elif node is None or (isinstance(node, ScalarNode) and not node.value):
            path.append(step)
        else:
            raise EditError("it leads into a plain value, not to a key")
    return tuple(path)


def with_key(text: str, steps: Sequence[str], value: str) -> str:
    """Return a text with a key set: its value replaced, or the key added after its like.

    A key is told in ``steps`` as for ``path_of``; groups that are not there yet are added with it.
    A value such as ``[left, right]`` is a list.  Raises EditError as ``with_value`` does, and where
    a list stands in the text in a way that the new one would have to be laid out anew.
    """
    _check(value)
    path, items = path_of(text, steps), items_of(value)
    node: Node | None = nodes_of(text)
    for depth, part in enumerate(path):
        if isinstance(node, MappingNode) and child(node, str(part)) is None:
            told = spelled(value.strip(), "") if items is None else _listed(items)
            return _added(text, node, [str(each) for each in path[depth:]], told)
        node = step_into(node, part)
    if items is None:
        return with_value(text, path, value)
    if isinstance(node, SequenceNode) and len(node.value) == len(items):
        for place, item in enumerate(items):
            text = with_value(text, (*path, place), item)
        return text
    begin, end = _span(text, node)
    return text[:begin] + _listed(items) + text[end:]


def items_of(value: str) -> tuple[str, ...] | None:
    """Return the items of a short list of plain values as it is written; None where it is none."""
    told = value.strip()
    if not (told.startswith("[") and told.endswith("]")):
        return None
    items = tuple(item.strip() for item in told[1:-1].split(","))
    if not all(items) or any(set(item) & _NESTING for item in items):
        raise EditError("only the text itself can take a list of lists")
    return items


def _listed(items: Sequence[str]) -> str:
    return f"[{', '.join(spelled(item, '') for item in items)}]"


def _span(text: str, node: Node | None) -> tuple[int, int]:
    """Return where a value begins and ends that may be written anew as a whole."""
    flat = isinstance(node, SequenceNode) and node.flow_style
    if node is None or not (flat or isinstance(node, ScalarNode)):
        raise EditError("no single value stands there")
    begin, end = node.start_mark.index, node.end_mark.index
    if text[begin : begin + 1] in ("|", ">", "&"):
        raise EditError("that value is written in a way that only the text itself can change")
    if flat and (text[begin] != "[" or "#" in text[begin:end] or "{" in text[begin:end]):
        raise EditError("that list is written in a way that only the text itself can change")
    if text[:begin].rstrip().endswith("*"):
        raise EditError("that value stands elsewhere and is only referred to here")
    return begin, end


def _added(text: str, node: MappingNode, keys: list[str], told: str) -> str:
    """Return a text with a key, and what it lies in, added at the end of a mapping."""
    if node.flow_style:
        for key in reversed(keys[1:]):
            told = f"{{{key}: {told}}}"
        return added(text, node, f"{keys[0]}: {told}")
    if not node.value:
        raise EditError("there is nothing beside which that key could stand")
    indent = " " * node.start_mark.column
    lines = [f"{indent}{'  ' * step}{key}:" for step, key in enumerate(keys)]
    lines[-1] += f" {told}"
    return added(text, node, "\n".join(lines))


def added(text: str, node: MappingNode | SequenceNode, told: str) -> str:
    """Return a text with lines, or with words between braces, added at the end of a group."""
    if node.flow_style:
        # right behind the last value: commas and comments may follow it before the brace
        end = _last(node).end_mark.index if node.value else node.end_mark.index - 1
        comma = ", " if node.value else ""
        return f"{text[:end].rstrip()}{comma}{told}{text[end:]}"
    end = line_end(text, node)
    return f"{text[:end]}\n{told}{text[end:]}"


def line_end(text: str, node: Node) -> int:
    """Return the end of the line of a block's last value.

    A comment further down speaks of what comes next.
    """
    last = _last(node) if isinstance(node, MappingNode | SequenceNode) else node
    end = len(text[: last.end_mark.index].rstrip())
    found = text.find("\n", end)
    return len(text) if found < 0 else found


def _last(node: MappingNode | SequenceNode) -> Node:
    """Return the last value of a group that has an end of its own.

    A block ends where another begins, so it is the last value within it; braces and brackets end
    where they are shut.
    """
    last: Node = node
    while isinstance(last, MappingNode | SequenceNode) and last.value:
        if last.flow_style and last is not node:
            break
        last = last.value[-1][1] if isinstance(last, MappingNode) else last.value[-1]
        if node.flow_style:
            break
    if not node.start_mark.index < last.end_mark.index <= node.end_mark.index:
        raise EditError("what stands last there is only referred to")
    return last


def _check(value: str) -> None:
    if not value.strip() or len(value) > LONGEST or not value.isprintable():
        raise EditError(f"a value has 1 to {LONGEST} letters on one line")


def tree_of(text: str) -> Any:
    """Return what a text holds as dicts, lists and scalars.  Raises EditError for no such text."""
    try:
        return read_tree(text, "job").root
    except JobRefusedError as error:
        raise EditError("the text has to be readable first; its slips are marked") from error


def nodes_of(text: str) -> Node:
    """Return the nodes of a text.  Raises EditError where it cannot be read."""
    tree_of(text)
    node = composed(text)
    if node is None:
        raise EditError("there is nothing in it")
    return node


def child(node: MappingNode, name: str) -> Node | None:
    """Return the value of a key, in whichever spelling it stands."""
    held = {str(key.value): item for key, item in node.value if isinstance(key, ScalarNode)}
    spelt = (name, *(each for each, british in AMERICAN.items() if british == name))
    return next((held[each] for each in spelt if each in held), None)


def _item(node: SequenceNode, step: str) -> int:
    for index, item in enumerate(node.value):
        name = child(item, "name") if isinstance(item, MappingNode) else None
        if isinstance(name, ScalarNode) and str(name.value) == step:
            return index
    if step.isdigit() and 1 <= int(step) <= len(node.value):
        return int(step) - 1
    names = (child(item, "name") for item in node.value if isinstance(item, MappingNode))
    told = ", ".join(str(name.value) for name in names if isinstance(name, ScalarNode))
    raise EditError(f"there is no item called {step}; there are {told or len(node.value)}")


def step_into(node: Node | None, part: str | int) -> Node:
    """Return what a key or an item holds.  Raises EditError where there is none."""
    if isinstance(node, MappingNode) and isinstance(part, str):
        found = child(node, part)
        if found is not None:
            return found
    if isinstance(node, SequenceNode) and isinstance(part, int) and 0 <= part < len(node.value):
        inner: Node = node.value[part]
        return inner
    raise EditError(f"the text has no {part}")


def spelled(value: str, was: str) -> str:
    """Return a value in quotes where it was, or where it needs them."""
    quoted = was[:1] if was[:1] in ("'", '"') else ""
    below = value[0] == "-" and value[1:2].isdigit()
    nothing = value.lower() == "null"
    if not quoted and not nothing and set(value) <= _PLAIN and (below or value[0] not in "-. %"):
        return value
    if quoted == "'":
        return "'" + value.replace("'", "''") + "'"
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'


# ---- Taking a key out of a job's text, so that its default holds; every other letter stays


NOWHERE: Final = "0 mm"
_COMMA: Final = re.compile(r"[ \t]*,[ \t]*")
_TAIL: Final = re.compile(r"[ \t]*(#[^\n]*)?")


def remove_key(text: str, path: Sequence[str | int]) -> str:
    """Return a text without the key at ``path``; comments stay where they stood.

    Of a list of one the whole key goes.  Of two lengths, as ``at``, one becomes 0 mm, and the key
    goes with the second.  Raises EditError where nothing can be taken out there.
    """
    if not path:
        raise EditError("there is nothing to take out")
    chain = [nodes_of(text)]
    for part in path:
        chain.append(step_into(chain[-1], part))
    last = path[-1]
    items = chain[-2]
    if isinstance(last, int) and isinstance(items, SequenceNode):
        others = [each for place, each in enumerate(items.value) if place != last]
        if any(not isinstance(each, ScalarNode) or each.value != NOWHERE for each in others):
            if len(others) != 1:
                raise EditError("only the text itself can take one out of several")
            if getattr(chain[-1], "value", "") == NOWHERE:
                raise EditError("that is what holds without it")
            return with_value(text, path, NOWHERE)
        path, chain = path[:-1], chain[:-1]
    group, value = chain[-2], chain[-1]
    if not isinstance(group, MappingNode) or len(group.value) < 2:
        raise EditError("it is the last of its group, which only the text itself can take out")
    changed = _cut(text, group, value)
    wanted = deepcopy(tree_of(text))
    within = wanted
    for part in path[:-1]:
        within = within[part]
    del within[path[-1]]
    if tree_of(changed) != wanted:
        raise EditError("that value is written in a way that only the text itself can change")
    return changed


def _cut(text: str, group: MappingNode, value: Node) -> str:
    place = next(at for at, (_, each) in enumerate(group.value) if each is value)
    key = group.value[place][0]
    begin, end = key.start_mark.index, value_end(text, value)
    if not isinstance(value, ScalarNode) and "#" in text[begin:end]:
        raise EditError("a comment stands in it; take it out in the text itself")
    after = group.value[place + 1][0].start_mark.index if place + 1 < len(group.value) else None
    if group.flow_style:
        return _cut_between(text, group, place, (begin, end), after)
    tail = _TAIL.match(text, end)
    comment = tail.group(1) if tail else None
    if comment:
        return text[:begin] + text[tail.start(1) if tail else end :]
    line = text.rfind("\n", 0, begin) + 1
    line_end = text.find("\n", end)
    if not text[line:begin].strip():
        return text[:line] + ("" if line_end < 0 else text[line_end + 1 :])
    # the first of an item: what follows moves up behind its dash
    if after is None or "#" in text[end:after]:
        raise EditError("a comment stands in the way; take it out in the text itself")
    return text[:begin] + text[after:]


def _cut_between(
    text: str, group: MappingNode, place: int, span: tuple[int, int], after: int | None
) -> str:
    """Return a text without one key of a mapping between braces; comments behind it stay."""
    begin, end = span
    if after is None:
        before = value_end(text, group.value[place - 1][1])
        # a comma may stand before the brace
        return text[: begin if "#" in text[before:begin] else before] + text[end:]
    if "#" not in text[end:after]:
        return text[:begin] + text[after:]
    comma = _COMMA.match(text, end)
    if comma is None:
        raise EditError("a comment stands in the way; take it out in the text itself")
    return text[:begin] + text[comma.end() :]


def value_end(text: str, value: Node) -> int:
    """Return where a value's last letter ends; a block ends where the next one begins."""
    while isinstance(value, MappingNode | SequenceNode) and value.value and not value.flow_style:
        value = value.value[-1][1] if isinstance(value, MappingNode) else value.value[-1]
    end: int = value.end_mark.index
    return len(text[:end].rstrip()) if not isinstance(value, ScalarNode) else end

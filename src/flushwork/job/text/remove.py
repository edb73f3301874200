"""Taking a key out of a job's text, so that its default holds; every other letter stays."""

from __future__ import annotations

import re
from collections.abc import Sequence
from copy import deepcopy
from typing import Final

from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from flushwork.job.text.edit import EditError, nodes_of, step_into, tree_of, with_value

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
    begin, end = key.start_mark.index, _end(text, value)
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
        before = _end(text, group.value[place - 1][1])
        # a comma may stand before the brace
        return text[: begin if "#" in text[before:begin] else before] + text[end:]
    if "#" not in text[end:after]:
        return text[:begin] + text[after:]
    comma = _COMMA.match(text, end)
    if comma is None:
        raise EditError("a comment stands in the way; take it out in the text itself")
    return text[:begin] + text[comma.end() :]


def _end(text: str, value: Node) -> int:
    """Return where a value's last letter ends; a block ends where the next one begins."""
    while isinstance(value, MappingNode | SequenceNode) and value.value and not value.flow_style:
        value = value.value[-1][1] if isinstance(value, MappingNode) else value.value[-1]
    end: int = value.end_mark.index
    return len(text[:end].rstrip()) if not isinstance(value, ScalarNode) else end

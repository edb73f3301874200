"""What the pages are made of: own scripts, styles and the packaged fonts, by name."""

from __future__ import annotations

import re
from functools import cache
from hashlib import blake2b
from importlib.resources import files
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING, Final
from urllib.parse import quote

if TYPE_CHECKING:
    from jinja2 import Environment


KINDS: Final = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".ttf": "font/ttf",
    ".svg": "image/svg+xml",
}
_IMPORTED: Final = re.compile(r"from '/static/([\w.]+)'")


@cache
def served() -> dict[str, tuple[bytes, str, str]]:
    """Return everything that is served as it is: name to bytes, media type and entity tag."""
    # imported late, as below: the server stands before its first page is made
    import font_lato  # noqa: PLC0415
    import font_source_serif_pro  # noqa: PLC0415

    found = {
        item.name: _tagged(item.read_bytes(), KINDS[Path(item.name).suffix])
        for item in (files("flushwork.bench") / "static").iterdir()
        if Path(item.name).suffix in KINDS
    }
    serif = font_source_serif_pro.font_files_ttf
    for name, path in (
        ("lato.ttf", font_lato.font_files["Lato"]),
        ("lato-bold.ttf", font_lato.font_files["LatoBold"]),
        ("serif.ttf", serif["SourceSerifPro"]),
        ("serif-semibold.ttf", serif["SourceSerifProSemibold"]),
    ):
        found[name] = _tagged(Path(path).read_bytes(), KINDS[".ttf"])
    return found


def _tagged(data: bytes, kind: str) -> tuple[bytes, str, str]:
    return data, kind, f'"{blake2b(data, digest_size=9).hexdigest()}"'


@cache
def modules(name: str) -> tuple[str, ...]:
    """Return a script and all modules it draws in, so that a page can ask for them at once."""
    found = [name]
    for each in found:
        text = served()[each][0].decode()
        found += [other for other in _IMPORTED.findall(text) if other not in found]
    return tuple(found)


@cache
def templates() -> Environment:
    """Return the page templates; every word is escaped."""
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415
    from markupsafe import Markup, escape  # noqa: PLC0415

    def keyed(text: str) -> Markup:
        """Return words in which what stands between back ticks is set as a key of the job file."""
        parts = str(text).split("`")
        if len(parts) % 2 == 0:
            return escape(text)
        code = Markup("<code>%s</code>")
        return Markup("").join(
            code % part if at % 2 else escape(part) for at, part in enumerate(parts)
        )

    made = Environment(
        loader=PackageLoader("flushwork.bench"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["keyed"] = keyed
    made.filters["runs"] = lambda items, name: [
        list(run) for _, run in groupby(items, attrgetter(name))
    ]
    made.filters["address"] = lambda key: "/".join(quote(part, safe="") for part in key.split("/"))
    return made

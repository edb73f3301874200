"""What a broken file most likely lacks, in plain words."""

from __future__ import annotations

from typing import Final

from ruamel.yaml.error import MarkedYAMLError, YAMLError

from flushwork.core.findings import Finding, Severity, Source

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
        return Finding(
            code="yaml-tab",
            severity=Severity.MUST_FIX,
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
    return Finding(
        code=code, severity=Severity.MUST_FIX, message=message, remedy=remedy, source=source
    )

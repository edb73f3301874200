"""Whether a rebuilding changed nothing: G-code, plan, findings, pours and prices of many jobs.

``keep`` takes every job through the command line of the checkout this file stands in and keeps
what came of it in one file: all examples, the scenes of ``tests/scenarios``, small jobs (several
pieces, a day log, an imported file, resin milled flush, inches) and random jobs once drawn.
``compare`` holds two such files against each other, prints each difference with its place and
figure, and ends with 1 where there is any.  G-code counts without comments and line numbers; a
finding by its code, weight, subject, place and measure; figures to nine digits.

With ``--words`` both sides are first brought to one vocabulary by ``renamed_words.csv``: an old
word, or a pattern between slashes, and the new one, in that order.  What only the newer file knows
of a record is told, and is no difference.

Run: python design/same_as_before.py keep FILE [--only NAME...]
     python design/same_as_before.py compare OLD NEW [--words] [--only NAME...] [--skip PART...]

Long because it has to be one file: copied into an older checkout, with ``renamed_words.csv`` and
``tests/kept_jobs.py``, it keeps what was before there.
Keeping all takes a little over a minute of processor time; it tells how long.
"""

from __future__ import annotations

import argparse
import csv
import datetime as dt
import importlib
import json
import math
import re
import resource
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, fields, is_dataclass
from decimal import Decimal
from enum import Enum
from fnmatch import fnmatch
from functools import cache
from itertools import zip_longest
from pathlib import Path
from typing import Any, Final, TypeAlias

ROOT: Final = Path(__file__).parents[1]
WORDS: Final = Path(__file__).with_name("renamed_words.csv")
SHOWN: Final = 40
"""So many kinds of difference are printed; the others are counted."""
WIDEST: Final = 240
PARTS: Final = (
    "texts", "exit", "gcode", "stages", "setups", "days", "findings", "figures", "pours", "prices"
)  # fmt: skip

NAMED: Final = ("shelf", "job")
"""Records of these folders are kept by their name alone."""

WORKED_OUT: Final = ("what",)
"""Parts of a record that were kept and are worked out now."""

Plain: TypeAlias = Any  # what JSON holds
Words: TypeAlias = Sequence[tuple[re.Pattern[str], str]]


# ---- the jobs


CHECKED: Final = ("check", "{job}", "--json")


@dataclass(frozen=True)
class Case:
    """One job to keep: its texts by file name, or a folder, and the command it goes through."""

    name: str
    texts: Mapping[str, str] = field(default_factory=dict)
    command: tuple[str, ...] = CHECKED
    folder: Path | None = None


def cases() -> Iterator[Case]:
    """Return every job that is kept, the cheap ones first."""
    yield from small_cases()
    yield from random_cases()
    yield from scene_cases()
    for path in sorted(ROOT.glob("examples/*/job.yaml"), key=lambda p: p.parent.name):
        whole = ("build", "{job}", "--out", "{out}", "--json")
        yield Case(f"example {path.parent.name}", {}, whole, path.parent)


def of_tests(*names: str) -> Any:
    """Return a module of the tests that goes by one of these names, in whichever folder it is."""
    path = next(path for name in names for path in (ROOT / "tests").rglob(f"{name}.py"))
    return importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))


def small_cases() -> Iterator[Case]:
    """Return the plain lid of the tests, with one thing changed at a time."""
    with_log = ("plan", "{job}", "--log", "{folder}/day.log", "--json")
    for name, texts in of_tests("kept_jobs").SMALL.items():
        yield Case(f"small {name}", texts, with_log if "day.log" in texts else CHECKED)


def random_cases() -> Iterator[Case]:
    """Return random jobs, each metric or in inches."""
    for number, (job, shop) in enumerate(of_tests("kept_jobs").DRAWN, start=1):
        yield Case(f"random {number}", {"job.yaml": job, "shop.yaml": shop})


def scene_cases() -> Iterator[Case]:
    """Return the scenes of the scenario tests, with the shop that these are heard in."""
    written = of_tests("hearing").written
    scene_kind = of_tests("expected").Scene
    for path in sorted((ROOT / "tests" / "scenarios").glob("test_*.py")):
        module = importlib.import_module(f"tests.scenarios.{path.stem}")
        listed = [item for value in vars(module).values() if isinstance(value, list)
                  for item in value if isinstance(item, scene_kind)]  # fmt: skip
        for scene in {item.name: item for item in listed}.values():
            drawings = {name.replace("_svg", ".svg"): body for name, body in scene.drawings.items()}
            with tempfile.TemporaryDirectory() as place:
                written(Path(place), scene.text, scene.shop, drawings)
                texts = {each.name: each.read_text("utf-8") for each in Path(place).iterdir()}
            yield Case(f"scene {scene.name}", texts)


# ---- keeping


@dataclass
class Caught:
    """What the pipeline gave to the command under way, or why it refused."""

    build: Any = None
    refused: Sequence[Any] = ()

    def clear(self) -> None:
        """Forget the command before."""
        self.build, self.refused = None, ()


def watched() -> Caught:
    """Hand over, from now on, what ``pipeline.build`` returns to whoever calls it."""
    caught = Caught()
    pipeline = importlib.import_module("flushwork.pipeline")
    real: Callable[..., Any] = pipeline.build

    def build(*given: Any, **named: Any) -> Any:
        try:
            caught.build = real(*given, **named)
        except Exception as refused:
            caught.refused = getattr(refused, "findings", ())
            raise
        return caught.build

    for module in [each for name, each in sys.modules.items() if name.startswith("flushwork")]:
        for name in [name for name, value in vars(module).items() if value is real]:
            setattr(module, name, build)
    return caught


def kept(case: Case, caught: Caught) -> Plain:
    """Take one job through its command and return what came of it as plain data."""
    from typer.testing import CliRunner  # noqa: PLC0415

    app = importlib.import_module("flushwork.cli.main").app
    caught.clear()
    before = spent_s()
    with tempfile.TemporaryDirectory() as place:
        folder = case.folder or Path(place)
        for name, text in case.texts.items():
            (folder / name).write_text(text, "utf-8")
        told = {"job": str(folder / "job.yaml"), "folder": str(folder), "out": f"{place}/out"}
        result = CliRunner().invoke(app, [word.format(**told) for word in case.command])
        files = sorted(p for p in Path(place, "out").rglob("*") if p.is_file())
        names = [p.relative_to(place).as_posix() for p in files]
    found: dict[str, Plain] = {
        "texts": {**case.texts, "files": names},
        "exit": result.exit_code,
        "findings": [finding_of(each) for each in caught.refused],
    }
    if caught.build is not None:
        found |= build_of(caught.build)
    elif not caught.refused and result.exception is not None:
        found["exit"] = repr(result.exception)
    return found | {"cpu_s": round(spent_s() - before, 2)}


def spent_s() -> float:
    """Return the processor time of this process and its ended children so far."""
    uses = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(use.ru_utime + use.ru_stime for use in uses)


def build_of(made: Any) -> dict[str, Plain]:
    """Return what is kept of a build."""
    files = one_of(made, "gcode_files", "cut_files")
    schedule = made.schedule
    return {
        "gcode": [gcode_of(file.file_name, file.text) for file in files],
        "stages": plain(made.plan.stages),
        "setups": plain(one_of(made.plan, "setups", "mountings")),
        "days": plain(schedule) | totals_of(schedule) if schedule is not None else None,
        "findings": [finding_of(item) for item in made.findings],
        "figures": [figures_of(item) for item in made.findings],
        "pours": plain(made.pours),
        "prices": plain(prices_of(made)),
    }


def one_of(record: Any, *names: str) -> Any:
    """Return the attribute that goes by one of these names, the newest first."""
    return next(getattr(record, name) for name in names if hasattr(record, name))


def plain(value: Any, depth: int = 0) -> Plain:
    """Return a record as plain data; what is on the shelf or in the job by its name alone."""
    if isinstance(value, Enum):
        value = value.value
    elif isinstance(value, float):
        value = float(f"{value:.9g}") if math.isfinite(value) else str(value)
    elif isinstance(value, dt.date | dt.time | Decimal | Path):
        value = str(value)
    elif isinstance(value, Mapping):
        value = {str(key): plain(item, depth + 1) for key, item in value.items()}
    elif isinstance(value, frozenset | set):
        value = sorted((plain(item, depth + 1) for item in value), key=str)
    elif is_dataclass(value) and depth and type(value).__module__.split(".")[1] in NAMED:
        value = getattr(value, "name", type(value).__name__)
    elif is_dataclass(value):
        kind = type(value)
        names = [each.name for each in fields(value)]
        names += [name for name in WORKED_OUT if isinstance(getattr(kind, name, None), property)]
        value = {name: plain(getattr(value, name), depth + 1) for name in names}
    elif value is not None and not isinstance(value, str | int):
        value = [plain(item, depth + 1) for item in value]
    return value


def totals_of(schedule: Any) -> dict[str, Plain]:
    """Return what a plan of days comes to, worked out by its own properties."""
    names = ("begin_min", "finish_min", "hands_min", "machine_min", "changes", "batches")
    found = {name: getattr(schedule, name) for name in names if hasattr(schedule, name)}
    return {**found, "proven": schedule.proven, "calendar_days": schedule.calendar_days}


def finding_of(item: Any) -> Plain:
    """Return a finding without its words, at every place it is told of."""
    between = [each.name for each in item.subjects] if hasattr(item, "subjects") else item.between
    source = item.source
    return {
        "code": item.code,
        "severity": plain(item.severity),
        "subject": item.subject,
        "between": sorted({*between, item.subject} - {""}),
        "also": plain(item.also),
        "place": plain(item.place),
        "measure": plain(item.measure),
        "source": source and [source.file, source.line, source.key],
        "accepted": item.accepted,
        "told_with": [finding_of(each) for each in item.told_with],
    }


def figures_of(item: Any) -> Plain:
    """Return the figures in a finding's words, beside its code."""
    words = f"{item.message} {item.remedy}"
    return {"code": item.code, "figures": re.findall(r"-?\d+(?:[.:/]\d+)*", words)}


def gcode_of(name: str, text: str) -> Plain:
    """Return a G-code file without its comments and line numbers, and what it comes to."""
    bare = (re.sub(r"\([^)]*\)|;.*", "", line).strip() for line in text.splitlines())
    lines = [line for line in (re.sub(r"^[Nn]\d+\s*", "", each) for each in bare) if line]
    ends: dict[str, Plain] = {}
    for axis in "XYZ":
        at = [float(word) for line in lines
              for word in re.findall(rf"{axis}\s*(-?\d*\.?\d+)", line.upper())]  # fmt: skip
        ends[axis] = [min(at), max(at)] if at else None
    moves = sum(bool(re.search(r"[XYZ]\s*-?[\d.]", line.upper())) for line in lines)
    return {"name": name, "moves": moves, "extremes": ends, "program": lines}


def prices_of(made: Any) -> Any:
    """Return what the run costs; None without prices."""
    return costs()(made)


@cache
def costs() -> Callable[[Any], Any]:
    """Return what counts the costs of a build, in whichever module it stands."""
    source = ROOT / "src" / "flushwork"
    for path in sorted(source.rglob("*.py")):
        counts = re.search(r"^def (costs_of|cost)\(made\b", path.read_text("utf-8"), re.MULTILINE)
        if counts:
            dotted = path.relative_to(source.parent).with_suffix("").as_posix().replace("/", ".")
            found: Callable[[Any], Any] = getattr(importlib.import_module(dotted), counts[1])
            return found
    message = "nothing in this checkout counts what a build costs"
    raise LookupError(message)


def is_wanted(name: str, only: Sequence[str]) -> bool:
    """Whether a job is among those asked for: all without a word."""
    return not only or any(word in name or fnmatch(name, word) for word in only)


def keep(target: Path, only: Sequence[str]) -> int:
    """Keep what comes of every job (or of those whose name has one of these words)."""
    caught, found = watched(), {}
    for case in cases():
        if is_wanted(case.name, only):
            found[case.name] = kept(case, caught)
            print(f"{found[case.name]['cpu_s']:7.2f} s  {case.name}", flush=True)
    target.write_text(json.dumps(found, indent=1, sort_keys=True) + "\n", "utf-8")
    print(f"{spent_s():7.1f} s of processor time for {len(found)} jobs, kept in {target}")
    return 0 if found else 1


# ---- comparing


def renamed_words() -> Words:
    """Return the table of renamed words, as patterns for words in small letters."""
    with WORDS.open(encoding="utf-8", newline="") as file:
        rows = [(row["old"], row["new"]) for row in csv.DictReader(file)]
    return [
        (re.compile(old[1:-1]), new)
        if old.startswith("/")
        else (re.compile(rf"\b{re.escape(old)}(s?)\b"), rf"{new}\1")
        for old, new in rows
    ]


def in_new_words(value: Plain, words: Words) -> Plain:
    """Return plain data with every word of it, keys too, brought to the new vocabulary."""
    if isinstance(value, str):
        told = re.sub(r"(?<=[a-z])[-_](?=[a-z0-9])", " ", value.lower())
        for pattern, new in words:
            told = pattern.sub(new, told)
        return told
    if isinstance(value, dict):
        return {
            in_new_words(key, words): item if key == "program" else in_new_words(item, words)
            for key, item in value.items()
        }
    return [in_new_words(item, words) for item in value] if isinstance(value, list) else value


def differences(old: Plain, new: Plain, place: str = "") -> Iterator[str]:
    """Return what differs between two pieces of plain data, each with its place."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key, value in old.items():
            yield from differences(value, new.get(key, "(gone)"), f"{place} {key}")
    elif isinstance(old, list) and isinstance(new, list):
        if len(old) != len(new):
            yield f"{place}: {len(old)} before, {len(new)} now"
        for number, (one, two) in enumerate(zip_longest(old, new, fillvalue="(none)"), start=1):
            yield from differences(one, two, f"{place} {number}")
    elif old != new:
        yield f"{place}: {old!r} -> {new!r}"


def unpaired(old: Sequence[Plain], new: Sequence[Plain]) -> Iterator[str]:
    """Return the records that only one side has; those of one code are held against each other."""
    known = {key for item in old for key in item}
    one, two = (
        [{key: value for key, value in item.items() if key in known} for item in side]
        for side in (old, new)
    )
    before, now = (Counter(json.dumps(it, sort_keys=True) for it in each) for each in (one, two))
    gone = [json.loads(item) for item in (before - now).elements()]
    come = [json.loads(item) for item in (now - before).elements()]
    for item in gone:
        alike = [each for each in come if each["code"] == item["code"]]
        if alike:
            near = min(alike, key=lambda each: sum(1 for _ in differences(item, each)))
            come.remove(near)
            yield from differences(item, near, f"{item['code']} {item.get('subject', '')}".strip())
        else:
            yield f"gone: {json.dumps(item)}"
    yield from (f"come: {json.dumps(item)}" for item in come)


def part_differences(part: str, old: Plain, new: Plain) -> Iterator[str]:
    """Return the differences of one part of a job."""
    if part in ("findings", "figures") and isinstance(old, list) and isinstance(new, list):
        yield from unpaired(old, new)
    else:
        yield from differences(old, new)


def unheard(old: Plain, new: Plain) -> Iterator[str]:
    """Return the keys of records that only the newer side has."""
    if isinstance(old, dict) and isinstance(new, dict):
        yield from (key for key in new if key not in old)
        for key in old.keys() & new.keys():
            yield from unheard(old[key], new[key])
    elif isinstance(old, list) and isinstance(new, list):
        for one, two in zip(old, new, strict=False):
            yield from unheard(one, two)


def compare(old: Plain, new: Plain, words: Words, skip: Sequence[str]) -> list[str]:
    """Return every difference between what two checkouts kept, job by job."""
    told: list[str] = []
    if words:
        old, new = in_new_words(old, words), in_new_words(new, words)
    told += [f"{name}: no longer there" for name in old if name not in new]
    told += [f"{name}: only in the newer file" for name in new if name not in old]
    for name in (name for name in old if name in new):
        for part in PARTS:
            if part not in skip:
                one, two = old[name].get(part), new[name].get(part)
                told += [f"{name}: {part} {line}" for line in part_differences(part, one, two)]
    return told


def shown(told: Sequence[str], new: Plain) -> Iterator[str]:
    """Return the lines to print: each kind of difference once, with how often it is there."""
    kinds: dict[str, list[str]] = {}
    for line in told:
        kinds.setdefault(re.sub(r"\b\d+\b", "#", line.partition(": ")[2])[:80], []).append(line)
    for alike in list(kinds.values())[:SHOWN]:
        more = f"  ({len(alike)} times)" if len(alike) > 1 else ""
        yield f"{alike[0][:WIDEST]}{more}"
    if len(kinds) > SHOWN:
        yield f"and {len(kinds) - SHOWN} more kinds of difference"
    jobs = {line.split(":", 1)[0] for line in told}
    yield f"{len(told)} differences in {len(jobs)} of {len(new)} jobs"


def main(typed: Sequence[str] | None = None) -> int:
    """Do what is asked; 1 where something differs."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    asked = parser.add_subparsers(dest="asked", required=True)
    keeping = asked.add_parser("keep", help="keep what comes of the jobs")
    keeping.add_argument("file", type=Path)
    comparing = asked.add_parser("compare", help="tell what differs between two kept files")
    comparing.add_argument("old", type=Path)
    comparing.add_argument("new", type=Path)
    comparing.add_argument("--words", action="store_true", help="bring both to the new words")
    comparing.add_argument("--skip", nargs="+", default=[], choices=PARTS, metavar="PART")
    for each in (keeping, comparing):
        each.add_argument(
            "--only", nargs="+", default=[], help="jobs with one of these in the name"
        )
    given = parser.parse_args(typed)
    if given.asked == "keep":
        return keep(given.file, given.only)
    old, new = (
        {name: job for name, job in json.loads(path.read_text("utf-8")).items()
         if is_wanted(name, given.only)} for path in (given.old, given.new)
    )  # fmt: skip
    told = compare(old, new, renamed_words() if given.words else (), given.skip)
    print("\n".join(shown(told, new)))
    more = Counter(unheard(old, new))
    with suppress(ValueError):
        print(f"known now and not before: {', '.join(sorted(more))}" if more else "")
    return 1 if told else 0


if __name__ == "__main__":
    sys.path[:0] = [str(ROOT / "src"), str(ROOT)]
    sys.exit(main())

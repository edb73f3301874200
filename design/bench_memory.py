"""What the bench holds over many changes of a job: resident memory and seconds after each.

    .venv-test/bin/python design/bench_memory.py [changes] [job.yaml]

Changes of depths, sizes, places, widths, shares and the number of pieces go one on top of the
other, each followed by all a page asks; every tenth is saved.  The seed is fixed.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import os
import random
import re
import shutil
import sys
import tempfile
import time
from pathlib import Path

import httpx

from flushwork.bench.desk.desk import Desk
from flushwork.bench.server.app import bench_app

HOST = "127.0.0.1:1"
PATTERNS = {
    "depth": r"depth: ([\d.]+) mm",
    "size": r"(?:circle|rectangle): ([\d.]+) mm",
    "place": r"at: \[(-?[\d.]+) mm",
    "share": r"share: ([\d.]+) %",
    "width": r"width: ([\d.]+) mm",
}
EXAMPLE = Path(__file__).parents[1] / "examples" / "kingfisher" / "job.yaml"


def resident_mb() -> int:
    """Return the memory of this process that is in use, in MB."""
    status = Path("/proc/self/status").read_text("utf-8")
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    return int(found[1]) // 1024 if found else 0


def changed(text: str, rng: random.Random) -> tuple[str, str]:
    """Return a text with one value a little different, and what that was."""
    kind = rng.choice(["depth", "depth", "size", "place", "pieces", "share", "width"])
    if kind == "pieces":
        return re.sub(r"\npieces: \d+", f"\npieces: {rng.randint(1, 9)}", text), kind
    places = list(re.finditer(PATTERNS[kind], text))
    if not places:
        return text, kind
    at = rng.choice(places)
    value = float(at[1]) * rng.uniform(0.97, 1.03)
    return f"{text[: at.start(1)]}{value:.2f}{text[at.end(1) :]}", kind


async def asked(client: httpx.AsyncClient, generation: int) -> None:
    """Ask what a page asks of a check."""
    await client.get("/parts?page=tab")
    film = (await client.get(f"/board/{generation}/film")).json()
    tiles = list(range(len(film["tiles"])))
    await client.post(f"/board/{generation}/tiles", json={"want": tiles})
    await client.post(f"/asking/{generation}/odds", json={})
    for path in ("asking/{}/stakes", "doing/{}/days", "board/{}/place/0", "board/{}/drawn/0"):
        await client.get(f"/{path.format(generation)}")


async def main(changes: int, job: Path) -> None:
    """Change a copy of a job again and again, and print what the bench then holds."""
    folder = Path(tempfile.mkdtemp()) / "job"
    shutil.copytree(job.parent, folder)
    os.environ["FLUSHWORK_CACHE"] = str(folder / "cache")
    path = folder / job.name
    desk, text, rng = Desk(path), path.read_text("utf-8"), random.Random(3)  # noqa: S311 - the same each time
    first = text
    desk.open()
    app = bench_app(desk, frozenset({HOST}), lambda: dt.datetime.now(dt.UTC))
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url=f"http://{HOST}") as client:
        await asyncio.to_thread(desk.wait, 600.0)
        await asked(client, (await client.get("/standing")).json()["generation"])
        print(f"first check: {resident_mb()} MB", flush=True)
        for number in range(1, changes + 1):
            text, kind = changed(text, rng)
            begun, processor = time.perf_counter(), time.process_time()
            await client.post("/try", json={"page": "tab", "text": text})
            await asyncio.to_thread(desk.wait, 600.0)
            took, processor = time.perf_counter() - begun, time.process_time() - processor
            now = (await client.get("/standing?page=tab")).json()
            if now["slips"] or now["failed"]:
                text = first
                continue
            await asked(client, now["generation"])
            if number % 10 == 0:
                was = (await client.get("/text")).json()["digest"]
                await client.post("/save", json={"page": "tab", "text": text, "was": was})
                await asyncio.to_thread(desk.wait, 600.0)
            print(
                f"{number:3d} {kind:7s} {took:5.1f} s ({processor:4.1f} s of processor) "
                f"{resident_mb()} MB",
                flush=True,
            )
    desk.close()
    shutil.rmtree(folder.parent)


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 90
    asyncio.run(main(count, Path(sys.argv[2]) if len(sys.argv) > 2 else EXAMPLE))

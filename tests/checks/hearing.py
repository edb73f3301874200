"""A job heard by the check without its days; G-code files may be altered on the way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from flushwork.art.draw import draw_faces
from flushwork.art.drawn import DrawnFace
from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.core.findings import Finding, JobRefusedError
from flushwork.fit.reach import Fit
from flushwork.gcode.program import file_name, gcode_file
from flushwork.gcode.reader.program_text import read_program
from flushwork.job.read import read_job
from flushwork.job.records import Job
from flushwork.process.infer_stages import infer_plan
from flushwork.process.orders.cut_orders import cut_orders
from flushwork.process.orders.imported_files import with_imported_bits
from flushwork.process.orders.replay_steps import replay_steps
from flushwork.process.pour_requests import pour_requests
from flushwork.process.stages import Plan
from flushwork.resin.cup.batches import plan_pours
from flushwork.resin.pours import Pour
from flushwork.strata.palette import palette_of
from flushwork.strata.replay import board_spec, replay
from flushwork.toolpaths.orders import GcodeFile
from tests.fit.by_itself import fit_inlay


def read_back(file: GcodeFile, text: str) -> GcodeFile:
    """Return a G-code file as if its text had been altered after it was written."""
    program, problems = read_program(text)
    return replace(file, text=text, program=program, problems=problems)


def written(folder: Path, text: str, shop: str = "", files: dict[str, str] | None = None) -> Path:
    """Write a job file, its shop file and its drawings into a folder.

    Two scales are all that most jobs need, and are soon gone through.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if "measuring tools" not in shop:
        shop += "measuring tools: [fine scale, bench scale]\n"
    if "\nshop:" not in text:
        (folder / "shop.yaml").write_text(f"flushwork shop: 2\nname: small shop\n{shop}", "utf-8")
        text = text.replace("\ntitle:", "\nshop: shop.yaml\ntitle:", 1)
    for name, body in (files or {}).items():
        (folder / name).write_text(body, "utf-8")
    path = folder / "job.yaml"
    path.write_text(text, "utf-8")
    return path


def undated(path: Path) -> Build:
    """Return the case of a job file, its days left out."""
    job = read_job(path)
    faces = draw_faces(job)
    plan = infer_plan(job, faces)
    job, faces = with_imported_bits(job, faces, plan)
    fits = {
        drawn.thing.name: fit_inlay(drawn, job.shop.bits) for face in faces for drawn in face.things
    }
    by_stage: dict[int, list[GcodeFile]] = {}
    for stage, order in cut_orders(job, faces, fits, plan):
        by_stage.setdefault(stage, []).append(gcode_file(order))
    return _case(job, faces, tuple(fits.values()), plan, by_stage)


def replayed(sound: Build, altered: Mapping[str, GcodeFile], plan: Plan | None = None) -> Build:
    """Return a case heard again with G-code files, or the order of its stages, altered.

    Its pours stay as they were: what is measured does not follow from a spoilt cut.
    """
    by_stage: dict[int, list[GcodeFile]] = {}
    fits = {fit.drawn.thing.name: fit for fit in sound.fits}
    files = {file.file_name: file for file in sound.gcode_files} | dict(altered)
    for stage, order in cut_orders(sound.job, sound.faces, fits, sound.plan):
        by_stage.setdefault(stage, []).append(files[file_name(order)])
    return _case(sound.job, sound.faces, sound.fits, plan or sound.plan, by_stage, sound.pours)


def _case(
    job: Job,
    faces: tuple[DrawnFace, ...],
    fits: tuple[Fit, ...],
    plan: Plan,
    by_stage: dict[int, list[GcodeFile]],
    pours: tuple[Pour, ...] | None = None,
) -> Build:
    made = replay(board_spec(job, faces), replay_steps(job, faces, plan, by_stage))
    return Build(
        job=job,
        faces=faces,
        fits=fits,
        plan=plan,
        gcode_files=tuple(file for files in by_stage.values() for file in files),
        replay=made,
        pours=pours or plan_pours(pour_requests(job, faces, plan, made.poured), job.shop),
        palette=palette_of(job),
    )


def heard(folder: Path, text: str, shop: str = "", **files: str) -> tuple[Finding, ...]:
    """Return the check of a job text, or what kept it from being read."""
    named = {name.replace("_svg", ".svg"): body for name, body in files.items()}
    try:
        return run_checks(undated(written(folder, text, shop, named)))
    except JobRefusedError as refused:
        return refused.findings


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return sorted({finding.code for finding in findings})


def one(findings: tuple[Finding, ...], code: str, subject: str = "") -> Finding:
    """Return the finding of a code (and subject), which must be there."""
    told = [item for item in findings if item.code == code and subject in {"", item.subject}]
    assert told, [f"{item.code} {item.subject}: {item.message}" for item in findings]
    return told[0]


@dataclass(frozen=True)
class Check:
    """A check as a build carries it."""

    findings: tuple[Finding, ...]

    @property
    def ok_to_cut(self) -> bool:
        return not any(finding.stands for finding in self.findings)


def proven(folder: Path, text: str) -> Check:
    """Return the check of a job text that is read without a fault, looked at in coarse cells."""
    if "\ncell:" not in text:
        text = text.replace("\ntitle:", "\ncell: 0.2 mm\ntitle:", 1)
    return Check(run_checks(undated(written(folder, text))))

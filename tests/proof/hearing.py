"""A job heard by the proof without its days; cut files may be altered on the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from flushwork.colour.palette import palette_of
from flushwork.errors import JobRefusedError
from flushwork.findings import Finding
from flushwork.fit.choice import fit_inlay
from flushwork.geometry.draw import draw_faces
from flushwork.job.read import read_job
from flushwork.plan.cutting_work import cut_orders
from flushwork.plan.infer import infer_plan
from flushwork.plan.pouring import pour_requests
from flushwork.plan.replay_steps import replay_steps
from flushwork.plan.stages import Plan
from flushwork.proof.case import Case
from flushwork.proof.registry import prove
from flushwork.resin.batches import plan_pours
from flushwork.strata.cell import board_spec
from flushwork.strata.replay import replay
from flushwork.toolpaths.cut_file import cut_file
from flushwork.toolpaths.orders import CutFile
from flushwork.toolpaths.read import read_program

Alter = Callable[[CutFile], CutFile]
AlterPlan = Callable[[Plan], Plan]


def same(file: CutFile) -> CutFile:
    return file


def read_back(file: CutFile, text: str) -> CutFile:
    """Return a cut file as if its text had been altered after it was written."""
    program, problems = read_program(text)
    return replace(file, text=text, program=program, problems=problems)


def written(folder: Path, text: str, shop: str = "", files: dict[str, str] | None = None) -> Path:
    """Write a job file, its shop file and its drawings into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    if shop:
        (folder / "shop.yaml").write_text(f"flushwork shop: 1\nname: small shop\n{shop}", "utf-8")
        text = text.replace("\ntitle:", "\nshop: shop.yaml\ntitle:", 1)
    for name, body in (files or {}).items():
        (folder / name).write_text(body, "utf-8")
    path = folder / "job.yaml"
    path.write_text(text, "utf-8")
    return path


def case_of(path: Path, alter: Alter = same, alter_plan: AlterPlan = lambda plan: plan) -> Case:
    job = read_job(path)
    faces = draw_faces(job)
    fits = {
        drawn.inlay.name: fit_inlay(drawn, job.shop.cutters)
        for face in faces
        for drawn in face.inlays
    }
    plan = alter_plan(infer_plan(job, faces))
    by_stage: dict[int, list[CutFile]] = {}
    for stage, order in cut_orders(job, faces, fits, plan):
        by_stage.setdefault(stage, []).append(alter(cut_file(order)))
    replayed = replay(board_spec(job, faces), replay_steps(job, faces, plan, by_stage))
    return Case(
        job=job,
        faces=faces,
        fits=tuple(fits.values()),
        plan=plan,
        cut_files=tuple(file for files in by_stage.values() for file in files),
        replay=replayed,
        pours=plan_pours(pour_requests(job, faces, plan, replayed.poured), job.shop),
        palette=palette_of(job),
    )


def heard(folder: Path, text: str, shop: str = "", **files: str) -> tuple[Finding, ...]:
    """Return the proof of a job text, or what kept it from being read."""
    named = {name.replace("_svg", ".svg"): body for name, body in files.items()}
    try:
        return prove(case_of(written(folder, text, shop, named)))
    except JobRefusedError as refused:
        return refused.findings


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return sorted({finding.code for finding in findings})


def one(findings: tuple[Finding, ...], code: str, subject: str = "") -> Finding:
    """Return the finding of a code (and subject), which must be there."""
    told = [item for item in findings if item.code == code and subject in {"", item.subject}]
    assert told, [f"{item.code} {item.subject}: {item.message}" for item in findings]
    return told[0]

"""A job read ahead by a copy is the job that this process would read, slips and all."""

from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.art.draw import begin
from flushwork.core.findings import JobRefusedError
from flushwork.runtime import pool
from flushwork.usecases.jobs import background_read
from tests.small_jobs import PLAIN, changed


@pytest.fixture(params=[True, False], ids=["in a copy", "here"])
def _copies(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    if not request.param:
        monkeypatch.setattr(pool, "may_copy", lambda: False)


@pytest.mark.usefixtures("_copies")
def test_what_is_begun_ahead_is_what_would_be_read(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(PLAIN, encoding="utf-8")
    with background_read(path) as begun:
        job, faces = begun()
    same, drawn = begin(path)
    assert job == same
    assert [face.name for face in faces] == [face.name for face in drawn]
    for one, other in zip(faces, drawn, strict=True):
        assert [each.region for each in one.inlays] == [each.region for each in other.inlays]
        # an inlay of a drawn face is the inlay of the job, not another like it
        assert all(any(each.inlay is known for known in job.inlays) for each in one.inlays)


@pytest.mark.usefixtures("_copies")
def test_a_job_refused_ahead_is_refused_with_its_place(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(changed("depth: 2 mm", "depth: two"), encoding="utf-8")
    with pytest.raises(JobRefusedError) as refused, background_read(path) as begun:
        begun()
    (finding,) = refused.value.findings
    assert finding.source is not None
    assert finding.source.line > 1
    with pytest.raises(JobRefusedError) as absent, background_read(tmp_path / "none.yaml") as begun:
        begun()
    assert absent.value.findings[0].code == "file-absent"

"""Odds and what-if: bars that follow from the variations, a map, two keys against each other."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.desk.sweeps import Sweeper, axis_of
from flushwork.bench.pages.form_views import around, keys_of
from flushwork.bench.pages.odds_on_page import causes, found_in, odds_as_is, odds_data, summary
from flushwork.bench.server import ask_routes
from flushwork.checks.odds.odds import place_odds
from flushwork.job.text.change import VaryError
from flushwork.usecases.odds import steadied
from tests.bench.conftest import JOB, PATIENCE_MS, ask


def test_smaller_variations_never_make_worse_odds(snapshot: Snapshot) -> None:
    found = found_in(snapshot)
    assert found
    for name in [cause.name for cause in causes(found)]:
        for one, other in zip(found, steadied(found, {name: 0.5}), strict=True):
            assert (place_odds(other) >= place_odds(one) - 1e-12).all()
    ten = odds_data(snapshot, {cause.name: 4.0 for cause in causes(found)}, quick=True)
    assert ten["piece"] < odds_data(snapshot, {}, quick=True)["piece"]


def test_the_chances_of_a_run_sum_to_one_and_fit_the_odds_of_a_piece(snapshot: Snapshot) -> None:
    data = odds_data(snapshot, {"sanding": 3.0, "measuring": 3.0}, quick=False)
    assert sum(data["outcomes"]) == pytest.approx(1.0)
    expected = sum(count * share for count, share in enumerate(data["outcomes"]))
    assert expected / snapshot.made.job.pieces == pytest.approx(data["piece"], abs=0.01)


def test_the_map_has_each_inlay_on_its_face(snapshot: Snapshot) -> None:
    regions = odds_data(snapshot, {}, quick=True)["map"]["front"]["regions"]
    assert [region["name"] for region in regions] == ["plate"]
    xs = [x for ring in regions[0]["rings"] for x, _ in ring]
    assert max(xs) - min(xs) == pytest.approx(30.0, abs=0.1)


def test_routes_refuse_what_is_no_variation_and_no_key(built: Desk, snapshot: Snapshot) -> None:
    at = f"/asking/{snapshot.generation}/odds"
    assert ask(built, "POST", at, json={"scales": {"sanding": "x"}}).status_code == 400
    assert ask(built, "POST", at, json={"scales": []}).status_code == 400
    given = ask(built, "POST", at, json={"scales": {"sanding": 1e9, "nothing": 1}})
    assert given.status_code == 200
    sweep = {"text": JOB, "across": {"key": "front.inlays.none.depth", "values": ["1 mm"]}}
    answer = ask(built, "POST", "/asking/sweep", json=sweep)
    assert answer.status_code == 400
    assert "no item called none" in answer.json()["error"]


@pytest.mark.parametrize(
    ("piece", "said"),
    [
        (0.99999, "hardly one is lost"),
        (0.0, "hardly a piece comes out right"),
        (0.912, "of 1000 pieces 912 come out right. Of the 4 in this run, 3.6 on average; all 4"),
    ],
)
def test_the_odds_are_told_as_counts(snapshot: Snapshot, piece: float, said: str) -> None:
    run = replace(
        odds_as_is(snapshot), pieces=4, piece=piece, expected_good=4.0 * piece, all_good=piece**4
    )
    assert said in summary(run)


def test_odds_and_stakes_give_way_to_a_change(
    built: Desk, snapshot: Snapshot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between their parts they look whether somebody changes the job; asked again they go on."""
    odds, stakes = f"/asking/{snapshot.generation}/odds", f"/asking/{snapshot.generation}/stakes"
    done: list[str] = []

    def changed_meanwhile(_snapshot: Snapshot) -> None:
        done.append("a part")
        built._now = built._sheets.saved

    with monkeypatch.context() as patch:
        patch.setattr(ask_routes, "found_in", changed_meanwhile)
        for method, link in (("POST", odds), ("GET", stakes)):
            more: dict[str, Any] = {"json": {}} if method == "POST" else {}
            for parts in (1, 0):
                done.clear()
                answer = ask(built, method, link, **more)
                assert answer.status_code == 409
                assert "ask again" in answer.json()["error"]
                assert len(done) == parts, "nothing is begun while somebody changes the job"
            built._now = None
    assert ask(built, "POST", odds, json={}).status_code == 200
    assert ask(built, "GET", stakes).status_code == 200


def test_keys_with_numbers_are_proposed_with_values_around() -> None:
    found = {view.key: view for view in keys_of(JOB)}
    assert found["front.inlays.plate.depth"].value == "2 mm"
    assert found["front.inlays.plate.depth"].proposed == (
        "1.2 mm", "1.6 mm", "2 mm", "2.4 mm", "2.8 mm",
    )  # fmt: skip
    assert "title" not in found
    assert "trim line.rectangle" not in found
    assert around("3") == ("2", "3", "4", "5", "6")
    assert around("overfilled") == ()
    assert keys_of("a: [") == ()


@pytest.mark.parametrize(
    ("key", "values"),
    [("", ["1"]), ("a", []), ("a", ["x" * 200]), ("a", [str(n) for n in range(10)])],
)
def test_what_is_no_axis_is_refused(key: str, values: list[str]) -> None:
    with pytest.raises(VaryError):
        axis_of(key, values)


def test_two_keys_against_each_other(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    sweeper = Sweeper(path, lambda: False)
    depth = axis_of("front.inlays.plate.depth", ["2 mm", "11.5 mm"])
    sweeper.start(JOB, depth, axis_of("pieces", ["2", "two"]))
    until = time.monotonic() + PATIENCE_MS / 1000.0
    while (now := sweeper.status()) and now["busy"] and time.monotonic() < until:
        time.sleep(0.05)
    assert now is not None
    assert not now["failed"]
    squares = {(each["row"], each["column"]): each for each in now["squares"]}
    assert len(squares) == 4
    assert squares[0, 0]["must_fix"] == 0
    assert squares[0, 0]["piece"] > 0.9
    assert squares[0, 1]["must_fix"] > 0, "a pocket as deep as the board is a stop"
    assert squares[1, 0]["refused"]
    assert path.read_text("utf-8") == JOB


def test_a_sweep_can_be_left(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    sweeper = Sweeper(path, lambda: True)
    assert sweeper.status() is None
    sweeper.start(JOB, axis_of("pieces", ["1", "2"]), None)
    sweeper.leave()
    now = sweeper.status()
    assert now is not None
    assert not now["busy"]
    assert not now["squares"]

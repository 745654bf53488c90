"""The unit is another process, as on site: the same walk over TCP and over a serial line at its own pace."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.journeys.programs import finished
from tests.journeys.records import archive
from tests.journeys.short_walk import SHEET, answers, short_checklist
from tests.journeys.site import Desk

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(
    ("url", "speed"),
    [
        pytest.param("tcp://127.0.0.1:0", 30.0, id="tcp"),
        pytest.param("rtu://", 20.0, id="serial", marks=pytest.mark.long),
    ],
)
def test_a_short_walk_with_strokes(url: str, speed: float, unit: Callable[..., Desk], tmp_path: Path) -> None:
    """Accepted, both strokes timed and decided, and everything recomputed from the record is the same."""
    desk = unit(url, speed=speed)
    done = finished(
        *("run", SHEET, "--connect", desk.url, "--answers", answers(tmp_path), "--site", desk.address),
        *("--checklist", short_checklist(tmp_path), "--out", tmp_path, "--json"),
        cwd=tmp_path,
        patience_s=100.0,
    )
    assert done.returncode == 0, done.stderr
    job = Path(json.loads(done.stdout)["job"])
    timed = {name: run for name, run in archive(job).job.runs.items() if run.figures}
    assert set(timed) == {"K1-open-1", "K1-closed-2"}
    checked = finished("verify", job, "--json", cwd=tmp_path)
    assert checked.returncode == 0, checked.stderr
    figures = json.loads(checked.stdout)["jobs"][0]["figures"]
    assert len(figures) >= 2
    assert {figure["recomputed"] for figure in figures} == {"same"}


def test_answers_are_refused_where_no_practice_unit_answers(tmp_path: Path) -> None:
    """Nobody there: status 3 before anything else, and no job is begun (safety rule R15)."""
    done = finished(
        *("run", SHEET, "--connect", "tcp://127.0.0.1:1?unit=11", "--answers", answers(tmp_path)),
        *("--out", tmp_path / "none"),
        cwd=tmp_path,
    )
    assert done.returncode == 3, done.stderr
    assert "Traceback" not in done.stderr
    assert not list(tmp_path.rglob("*.job"))

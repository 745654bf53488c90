"""`commission verify`: unaltered, signed, recomputed."""

import json
from pathlib import Path

import pytest

from commission.cli import main


def test_a_job_as_written_verifies(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Status 0; how many figures came out the same is said."""
    assert main(["verify", str(job)]) == 0
    said = capsys.readouterr().err
    assert "Every link and every chunk is intact." in said
    assert "same" in said.partition("Figures recomputed:")[2]


def test_the_worst_file_decides(job: Path, one_stroke: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One altered file among sound ones is status 4, and the object says so of each."""
    data = bytearray(job.read_bytes())
    place = data.index(b"Mara Mockford")
    data[place : place + 4] = b"Lara"
    job.write_bytes(data)
    assert main(["verify", str(one_stroke), str(job), "--json"]) == 4
    found = json.loads(capsys.readouterr().out)
    assert found["status"] == 4
    assert len(found["jobs"]) == 2


def test_only_the_chain_recomputes_nothing(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--chain` says nothing of figures."""
    assert main(["verify", str(job), "--chain"]) == 0
    assert "Figures" not in capsys.readouterr().err


def test_salvage_saves_what_is_intact(altered: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A new file, what was saved and what was lost in words, and the damaged file untouched."""
    before = altered.read_bytes()
    saved = tmp_path / "saved.job"
    status = main(["verify", str(altered), "--salvage", str(saved), "--json"])
    captured = capsys.readouterr()
    found = json.loads(captured.out)
    assert saved.exists()
    assert found["status"] == status
    assert found["intact_to"] >= 0
    assert f"Saved to {saved}" in captured.err
    assert altered.read_bytes() == before


def test_salvage_takes_one_job(job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two at once would need two places."""
    assert main(["verify", str(job), str(job), "--salvage", str(tmp_path / "s.job")]) == 2
    assert "one job at a time" in capsys.readouterr().err

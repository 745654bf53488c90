"""The long runs on the record: power cuts, kills, and every byte of a job."""

from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from commission.clock import Clock
from commission.record.chain import check_chain
from commission.record.reader import Reader
from commission.record.writer import Recorder
from tests.record.small_job import fill
from tests.record.test_chain import contents, flip, found_or_harmless
from tests.record.test_killed_writer import kill_again_and_again
from tests.simulated_power import Cut, cuts_of_a_session

pytestmark = [pytest.mark.deep, pytest.mark.timeout(1800)]

Property = Callable[[str, object], None]


def _sessions(tmp_path: Path, cuts: int, synchronous: str) -> list[Cut]:
    taken: list[Cut] = []
    seed = 0
    while len(taken) < cuts:
        folder = tmp_path / f"session-{seed}"
        folder.mkdir()
        taken += cuts_of_a_session(folder, Random(seed), events=400, cuts=40, synchronous=synchronous)
        seed += 1
    return taken[:cuts]


def _lost(cut: Cut) -> int:
    report = check_chain(cut.path)
    assert report.intact, (cut.path, report.sentences)
    with Recorder(cut.path, session="after", clock=Clock()) as recorder:
        assert recorder.n == report.last
        recorder.append("reopened", {}, by="T").committed.result(10)
    assert check_chain(cut.path).intact
    return max(0, cut.acknowledged - report.last)


def test_two_hundred_power_cuts_lose_nothing(tmp_path: Path, record_property: Property) -> None:
    """No acknowledged event is lost, every chain is intact, every file is reopened and gone on with."""
    cuts = _sessions(tmp_path, 200, "FULL")
    acknowledged = sum(cut.acknowledged for cut in cuts)
    lost = sum(_lost(cut) for cut in cuts)
    record_property("power cuts", f"{lost} of {acknowledged} lost in {len(cuts)}; 95 % bound {3 / acknowledged:.1e}")
    assert lost == 0


def test_a_weaker_setting_fails_the_same_cuts(tmp_path: Path, record_property: Property) -> None:
    """With `synchronous=NORMAL` acknowledged events are lost: the test above can fail."""
    cuts = _sessions(tmp_path, 60, "NORMAL")
    lost = [_lost(cut) for cut in cuts]
    record_property("control", f"{sum(lost)} lost, in {sum(n > 0 for n in lost)} of {len(cuts)} cuts")
    assert sum(n > 0 for n in lost) > len(cuts) // 4


def test_five_hundred_kills_lose_nothing(tmp_path: Path, record_property: Property) -> None:
    """Ten files, fifty kills each."""
    recorded = sum(kill_again_and_again(tmp_path / f"{seed}.job", seed, 50) for seed in range(10))
    record_property("kills", f"0 of {recorded} lost in 500; 95 % bound {3 / recorded:.1e}")


def test_a_flip_in_every_byte_is_found_or_changes_nothing(tmp_path: Path, record_property: Property) -> None:
    """One seeded bit in each byte of a small job."""
    job, copy = tmp_path / "a.job", tmp_path / "b.job"
    with Recorder(job, session="s", clock=Clock(), new=True) as recorder:
        fill(recorder, 60)
    with Reader(job) as reader:
        in_rows = sum(len(text.encode()) for _, text in reader.texts())
    data, original, random = job.read_bytes(), contents(job), Random(0)
    found = 0
    for byte in range(len(data)):
        copy.write_bytes(flip(data, 8 * byte + random.randrange(8)))
        found += found_or_harmless(copy, original)
    record_property("flips", f"{found} of {len(data)} found; the others lie in no row")
    assert found >= in_rows

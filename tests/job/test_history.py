"""Baselines and the earlier job: taken over once, renewed with a reason only, never replaced."""

import msgspec
import pytest

from commission.job.bodies import BaselineSet, Body, EarlierJobTaken, kind_of
from commission.job.fold import Happened
from commission.job.history import History, fold_history
from commission.record.event import Event
from tests.analysis.partials import baseline

PIET = "Piet Exampler"


def happened(body: Body) -> Happened:
    """The body as an event."""
    event = Event(
        n=1,
        session="s",
        at_utc="2026-05-12T14:30:00+00:00",
        at_mono_ns=0,
        by=PIET,
        kind=kind_of(type(body)),
        v=1,
        need=False,
        body={},
    )
    return Happened(event, body)


def first() -> BaselineSet:
    """A first baseline."""
    return BaselineSet(baseline=baseline(), signed_by=PIET)


def earlier(*baselines: BaselineSet) -> EarlierJobTaken:
    """An earlier job with these baselines."""
    return EarlierJobTaken(
        file="XV-1101-2025-11-24.job",
        tag="XV-1101",
        serial="EH-40117",
        begun_utc="2025-11-24T06:40:00+00:00",
        last_utc="2025-11-24T16:20:00+00:00",
        events=1200,
        head="ab" * 32,
        sheet_digest="cd" * 32,
        practice=True,
        proved=("command_open",),
        returned="L2 3, 2025-11-24",
        baselines=baselines,
    )


def test_a_baseline_is_kept_with_its_time() -> None:
    """And is the one in force."""
    history = fold_history(History(), happened(first()))
    assert history.baseline is not None
    assert history.baseline.set.baseline.id == "B1"
    assert history.baseline.at_utc.startswith("2026-05-12T14:30")
    assert not history.baseline.earlier


def test_r21_a_baseline_is_renewed_only_with_a_reason_and_the_old_one_stays() -> None:
    """By a signed decision."""
    history = fold_history(History(), happened(first()))
    second = msgspec.structs.replace(first(), baseline=msgspec.structs.replace(baseline(), id="B2"))
    with pytest.raises(ValueError, match="with its reason"):
        fold_history(history, happened(second))
    renewed = fold_history(history, happened(msgspec.structs.replace(second, reason="packing replaced")))
    assert [kept.set.baseline.id for kept in renewed.baselines] == ["B1", "B2"]
    assert renewed.baseline is not None
    assert renewed.baseline.set.reason == "packing replaced"


def test_a_name_is_used_once() -> None:
    """Nothing is replaced."""
    history = fold_history(History(), happened(first()))
    with pytest.raises(ValueError, match="B1 is set already"):
        fold_history(history, happened(msgspec.structs.replace(first(), reason="again")))


def test_an_earlier_job_brings_its_baselines_once() -> None:
    """They are marked as the earlier job's."""
    history = fold_history(History(), happened(earlier(first())))
    assert history.earlier is not None
    assert history.earlier.file == "XV-1101-2025-11-24.job"
    assert history.baseline is not None
    assert history.baseline.earlier
    with pytest.raises(ValueError, match="begins from an earlier one already"):
        fold_history(history, happened(earlier()))

"""A second writer is kept out and told by whom."""

import getpass
import os
from pathlib import Path

import pytest

from commission.record.errors import RecordHeld, RecordNotWritten
from commission.record.lock import WriterLock


def test_second_writer_is_told_who_holds_it(tmp_path: Path) -> None:
    """The sentence names the user, the process and since when."""
    path = tmp_path / "XV-1101.job"
    first, second = WriterLock(path), WriterLock(path)
    first.take("2026-05-12T06:40:00+00:00")
    with pytest.raises(RecordHeld) as caught:
        second.take("later")
    first.release()
    sentence = str(caught.value)
    assert "XV-1101.job is being written by" in sentence
    assert getpass.getuser() in sentence
    assert f"process {os.getpid()}, since 2026-05-12T06:40:00+00:00" in sentence


def test_without_a_label_it_still_holds(tmp_path: Path) -> None:
    """A lost or damaged label does not let a second writer in."""
    path = tmp_path / "a.job"
    first, second = WriterLock(path), WriterLock(path)
    first.take("now")
    (tmp_path / ".a.job.writer").write_text("{")
    with pytest.raises(RecordHeld, match="another program"):
        second.take("now")
    first.release()


def test_released_lets_the_next_in(tmp_path: Path) -> None:
    """After release, twice even, the next writer gets it."""
    path = tmp_path / "a.job"
    first, second = WriterLock(path), WriterLock(path)
    first.take("now")
    first.release()
    first.release()
    second.take("now")
    second.release()
    assert not (tmp_path / ".a.job.writer").exists()


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    """A missing folder is a sentence, not a traceback."""
    with pytest.raises(RecordNotWritten, match="no record can be kept"):
        WriterLock(tmp_path / "gone" / "a.job").take("now")

"""Safety rule R27: a chain without a signature proves neither its end nor its origin, and `verify` says so."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

from commission.verify import verify_job
from tests.altering import finished_job, kinds_by_number, rewritten


def test_r27_unsigned_is_said_of_a_sound_job(tmp_path: Path) -> None:
    """The last sentence of every chain's report."""
    check = verify_job(finished_job(tmp_path))
    assert not check.signed
    assert "Without a signature" in check.chain.sentences[-1]
    assert "neither its end nor its origin" in check.chain.sentences[-1]


def test_r27_typed_names_are_statements_and_no_signature(tmp_path: Path) -> None:
    """Somebody's name under a statement does not make the chain a signed one."""
    path = finished_job(tmp_path)

    def sign(body: dict[str, Any]) -> None:
        body["reason"] = "signed by everybody"

    rewritten(path, "session_ended", sign)
    assert not verify_job(path).signed


def test_r27_end_cut_off_is_not_found_and_that_is_said(tmp_path: Path) -> None:
    """Without its last events the chain is intact: exactly what the sentence warns of, and the head changes."""
    path = finished_job(tmp_path)
    whole = verify_job(path).chain
    last = max(kinds_by_number(path))
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("DELETE FROM events WHERE n > ?", (last - 3,))
    cut = verify_job(path)
    assert cut.unaltered
    assert "later events may have been cut off" in cut.chain.sentences[-1]
    assert cut.chain.head != whole.head, "a head noted elsewhere would have told"

"""Tests of commission.report.readings."""

from commission.job import bodies
from commission.report.readings import in_words, readings
from tests.report.jobs import CHECKLIST, OLLIE, TESS, Visit, good_visit

EXPECTING = CHECKLIST.replace(
    'questions = [{ id = "serial", ask = "Serial on the plate" }]',
    """
questions = [
    { id = "serial", ask = "Serial on the plate", expects = "identity.serial" },
    { id = "bit", ask = "Remote bit now", kind = "number", unit = "1", most = "0", origin = "selector in LOCAL" },
    { id = "run", ask = "Run-time limit", kind = "number", unit = "s", expects = "protections.run_limit_s" },
]""",
)


def _answered(question: str, text: str, by: str = TESS, **more: object) -> Visit:
    visit = Visit(checklist=EXPECTING).add(bodies.StepBegun(step="B4"))
    return visit.add(_answer(question, text, **more), by=by)


def _answer(question: str, text: str, **more: object) -> bodies.Answered:
    return bodies.Answered(step="B4", question=question, text=text, verdict="pass", **more)  # type: ignore[arg-type]


def test_readings_stand_beside_their_limits() -> None:
    """Limit, found, and where the limit comes from, by a letter."""
    table = readings(good_visit().job)
    assert table.columns == ("step", "reading", "limit", "found", "verdict")
    assert ("H2", "Gap at the cam", "0.5 to 1.5 mm [a]", "1.0", "pass") in table.rows
    assert "[a] sheet revision D" in table.notes[0]


def test_choices_stand_in_words() -> None:
    """What acted is a word, not a reading."""
    assert ("N1", "What acts", "pump stops") in [row[:3] for row in in_words(good_visit().job).rows]


def test_what_the_sheet_expects_is_the_limit() -> None:
    """A name plate beside the serial of the sheet."""
    rows = readings(_answered("serial", "EH-40117").job).rows
    assert rows == (("B4", "Serial on the plate", "EH-40117 [a]", "EH-40117", "pass"),)


def test_a_bit_has_no_unit() -> None:
    """`at most 0 1` is a riddle: the 1 is the symbol of a ratio."""
    assert readings(_answered("bit", "0", value=0.0, unit="1").job).rows[0][2:4] == ("at most 0 [a]", "0")


def test_a_bare_number_gets_its_unit_and_a_whole_one_no_zeros() -> None:
    """What the unit holds and what the sheet says are printed alike."""
    assert readings(_answered("run", "300", value=300.0, unit="s").job).rows[0][2:4] == ("300 s [a]", "300 s")
    assert readings(_answered("run", "300 s", value=300.0, unit="s").job).rows[0][3] == "300 s"


def test_an_answer_from_a_file_is_marked_and_the_mark_explained() -> None:
    """One sign in the row, one line under the table; on a visit without such answers neither."""
    table = readings(_answered("serial", "EH-40117", from_file=True).job)
    assert table.rows[0][3] == "EH-40117 †"
    assert "†: from an answers file" in table.notes[-1]
    assert "†" not in "".join(readings(good_visit().job).notes)


def test_only_another_person_is_named_in_the_row() -> None:
    """Who gave most answers is named once."""
    visit = _answered("serial", "EH-40117").add(_answer("bit", "0", value=0.0))
    visit.add(_answer("run", "300", value=300.0), by=OLLIE)
    table = readings(visit.job)
    assert [row[3] for row in table.rows] == ["EH-40117", "0", f"300 ({OLLIE})"]
    assert f"by {TESS} unless another is named" in table.notes[-1]


def test_who_answered_is_said_under_the_first_of_the_tables() -> None:
    """Once for both, where the eye meets the first row."""
    job = good_visit().job
    assert any(f"by {TESS}" in note for note in in_words(job).notes)
    assert not any(f"by {TESS}" in note for note in readings(job).notes)


def test_a_verdict_that_all_share_is_said_once_and_any_other_in_its_row() -> None:
    """Nothing is hidden: as soon as one differs, each row says its own."""
    visit = _answered("serial", "EH-40117").add(_answer("bit", "0", value=0.0))
    assert readings(visit.job).columns[-1] == "found"
    assert readings(visit.job).notes[-1].startswith("Verdict of each: pass.")
    visit.add(bodies.Answered(step="B4", question="run", text="240", value=240.0, verdict="fail"))
    assert [row[-1] for row in readings(visit.job).rows] == ["pass", "pass", "fail"]


def test_a_visit_without_answers_has_empty_tables() -> None:
    """No rows and nothing under them."""
    for table in (readings(Visit().job), in_words(Visit().job)):
        assert (table.rows, table.notes) == ((), ())

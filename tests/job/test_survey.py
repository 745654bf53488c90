"""The last look at settings, counters and selector, and what was recorded since."""

from commission.job import bodies
from commission.job.survey import Surveyed, fold_survey
from tests.job.told import seen

LOOK = bodies.UnitSurveyed(when="on leaving live", values={"run_limit": 300.0})


def folded(*told: bodies.Body) -> Surveyed | None:
    """The fold of these events."""
    surveyed: Surveyed | None = None
    for number, body in enumerate(told, start=1):
        surveyed = fold_survey(surveyed, seen(body, number))
    return surveyed


def test_nothing_is_known_before_the_first_look() -> None:
    """What was recorded before it does not matter to it."""
    assert folded(bodies.Adjusted(touched="setting", detail="300 to 900")) is None


def test_a_look_stands_with_its_time_until_the_next() -> None:
    """The second look forgets what was recorded before it."""
    surveyed = folded(LOOK, bodies.Adjusted(touched="setting-run-limit", detail="300 to 900"), LOOK)
    assert surveyed is not None
    assert (dict(surveyed.values), surveyed.at_utc[11:16], surveyed.known) == ({"run_limit": 300.0}, "06:43", ())


def test_what_somebody_recorded_of_a_setting_is_known() -> None:
    """An adjustment of a setting, a lowered setting put on the temporary list, anything taken off it."""
    surveyed = folded(
        LOOK,
        bodies.Adjusted(touched="needle", detail="a quarter turn"),
        bodies.Adjusted(touched="setting-run-limit", detail="run limit 300 to 900 s"),
        bodies.TemporaryAdded(id="T1", kind="jumper", what="wire", where="TB-3", why="test"),
        bodies.TemporaryAdded(id="T2", kind="setting", what="run limit 60 s", where="panel", why="test"),
        bodies.TemporaryRemoved(id="T2", second_person="O. Sampleton", proved_by="read back"),
    )
    assert surveyed is not None
    assert [words.partition(",")[0] for words in surveyed.known] == [
        "run limit 300 to 900 s",
        "T2 run limit 60 s",
        "T2 taken off",
    ]

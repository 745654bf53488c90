"""What was seen of a stroke, as tracks."""

from commission.analysis.observed import limit_role, longest_step_ns
from commission.sample import Silence
from commission.sheet import End
from commission.sheet.decode import Reading
from tests.analysis.seen import observe
from tests.procedures.strokes import Line, Stroke


def test_progress_runs_from_the_start_end_whatever_the_direction() -> None:
    """Opening and closing both begin near 0 and end near 1."""
    for opening in (True, False):
        progress = observe(Stroke(opening=opening), Line(noise=0.0), 1).progress()
        assert (round(progress[0].value, 6), round(progress[-1].value, 6)) == (0.0, 1.0)


def test_a_track_skips_silences_and_unread_points() -> None:
    """Silences are no readings; a role that was not read has an empty track."""
    observed = observe(Stroke(), Line(), 1, (Silence(1, 0, 5, "no answer"),))
    assert observed.track("travel") == ()
    assert observe(Stroke(), Line(), 1).track("pipeline_pressure") == ()


def test_the_start_end_is_the_other_one() -> None:
    """A closing stroke leaves the open end."""
    closing = observe(Stroke(opening=False), Line(), 1)
    assert (closing.start_end, limit_role(closing.start_end)) == (End.OPEN, "open_limit")
    assert limit_role(End.CLOSED) == "closed_limit"


def test_a_gap_is_longer_than_two_and_a_half_steps() -> None:
    """The median step decides what is ordinary polling."""
    track = tuple(Reading(0.0, at, 0) for at in (0, 10, 20, 30, 90))
    assert longest_step_ns(track) == 25
    assert longest_step_ns(track[:1]) == 0

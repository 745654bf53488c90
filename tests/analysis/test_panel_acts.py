"""What the valve made of each act at panel and control room."""

import msgspec
import pytest

from commission.analysis.panel_acts import Act, ActSeen, ActsObserved, Follows
from commission.sheet import End


def seen(follows: Follows, before: float | None, after: float | None, **other: object) -> ActSeen:
    """One act of a valve that an ESD closes."""
    act = Act(id="act", words="Do it.", follows=follows)
    plain = ActSeen(act=act, said="done", before=before, after=after, still=True, at=None, safe=End.CLOSED)
    return msgspec.structs.replace(plain, **other)


def wanted(one: ActSeen, **act: object) -> ActSeen:
    """The same with more asked of its act."""
    return msgspec.structs.replace(one, act=msgspec.structs.replace(one.act, **act))


@pytest.mark.parametrize(
    ("one", "wrong"),
    [
        (seen(Follows.OPENS, 0.0, 0.2), ""),
        (seen(Follows.OPENS, 0.3, 0.2), "travel went the other way, -10.0 %"),
        (seen(Follows.OPENS, 0.0, 0.001), "the valve did not move"),
        (seen(Follows.OPENS, 0.0, 1.0, at=End.OPEN), "ran on to its open end"),
        (seen(Follows.OPENS, 0.0, 0.2, still=False), "did not stop"),
        (seen(Follows.OPENS, None, None), "travel is not read"),
        (seen(Follows.CLOSES, 0.5, 0.2), ""),
        (seen(Follows.CLOSES, 0.5, 0.0, at=End.CLOSED), "ran on to its closed end"),
        (seen(Follows.SAFE, 0.5, 0.0, at=End.CLOSED), ""),
        (seen(Follows.SAFE, 0.5, 0.4), "did not go to its closed end"),
        (seen(Follows.SAFE, 0.5, 1.0, at=End.OPEN), "did not go to its closed end"),
        (seen(Follows.STAYS, 0.5, 0.502), ""),
        (seen(Follows.STAYS, None, None), ""),
        (seen(Follows.STAYS, 0.5, 0.52), "moved by +2.0 %"),
        (wanted(seen(Follows.STAYS, 0.5, 0.5, said="obeyed"), answers=("refused", "obeyed")), "refused was expected"),
        (wanted(seen(Follows.STAYS, 0.5, 0.5, said="refused"), answers=("refused", "obeyed")), ""),
        (wanted(seen(Follows.OPENS, 0.0, 0.2, stem="open"), stem=True), ""),
        (wanted(seen(Follows.OPENS, 0.0, 0.2, stem="closed"), stem=True), "stem went closed, not open"),
        (wanted(seen(Follows.CLOSES, 0.5, 0.3, stem="still"), stem=True), "stem went still, not closed"),
        (wanted(seen(Follows.STAYS, 0.5, 0.5), stem=True), "nobody saw where"),
        (wanted(seen(Follows.STAYS, 0.5, 0.5, remote=False), remote=True), "bit shows not remote"),
        (wanted(seen(Follows.STAYS, 0.5, 0.5, remote=None), remote=True), ""),
    ],
)
def test_an_act_is_right_or_says_what_is_not(one: ActSeen, wrong: str) -> None:
    """Travel, limits, the answer, the stem and the selector's bit each have a say."""
    assert (wrong in one.wrong) if wrong else not one.wrong
    assert one.words.startswith("act: ")
    assert (one.wrong in one.words) if wrong else (one.act.follows in one.words)


def test_a_list_passes_whole_fails_by_name_and_is_no_test_where_it_was_left() -> None:
    """The sentence of each act stands in the verdict."""
    good, bad = seen(Follows.OPENS, 0.0, 0.2), seen(Follows.STAYS, 0.5, 0.9)
    assert ActsObserved(test="J2 1", seen=(good,)).verdict == (True, good.words)
    passed, words = ActsObserved(test="J2 1", seen=(good, bad)).verdict
    assert (passed, words) == (False, "act: the valve moved by +40.0 %")
    assert ActsObserved(test="J2 1", seen=(good,), why="esd: cannot: sealed").verdict == (None, "esd: cannot: sealed")

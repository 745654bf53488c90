"""Everything that can be asked for at a prompt: each request works, and is refused in a sentence where it cannot."""

from pathlib import Path

import pytest

from commission.checklist import load_checklist
from commission.cli.requests import REQUESTS, Typed, perform
from commission.content import Text
from commission.face.dialogue import Left
from commission.figure import Verdict
from tests.cli.conftest import COMMISSIONING
from tests.cli.talking import Talk, talking
from tests.virtual_time import run_virtual
from tests.visiting import OLLIE, TESS


def commissioning() -> tuple[Text, ...]:
    """The packed commissioning checklist."""
    return load_checklist(COMMISSIONING)[1]


def typed(talk: Talk, words: str = "", step: str = "") -> Typed:
    """A request of Tess."""
    job = talk.visit.job
    return Typed(visit=talk.visit, step=job.checklist.step(step) if step else None, words=words, by=TESS)


def test_help_lists_every_request_in_80_columns(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With what it takes, how to name whose word an answer is, and what stops a motion."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            capsys.readouterr()
            await perform("help", typed(talk))
            shown = capsys.readouterr().err
            assert all(f"/{name}" in shown for name in REQUESTS)
            assert "lock 12 by J. Demoval" in shown
            assert all(len(line) <= 80 for line in shown.splitlines())

    run_virtual(main())


def test_who_names_somebody_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Name and role are recorded, and the name is the new one at the keyboard."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            assert await perform("who", typed(talk, "O. Sampleton, operator")) == "O. Sampleton"
            assert talk.visit.job.register.people["O. Sampleton"].role == "operator"
            with pytest.raises(ValueError, match="name and role"):
                await perform("who", typed(talk))

    run_virtual(main())


def test_the_temporary_list_is_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """On with kind, what, where and why; shown; off with a second person and a proof."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False, checklist=commissioning()) as talk:
            kind = next(iter(talk.visit.job.checklist.temporary))
            await perform("temporary", typed(talk, f"{kind}; jumper wire; TB-3 4 to 5; to hold the ESD loop"))
            capsys.readouterr()
            await perform("state", typed(talk))
            assert "temporary T1: jumper wire at TB-3 4 to 5" in capsys.readouterr().err
            with pytest.raises(ValueError, match="cannot be the second person"):
                await perform("off", typed(talk, f"T1; {TESS}; alarm returned"))
            await perform("off", typed(talk, f"T1; {OLLIE}; alarm returned"))
            assert not talk.visit.job.temporary["T1"].is_on
            with pytest.raises(ValueError, match="4 parts are wanted"):
                await perform("temporary", typed(talk, "jumper"))

    run_virtual(main())


def test_an_adjustment_says_what_is_void(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What depends on it is listed before anything is repeated."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            capsys.readouterr()
            touched = next(iter(talk.visit.job.checklist.voids))
            await perform("touched", typed(talk, f"{touched}; cam from 2 to 3 mm"))
            assert "Void, to be repeated: nothing yet" in capsys.readouterr().err
            with pytest.raises(ValueError, match="not in the table"):
                await perform("touched", typed(talk, "paint; green"))

    run_virtual(main())


def test_a_deviation_is_raised_and_accepted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By the owner's side, with a reason; once."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            await perform("deviation", typed(talk, "revision D; revision C on site", "K1-open"))
            await perform("accept", typed(talk, "D1; P. Exampler; part on order"))
            deviation = talk.visit.job.deviations["D1"]
            assert deviation.raised.step == "K1-open"
            assert deviation.accepted is not None
            with pytest.raises(ValueError, match="no deviation that waits"):
                await perform("accept", typed(talk, "D1; P. Exampler; again"))

    run_virtual(main())


def test_a_step_is_skipped_with_a_reason_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without one nothing has begun; with one the step is not tested, and says why."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            with pytest.raises(ValueError, match="say why"):
                await perform("skip", typed(talk, "", "K1-open"))
            assert "K1-open" not in talk.visit.job.steps
            await perform("skip", typed(talk, "no loop calibrator on site", "K1-open"))
            last = talk.visit.job.steps["K1-open"].last
            assert last is not None
            assert (last.verdict, "no loop calibrator" in last.reason) == (Verdict.NOT_TESTED, True)
            with pytest.raises(ValueError, match="no step is open"):
                await perform("skip", typed(talk, "because"))

    run_virtual(main())


def test_a_crossing_is_begun_where_it_may_and_abandoned(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown way names the ways there are; abandoning needs a crossing under way and a reason."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False, checklist=commissioning()) as talk:
            talk.there.arrive()
            with pytest.raises(ValueError, match=r"from here one crosses to: .*in operation"):
                await perform("cross", typed(talk, "upstairs"))
            await perform("cross", typed(talk, "in operation"))
            assert talk.visit.job.steps["B0-operation"].last is not None
            with pytest.raises(ValueError, match="no crossing is under way"):
                await perform("abandon", typed(talk, "rain"))

    run_virtual(main())


def test_r07_gas_leads_to_unknown_and_leave_ends(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The gas alarm says what to do; leaving says that one may go on."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            talk.there.arrive()
            talk.there.cross("in operation")
            await perform("gas", typed(talk))
            assert str(talk.visit.job.energy_log.now.state) == "unknown"
            assert "muster point" in capsys.readouterr().err
            with pytest.raises(Left, match="goes on from here"):
                await perform("leave", typed(talk))

    run_virtual(main())


def test_an_unknown_request_gets_the_nearest(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A slip of the keys is no answer and no crash."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            with pytest.raises(ValueError, match="did you mean /leave"):
                await perform("leaf", typed(talk))

    run_virtual(main())

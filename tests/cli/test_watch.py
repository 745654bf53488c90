"""`commission watch`: the points now, as a table."""

import argparse
import json
from pathlib import Path

import pytest

from commission.cli import watch
from commission.cli.arguments import parser
from commission.cli.output import Status
from commission.link.url import Address
from tests.cli.conftest import SHEET
from tests.supervise.rig import demo_sheet, served
from tests.virtual_time import run_virtual, virtual_clock


def chosen(address: Address, *more: str) -> argparse.Namespace:
    """The command line."""
    return parser().parse_args(["watch", str(SHEET), "--connect", address.text, *more])


async def watched(address: Address, monkeypatch: pytest.MonkeyPatch, times: int, *, as_json: bool = False) -> Status:
    """Watch in virtual time."""
    monkeypatch.setattr(watch, "Clock", virtual_clock)
    return await watch._watch(demo_sheet(), address.text, times, as_json=as_json)


def test_every_point_has_a_line_with_value_unit_and_age(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A head that says PRACTICE and reads only; bits as words; 80 columns; nothing is written."""

    async def main() -> None:
        async with served(demo_sheet()) as unit:
            assert await watched(unit.address, monkeypatch, 2) is Status.DONE
            assert not any(frame.is_write for frame in unit.server.frames)

    run_virtual(main())
    captured = capsys.readouterr()
    assert "PRACTICE at speed 1" in captured.err
    assert "Reads only. Not a safety system." in captured.err
    lines = captured.out.splitlines()
    assert sum(line.startswith("point ") for line in lines) == 2
    assert all(len(line) <= 80 for line in lines)
    travel = next(line for line in lines if line.lower().startswith("travel "))
    assert travel.split()[-3:-1] == ["0.0", "%"]
    assert "\x1b" not in captured.out


def test_json_is_one_reading(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """One object with value, unit and age of every point."""

    async def main() -> None:
        async with served(demo_sheet()) as unit:
            assert await watched(unit.address, monkeypatch, 1, as_json=True) is Status.DONE

    run_virtual(main())
    found = json.loads(capsys.readouterr().out)
    assert found["tag"] == "XV-1101"
    assert set(found["points"]["travel"]) == {"value", "unit", "age_s"}


@pytest.mark.parametrize("as_json", [{}, {"as_json": True}], ids=["table", "json"])
def test_a_unit_that_falls_silent_is_status_3(
    as_json: dict[str, bool], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """No reading at all: said each time, in the object too, and never a zero."""

    async def main() -> None:
        async with served(demo_sheet()) as unit:
            head = watch._head

            def deafen(*given: object) -> str:
                unit.server.deaf = True
                return head(*given)  # type: ignore[arg-type]  # passed through

            monkeypatch.setattr(watch, "_head", deafen)
            assert await watched(unit.address, monkeypatch, 1, **as_json) is Status.UNREACHED

    run_virtual(main())
    captured = capsys.readouterr()
    assert "no reading" in captured.err
    if as_json:
        assert json.loads(captured.out)["error"]
    else:
        assert captured.out == ""


def test_another_unit_than_the_sheets_is_not_watched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Status 3 with both identity codes (as WrongUnit, see output)."""
    import msgspec

    from commission.link.faults import WrongUnit

    sheet = demo_sheet()
    other = msgspec.structs.replace(sheet, identity=msgspec.structs.replace(sheet.identity, code=1102))

    async def main() -> None:
        async with served(sheet) as unit:
            monkeypatch.setattr(watch, "Clock", virtual_clock)
            with pytest.raises(WrongUnit, match=r"identity code 1101.*1102"):
                await watch._watch(other, unit.address.text, 1, as_json=False)

    run_virtual(main())


def test_how_often_and_how_is_taken_from_the_command_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """`--json` reads once whatever `--times` says."""
    asked: list[tuple[int, bool]] = []

    async def noting(_sheet: object, _url: str, times: int, *, as_json: bool) -> Status:
        asked.append((times, as_json))
        return Status.DONE

    monkeypatch.setattr(watch, "_watch", noting)
    address = next(iter([parser().parse_args(["watch", str(SHEET), "--connect", "tcp://h", "--json", "--times", "9"])]))
    assert watch.run(address) is Status.DONE
    assert asked == [(1, True)]

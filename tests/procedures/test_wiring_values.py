"""I3: values against references, at a practice unit whose map is not the laptop's."""

import asyncio
from collections.abc import Mapping
from pathlib import Path

import msgspec
import pytest

from commission.analysis.wiring import Finding, WiringSeen
from commission.job.bodies import Noted
from commission.procedures.requests import Answer, Ask, Begin, Note
from commission.procedures.wiring_values import compare_values
from commission.sheet import Sheet
from tests.procedures.playbook import Playbook
from tests.shuffled import shuffled
from tests.supervise.rig import Site, demo_sheet, rig
from tests.virtual_time import run_virtual

SHEET = demo_sheet()
POINTS = {"supply_voltage": 0.02, "pipeline_pressure": 0.1, "oil_temperature": 0.5}
LOOKS = {"supply_voltage": "meter", "pipeline_pressure": "line_gauge", "oil_temperature": "thermometer"}


class Readers:
    """People who read meter, gauge and thermometer at the unit, some seconds after they are asked."""

    def __init__(self, site: Site, said: Mapping[str, float] | None = None) -> None:
        self._site = site
        self._said = dict(said or {})
        self.asked: list[Ask] = []

    async def ask(self, question: Ask) -> Answer:
        """What the instrument shows."""
        self.asked.append(question)
        await asyncio.sleep(3.0)
        value = float(self._said.get(question.id, self._site.desk.read(LOOKS[question.id])))
        return Answer(question.id, f"{value:g} {question.unit}", "Juno Demoval", 0, value)


async def proved(site: Site, laptop: Sheet, said: Mapping[str, float] | None = None) -> tuple[WiringSeen, Readers]:
    """The three points compared at the unit."""
    readers = Readers(site, said)
    site.supervisor._people = readers
    ended = await site.run(compare_values(laptop, "I3 1", POINTS))
    assert ended.observed is not None, ended
    return ended.observed, readers


def test_three_independent_values_prove_the_map(tmp_path: Path) -> None:
    """24.37 V by the meter, not 0.0 %; the register is shown only after the reference was read."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            seen, readers = await proved(site, SHEET)
            assert seen.proved, seen.words
            assert [question.unit for question in readers.asked] == ["V", "bar", "°C"]
            assert readers.asked[0].text == "Meter on the control supply's terminals, good to 0.02 V: it reads"
            marks = [note.mark for note in site.bodies(Noted)]
            assert marks[0].startswith("NEXT  Meter")
            assert marks[1].startswith("SEEN  supply voltage: the register reads 24.3")

    run_virtual(main())


@pytest.mark.parametrize("seed", [2, 3, 5, 11, 17, 23, 31, 44])
def test_a_shuffled_map_is_named_at_the_unit(tmp_path: Path, seed: int) -> None:
    """Over the wire: the laptop's sheet is wrong, the unit is right, and the cause comes out as it was shuffled."""
    case = shuffled(seed)

    async def main() -> None:
        async with rig(tmp_path, sheet=case.unit, laptop=case.sheet) as site:
            seen, _ = await proved(site, case.sheet)
            assert not seen.proved
            whole = seen.points[-1]
            assert whole.forced == "The map as a whole", seen.words
            assert len(whole.correction) == len(case.wrong), (whole, case.wrong)
            if any(known.field == "order" for known in case.wrong):
                assert 'order = "CDAB"' in " ".join(whole.correction)
            if any(known.field == "shift" for known in case.wrong):
                assert "list counts from" in whole.seen
            assert whole.correction[0] in seen.words

    run_virtual(main())


def test_an_instrument_that_disagrees_is_no_matter_of_the_map(tmp_path: Path) -> None:
    """A gauge read as 49 bar: said at once, and at the end that no other reading helps."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            seen, _ = await proved(site, SHEET, {"pipeline_pressure": 49.0})
            assert [point.finding for point in seen.points] == [Finding.RIGHT, Finding.DIFFERS, Finding.RIGHT]
            marks = [note.mark for note in site.bodies(Noted)]
            assert any("NOT SO  pipeline pressure: the register reads 61.8" in mark for mark in marks)

    run_virtual(main())


def test_a_value_that_moves_is_asked_for_again_three_times_at_most(tmp_path: Path) -> None:
    """The line is being vented: no comparison until it stands, and no endless asking."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            readers = Readers(site)
            site.supervisor._people = readers
            site.desk.act("root_valve", False)
            site.desk.act("test_pump_bar", 5.0, rate_bar_s=1.5)
            ended = await site.run(compare_values(SHEET, "I3 1", {"pipeline_pressure": 0.1}))
            assert ended.observed is not None
            assert len(readers.asked) == 3
            assert readers.asked[1].text.startswith("The register was not still while you read. Again: ")

    run_virtual(main())


def test_it_asks_for_nothing_that_the_unit_has_not_got() -> None:
    """And says so where nothing is left."""
    bare = msgspec.structs.replace(SHEET, points=SHEET.points[:4])
    play = Playbook(compare_values(bare, "I3 1", POINTS))
    begun = play.requests[0]
    assert isinstance(begun, Begin)
    assert (begun.commands, begun.neighbours) == ((), True)
    assert begun.roles == ("supply_voltage", "travel", "cylinder_pressure")
    play << Begin >> None
    play << Note("NEXT  Meter on the control supply's terminals, good to 0.02 V: it reads", loud=True)
    Playbook.unfinished.remove(play)
    with pytest.raises(ValueError, match="no point for feedback_current"):
        next(compare_values(bare, "I3 1", {"feedback_current": 0.01}))

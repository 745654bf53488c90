"""I2: each contact changes its own bit, hands-free, against a real practice unit in virtual time and in playbooks."""

from collections.abc import Iterator, Mapping
from pathlib import Path

import msgspec
import pytest

from commission.analysis.wiring import Finding, WiringSeen
from commission.analysis.wiring_contacts import operations
from commission.content import checklists_folder
from commission.job.bodies import Noted
from commission.practice.condition import HEALTHY, Condition
from commission.procedures.requests import Answer, Begin, Note, SafeEnd
from commission.procedures.wiring_contacts import SETTLE_S, STILL_S, see_contacts
from commission.sample import Silence
from commission.sheet import ROLES, RoleKind, load_sheet
from commission.sheet.decode import Reading, Readings
from tests.hands import Hands
from tests.procedures.playbook import Playbook
from tests.supervise.rig import Site, demo_sheet, rig
from tests.virtual_time import run_virtual

SHEET = demo_sheet()
BITS = tuple(point.role for point in SHEET.points if ROLES[point.role].kind is RoleKind.BIT)
TESS = "Tess Placeholder"


async def proved(
    site: Site, *only: str, said: Mapping[str, str] | None = None, fumbles: tuple[str, ...] = ()
) -> tuple[WiringSeen, Hands]:
    """The contacts of these roles, all where none is given, operated at the unit; `fumbles` fail the first time."""
    hands = Hands(site.desk, said, fumbles)
    site.supervisor._people = hands
    ended = await site.run(see_contacts(site.sheet, "I2 1", frozenset(only) or None))
    assert ended.observed is not None, ended
    return ended.observed, hands


def test_every_contact_of_a_sound_unit_is_seen_both_ways_without_a_key(tmp_path: Path) -> None:
    """Nothing is typed; what was seen is said aloud, and what is proved elsewhere is named with where."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            seen, hands = await proved(site)
            assert seen.proved, seen.words
            assert [point.finding for point in seen.points] == [Finding.RIGHT] * 12
            assert seen.words == "12 of 12 as they should be"
            assert not [asked for asked in hands.asked if asked.endswith("then")]
            notes = [note.mark for note in site.bodies(Noted)]
            assert "NEXT  Turn the selector to LOCAL" in notes
            local = [note for note in notes if note.startswith("SEEN  selector local or off")]
            assert "automatic not in automatic" in local[0], "what follows by the unit's own logic is said too"
            assert "alarm relay alarm" in local[0]
            assert len(seen.not_forced) == len(BITS) - 6
            assert "motor: by the command pulses (I3)" in seen.not_forced
            assert site.truth().travel_pct == 0
            assert not site.writes(), "it commands nothing"

    run_virtual(main())


def cases() -> Iterator[tuple[Condition, str, Finding, str, str]]:
    """A wiring fault, the contact that shows it, what it is called, words of it, and the line for the sheet."""
    healthy = HEALTHY
    replace = msgspec.structs.replace
    yield (
        replace(healthy, crossed_contacts=(("low_fluid", "esd_healthy"),)), "low_fluid", Finding.WRONG_POINT,
        "ESD loop (discrete 7) changed instead of fluid (discrete 5)", "low_fluid: address = 7 (the sheet says 5)",
    )  # fmt: skip
    yield (
        replace(healthy, inverted_contacts=("low_fluid",)), "low_fluid", Finding.INVERTED,
        "reads fluid enough where it should read fluid low: 1 means low",
        'low_fluid: one_means = "low" (the sheet says enough)',
    )  # fmt: skip
    yield (
        replace(healthy, shared_commons=(("remote", "low_fluid"),)), "remote", Finding.TOGETHER,
        "fluid changed with it: a shared common", "",
    )  # fmt: skip
    yield (
        replace(healthy, bouncing_contacts=("open_limit",)), "open_limit", Finding.BOUNCED, "the contact bounces", "",
    )  # fmt: skip
    yield (
        replace(healthy, closed_limit_chatters=True), "closed_limit", Finding.BOUNCED,
        "with nobody touching it: its screw, lever or core is loose", "",
    )  # fmt: skip
    yield (
        replace(healthy, dead_contacts=("open_limit",)), "open_limit", Finding.NONE,
        "open limit (discrete 0) did not change, nor did anything else. Look for a blown fuse", "",
    )  # fmt: skip
    yield (
        replace(healthy, dead_contacts=("remote",)), "remote", Finding.NONE,
        "The unit acted on it, selector (discrete 4) did not change: the wire is whole", "",
    )  # fmt: skip
    yield (
        replace(healthy, dead_contacts=("alarm_fluid",)), "low_fluid", Finding.NOT_FOLLOWED,
        "low fluid alarm active was to follow and did not", "",
    )  # fmt: skip


@pytest.mark.parametrize(("condition", "role", "finding", "words", "line"), list(cases()))
def test_each_wiring_fault_is_named_in_words_with_what_to_do(
    tmp_path: Path, condition: Condition, role: str, finding: Finding, words: str, line: str
) -> None:
    """At a unit that has the fault: the point, the sense, the companion, and a line for the sheet if one helps."""

    async def main() -> None:
        async with rig(tmp_path, condition=condition) as site:
            seen, _ = await proved(site, role, said={f"{role} there": "done", f"{role} back": "done"})
            first = seen.points[0]
            assert (first.role, first.finding) == (role, finding), seen.words
            assert words in first.words
            assert not seen.proved
            assert first.words in seen.words
            assert (line in first.correction) if line else not first.correction

    run_virtual(main())


def test_a_fault_put_right_is_forced_again_and_both_times_are_kept(tmp_path: Path) -> None:
    """The first stays in the record; only the last counts."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            said = {"low_fluid there": "done", "low_fluid there then": "again"}
            seen, _ = await proved(site, "low_fluid", said=said, fumbles=("low_fluid there",))
            there, again, back = seen.points
            assert (there.finding, there.again) == (Finding.NONE, True)
            assert (again.finding, again.again) == (Finding.RIGHT, False)
            assert back.is_right
            assert seen.proved
            assert seen.words == "2 of 2 as they should be, 1 only when forced again"

    run_virtual(main())


def test_what_cannot_be_operated_is_said_and_proves_nothing(tmp_path: Path) -> None:
    """A missing test rod is a reason, not a pass."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            said = {"low_fluid there": "cannot, no test rod fitted", "low_fluid back": "Cannot: the same"}
            seen, _ = await proved(site, "low_fluid", said=said, fumbles=("low_fluid there", "low_fluid back"))
            assert [point.finding for point in seen.points] == [Finding.NOT_FORCED] * 2
            assert seen.points[0].words == "Not operated: no test rod fitted."
            assert not seen.proved

    run_virtual(main())


@pytest.mark.parametrize(("tag", "first_limit"), [("bdv-3307", "open limit"), ("fcv-2204", "closed limit")])
def test_other_units_are_proved_by_the_same_words(tmp_path: Path, tag: str, first_limit: str) -> None:
    """Inverted bits packed in one register and a fail-open valve; a list that counts from 1 and no fail position."""
    sheet = load_sheet(checklists_folder() / "units" / f"{tag}.toml")[0]

    async def main() -> None:
        start = "open" if tag == "bdv-3307" else "closed"
        async with rig(tmp_path, sheet=sheet, start=start) as site:
            seen, _ = await proved(site)
            assert seen.proved, seen.words
            limits = [point.forced for point in seen.points if "limit" in point.forced]
            assert limits[0] == f"Hold the {first_limit}'s lever off, with a rod"
            assert not site.writes()

    run_virtual(main())


def test_operations_are_in_pairs_and_only_of_points_that_the_unit_has() -> None:
    """There and back; a unit without a hand pump has no lever to take out."""
    found = operations(SHEET)
    assert [operation.back for operation in found] == [False, True] * 6
    bare = msgspec.structs.replace(SHEET, volumes=SHEET.volumes[:2])
    assert "automatic" not in {operation.role for operation in operations(bare)}
    anywhere = msgspec.structs.replace(SHEET, actuator=msgspec.structs.replace(SHEET.actuator, fail_position=None))
    between = [operation.do for operation in operations(anywhere, frozenset({"open_limit", "closed_limit"}))]
    assert [words for words in between if words.startswith("Hold")] == [], "between the ends both levers are pressed"
    none = msgspec.structs.replace(SHEET, points=SHEET.points[:3])
    with pytest.raises(ValueError, match="no contact that a hand can operate"):
        next(see_contacts(none, "I2 1"))


class Told:
    """Samples for a playbook: all bits at rest but those named, each sample 0.1 s after the one before."""

    def __init__(self) -> None:
        self.number = 0
        self.rest = dict.fromkeys(BITS, 0.0) | dict.fromkeys(("remote", "automatic", "alarm_relay"), 1.0)

    def seen(self, **bits: float) -> Readings:
        """The next sample."""
        self.number += 1
        at_ns = self.number * 100_000_000
        values = self.rest | bits
        return Readings(self.number, at_ns, {role: Reading(value, at_ns, 5_000_000) for role, value in values.items()})

    def for_s(self, seconds: float, **bits: float) -> list[Readings]:
        """Samples for so long."""
        return [self.seen(**bits) for _ in range(round(seconds * 10) + 1)]


def test_a_silence_is_waited_through_and_what_stays_away_from_rest_is_asked_for() -> None:
    """A lead that was moved is no change; an alarm that stays is reset, or left as it is by somebody's word."""
    told = Told()
    local = {"remote": 0.0, "automatic": 0.0, "alarm_not_automatic": 1.0, "alarm_relay": 0.0}
    play = Playbook(see_contacts(SHEET, "I2 1", frozenset({"remote"})))
    play << Begin >> None << Note >> None
    play.feed(told.for_s(STILL_S))
    play << Note("NEXT  Turn the selector to LOCAL", loud=True) >> None
    silence = Silence(told.number + 1, told.number * 100_000_000, told.number * 100_000_000, "no answer")
    play.feed([told.seen(), silence, *told.for_s(SETTLE_S + 0.2, **local)])
    play << Note >> None << Note("NEXT  Turn the selector back to REMOTE", loud=True) >> None
    play.feed(told.for_s(SETTLE_S + 0.2, alarm_not_automatic=1.0, alarm_relay=0.0))
    play << Note >> None
    play << (lambda asked: isinstance(asked, Note) and "Press RESET at the unit" in asked.mark) >> None
    play.feed([told.seen(alarm_not_automatic=1.0, alarm_relay=0.0), Answer("reset", "leave", TESS, 0)])
    seen = play.returned()
    assert [point.finding for point in seen.points] == [Finding.RIGHT, Finding.RIGHT]
    assert seen.points[0].at_ns > 0


def test_its_beginning_names_no_command_and_looks_beside_every_point() -> None:
    """Send nothing is all its safe end can be; silences of half a minute are waited through."""
    play = Playbook(see_contacts(SHEET, "I2 1"))
    begun = play.requests[0]
    assert isinstance(begun, Begin)
    assert (begun.commands, begun.safe_end, begun.safe_command) == ((), SafeEnd.SEND_NOTHING, None)
    assert (begun.neighbours, begun.gap_s, set(begun.roles)) == (True, 30.0, set(BITS))
    Playbook.unfinished.remove(play)

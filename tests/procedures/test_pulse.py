"""I2: each command pulsed in control, and believed only by what the motor's contactor shows (safety rule R8)."""

import msgspec
import pytest

from commission.content import checklists_folder
from commission.procedures.pulse import SEEN_WITHIN_S, prove_commands
from commission.procedures.pulse_seen import PulseSeen, PulsesSeen
from commission.procedures.requests import Begin, Command, Note, SafeEnd, Sent, Watch
from commission.sample import Outcome, Silence
from commission.sheet import load_sheet
from commission.sheet.decode import Reading, Readings
from tests.procedures.playbook import Playbook

SHEET = load_sheet(checklists_folder() / "units" / "xv-1101.toml")[0]
S = 1_000_000_000


def seen(at_s: float, *, motor: bool = False, closed: bool = True, travel: float = 0.0, bar: float = 0.0) -> Readings:
    """One sample of a unit that stands ready but for what is said."""
    at_ns = round(at_s * S)
    values = {
        "motor_running": float(motor),
        "closed_limit": float(closed),
        "open_limit": 0.0,
        "travel": travel,
        "cylinder_pressure": bar * 1e5,
    }
    return Readings(1, at_ns, {role: Reading(value, at_ns, S // 200) for role, value in values.items()})


def sent(role: str, at_s: float, outcome: Outcome = Outcome.ANSWERED) -> Sent:
    """A command that went out."""
    return Sent(role, 1, round(at_s * S), S // 200, outcome, "" if outcome is Outcome.ANSWERED else "selector in LOCAL")


def refused_partial(at_s: float, code: int = 4) -> Sent:
    """The start of a partial stroke, refused with this exception."""
    at_ns = round(at_s * S)
    words = f"the unit failed (exception {code})"
    return Sent("command_partial_stroke", 1, at_ns, S // 200, Outcome.REFUSED, words, code)


def test_where_oil_closes_the_valve_close_is_the_pump() -> None:
    """BDV-3307: close, stop, close, open, in that order; the valve is at its fail position, open."""
    sheet = load_sheet(checklists_folder() / "units" / "bdv-3307.toml")[0]
    ready = _open_too(seen(0, closed=False, travel=1.0))
    play = Playbook(prove_commands(sheet, "I2 1")) << Begin >> None << Watch() >> ready
    for number, (role, closes) in enumerate(
        (("command_close", True), ("command_stop", False), ("command_close", True), ("command_open", False)), start=1
    ):
        play = (
            play
            << Command(role)
            >> sent(role, number)
            << Watch()
            >> seen(number + 0.1, motor=closes, closed=False, travel=1.0)
        )
        play = play << Note >> None
    pulses = play.returned()
    assert pulses.all_proved
    assert pulses.proved == ("command_close", "command_open", "command_stop")


def _open_too(readings: Readings) -> Readings:
    """With its open limit made."""
    values = {**readings.by_role, "open_limit": Reading(1.0, readings.at_ns, S // 200)}
    return Readings(readings.number, readings.at_ns, values)


@pytest.mark.parametrize(
    ("alarm", "words"), [("alarm_oil_cold", "because the oil is too cold"), ("alarm_fluid", "because fluid is low")]
)
def test_a_unit_that_keeps_its_pump_off_proves_nothing(alarm: str, words: str) -> None:
    """The reason is said instead of a command that seems not to work; nothing is sent."""
    sheet = load_sheet(checklists_folder() / "units" / "bdv-3307.toml")[0]
    ready = _open_too(seen(0, closed=False, travel=1.0))
    cold = Readings(1, ready.at_ns, {**ready.by_role, alarm: Reading(1.0, ready.at_ns, S // 200)})
    pulses = (Playbook(prove_commands(sheet, "I2 1")) << Begin >> None << Watch() >> cold << Note >> None).returned()
    assert not pulses.all_proved
    assert all(words in pulse.words for pulse in pulses.pulses)


def test_four_pulses_each_seen() -> None:
    """Open closes the contactor, stop opens it; open again, close opens it. All are proved, the contactor left open."""
    play = (
        Playbook(prove_commands(SHEET, "I2 1"))
        << Begin
        >> None
        << Watch()
        >> seen(0)
        << Command("command_open")
        >> sent("command_open", 1)
        << Watch()
        >> seen(1.1, motor=True)
        << Note("command_open: closed the motor contactor")
        >> None
        << Command("command_stop")
        >> sent("command_stop", 2)
        << Watch()
        >> seen(2.1)
        << Note("command_stop: opened the motor contactor")
        >> None
        << Command("command_open")
        >> sent("command_open", 3)
        << Watch()
        >> seen(3.1, motor=True)
        << Note
        >> None
        << Command("command_close")
        >> sent("command_close", 4)
        << Watch()
        >> seen(4.1)
        << Note("command_close: opened the motor contactor")
        >> None
        << Command("command_partial_stroke")
        >> refused_partial(5)
        << Note("command_partial_stroke: was refused, as it must be here (the unit failed (exception 4))")
        >> None
    )
    pulses = play.returned()
    assert pulses.all_proved
    assert pulses.proved == ("command_close", "command_open", "command_partial_stroke", "command_stop")


def test_begin_makes_safe_by_stop_and_lets_nothing_move() -> None:
    """Safe end stop; guards trip on travel between the ends and on pressure, not on what stands."""
    begun = next(prove_commands(SHEET, "I2 1"))
    assert isinstance(begun, Begin)
    assert (begun.test, begun.safe_end) == ("I2 1", SafeEnd.STOP)
    (guard,) = begun.guards.values()
    assert guard(seen(0)) is None
    for moving, words in ((seen(0, travel=0.3), "moving in control"), (seen(0, bar=20), "motor supply is not off")):
        tripped = guard(moving)
        assert tripped is not None
        assert words in tripped.reason
        assert not tripped.taken_over
    assert guard(Readings(1, 0, {})) is None


@pytest.mark.parametrize(
    ("first", "words"),
    [
        (seen(0, motor=True), "the motor contactor is not open"),
        (seen(0, closed=False), "the valve is not at its fail position, closed"),
        (Readings(1, 0, {}), "the motor contactor is not open"),
        (Silence(1, 0, S, "no answer"), "no sample came before the first pulse"),
    ],
)
def test_unit_that_does_not_stand_ready_is_not_pulsed(first: Readings | Silence, words: str) -> None:
    """Nothing is sent, nothing is proved, and it is said what stands in the way."""
    play = Playbook(prove_commands(SHEET, "I2 1")) << Begin >> None << Watch() >> first << Note(words) >> None
    pulses = play.returned()
    assert pulses.proved == ()
    assert words in pulses.words


def test_contactor_that_stays_open_proves_neither_open_nor_stop() -> None:
    """The unit answers and does nothing: no pulse after it can be seen, so none is tried or proved."""
    play = (
        Playbook(prove_commands(SHEET, "I2 1"))
        << Begin
        >> None
        << Watch()
        >> seen(0)
        << Command("command_open")
        >> sent("command_open", 1)
    ).feed([seen(1 + 0.5 * step) for step in range(1, 8)])
    play << Note("command_open: did not close the motor contactor") >> None
    play << Note("command_stop: not tried, because the motor contactor was open already") >> None
    play << Command("command_open") >> sent("command_open", 6, Outcome.REFUSED)
    play << Note("command_open: was refused: selector in LOCAL") >> None
    play << Note("command_close: not tried, because the motor contactor was open already") >> None
    play << Command("command_partial_stroke") >> refused_partial(7, code=2)
    play << Note("command_partial_stroke: the unit failed (exception 2)") >> None
    assert play.returned().proved == ()


def test_effect_after_its_time_is_not_the_commands() -> None:
    """A silence or a late change is not waited for beyond the time in which a command shows."""
    play = (
        Playbook(prove_commands(SHEET, "I2 1"))
        << Begin
        >> None
        << Watch()
        >> seen(0)
        << Command("command_open")
        >> sent("command_open", 1)
        << Watch()
        >> Silence(2, 0, round((1 + SEEN_WITHIN_S + 0.1) * S), "no answer")
        << Note("command_open: did not close the motor contactor")
        >> None
        << Note
        >> None
        << Command("command_open")
        >> sent("command_open", 6)
        << Watch()
        >> seen(6.1, motor=True)
        << Note("command_open: closed the motor contactor")
        >> None
        << Command("command_close")
        >> sent("command_close", 7)
        << Watch()
        >> seen(7.1)
        << Note
        >> None
        << Command("command_partial_stroke")
        >> sent("command_partial_stroke", 8, Outcome.UNANSWERED)
        << Note("command_partial_stroke: was not answered")
        >> None
    )
    pulses = play.returned()
    assert pulses.proved == ("command_close",), "open was unseen once, stop was never tried"
    assert not pulses.all_proved


def test_unit_without_a_motor_bit_is_refused() -> None:
    """Without the bit there is nothing to see a pulse by; the point is named."""
    points = tuple(point for point in SHEET.points if point.role != "motor_running")
    with pytest.raises(ValueError, match="no point for motor_running"):
        next(prove_commands(msgspec.structs.replace(SHEET, points=points), "I2 1"))


def test_role_is_proved_only_by_all_of_its_pulses() -> None:
    """One unseen pulse of a role outweighs a seen one."""
    pulses = PulsesSeen(
        (
            PulseSeen("a", proved=True, words=""),
            PulseSeen("a", proved=False, words=""),
            PulseSeen("b", proved=True, words=""),
        )
    )
    assert pulses.proved == ("b",)


@pytest.mark.parametrize(
    ("reply", "proved"),
    [
        (refused_partial(5, 4), True),
        (refused_partial(5, 6), True),
        (refused_partial(5, 1), False),
        (refused_partial(5, 2), False),
        (Sent("command_partial_stroke", 1, 5 * S, 0, Outcome.ANSWERED), False),
        (Sent("command_partial_stroke", 1, 5 * S, 0, Outcome.REFUSED, "refused here", 0), False),
    ],
    ids=["cannot now", "busy", "no function", "no address", "taken", "by the write guard"],
)
def test_r08_a_partial_stroke_is_proved_by_its_refusal(reply: Sent, proved: bool) -> None:  # noqa: FBT001  # a column
    """With the valve closed only the start of a partial stroke is refused as something that cannot be done now."""
    play = Playbook(prove_commands(SHEET, "I2 1")) << Begin >> None << Watch() >> seen(0)
    for number, (role, motor) in enumerate(
        (("command_open", True), ("command_stop", False), ("command_open", True), ("command_close", False)), start=1
    ):
        play << Command(role) >> sent(role, number) << Watch() >> seen(number + 0.1, motor=motor) << Note >> None
    play << Command("command_partial_stroke") >> reply << Note >> None
    pulses = play.returned()
    assert ("command_partial_stroke" in pulses.proved) is proved
    assert pulses.all_proved is proved


def test_a_unit_without_a_partial_stroke_of_its_own_is_not_asked_for_one() -> None:
    """Nor one whose partial stroke somebody else turns round."""
    assert SHEET.partial_stroke is not None
    watched = msgspec.structs.replace(SHEET.partial_stroke, turned_by="watched")
    for other in (
        msgspec.structs.replace(SHEET, partial_stroke=None),
        msgspec.structs.replace(SHEET, partial_stroke=watched),
    ):
        begun = next(prove_commands(other, "I2 1"))
        assert isinstance(begun, Begin)
        assert "command_partial_stroke" not in {command.role for command in begun.commands}

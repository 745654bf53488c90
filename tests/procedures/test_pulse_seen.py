"""What pulses come to together."""

from commission.procedures.pulse_seen import PulseSeen, PulsesSeen

OPEN = PulseSeen("command_open", proved=True, words="closed the motor contactor")


def test_a_command_is_proved_when_none_of_its_pulses_went_unseen() -> None:
    """Twice pulsed and once unseen is not proved; the others stand."""
    unseen = PulseSeen("command_open", proved=False, words="did not close the motor contactor")
    stop = PulseSeen("command_stop", proved=True, words="opened the motor contactor")
    assert PulsesSeen((OPEN, stop)).proved == ("command_open", "command_stop")
    assert PulsesSeen((OPEN, stop)).all_proved
    assert PulsesSeen((OPEN, stop, unseen)).proved == ("command_stop",)
    assert not PulsesSeen((OPEN, unseen)).all_proved


def test_the_words_tell_pulse_by_pulse() -> None:
    """As they stand in the verdict."""
    assert PulsesSeen((OPEN, OPEN)).words == "; ".join(["command open closed the motor contactor"] * 2)

"""What the pulses of command points did, in control."""

import msgspec


class PulseSeen(msgspec.Struct, frozen=True):
    """
    What the pulse of one command did.

    Args:
        role: Role of the command point.

        proved: Whether its effect was seen.

        words: What was seen, or not.
    """

    role: str
    proved: bool
    words: str


class PulsesSeen(msgspec.Struct, frozen=True):
    """Every pulse, in order; a command is proved when none of its pulses went unseen."""

    pulses: tuple[PulseSeen, ...]

    @property
    def proved(self) -> tuple[str, ...]:
        """Roles of the commands that are proved, sorted."""
        unseen = {pulse.role for pulse in self.pulses if not pulse.proved}
        return tuple(sorted({pulse.role for pulse in self.pulses} - unseen))

    @property
    def all_proved(self) -> bool:
        """Whether every command was seen to act."""
        return all(pulse.proved for pulse in self.pulses)

    @property
    def words(self) -> str:
        """What was seen, pulse by pulse."""
        return "; ".join(f"{pulse.role.replace('_', ' ')} {pulse.words}" for pulse in self.pulses)

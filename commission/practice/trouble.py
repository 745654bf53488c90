"""
A bad line, by numbers: how often an answer is late, lost, damaged, doubled or somebody else's; it repeats by its seed.

Each share is a probability an answer; times are wire time. `trouble_hook` turns them into what becomes of each answer.
"""

import random

import msgspec
from msgspec.structs import replace

from commission.content import nearest
from commission.practice.fate import Fate, FaultHook

_GARBAGE_BYTES = 7


class NoSuchTrouble(ValueError):
    """There is no trouble of this name, or it does not take this number."""


class Trouble(msgspec.Struct, frozen=True, kw_only=True):
    """
    What is wrong with a line.

    Args:
        delay_s: Every answer comes this much later.

        jitter_s: And up to this much more.

        drop: Share of answers that never come.

        late: Share of answers that come after `late_s`, when nobody waits for them any more.

        late_s: How late those are.

        garbage: Share of answers with damaged bytes.

        exception: Share of requests that are answered with an exception (4, device failure) and not carried out.

        wrong_id: Share of answers that come from another unit identifier.

        echo: Every request comes back before its answer, as from an adapter that hears itself.

        reset: Share of requests upon which a TCP connection is cut.

        hangs_after: The controller hangs after so many answers: the port stays open, nothing comes; 0 for never.

        duplicate: Another unit of the same kind has the same address and obeys too: of this share of answers a third is
            its own, a third both at once, which nobody can read.

        foreign_s: Another master asks another unit on the same serial line so often; 0 for never.
    """

    delay_s: float = 0.0
    jitter_s: float = 0.0
    drop: float = 0.0
    late: float = 0.0
    late_s: float = 1.0
    garbage: float = 0.0
    exception: float = 0.0
    wrong_id: float = 0.0
    echo: bool = False
    reset: float = 0.0
    hangs_after: int = 0
    foreign_s: float = 0.0
    duplicate: float = 0.0


CLEAN = Trouble()

_NUMBERS = {field.name: field.type for field in msgspec.structs.fields(Trouble)}
_DRAWN = ("drop", "exception", "garbage", "late", "reset", "wrong_id")
_SHARES = frozenset({*_DRAWN, "duplicate"})


def with_trouble(trouble: Trouble, text: str) -> Trouble:
    """
    A line with one more thing wrong, as typed: `drop=0.05`, `delay_s=0.2`, `echo`.

    Raises:
        NoSuchTrouble: no trouble of this name, or not its kind of number.
    """
    name, _, number = text.partition("=")
    if name not in _NUMBERS:
        close = nearest(name, _NUMBERS)
        raise NoSuchTrouble(
            f"no trouble {name!r}" + (f"; did you mean {close}?" if close else f"; {', '.join(_NUMBERS)}")
        )
    try:
        value = float(number) if number else 1.0
    except ValueError:
        value = -1.0
    if value < 0.0 or value != value or (name in _SHARES and value > 1.0):  # noqa: PLR0124  # not a number
        wanted = "a share from 0 to 1" if name in _SHARES else "a number of 0 or more"
        raise NoSuchTrouble(f"{text!r}: expected {wanted}, as {name}=0.1")
    return replace(trouble, **{name: _NUMBERS[name](value)})


def trouble_hook(trouble: Trouble, seed: int) -> FaultHook:
    """What becomes of each answer on such a line; the same for the same seed."""
    chance = random.Random(seed)  # noqa: S311  # a bad line, not a secret

    def fate(number: int, _function_code: int) -> Fate:
        happens = {name: chance.random() < getattr(trouble, name) for name in _DRAWN}
        delay_s = trouble.delay_s + trouble.jitter_s * chance.random() + trouble.late_s * happens["late"]
        seed_of_garbage = chance.getrandbits(32)
        thirds = chance.random() * 3.0
        collides = trouble.duplicate <= thirds < 2.0 * trouble.duplicate
        return Fate(
            drop=happens["drop"] or 0 < trouble.hangs_after < number,
            delay_s=delay_s,
            exception=4 * happens["exception"],
            alter=(lambda frame: damaged(frame, seed_of_garbage)) if happens["garbage"] or collides else None,
            wrong_id=happens["wrong_id"],
            echo=trouble.echo,
            reset=happens["reset"],
            neighbour=thirds < trouble.duplicate,
        )

    return fate


def damaged(frame: bytes, seed: int) -> bytes:
    """A frame as it comes through noise: a few bytes wrong, some missing, some more."""
    chance = random.Random(seed)  # noqa: S311  # noise, not a secret
    bytes_ = bytearray(frame)
    for _ in range(chance.randint(1, 3)):
        bytes_[chance.randrange(len(bytes_))] ^= chance.randint(1, 255)
    kind = chance.randrange(3)
    if kind == 1:
        return bytes(bytes_[: max(1, len(bytes_) - chance.randint(1, 4))])
    return bytes(bytes_) + (chance.randbytes(_GARBAGE_BYTES) if kind else b"")

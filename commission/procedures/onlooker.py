"""
Watching what people do to a valve: every sample kept, a question open meanwhile, and what moved since it was opened.

For the procedures that command nothing. A silence is kept like a sample: where a supply is off, the unit says nothing.
"""

from collections.abc import Generator
from math import fsum

from commission.analysis.fail_safe import Proof
from commission.procedures.requests import Answer, Ask, Note, Reply, Request, Watch
from commission.sample import Silence
from commission.sheet import End
from commission.sheet.decode import Readings

GAP_S = 3600.0
"""Nothing is commanded from here, and a unit without supply is silent for as long as people take."""

CANNOT = "cannot"
"""What an answer begins with where the thing cannot be done; the reason follows."""

_RECENT = 8

Steps = Generator[Request, Reply, bool]


class Onlooker:
    """
    What has been seen.

    Attributes:
        items: Every sample and silence since the last `forget`.

        answer: The latest answer to an open question.

        at_ns: Time of the newest item, 0 before the first.

        silences: How many silences running, however long ago they began.
    """

    def __init__(self) -> None:
        self.items: list[Readings | Silence] = []
        self.answer: Answer | None = None
        self.at_ns = 0
        self.silences = 0

    @property
    def latest(self) -> Readings | None:
        """The newest readings since the last silence, or None."""
        newest = self.items[-1] if self.items else None
        return newest if isinstance(newest, Readings) else None

    def forget(self, keep_s: float = 1.0) -> None:
        """Forget what is older than so many seconds."""
        self.items = [item for item in self.items if self.at_ns - item.at_ns <= keep_s * 1e9]

    def bit(self, role: str) -> bool | None:
        """The newest state of a bit; None where it is not read now."""
        latest = self.latest
        return None if latest is None else latest.bit(role)

    def value(self, role: str) -> float | None:
        """The newest value of a role; None where it is not read now."""
        latest = self.latest
        return None if latest is None else latest.value(role)

    def look(self, question: Ask | None = None) -> Steps:
        """Take the next item with a question open; False where it was answered instead."""
        item = yield Watch(asking=question)
        if isinstance(item, Answer):
            self.answer = item
            return False
        if not isinstance(item, Readings | Silence):
            raise TypeError(f"the reply to Watch is Readings or Silence, not {item!r}")
        self.items.append(item)
        self.silences = self.silences + 1 if isinstance(item, Silence) else 0
        self.at_ns = item.at_ns
        return True

    def watch_for(self, seconds: float) -> Steps:
        """Watch for so many seconds; True."""
        yield from self.look()
        begun_ns = self.at_ns
        while self.at_ns - begun_ns < seconds * 1e9:
            yield from self.look()
        return True

    def hear_again(self, within_s: float) -> Steps:
        """Watch until the unit is heard; False where it is not within so many seconds."""
        begun_ns = self.at_ns
        while self.latest is None:
            yield from self.look()
            if self.at_ns - begun_ns > within_s * 1e9:
                return self.latest is not None
        return True

    def ask(self, question: Ask, *, words: tuple[str, ...] = ()) -> Generator[Request, Reply, str]:
        """
        Ask, with samples going on; what was said, in small letters.

        Args:
            question: The question.

            words: What the answer has to begin with one of, or with *cannot*; it is asked again otherwise.
        """
        while True:
            while (yield from self.look(question)):
                pass
            said = "" if self.answer is None else " ".join(self.answer.text.split())
            known = next((word for word in (*words, CANNOT) if said.lower().startswith(word)), "")
            if known == CANNOT:
                return said
            if known or not words:
                return known or said
            yield Note(f"{said!r} is none of: {', '.join(words)}; or: cannot, and why. Asked again", loud=True)

    def after(
        self, act: str, question: Ask, dwell_s: float, *, stands: End | None, words: tuple[str, ...] = ()
    ) -> Generator[Request, Reply, Proof]:
        """
        Somebody does something; what moved from the question on until so long after it.

        Args:
            act: In words, for the record.

            question: Asks for it.

            dwell_s: How long it is watched afterwards.

            stands: The end that the valve stands at; None where it stands between.

            words: The answers that are known; the first is the one wanted.
        """
        level, first = self.level("travel"), len(self.items)
        said = yield from self.ask(question, words=words)
        asked_ns = self.at_ns
        if not (yield from self.hear_again(dwell_s + 60.0)):
            return Proof(act=act, watched_s=0.0, said=said, fault="the unit is not heard again")
        yield from self.watch_for(dwell_s)
        readings = [item for item in self.items[first:] if isinstance(item, Readings)]
        travels = [travel for item in readings if (travel := item.value("travel")) is not None]
        from_level = level if level is not None else (travels[0] if travels else None)
        return Proof(
            act=act,
            watched_s=round((self.at_ns - asked_ns) / 1e9, 1),
            moved=None if from_level is None else max((abs(travel - from_level) for travel in travels), default=0.0),
            limit_dropped=stands is not None and any(item.bit(f"{stands.value}_limit") is False for item in readings),
            said=said if words or _cannot(said) else "",
            wanted=words[0] if words else "",
            fault=said if _cannot(said) else "",
        )

    def level(self, role: str) -> float | None:
        """The mean of the newest few readings of a role; None where it is not read now."""
        values: list[float] = []
        for item in reversed(self.items):
            value = item.value(role) if isinstance(item, Readings) else None
            if value is None or len(values) == _RECENT:
                break
            values.append(value)
        return fsum(values) / len(values) if values else None


def _cannot(said: str) -> bool:
    return said.lower().startswith(CANNOT)

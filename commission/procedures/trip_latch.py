"""
O5: the five proofs of a latch. Nothing is sent from here: after a trip the valve is nobody's from the laptop (R10).

Normal pressure alone does not let it go; nor does a reset while the pressure is still bad; nor the control room; nor a
loss of power; and a reset when all is well moves nothing.
"""

from collections.abc import Generator, Mapping

from commission.analysis.trip import TripSet
from commission.analysis.wiring import Finding, PointSeen, WiringSeen
from commission.procedures.monitor_watch import LONGEST_S, RESET, Cannot, MonitorWatch, Steps
from commission.procedures.requests import Answer, Ask, Note, Procedure, Reply, Request
from commission.procedures.trip_delay import STEP, is_past, past_bar, side_of
from commission.sheet import Sheet

BAD_RESET = "reset while bad"
ROOM = "control room"
POWER = "power"

HOLDS_S = 5.0
"""What lets go does so within this of unit time (common practice, no source)."""

MOVED = 0.01
PROOFS = 5


def trip_latch(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[WiringSeen]:
    """
    The five proofs on one trip.

    Args:
        sheet: The unit's sheet.

        arguments: `trip` is high or low; `test` names the run.

    Returns:
        Each proof, with what was seen; those that could not be made are there too.

    Raises:
        ValueError: no such trip, or the unit lacks a point that it is watched by.
    """
    watch = MonitorWatch(sheet)
    trip = watch.trips[side_of(arguments)]
    yield watch.begin(arguments.get("test", f"{trip.side} trip latch"), LONGEST_S)
    latch = Latch(watch, trip)
    why = ""
    try:
        yield Note((yield from watch.ready()))
        yield from latch.prove()
    except Cannot as end:
        why = str(end)
    if len(latch.proofs) < PROOFS:
        latch.left_out(why)
    return WiringSeen(points=tuple(latch.proofs))


class Latch:
    """
    The proofs made so far.

    Args:
        watch: What is seen.

        trip: Which trip.
    """

    def __init__(self, watch: MonitorWatch, trip: TripSet) -> None:
        self.proofs: list[PointSeen] = []
        self._watch, self._trip = watch, trip

    def prove(self) -> Steps:
        """
        All five, one after the other; where it lets go it is tripped again for the next.

        Raises:
            Cannot: somebody cannot go on, or it does not trip.
        """
        yield from self._tripped()
        yield from self._typed(
            BAD_RESET,
            "Pressure still bad: press RESET at the unit. Type what it did",
            "RESET while the pressure is bad",
        )
        yield from self._tripped()
        yield from self._watch.pressure_normal()
        yield from self._held("normal pressure again", "")
        yield from self._tripped(past=False)
        yield from self._typed(
            ROOM,
            "The controller sends OPEN, then RESET. Type what they read back, and who",
            "OPEN and RESET from the control room",
        )
        yield from self._tripped(past=False)
        yield from self._typed(
            POWER, "Control power off for some seconds, and on again. Type who did it", "control power off and on"
        )
        yield from self._tripped(past=False)
        yield from self._reset()

    def left_out(self, why: str) -> None:
        """What could not be made, with the reason: no blank."""
        self._add(f"the other proofs, from number {len(self.proofs) + 1} on", "not made", Finding.NOT_FORCED, why)

    def _tripped(self, *, past: bool = True) -> Steps:
        """See that it is tripped, tripping it anew where it let go; with the pressure back inside unless `past`."""
        watch, trip = self._watch, self._trip
        if not watch.bit(trip.alarm):
            target = past_bar(trip)
            text = f"Trip it: to {target:g} bar, and hold it there. (Or: cannot, and why)"
            watch.keep(1.0)
            yield from watch.take()
            yield from watch.until(lambda: is_past(watch, trip), Ask(STEP, text, unit="bar", target=target))
            within_s = trip.delay_s + 10 * trip.delay_tolerance_s
            if not (yield from watch.waits(lambda: watch.bit(trip.alarm), within_s)):
                raise Cannot(f"it does not trip: {watch.words}")
            if not past:
                yield from watch.pressure_normal()

    def _typed(self, question: str, text: str, forced: str) -> Steps:
        """Something that people do, and what they say of it; then whether it held."""
        yield Note(f"NEXT  {text}", loud=True)
        said = yield Ask(question, f"{text}. (Or: cannot, and why)")
        words = said.text.strip() if isinstance(said, Answer) else ""
        if words.lower().startswith("cannot"):
            raise Cannot(words)
        yield from self._held(forced, words)

    def _held(self, forced: str, said: str) -> Steps:
        """Whether it is still tripped and nothing has moved, over the time in which it would let go."""
        watch = self._watch
        yield from watch.fresh()
        moved = yield from self._moves(watch.latest.value("travel"))
        yield from watch.fresh()
        if not watch.bit(self._trip.alarm):
            yield from self._say(forced, said, Finding.LET_GO, "The trip let go: it does not latch against this.")
        elif moved:
            yield from self._say(forced, said, Finding.MOVED, "Something moved although the trip was on.")
        else:
            yield from self._say(forced, said, Finding.RIGHT, "")

    def _moves(self, travel: float | None) -> Generator[Request, Reply, bool]:
        """Whether the motor runs or travel changes in the next seconds."""
        watch = self._watch

        def moving() -> bool:
            now = watch.latest.value("travel")
            gone = travel is not None and now is not None and abs(now - travel) > MOVED
            return watch.bit("motor_running") or gone

        return (yield from watch.waits(moving, HOLDS_S))

    def _reset(self) -> Steps:
        """All is well: the reset lets it go, and moves nothing by itself."""
        watch = self._watch
        yield from watch.until(
            lambda: not watch.tripped, Ask(RESET, "Now press RESET at the unit. (Or: cannot, and why)")
        )
        moved = yield from self._moves(watch.latest.value("travel"))
        finding = Finding.MOVED if moved else Finding.RIGHT
        words = "It moved by itself after the reset." if moved else ""
        yield from self._say("RESET at the unit, pressure normal", "", finding, words)

    def _say(self, forced: str, said: str, finding: Finding, words: str) -> Steps:
        self._add(forced, said, finding, words)
        right = "SEEN" if finding is Finding.RIGHT else "NOT SO"
        yield Note(f"{right}  {forced}: {words or self.proofs[-1].seen}", loud=True)

    def _add(self, forced: str, said: str, finding: Finding, words: str) -> None:
        watch = self._watch
        still = "tripped" if watch.bit(self._trip.alarm) else "not tripped"
        seen = f"{still}, {'motor running' if watch.bit('motor_running') else 'motor at rest'}"
        self.proofs.append(
            PointSeen(
                role=self._trip.alarm,
                forced=forced,
                seen=f"{seen}; said: {said}" if said else seen,
                finding=finding,
                words=words,
                at_ns=watch.at_ns,
            )
        )

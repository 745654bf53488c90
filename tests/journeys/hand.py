"""Somebody at the keys of the app: reads the screen, finds what is asked by its words, and types the answer."""

import re
from collections.abc import Callable, Iterable

from tests.journeys.screen import Screen, body_of, pane_of
from tests.journeys.site import now_s, pause

LOOK_S = 0.02
STUCK_S = 20.0
"""Longest wait for something new to answer; a slow stroke of 146 s takes 7 s at a speed of 20."""

_STEP = re.compile(r"^[ ]*>(\S+)", re.MULTILINE)
FIELD = "Esc, then"
"""On the screen while a field takes what is typed: until then letters are keys."""

_LEFT = re.compile(r"\(\d+ left\)")

Reply = Callable[[Screen], None]
Rules = Iterable[tuple[str, Reply]]


def enter(screen: Screen) -> None:
    """Enter alone."""
    screen.press("Enter")


def begin(screen: Screen) -> None:
    """Read the cautions to their end, then begin the step."""
    while "Ready?" in body_of(shown := screen.shown()):  # one look: between two of them the step may begin
        before = pane_of(shown)
        screen.press("Enter")
        screen.until(lambda seen=before: screen.pane() != seen, "more of the cautions")  # type: ignore[misc]  # bound now


def confirm(text: str) -> Reply:
    """What R13 wants typed, which no paste replaces, and Enter."""

    def reply(screen: Screen) -> None:
        screen.expect(FIELD)
        screen.type_by_hand(text)
        screen.press("Enter")

    return reply


def typed(text: str) -> Reply:
    """A text and Enter, into the field that takes it."""

    def reply(screen: Screen) -> None:
        screen.expect(FIELD)
        screen.type(text)
        screen.press("Enter")

    return reply


def pressed(*keys: str) -> Reply:
    """Keys alone."""
    return lambda screen: screen.press(*keys)


class Hand:
    """
    Answers until something is seen.

    Args:
        screen: Where.

        rules: For the step that is shown (empty where there is none): what may be asked, as a pattern, and the reply.
    """

    def __init__(self, screen: Screen, rules: Callable[[str], Rules]) -> None:
        self._screen = screen
        self._rules = rules
        self._answered = ""
        self.answers = 0

    def until(self, words: str, patience_s: float) -> None:
        """Answer what is asked until these words are shown; the test fails with the screen where nothing new comes."""
        began_s = last_s = now_s()
        while words not in body_of(shown := self._screen.shown()):
            if self._answer(shown):
                last_s = now_s()
            stuck = now_s() - last_s > STUCK_S or now_s() - began_s > patience_s or self._screen.gone()
            assert not stuck, (
                f"waited for {words!r} after {self.answers} answers; pressed {self._screen.pressed[-6:]}; "
                f"on the screen:\n{self._screen.shown()}"
            )
            pause(LOOK_S)

    def _answer(self, shown: str) -> bool:
        found, body = _STEP.search(shown), body_of(shown)  # one look: the step and its question belong together
        step = "" if found is None else found[1]
        asked = [(match, reply) for pattern, reply in self._rules(step) for match in re.finditer(pattern, body)]
        if not asked:
            return False
        match, reply = max(asked, key=lambda pair: (pair[0].end(), len(pair[0][0])))  # what is asked stands last
        what = match[0]
        left = _LEFT.search(body)
        question = f"{step} {what} {left[0] if left else ''}"
        if question == self._answered:
            return False
        self._answered = question
        self.answers += 1
        reply(self._screen)
        return True

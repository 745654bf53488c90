"""The walk by keys alone at 80 x 24: what is asked is always in sight, and nothing moves by accident."""

import asyncio
from pathlib import Path

import pytest
from textual import events

from commission.checklist import Question
from commission.face.dialogue import Reply
from commission.terminal.screens.walk import WalkScreen
from commission.terminal.widgets.answer import AnswerField
from commission.walk.confirm import Confirmation
from commission.walk.movement import next_test
from commission.walk.prompts import Ask, ConfirmMovement, Prompt
from commission.walk.refusal import Refusal
from tests.terminal.walking import WHO, Walking, walking

NUMBER = Question(id="p", ask="Pressure on PG-1", kind="number", unit="bar", least="80", most="110", origin="sheet")
CHOICE = Question(id="c", ask="The lamp", kind="choice", choices=("lit", "[b]dark[/b]"))


def asked(there: Walking, prompt: Prompt, step: str = "K1") -> "asyncio.Task[Reply | None]":
    """Something is asked on the walk screen; its answer is to come."""
    assert there.app.conversation.task is not None
    there.app.conversation.task.cancel()
    visit = there.visit
    return asyncio.get_running_loop().create_task(there.app.walk.ask(visit, visit.job.checklist.step(step), prompt))


@pytest.mark.asyncio
async def test_the_stop_key_is_asked_for_once_before_the_walk_begins(tmp_path: Path) -> None:
    """Another key does not do; nothing is recorded by it."""
    async with walking(tmp_path) as there:
        await there.start(checked=False)
        before = there.visit.job.last_n
        assert "That was x" in await there.press("x")
        await there.press("space")
        await there.sees("SPACE seen")
        await there.sees("A3 ")
        assert there.visit.job.last_n == before


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
@pytest.mark.asyncio
async def test_question_and_field_are_in_sight_with_the_title_above(size: tuple[int, int], tmp_path: Path) -> None:
    """For every step of the checklist, however long its cautions."""
    async with walking(tmp_path, size) as there:
        await there.start()
        for step in there.visit.job.checklist.steps:
            question = next((one for one in step.questions if one.kind == "text"), None)
            if question is None:
                continue
            waiting = asked(there, Ask(question), step.id)
            words = (step.id, " ".join(question.ask.split()[:3]), "> ")
            await there.until(lambda words=words: all(word in there.text for word in words))  # type: ignore[misc]  # bound now
            text = there.text
            assert all(len(line) <= size[0] for line in text.splitlines())
            waiting.cancel()


@pytest.mark.asyncio
async def test_cautions_are_read_to_their_end_before_a_step_begins(tmp_path: Path) -> None:
    """Enter reads on while something is below, and only then begins."""
    async with walking(tmp_path, (80, 24)) as there:
        await there.start()
        walk = there.app.walk
        walk._text.show([f"WARNING  line {number}" for number in range(60)])
        await there.sees("Enter reads on")
        await there.press("enter")
        assert "A3" not in there.visit.job.steps
        for _ in range(6):
            await there.press("enter")
        await there.until(lambda: "A3" in there.visit.job.steps)


@pytest.mark.asyncio
async def test_a_typed_number_is_shown_as_understood_and_an_absurd_one_asked_again(tmp_path: Path) -> None:
    """`96,5` is 96.5 bar; 1250 bar is taken only on a second Enter."""
    async with walking(tmp_path) as there:
        await there.start()
        waiting = asked(there, Ask(NUMBER))
        await there.sees("80 to 110 bar")
        assert "= 96.5 bar" in await there.press(*"96", "comma", "5")
        await there.press("backspace", "backspace", "backspace", "backspace")
        await there.type("1250")
        await there.sees("1250 bar? expected 80 to 110 bar")
        assert not waiting.done()
        await there.press("enter")
        assert await waiting == Reply("1250", WHO)


@pytest.mark.asyncio
async def test_a_field_takes_keys_from_the_moment_its_question_stands(tmp_path: Path) -> None:
    """Nothing turns the loop between the two: no letter of an answer is ever taken for a key."""
    async with walking(tmp_path) as there:
        await there.start()
        there.app.walk.set_focus(None)
        waiting = asked(there, Ask(NUMBER))
        await asyncio.sleep(0)
        assert isinstance(there.app.walk._asked, Ask)
        assert there.app.field_focused
        waiting.cancel()


@pytest.mark.asyncio
async def test_a_choice_is_made_by_its_number_and_foreign_text_is_no_markup(tmp_path: Path) -> None:
    """Square brackets stand as they are."""
    async with walking(tmp_path) as there:
        await there.start()
        waiting = asked(there, Ask(CHOICE))
        await there.sees("2 [b]dark[/b]")
        await there.press("enter")
        assert not waiting.done()
        await there.press("2")
        assert await waiting == Reply("2", WHO)


@pytest.mark.asyncio
async def test_r13_enter_alone_a_paste_and_all_at_once_confirm_nothing(tmp_path: Path) -> None:
    """Nor is what is to be typed ever shown; what the stop key will do is."""
    async with walking(tmp_path) as there:
        await there.start()
        step = there.visit.job.checklist.step("K1")
        prompt = ConfirmMovement(next_test(there.visit.job, step, step.procedures[0]), Confirmation.FULL)
        waiting = asked(there, prompt)
        await there.sees("confirm this movement")
        await there.sees("NOTHING HERE STOPS")
        await there.press("enter")
        field = there.app.walk.query_one("#answer", AnswerField)
        field.post_message(events.Paste("4 1101 Mara"))
        await there.pilot.pause(0.05)
        assert field.value == ""
        field.value, field._first_s = "4 1101 Mara", field._now_s()
        await there.press("enter")
        await there.sees("what is pasted confirms nothing")
        assert not waiting.done()
        field.value, field._first_s = "4 1101 Mara", field._now_s() - 2
        await there.press("enter")
        assert await waiting == Reply("4 1101 Mara", WHO)


@pytest.mark.parametrize("key", ["space", "x", "g", "enter", "p"])
@pytest.mark.asyncio
async def test_r13_any_key_cancels_the_countdown(key: str, tmp_path: Path) -> None:
    """The stop key and the gas alarm among them; and G never begins one."""
    async with walking(tmp_path) as there:
        await there.start()
        step = there.visit.job.checklist.step("K1")
        prompt = ConfirmMovement(next_test(there.visit.job, step, step.procedures[0]), Confirmation.COUNTDOWN)
        waiting = asked(there, prompt)
        await there.sees("Press M to move")
        await there.press("m")
        await there.sees("MOVES IN")
        await there.press(key)
        await there.sees("Cancelled. Nothing was sent.")
        assert not waiting.done()
        waiting.cancel()


@pytest.mark.asyncio
async def test_a_countdown_that_is_left_alone_confirms(tmp_path: Path) -> None:
    """After three seconds."""
    async with walking(tmp_path) as there:
        await there.start()
        step = there.visit.job.checklist.step("K1")
        prompt = ConfirmMovement(next_test(there.visit.job, step, step.procedures[0]), Confirmation.COUNTDOWN)
        waiting = asked(there, prompt)
        await there.press("m")
        assert await asyncio.wait_for(waiting, 8) == Reply("g", WHO)


@pytest.mark.asyncio
async def test_not_done_takes_a_reason_and_its_verdict_stays_in_sight(tmp_path: Path) -> None:
    """N, the reason; then the next step with one line about the last."""
    async with walking(tmp_path) as there:
        await there.start()
        await there.sees("Enter begins the step")
        await there.press("n")
        await there.type("no gauge")
        await there.sees("A3: not tested. no gauge")
        await there.sees("A5 ")


@pytest.mark.asyncio
async def test_who_is_at_the_keyboard_changes_by_number_or_name(tmp_path: Path) -> None:
    """U, a name and role; U, the number of somebody known; Esc leaves all as it is."""
    async with walking(tmp_path) as there:
        await there.start()
        await there.press("u")
        await there.type("J. Demoval, fitter")
        await there.until(lambda: there.app.who == "J. Demoval")
        await there.press("u")
        await there.sees(f"1 {WHO}")
        await there.type("1")
        await there.until(lambda: there.app.who == WHO)
        await there.press("u", "escape")
        assert "Who is at the keyboard" not in there.text


@pytest.mark.asyncio
async def test_another_state_is_chosen_by_number(tmp_path: Path) -> None:
    """X lists where one can go; a number begins that crossing."""
    async with walking(tmp_path) as there:
        await there.start()
        await there.press("x")
        await there.sees("Leave this step for another energy state")
        await there.press("9")
        await there.sees("press a number from 1")
        await there.press("escape", "x", "1")
        await there.until(lambda: len(there.visit.job.steps) == 1 or "may not begin" in there.text)


@pytest.mark.asyncio
async def test_a_refusal_says_what_would_settle_it(tmp_path: Path) -> None:
    """And which keys do something about it."""
    async with walking(tmp_path) as there:
        await there.start()
        walk = there.app.walk
        assert isinstance(walk, WalkScreen)
        step = there.visit.job.checklist.step("K1")
        walk.show_refusal(step, Refusal("[b]no[/b] permit", "Record one in A5"))
        await there.sees("K1 may not go on: [b]no[/b] permit. What would settle it: Record one in A5")
        waiting = asyncio.get_running_loop().create_task(walk.wait_for_act(there.visit, step))
        await there.sees("Enter looks again")
        await there.press("enter")
        await asyncio.wait_for(waiting, 2)


@pytest.mark.asyncio
async def test_an_overdue_instrument_warns_at_once_and_is_marked(tmp_path: Path) -> None:
    """By keys, as its plate is typed: a warning on the walk, and a deviation that stays on the list of them."""
    async with walking(tmp_path) as there:
        await there.start()
        await there.sees("Read the caution aloud")
        await there.press("enter")
        for asked_for, answer in (
            ("Number on the gauge", "G-11"),
            ("What the gauge is", "gauge"),
            ("Number of its certificate", "C-7"),
            ("Due date, as 2027-03-31", "2020-01-31"),
        ):
            await there.sees(asked_for)
            await there.type(answer)
        await there.sees("WARNING  Deviation D1, class B: an instrument was due")
        await there.sees("for calibration on 2020-01-31, and is used")
        await there.press("escape", "d")
        await there.sees("Deviations: 1 open")
        await there.sees("was due for calibration on 2020-01-31, and is used")


@pytest.mark.asyncio
async def test_all_of_a_hint_and_of_a_refusal_is_in_sight(tmp_path: Path) -> None:
    """Three rows of how to answer, six of why not: a sentence that is cut in the smallest window helps nobody."""
    async with walking(tmp_path) as there:
        await there.start()
        waiting = asked(there, Ask(NUMBER))
        await there.sees("80 to 110")
        pane = there.app.walk._pane
        pane.hint("read what the gauge shows, " * 5)
        pane.say("it may not go on before that is done; " * 8)
        await there.until(lambda: pane.query_one("#hint").size.height == 3)
        await there.until(lambda: pane.query_one("#problem").size.height >= 6)
        waiting.cancel()


@pytest.mark.parametrize("kind", [Confirmation.FULL, Confirmation.COUNTDOWN])
@pytest.mark.asyncio
async def test_r03_a_program_that_was_away_asks_nothing_of_before(kind: Confirmation, tmp_path: Path) -> None:
    """The state is unknown from then on: a movement is not confirmed any more, and a countdown counts no more."""
    async with walking(tmp_path) as there:
        await there.start()
        step = there.visit.job.checklist.step("K1")
        waiting = asked(there, ConfirmMovement(next_test(there.visit.job, step, step.procedures[0]), kind))
        await there.sees("confirm this movement")
        if kind is Confirmation.COUNTDOWN:
            await there.press("m")
        there.visit.was_away(3.0)
        assert await asyncio.wait_for(waiting, 1.0) is None
        assert not there.app.walk._countdown.runs
        await there.sees("The energy state is UNKNOWN")

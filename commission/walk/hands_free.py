"""
What may go on by itself while hands are busy at the valve (safety rule R17).

A measured question, in a step that commands nothing: the reading settles, the program says so and goes on. It never
crosses an energy state, never enters a step that commands, and never ends a step with hands in. The procedures of
`checklist.LOOKS` are hands-free by themselves, from the one go that a person gives; no energy event is accepted while
one of them runs, because it is an open run like any other.
"""

from commission.checklist import Access, Step
from commission.walk import gate
from commission.walk.prompts import Ask, BeginStep, Conclude, Prompt


def may_go_on(step: Step, prompt: Prompt) -> bool:
    """Whether this prompt of this step may be answered by the program alone, from what it reads."""
    if step.crosses or step.moves or gate.moves(step):
        return False
    match prompt:
        case Ask():
            return prompt.question.kind == "measured" and not prompt.question.effect
        case BeginStep():
            return step.access is Access.OUTSIDE and not prompt.cautions
        case Conclude():
            return step.access is Access.OUTSIDE
    return False

"""
The walk: which step is next, may it begin, what is asked of a person now, and what an answer makes true.

Pure functions of the folded job and the time; nothing here reads a clock, a file or the wire, and nothing is kept
between two calls, so a visit resumes at the exact sub-step by folding its record again.

    Job, now ─► route.current ─► gate.refusal ─► prompts.pending ─► a person ─► answers.answer ─► events ─► Job

`conditions` says what applies to this unit; `expected` what an answer should be; `evidence` reads evidence of an energy
crossing out of plain words; `effects` turns answers into entries of the registers; `acts` are what a person may do at
any moment; `conclusion` gives a step its verdict; `confirm` asks for a movement to be confirmed (rule R13);
`readiness` knows which commands were proved; `leave_rules` gives leave to write (R9); `sign_off` says what blocks
signing; `state_line` words the energy state (R4); `hands_free` what may go on by itself (R17); `soundness` checks a
checklist for all that these modules will ask of it.
"""

"""
Runs a procedure: performs its requests, runs its guards, keeps what was seen, and ends every motion safely.

`supervisor` is the loop and `motion` what it does with each request; `watching` sees the samples; `safe_end` carries
out what was agreed as the safe end; `trail` writes the motion's events and chunks; `rest` says from readings whether a
stop has been received; `watchdog` notices a closed lid or a late wake-up.
`surroundings` names what the supervisor needs of the unit, the record and people.

The supervisor is a task of the program's own main, never of a face: a closed terminal, a signal, a crash of a screen,
quitting and a late wake-up are all *stops*, and the process ends only after the safe end was sent and read back.
"""

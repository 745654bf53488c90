"""
What to command and what to watch: one generator a test (`full_stroke`), in the requests of `requests`.

`wiring_contacts`, `wiring_values` and `wiring_control_room` command nothing: they watch hands at the contacts, hold
values against references, and compare what the controller reads.

No input or output, no clock but the samples' own. `supervise` performs them; `verify` replays them from the record.
"""

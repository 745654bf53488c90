"""
Commission an electro-hydraulic valve actuator from a laptop beside it.

A reading flows one way: `link` asks the unit and stamps a `Sample` (raw registers, midpoint and half-width of the
moment they were read); `supervise` shows it to the guards, stores it, and hands it to a procedure; the procedure
(`procedures`, generators without any input or output) says what to command and what to watch; `analysis` turns the
samples into figures with uncertainty and a verdict; each becomes an event of the `record`; `job` folds the events into
where the visit stands; `walk` says from that which step is next and whether it may begin; `report` prints it and
`verify` recomputes it.

What the unit is comes from its `sheet`, what to do from a `checklist`; both are TOML that a service engineer edits.
`energy` holds the energy states, `leave` the one permission to write. `visit` puts the parts together for the two
faces, `cli` and the keyboard app. `practice` is a unit with real physics behind a real Modbus server, in a process of
its own, and shares no formula with the rest.

Names that go across modules carry their unit (`stroke_time_s`, `pressure_pa`); times are integer nanoseconds
(`at_ns`) of unit time unless the name says `wire`.
"""

__version__ = "0.1.0"

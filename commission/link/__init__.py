"""
The wire to the unit.

`line` is the only module that touches the Modbus client; `plan` chooses the requests of a polling cycle; `sampling`
turns them into samples with their times; `health` keeps ages, counts and latencies; `write_guard` refuses every write
that has no leave; `ports` opens and searches serial ports.
"""

"""
The wire to the unit.

`unit` is what everybody else uses: one open link. Under it `meeting` (is it the right unit, does the line echo, is it a
practice unit), `contact` (the same questions after contact was lost), `plan` (the requests of a polling cycle),
`sampling` (samples with their times, and silences), `write_guard` and `encode` (which write may go, as which words),
`health` (ages, counts, latencies). `line` is the only module that touches the Modbus client; `turns` and `lanes` say
who goes next on it, and `wiretap` sees every byte first. `faults` is the tree of what can go wrong, `url` reads
addresses, `ports` opens and searches serial ports.
"""

"""
The practice unit: a unit with real physics behind a real Modbus server, so that a visit can be walked before it counts.

`mechanism`, `oil` and `hydraulics` are the machine, stepped in time; `onboard` with `monitor`, `starts` and `settings`
is the control unit, run once a scan; `unit` ties the two together with `instruments` (noise) and `site` is what people
beside it do with their hands. `registers` lays the readings out as the sheet says, `device` answers reads and writes,
`server` and `serial_line` put that on a wire, `control_port` lets another process play the people on site, `serve` runs
it all and `process` starts it as a process of its own.

Nothing here shares a formula or a codec with the program that measures it, or expected would equal simulated by
construction.
"""

"""
What a unit is, as its sheet says: valve, drive, supply, protections, trapped volumes, behaviour, strokes.

Field names carry the unit that the sheet is written in. `None` means the sheet is silent, which is a finding of its
own, never zero.
"""

from enum import StrEnum
from typing import Annotated, Literal

import msgspec

from commission.sheet.bounds import Count, NonNegative, Positive
from commission.sheet.modulating import Modulating
from commission.sheet.owner import Interval, Pipeline, Reliability
from commission.sheet.points import ByteOrder, Point
from commission.sheet.supply import Environment, Supply


class Action(StrEnum):
    """What moves the valve without power."""

    SPRING_RETURN = "spring-return"
    DOUBLE_ACTING = "double-acting"


class End(StrEnum):
    """An end of travel."""

    OPEN = "open"
    CLOSED = "closed"


class FailEffect(StrEnum):
    """What reaching the fail position does to the process (safety rule R1)."""

    NONE = "none"
    SHUTS_IN = "shuts in"
    VENTS = "vents"


class Identity(msgspec.Struct, frozen=True, kw_only=True):
    """What the tag plate says, and the register that proves which unit answers."""

    tag: str
    service: str
    serial: str
    code: Count
    firmware: str = ""
    site: str = ""
    owner: str = ""


class LoadAt(msgspec.Struct, frozen=True, kw_only=True):
    """Torque (quarter-turn, N·m) or thrust (linear, N) the valve needs at one travel, at design pressure difference."""

    travel_pct: Annotated[float, msgspec.Meta(ge=0, le=100)]
    to_close: NonNegative
    to_open: NonNegative


class Valve(msgspec.Struct, frozen=True, kw_only=True):
    """
    The valve.

    Args:
        full_travel: Degrees for a quarter-turn, millimetres for a linear valve.

        load: What it needs at the design pressure difference; N·m for a quarter-turn, N for a linear valve.

        empty_line_share: Share of that load which is there without any pressure difference.

        design_difference_bar: The pressure difference that `load` holds for.

        required_margin: Least factor of what is available over what is needed, everywhere and both ways.
    """

    kind: str
    motion: Literal["quarter-turn", "linear"]
    size: str
    full_travel: Positive
    normally_closed_vent: bool = False
    load: tuple[LoadAt, ...] = ()
    empty_line_share: Annotated[float, msgspec.Meta(gt=0, le=1)] | None = None
    design_difference_bar: Positive | None = None
    required_margin: Positive | None = None


class Actuator(msgspec.Struct, frozen=True, kw_only=True):
    """
    Cylinder and mechanism.

    `pressure_opens` says whether oil on the full bore opens the valve. On a double-acting unit that is side A, without
    the rod; side B, where the rod (`rod_mm`) takes room, drives the other way. `gear_radius_mm` is the pitch radius of
    a rack and gear: rod travel a radian of the stem. `arm_cant_deg` is the lean of a slotted arm's slot from the radial
    line, 0 for a symmetric arm, positive where the open end gets more torque.
    """

    action: Action
    fail_position: End | None = None
    fail_effect: FailEffect
    at_zero_pressure: str
    mechanism: Literal["slotted arm", "rack and gear", "direct"]
    bore_mm: Positive
    rod_mm: NonNegative = 0.0
    stroke_mm: Positive
    arm_radius_mm: Positive | None = None
    gear_radius_mm: Positive | None = None
    arm_cant_deg: Annotated[float, msgspec.Meta(ge=-35, le=35)] = 0.0
    efficiency: Annotated[float, msgspec.Meta(gt=0, le=1)] = 1.0
    pressure_opens: bool


class Spring(msgspec.Struct, frozen=True, kw_only=True):
    """Spring force at both ends of travel, and by how much a spring of this drawing may differ, either way."""

    force_at_closed_n: NonNegative
    force_at_open_n: NonNegative
    tolerance_pct: Annotated[float, msgspec.Meta(ge=0, lt=50)] | None = None


class Pump(msgspec.Struct, frozen=True, kw_only=True):
    """Pump with its switch and relief settings (gauge pressure)."""

    displacement_cm3: Positive
    speed_rpm: Positive
    volumetric_efficiency: Annotated[float, msgspec.Meta(gt=0, le=1)]
    cut_in_bar: Positive
    cut_out_bar: Positive
    relief_bar: Positive
    low_alarm_bar: Positive


class Accumulator(msgspec.Struct, frozen=True, kw_only=True):
    """
    Nitrogen accumulator; precharge is gauge pressure at `precharge_at_c`.

    `drives` says which end it takes the valve to by itself in an emergency; None where it only holds pressure up.
    """

    volume_l: Positive
    precharge_bar: Positive
    precharge_at_c: float = 20.0
    drives: End | None = None


class Orifices(msgspec.Struct, frozen=True, kw_only=True):
    """
    What sets the speed: effective areas (discharge coefficient times area) of the oil's ways out, and flow controls.

    A flow control holds its flow whatever the pressure (pressure-compensated), in litres a minute into the cylinder.
    The return line is the pipe behind the spring stroke's orifice, bore and length: cold oil loses pressure in it; what
    it takes at 20 °C is part of the effective area.
    """

    spring_stroke_mm2: Positive | None = None
    partial_stroke_mm2: Positive | None = None
    opening_flow_l_min: Positive | None = None
    closing_flow_l_min: Positive | None = None
    return_line_mm: Positive | None = None
    return_line_m: Positive | None = None


class Fluid(msgspec.Struct, frozen=True, kw_only=True):
    """
    The oil, named without brand.

    Args:
        viscosity_at_c: Kinematic viscosity in mm²/s by temperature in °C, from the fluid's own table.

        thickened: A low-temperature or polymer-thickened oil, whose table must not be extrapolated.

        density_kg_m3: At 15 °C.

        bulk_modulus_gpa: Stiffness of the oil as installed.

        expansion_per_k: Thermal expansion of its volume.

        start_most_mm2_s: Thickest oil that the pump may start on.

        run_most_mm2_s: Thickest oil that the pump may run on for long.

        run_least_mm2_s: Thinnest.
    """

    name: str
    viscosity_at_c: dict[str, float] = {}
    thickened: bool = False
    density_kg_m3: Positive = 870.0
    bulk_modulus_gpa: Positive = 1.4
    expansion_per_k: Positive = 7e-4
    start_most_mm2_s: Positive | None = None
    run_most_mm2_s: Positive | None = None
    run_least_mm2_s: Positive | None = None


class Tank(msgspec.Struct, frozen=True, kw_only=True):
    """Reservoir; `fill_l` at the reference position with the accumulator empty."""

    volume_l: Positive
    fill_l: Positive
    low_switch_l: Positive
    reference: str


class Protections(msgspec.Struct, frozen=True, kw_only=True):
    """
    What the unit's own logic stops, and at what setting.

    A modulating unit alarms when travel and command differ by more than `deviation_pct` for `deviation_s`.
    """

    run_limit_s: Positive
    starts_allowed: Count
    starts_window_min: Positive
    travel_timeout_open_s: Positive
    travel_timeout_close_s: Positive
    low_fluid_acts: str
    deviation_pct: Positive | None = None
    deviation_s: Positive | None = None


class Monitor(msgspec.Struct, frozen=True, kw_only=True):
    """
    Pipeline pressure monitor: trip points and delays, gauge pressure.

    `accuracy_pct` and `tolerance_pct` are of the range, for its transmitter and for a trip point; a delay may be off by
    `delay_tolerance_pct`, or by half a second where that is more (all common practice, no source). `open_loop` and
    `shorted_loop` say what it does when its transmitter's loop is broken or shorted.
    """

    range_bar: Positive
    high_trip_bar: Positive
    high_delay_s: NonNegative
    low_trip_bar: Positive
    low_delay_s: NonNegative
    reset: str
    accuracy_pct: Positive = 0.5
    tolerance_pct: Positive = 1.0
    delay_tolerance_pct: Positive = 10.0
    open_loop: Literal["low trip", "high trip", "alarm"] | None = None
    shorted_loop: Literal["low trip", "high trip", "alarm"] | None = None


class StrokeLimits(msgspec.Struct, frozen=True, kw_only=True):
    """Limits of one direction's stroke time. `measured_as` says which time of the stroke the limits mean."""

    expected_s: Positive
    shortest_s: Positive
    longest_s: Positive
    longest_at_design_s: Positive | None = None
    measured_as: Literal["t6-t0", "t6-t4", "t7-t3"] = "t6-t0"
    origin: str = "sheet"

    def __post_init__(self) -> None:
        """The expected time lies within its own limits."""
        if not self.shortest_s <= self.expected_s <= self.longest_s:
            raise ValueError("shortest_s ≤ expected_s ≤ longest_s")


class Strokes(msgspec.Struct, frozen=True, kw_only=True):
    """Stroke limits of each direction; `emergency` of the stroke by stored energy, pump off, from cut-in pressure."""

    opening: StrokeLimits
    closing: StrokeLimits
    emergency: StrokeLimits | None = None


class PartialStroke(msgspec.Struct, frozen=True, kw_only=True):
    """The partial stroke: how far, by which path, and who turns it round (safety rule R22)."""

    target_pct: Positive
    turned_by: Literal["unit", "laptop", "watched"]
    path: str
    uses_trip_solenoid: bool
    out_s: Positive
    back_s: Positive
    guard_travel_pct: Positive
    guard_time_s: Positive


class Loop(msgspec.Struct, frozen=True, kw_only=True):
    """A 4–20 mA loop: the current at each end of travel, and how far it may be off, in percent of its span."""

    closed_ma: NonNegative = 4.0
    open_ma: NonNegative = 20.0
    limit_pct: Positive = 1.0
    origin: str = "common practice, no source"

    def __post_init__(self) -> None:
        """A loop whose ends are the same current has no span."""
        if self.closed_ma == self.open_ma:
            raise ValueError("closed_ma ≠ open_ma")


class Volume(msgspec.Struct, frozen=True, kw_only=True):
    """
    A trapped volume (safety rule R2).

    `kind` oil volumes are proved zero one by one; nitrogen and spring are listed "contained, still loaded".
    """

    id: str
    name: str
    kind: Literal["oil", "nitrogen", "spring", "line gas"]
    gauge: str = ""
    bleed: str = ""
    transmitter: str = ""


class Source(msgspec.Struct, frozen=True, kw_only=True):
    """
    An energy source to isolate, with its device.

    `first` sources (motor, heater) are locked before the gauges are seen to fall; the rest after (safety rule R2).
    """

    id: str
    name: str
    device: str
    kind: Literal[
        "motor",
        "control",
        "24 V loop",
        "heater",
        "battery",
        "array",
        "accumulator",
        "sensing line",
        "process",
    ]
    locked: Literal["first", "after zero"]
    off_in_control: bool = True


class Behaviour(msgspec.Struct, frozen=True, kw_only=True):
    """What the unit does by itself: the facts that decide whether switching off moves the valve."""

    lost_signal: str
    lost_power: str
    lost_contact: str
    lost_contact_moves: bool
    holds_without_power: bool
    trip_overrides_bus: bool
    stop_while_opening: str
    stop_while_closing: str
    stop_stops_opening: bool
    stop_stops_closing: bool
    power_return: str
    local_stop: str


class LinkSettings(msgspec.Struct, frozen=True, kw_only=True):
    """
    How the unit is asked.

    Args:
        protocol: Modbus over serial line or TCP; `none` for a unit that only eyes, a meter and keys can read.

        unit_id: 1 … 247; 0 is never written.

        counts_from: Whether the unit's own list counts addresses from 0 or 1.

        order: Byte order of 32-bit values unless a point says otherwise.

        scan_s: The unit's own scan time: inputs are at least this old.

        slowest_reply_s: Longest the unit takes to answer; a late answer cannot come after this.
    """

    protocol: Literal["rtu", "tcp", "none"]
    unit_id: Annotated[int, msgspec.Meta(ge=1, le=247)]
    counts_from: Literal[0, 1]
    order: ByteOrder = "ABCD"
    baud: Literal[1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200] = 19200
    parity: Literal["E", "O", "N"] = "E"
    stop_bits: Literal[1, 2] = 1
    scan_s: NonNegative
    slowest_reply_s: Positive = 0.3
    alive: str
    guard_s: Positive | None = None


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """Everything the program knows of one unit before it meets it."""

    format: Literal[1]
    revision: str
    identity: Identity
    valve: Valve
    actuator: Actuator
    spring: Spring | None = None
    pump: Pump
    accumulator: Accumulator | None = None
    orifices: Orifices = Orifices()
    fluid: Fluid
    tank: Tank
    supply: Supply
    environment: Environment
    protections: Protections
    monitor: Monitor | None = None
    strokes: Strokes
    partial_stroke: PartialStroke | None = None
    feedback_loop: Loop | None = None
    command_loop: Loop | None = None
    modulating: Modulating | None = None
    pipeline: Pipeline | None = None
    reliability: Reliability | None = None
    intervals: tuple[Interval, ...] = ()
    behaviour: Behaviour
    sources: tuple[Source, ...]
    volumes: tuple[Volume, ...]
    link: LinkSettings
    points: tuple[Point, ...]

    def point(self, role: str) -> Point | None:
        """The point with this role, or None where the unit has none."""
        for point in self.points:
            if point.role == role:
                return point
        return None

    def has(self, *roles: str) -> bool:
        """Whether the unit has a point for every one of these roles."""
        return all(self.point(role) is not None for role in roles)

    @property
    def linked(self) -> bool:
        """Whether the unit can be read over a link at all."""
        return self.link.protocol != "none"

    def wire_address(self, point: Point) -> int:
        """The address on the wire, which always counts from 0 (Modbus Application Protocol V1.1b3, 4.4)."""
        return point.address - self.link.counts_from

"""What is not as the sheet says: the findings that can be planted in a practice unit."""

import msgspec


class Condition(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """
    The state of one practice unit, as the sheet says unless a field is set.

    Args:
        friction_factor: Friction of valve and packing against the sheet's empty-line share.

        breakaway_factor: Friction against its own, until the valve first moves out of the end where oil holds it: it
            sticks, then leaps.

        stiction_share: Friction before a motion begins, over that of motion, as a share of it.

        gall_factor: Friction at one place of travel against its neighbours.

        gall_at_pct: Where that is.

        stem_sheared: The key or stem is through: the actuator moves, the valve does not.

        lost_motion_pct: Play between the sensor and the stem.

        spring_factor: Spring force against the sheet.

        orifice_factor: Effective area of the spring stroke's and the partial stroke's way out.

        opening_flow_factor: Of the flow control that sets the opening of a double-acting unit.

        closing_flow_factor: Likewise closing.

        return_back_pressure_bar: Constant pressure in the return line while oil flows out.

        viscosity_factor: Of the oil against the sheet's, at the same temperature.

        volumetric_efficiency: Of the pump at two thirds of its rated pressure; the sheet's where None.

        suction_share: Share of the pump's flow that a blocked suction takes away at 20 °C; more when cold.

        relief_bar: Setting of the relief valve; the sheet's where None.

        relief_leak_ml_min: Past the relief valve at rated pressure.

        check_leak_ml_h: Back through the pump's check valve while the motor stands, at rated pressure.

        seal_leak_ml_h: Past the piston's seal, from side to side, at rated pressure.

        external_leak_ml_h: Out of the unit, at rated pressure.

        bypass_mm2: Effective area of a manual bypass that was left open.

        free_air_ml: Undissolved air in the oil, at atmospheric pressure; 10 mL gives the healthy 0.5 s of dead time.

        precharge_bar: Nitrogen pressure at 20 °C; the sheet's where None; below 1 bar the nitrogen is gone.

        dump_leak_ml_h: Leak past the dump valve's seat.

        dump_delay_s: From the coil's release to oil through the dump or the emergency valve.

        dump_stuck: The dump or emergency valve is not let go of: the unit holds on ESD.

        water_share: Of the water that it takes to freeze the dump or emergency valve at -10 °C.

        oil_missing_l: Of the tank's filling.

        cut_in_bar: Setting of the pressure switch; the sheet's where None.

        cut_out_bar: Likewise.

        oil_c: Oil temperature at the start, and the day's mean air temperature.

        start_hour: Hour of the day at the start.

        day_swing_c: Half the difference between the day's warmest and coldest air.

        sun_c: What the sun adds to the trapped oil at noon.

        heater_dead: The heater stays cold.

        battery_v: Control supply at rest; on direct current also the motor's.

        battery_ohm: Inner resistance of the battery over that of a new one.

        supply_factor: Volts of an alternating supply against the sheet.

        cable_factor: Resistance of the motor's cable against the sheet.

        phases_reversed: Rotation of a three-phase supply is wrong: the pump turns backwards.

        phase_lost: One of three phases is dead.

        contactor_welded: The motor runs while its supply is on.

        pipeline_bar: Pipeline pressure at the start.

        difference_bar: Pressure difference across the valve at the start.

        low_trip_delay_s: As-found delay of the low trip; the sheet's where None.

        monitor_off_bar: The monitor's transmitter reads so much too high.

        run_limit_s: As-found run-time limit; the sheet's where None.

        closed_limit_chatters: The closed limit's screw is loose: the contact opens by itself.

        crossed_contacts: Pairs of bits, by role, whose cores are swapped: each shows the other.

        inverted_contacts: Bits that read the opposite.

        shared_commons: Pairs of bits whose contacts share a common: the second turns over with the first.

        dead_contacts: Bits behind a blown fuse: 0 on the wire, whatever happens.

        bouncing_contacts: Bits that go on bouncing for a second after each change.
        closed_limit_early_pct: The closed limit makes so much travel too early.

        open_limit_early_pct: The open limit makes so much travel too early.

        sensor_offset_pct: The position sensor's clamp has slipped by so much.

        sensor_noise_pct: Noise of the position sensor over a healthy one's.

        sensor_worn_at_pct: Where its track is worn through; nowhere where None.

        feedback_ma_at: Feedback current at 0, 25, 50, 75 and 100 % of travel; the sheet's line where empty.

        dead_band_pct: Of a modulating unit; the sheet's where None.

        overshoots: A modulating unit stops late: too much gain for its dead band.

        directions_swapped: Open and close are swapped at the control unit's outputs.

        ground_loop_ma: What the feedback gains while the motor runs.

        words_swapped: 32-bit values go out with their words the other way round.

        shifted: Every address of the registers is one more than the sheet's.

        decimal_slipped: Whole numbers go out ten times too large.

        alarm_contact_inverted: Wired to the contact that is closed when dead: silent when power is gone.
    """

    friction_factor: float = 1.0
    breakaway_factor: float = 1.0
    stiction_share: float = 0.0
    gall_factor: float = 1.0
    gall_at_pct: float = 50.0
    stem_sheared: bool = False
    lost_motion_pct: float = 0.0
    spring_factor: float = 1.0
    orifice_factor: float = 1.0
    opening_flow_factor: float = 1.0
    closing_flow_factor: float = 1.0
    return_back_pressure_bar: float = 0.0
    viscosity_factor: float = 1.0
    volumetric_efficiency: float | None = None
    suction_share: float = 0.0
    relief_bar: float | None = None
    relief_leak_ml_min: float = 0.0
    check_leak_ml_h: float = 0.0
    seal_leak_ml_h: float = 0.0
    external_leak_ml_h: float = 0.0
    bypass_mm2: float = 0.0
    free_air_ml: float = 10.0
    precharge_bar: float | None = None
    dump_leak_ml_h: float = 0.0
    dump_delay_s: float = 0.0
    dump_stuck: bool = False
    water_share: float = 0.0
    oil_missing_l: float = 0.0
    cut_in_bar: float | None = None
    cut_out_bar: float | None = None
    oil_c: float = 20.0
    start_hour: float = 8.0
    day_swing_c: float = 0.0
    sun_c: float = 0.0
    heater_dead: bool = False
    battery_v: float = 24.37
    battery_ohm: float = 0.0
    supply_factor: float = 1.0
    cable_factor: float = 1.0
    phases_reversed: bool = False
    phase_lost: bool = False
    contactor_welded: bool = False
    pipeline_bar: float = 61.8
    difference_bar: float = 0.0
    low_trip_delay_s: float | None = None
    monitor_off_bar: float = 0.0
    run_limit_s: float | None = None
    closed_limit_chatters: bool = False
    crossed_contacts: tuple[tuple[str, str], ...] = ()
    inverted_contacts: tuple[str, ...] = ()
    shared_commons: tuple[tuple[str, str], ...] = ()
    dead_contacts: tuple[str, ...] = ()
    bouncing_contacts: tuple[str, ...] = ()
    closed_limit_early_pct: float = 0.0
    open_limit_early_pct: float = 0.0
    sensor_offset_pct: float = 0.0
    sensor_noise_pct: float = 0.0
    sensor_worn_at_pct: float | None = None
    feedback_ma_at: tuple[float, ...] = ()
    dead_band_pct: float | None = None
    overshoots: bool = False
    directions_swapped: bool = False
    ground_loop_ma: float = 0.0
    words_swapped: bool = False
    shifted: bool = False
    decimal_slipped: bool = False
    alarm_contact_inverted: bool = False


HEALTHY = Condition()

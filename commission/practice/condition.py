"""What is not as the sheet says: the findings that can be planted in a practice unit."""

import msgspec


class Condition(msgspec.Struct, frozen=True, kw_only=True):
    """
    The state of one practice unit, as the sheet says unless a field is set.

    Args:
        friction_factor: Friction of valve and packing against the sheet's empty-line share.

        breakaway_factor: Friction against its own, until the valve first moves out of its open end: it sticks, then
            leaps.

        spring_factor: Spring force against the sheet.

        orifice_factor: Effective area of the spring stroke's and the partial stroke's way out.

        return_back_pressure_bar: Constant pressure in the return line while oil flows out.

        volumetric_efficiency: Of the pump; the sheet's where None.

        free_air_ml: Undissolved air in the oil, at atmospheric pressure; 10 mL gives the healthy 0.5 s of dead time.

        precharge_bar: Nitrogen pressure at 20 °C; the sheet's where None.

        dump_leak_ml_h: Leak past the dump valve's seat.

        oil_c: Oil temperature at the start, and ambient.

        battery_v: Supply at rest.

        pipeline_bar: Pipeline pressure at the start.

        low_trip_delay_s: As-found delay of the low trip; the sheet's where None.

        closed_limit_chatters: The closed limit's screw is loose: the contact opens by itself.

        crossed_contacts: Pairs of bits, by role, whose cores are swapped: each shows the other.

        inverted_contacts: Bits that read the opposite.

        shared_commons: Pairs of bits whose contacts share a common: the second turns over with the first.

        dead_contacts: Bits behind a blown fuse: 0 on the wire, whatever happens.

        bouncing_contacts: Bits that go on bouncing for a second after each change.
    """

    friction_factor: float = 1.0
    breakaway_factor: float = 1.0
    spring_factor: float = 1.0
    orifice_factor: float = 1.0
    return_back_pressure_bar: float = 0.0
    volumetric_efficiency: float | None = None
    free_air_ml: float = 10.0
    precharge_bar: float | None = None
    dump_leak_ml_h: float = 0.0
    oil_c: float = 20.0
    battery_v: float = 24.37
    pipeline_bar: float = 61.8
    low_trip_delay_s: float | None = None
    closed_limit_chatters: bool = False
    crossed_contacts: tuple[tuple[str, str], ...] = ()
    inverted_contacts: tuple[str, ...] = ()
    shared_commons: tuple[tuple[str, str], ...] = ()
    dead_contacts: tuple[str, ...] = ()
    bouncing_contacts: tuple[str, ...] = ()


HEALTHY = Condition()

"""Pictures of what measures: sensor, its current, overflow switch."""

from levelbench.drawing.meaning_parts import Mark, Picture, across, lit, shape, upright, wave

CURRENT = Picture(
    "the current of the signal",
    (
        shape("line", (10, 24), (92, 24)),
        shape("hair", (12, 20), (12, 28)),
        shape("hair", (25, 20), (25, 28)),
        shape("hair", (77, 20), (77, 28)),
        shape("hair", (90, 20), (90, 28)),
        shape("text", (12, 32), text="0"),
        shape("text", (27, 32), text="4 mA"),
        shape("text", (75, 32), text="20 mA"),
        shape("text", (90, 32), text="24"),
        shape("liquid", (25, 22), (77, 22), (77, 26), (25, 26)),
        shape("hair", (23, 18), (23, 24)),
        shape("hair", (79, 18), (79, 24)),
        shape("hair", (21.5, 14), (21.5, 24)),
        shape("hair", (81, 14), (81, 24)),
    ),
    {
        "sensor.measures_within": across(18, 23, 79),
        "sensor.fails_beyond": Mark(
            shapes=(shape("wall", (10, 14), (21.5, 14), (21.5, 24)), shape("wall", (92, 14), (81, 14), (81, 24))),
        ),
        "sensor.fails": lit(shape("wall", (10, 14), (21.5, 14)), shape("wall", (92, 14), (81, 14))),
        "sensor.converter_range": across(38, 12, 90, 28),
        "sensor.volume_at_ends": lit(shape("wall", (25, 18), (25, 28)), shape("wall", (77, 18), (77, 28))),
    },
)

_LIT_SURFACE = shape("surface", *wave(28, 68, 22))
_HEAD = shape("solid", (44, 2), (52, 2), (52, 6), (44, 6))
_READ = {
    "sensor.zero_error": Mark(span=((76, 19), (76, 22)), helpers=(((68, 22), (76, 22)),), always=False),
    "sensor.noise": lit(_LIT_SURFACE),
    "sensor.ripple": lit(_LIT_SURFACE),
    "sensor.resolution": Mark(span=((66, 21), (66, 23)), always=False),
}
SENSOR = (
    Picture(
        "sensor over the liquid",
        (
            shape("liquid", (28, 22), (68, 22), (68, 44), (28, 44)),
            shape("surface", (28, 22), (68, 22)),
            shape("wall", (28, 12), (28, 44), (68, 44), (68, 12)),
            shape("tinted", (44, 6), (52, 6), (53.4, 13), (42.6, 13)),
            shape("dash", (44, 6), (40.8, 22)),
            shape("dash", (52, 6), (55.2, 22)),
            _HEAD,
        ),
        {
            "sensor.kind": lit(_HEAD),
            "sensor.span_error": Mark(((48, 6), (48, 22)), always=False),
            "sensor.face_above_floor": upright(20, 6, 44, reach=44),
            "sensor.near_dead_zone": upright(60, 6, 13, reach=52),
            "sensor.in_dead_zone": lit(shape("tinted", (44, 6), (52, 6), (53.4, 13), (42.6, 13))),
            "sensor.signal_span": Mark(
                ((76, 6), (76, 44)),
                (((52, 6), (76, 6)), ((68, 44), (76, 44))),
                (
                    shape("line", (82, 6), (82, 14)),
                    shape("hair", (52, 14), (84, 14)),
                    shape("text", (88, 11), text="20 mA"),
                    shape("text", (83, 40), text="4 mA"),
                ),
                always=False,
            ),
            "sensor.air_temperature": lit(shape("dash", (44, 6), (40.8, 22)), shape("dash", (52, 6), (55.2, 22))),
            "sensor.set_for_temperature": lit(shape("dash", (44, 6), (40.8, 22)), shape("dash", (52, 6), (55.2, 22))),
            **_READ,
        },
        (("sensor.kind", ("ultrasonic", "radar")),),
    ),
    Picture(
        "sensor under the liquid",
        (
            shape("liquid", (28, 22), (68, 22), (68, 44), (28, 44)),
            shape("surface", (28, 22), (68, 22)),
            shape("wall", (28, 8), (28, 44), (68, 44), (68, 8)),
            shape("solid", (68, 37), (74, 37), (74, 41), (68, 41)),
        ),
        {
            "sensor.kind": lit(shape("solid", (68, 37), (74, 37), (74, 41), (68, 41))),
            "sensor.span_error": Mark(((48, 22), (48, 39)), (((48, 39), (68, 39)),), always=False),
            "sensor.face_above_floor": upright(60, 39, 44),
            "sensor.signal_span": Mark(
                ((20, 39), (20, 10)),
                (((28, 39), (20, 39)), ((28, 10), (20, 10))),
                (shape("text", (13, 39), text="4 mA"), shape("text", (12, 10), text="20 mA")),
                always=False,
            ),
            "sensor.set_for_density": lit(shape("surface", (28, 22), (68, 22))),
            **_READ,
        },
        (("sensor.kind", ("hydrostatic", "plain 4-20 mA")),),
    ),
    CURRENT,
)

_FLOAT = shape("solid", (46, 14), (54, 14), (56, 16), (54, 18), (46, 18), (44, 16))
SWITCH = (
    Picture(
        "overflow switch",
        (
            shape("liquid", (28, 22), (72, 22), (72, 44), (28, 44)),
            shape("surface", (28, 22), (72, 22)),
            shape("wall", (28, 8), (28, 44), (72, 44), (72, 8)),
            shape("line", (50, 2), (50, 14)),
            _FLOAT,
            shape("dash", (28, 16), (72, 16)),
            shape("dash", (28, 19.5), (72, 19.5)),
        ),
        {
            "overflow_switch.fitted": lit(_FLOAT),
            "overflow_switch.trips_at": upright(20, 16, 44, reach=28),
            "overflow_switch.hysteresis": upright(78, 16, 19.5, reach=72),
            "overflow_switch.delay": lit(_FLOAT),
        },
    ),
)

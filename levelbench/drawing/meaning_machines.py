"""Pictures of what moves the liquid: reservoir, pump and drain."""

from levelbench.drawing.meaning_parts import Mark, Picture, Shape, across, lit, shape, upright
from levelbench.drawing.scene import Point

CIRCUIT = (
    shape("liquid", (38, 12), (62, 12), (62, 19), (38, 19)),
    shape("surface", (38, 12), (62, 12)),
    shape("wall", (38, 4), (38, 19), (62, 19), (62, 4)),
    shape("liquid", (34, 35), (66, 35), (66, 46), (34, 46)),
    shape("surface", (34, 35), (66, 35)),
    shape("wall", (34, 29), (34, 46), (66, 46), (66, 29)),
    shape("tube", (30, 8), (30, 24), (40, 24), (40, 42)),
)
RESERVOIR = (
    Picture(
        "tank above, reservoir below",
        CIRCUIT,
        {
            "reservoir.capacity": lit(
                shape("line", (34, 29), (66, 29)), shape("wall", (34, 29), (34, 46), (66, 46), (66, 29))
            ),
            "reservoir.charge": lit(
                shape("surface", (38, 12), (62, 12), (62, 19), (38, 19), (38, 12)),
                shape("surface", (34, 35), (66, 35), (66, 46), (34, 46), (34, 35)),
            ),
            "reservoir.height": upright(72, 29, 46, reach=66),
            "reservoir.floor_below_tank_floor": upright(24, 19, 46, reach=34),
            "reservoir.suction_above_floor": upright(45, 42, 46),
        },
    ),
)

PUMP = (
    Picture(
        "pump, fill tube and tank",
        (
            shape("liquid", (56, 18), (82, 18), (82, 29), (56, 29)),
            shape("surface", (56, 18), (82, 18)),
            shape("wall", (56, 10), (56, 29), (82, 29), (82, 10)),
            shape("liquid", (40, 40), (82, 40), (82, 48), (40, 48)),
            shape("surface", (40, 40), (82, 40)),
            shape("wall", (40, 35), (40, 48), (82, 48), (82, 35)),
            shape("tube", (44, 45), (26, 45), (26, 5), (62, 5), (62, 12)),
            shape("pump", (26, 34)),
            shape("arrow", (62, 12.5), (62, 16)),
        ),
        {
            "pump.drive": lit(shape("pump", (26, 34))),
            "pump.largest_flow": lit(shape("arrow", (62, 12), (62, 17))),
            "pump.measured_at_lift": upright(90, 5, 40, 62),
            "pump.shut_off_head": upright(15, 2, 40, reach=40),
            "pump.fill_end_above_floor": upright(69, 12, 29),
            "pump.check_valve": lit(shape("solid", (23.5, 26), (28.5, 26), (26, 22))),
            "pump.vented": lit(shape("circle", (62, 5), (63.4, 5))),
            "pump.stopped_coefficient": lit(shape("pump", (26, 34))),
            "pump.tube_volume": lit(shape("line", (26, 30), (26, 5), (62, 5), (62, 12))),
            "pump.most_starts": lit(shape("pump", (26, 34))),
        },
    ),
    Picture(
        "flow over command",
        (
            shape("line", (18, 5), (18, 42), (88, 42)),
            shape("surface", (18, 42), (26, 42), (26, 36), (80, 10)),
            shape("dash", (34, 42), (34, 32)),
            shape("dash", (80, 42), (80, 10)),
            shape("text", (53, 47), text="command, 0 to 100 %"),
            shape("text", (27, 4), text="flow"),
        ),
        {
            "pump.starts_moving_at": lit(shape("line", (34, 42), (34, 32))),
            "pump.stalls_at": lit(shape("line", (26, 42), (26, 36))),
            "pump.slowest_flow": Mark(span=((26, 42), (26, 36))),
            "pump.wear": Mark(((80, 10), (80, 16)), shapes=(shape("dash", (26, 38), (80, 16)),), always=False),
        },
    ),
    Picture(
        "flow over time, after a step of the command",
        (
            shape("line", (18, 5), (18, 42), (88, 42)),
            shape("dash", (18, 12), (88, 12)),
            shape("surface", (18, 42), (22, 33), (27, 26), (34, 19.5), (42, 15.5), (52, 13.3), (66, 12.3), (88, 12)),
            shape("dash", (34, 42), (34, 19.5), (18, 19.5)),
            shape("text", (78, 47), text="time"),
            shape("text", (24, 22.5), text="63 %"),
        ),
        {"pump.spin_up": Mark(span=((18, 42), (34, 42)))},
    ),
    Picture(
        "an on/off pump, switched",
        (
            shape("line", (12, 42), (92, 42)),
            shape(
                "surface",
                (12, 38),
                (20, 38),
                (20, 18),
                (36, 18),
                (36, 38),
                (56, 38),
                (56, 18),
                (72, 18),
                (72, 38),
                (92, 38),
            ),
            shape("text", (85, 46), text="time"),
            shape("text", (28, 23), text="on"),
            shape("text", (46, 34), text="off"),
        ),
        {
            "pump.cycle": across(8, 20, 56, 18),
            "pump.least_on": across(14, 20, 36, 18),
            "pump.least_off": across(44, 36, 56, 38),
        },
    ),
)

VALVE_SIPHON, VALVE_OUTLET = shape("valve", (72, 34)), shape("valve", (66, 38))
SIPHON_TUBE = ((56, 27), (56, 4), (72, 4), (72, 45))
OUTLET_TUBE = ((62, 24), (66, 24), (66, 46))


def _drain_marks(tube: tuple[Point, ...], valve: Shape) -> dict[str, Mark]:
    """Give the marks that both kinds of gravity drain share."""
    line = shape("line", *tube)
    on_valve = lit(valve)
    return {
        "drain.kind": lit(line),
        "drain.valve_cv": on_valve,
        "drain.opening": on_valve,
        "drain.trim": on_valve,
        "drain.rangeability": on_valve,
        "drain.tube_length": lit(line),
        "drain.fittings_loss": lit(line),
        "drain.roughness": lit(line),
        "drain.goes_to": lit(shape("arrow", tube[-1], (tube[-1][0], 50))),
    }


DRAIN = (
    Picture(
        "siphon over the rim",
        (
            shape("liquid", (30, 15), (64, 15), (64, 30), (30, 30)),
            shape("surface", (30, 15), (64, 15)),
            shape("wall", (30, 8), (30, 30), (64, 30), (64, 8)),
            shape("tube", *SIPHON_TUBE),
            VALVE_SIPHON,
        ),
        {
            **_drain_marks(SIPHON_TUBE, VALVE_SIPHON),
            "drain.inlet_above_floor": upright(49, 27, 30, 56),
            "drain.crest_above_floor": upright(22, 4, 30, reach=56),
            "drain.outlet_above_floor": upright(58, 30, 45, 72),
            "drain.tube_diameter": Mark(span=((71, 20), (73, 20)), always=False),
        },
        (("drain.kind", ("siphon over the rim",)),),
    ),
    Picture(
        "bottom outlet",
        (
            shape("liquid", (28, 12), (62, 12), (62, 28), (28, 28)),
            shape("surface", (28, 12), (62, 12)),
            shape("wall", (28, 5), (28, 28), (62, 28), (62, 5)),
            shape("tube", *OUTLET_TUBE),
            VALVE_OUTLET,
        ),
        {
            **_drain_marks(OUTLET_TUBE, VALVE_OUTLET),
            "drain.inlet_above_floor": upright(54, 24, 28, 62),
            "drain.outlet_above_floor": upright(50, 28, 46, 66),
            "drain.tube_diameter": Mark(span=((65, 30), (67, 30)), always=False),
        },
        (("drain.kind", ("bottom outlet",)),),
    ),
    Picture(
        "forced draw",
        (
            shape("liquid", (22, 14), (52, 14), (52, 36), (22, 36)),
            shape("surface", (22, 14), (52, 14)),
            shape("wall", (22, 5), (22, 36), (52, 36), (52, 5)),
            shape("tube", (46, 30), (46, 2), (66, 2), (66, 40), (80, 40)),
            shape("pump", (66, 26)),
            shape("arrow", (81, 40), (90, 40)),
        ),
        {
            "drain.kind": lit(shape("pump", (66, 26))),
            "drain.draw": lit(shape("arrow", (81, 40), (90, 40))),
            "drain.goes_to": lit(shape("arrow", (81, 40), (90, 40))),
        },
        (("drain.kind", ("forced draw",)),),
    ),
)

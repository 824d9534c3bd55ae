"""Pictures of the tank: what each of its dimensions means, shape by shape."""

from levelbench.drawing.meaning_parts import Mark, Picture, across, lit, shape, upright

ROD = shape("line", (60, 2), (60, 36), (62, 36), (62, 2))
SPOUT = shape("line", (36, 11), (30, 14))


def leaking(x: float, floor: float, beside: float, surface: float, reach: float) -> dict[str, Mark]:
    """Give drops under a floor at x, and beside the tank the height at which the leak was measured."""
    drops = (shape("line", (x, floor + 2 * at), (x, floor + 2 * at + 1)) for at in (0.5, 1.5, 2.5))
    height = Mark(((beside, surface), (beside, floor)), (((reach, surface), (beside, surface)),), always=False)
    return {"tank.leak": lit(*drops), "tank.leak_at": height}


TANKS = (
    Picture(
        "upright tank, cut down its middle",
        (
            shape("liquid", (36, 20), (66, 20), (66, 40), (36, 40)),
            shape("surface", (36, 20), (66, 20)),
            shape("wall", (36, 6), (36, 40), (66, 40), (66, 6)),
            ROD,
            SPOUT,
        ),
        {
            "tank.shape": lit(shape("wall", (36, 6), (36, 40), (66, 40), (66, 6))),
            "tank.diameter": across(45, 36, 66, 40),
            "tank.height": upright(74, 6, 40, reach=66),
            "tank.rim_to_spill": upright(24, 6, 11, 36),
            **leaking(56, 40, 86, 20, 66),
            "tank.dead_wood": lit(ROD),
        },
        (("tank.shape", ("upright cylinder",)),),
    ),
    Picture(
        "box, seen from a corner",
        (
            shape("liquid", (26, 24), (60, 24), (60, 40), (26, 40)),
            shape("surface", (26, 24), (60, 24)),
            shape("hair", (26, 10), (38, 3), (72, 3), (72, 32), (60, 40)),
            shape("hair", (60, 10), (72, 3)),
            shape("wall", (26, 10), (26, 40), (60, 40), (60, 10), (26, 10)),
            shape("line", (26, 14), (21, 17)),
        ),
        {
            "tank.shape": lit(shape("wall", (26, 10), (26, 40), (60, 40), (60, 10), (26, 10))),
            "tank.length": across(45, 26, 60, 40),
            "tank.width": Mark(span=((62, 43), (74, 35)), helpers=(((60, 40), (62, 43)), ((72, 32), (74, 35)))),
            "tank.height": upright(79, 3, 32, reach=72),
            "tank.rim_to_spill": upright(16, 10, 14, 26),
            **leaking(34, 40, 9, 24, 26),
            "tank.dead_wood": lit(shape("line", (36, 12), (36, 38), (38, 38), (38, 12))),
        },
        (("tank.shape", ("box",)),),
    ),
    Picture(
        "lying tank: end on, and from its side",
        (
            shape("liquid", (7.7, 26), (30.3, 26), (28, 31.5), (24, 34.5), (19, 35.5), (14, 34.5), (10, 31.5)),
            shape("surface", (7, 25.5), (31, 25.5)),
            shape("round", (19, 23), (31.3, 23)),
            shape("liquid", (48, 25.5), (86, 25.5), (85.4, 30), (83, 35.3), (51, 35.3), (48.6, 30)),
            shape("surface", (47.8, 25.5), (86.2, 25.5)),
            shape(
                "wall",
                (51, 10.7),
                (83, 10.7),
                (85.4, 16),
                (86.2, 23),
                (85.4, 30),
                (83, 35.3),
                (51, 35.3),
                (48.6, 30),
                (47.8, 23),
                (48.6, 16),
                (51, 10.7),
            ),
            shape("dash", (51, 10.7), (51, 35.3)),
            shape("dash", (83, 10.7), (83, 35.3)),
        ),
        {
            "tank.shape": lit(shape("round", (19, 23), (31.3, 23))),
            "tank.diameter": across(40, 6.7, 31.3, 24),
            "tank.length": across(40, 51, 83, 35),
            "tank.height": upright(38, 10.7, 35.3, reach=19),
            "tank.ends": lit(
                shape("wall", (51, 10.7), (48.6, 16), (47.8, 23), (48.6, 30), (51, 35.3)),
                shape("wall", (83, 10.7), (85.4, 16), (86.2, 23), (85.4, 30), (83, 35.3)),
            ),
            "tank.rim_to_spill": upright(94, 10.7, 14.5, 84),
            **leaking(72, 35.3, 94, 25.5, 86),
            "tank.dead_wood": lit(shape("line", (66, 8), (66, 33), (68, 33), (68, 8))),
        },
        (("tank.shape", ("lying cylinder",)),),
    ),
    Picture(
        "tank with a cone under it, cut down its middle",
        (
            shape("liquid", (36, 16), (66, 16), (66, 26), (54, 40), (48, 40), (36, 26)),
            shape("surface", (36, 16), (66, 16)),
            shape("wall", (36, 5), (36, 26), (48, 40), (54, 40), (66, 26), (66, 5)),
            shape("line", (36, 10), (30, 13)),
        ),
        {
            "tank.shape": lit(shape("wall", (36, 5), (36, 26), (48, 40), (54, 40), (66, 26), (66, 5))),
            "tank.diameter": across(21, 36, 66),
            "tank.height": upright(82, 5, 40, reach=66),
            "tank.cone_depth": upright(73, 26, 40, reach=58),
            "tank.cone_tip": across(44, 48, 54, 40),
            "tank.rim_to_spill": upright(24, 5, 10, 36),
            **leaking(51, 40, 24, 16, 36),
            "tank.dead_wood": lit(shape("line", (59, 4), (59, 24), (61, 24), (61, 4))),
        },
        (("tank.shape", ("cone bottom",)),),
    ),
    Picture(
        "a tank known by its table of levels and volumes",
        (
            shape("liquid", (31, 22), (67, 22), (66, 30), (60, 40), (40, 40), (33, 30)),
            shape("surface", (31, 22), (67, 22)),
            shape("wall", (34, 5), (30, 14), (31, 24), (33, 30), (40, 40), (60, 40), (66, 30), (67, 20), (62, 5)),
            shape("hair", (74, 40), (78, 40)),
            shape("hair", (74, 31), (78, 31)),
            shape("hair", (74, 22), (78, 22)),
            shape("hair", (74, 13), (78, 13)),
            shape("hair", (76, 5), (76, 40)),
        ),
        {
            "tank.shape": lit(shape("wall", (34, 5), (30, 14), (31, 24), (33, 30), (40, 40))),
            "tank.table": Mark(((76, 40), (76, 22)), (((67, 22), (76, 22)), ((60, 40), (76, 40)))),
            "tank.rim_to_spill": upright(22, 5, 10, 34),
            **leaking(50, 40, 86, 22, 67),
            "tank.dead_wood": lit(shape("line", (47, 6), (47, 36), (49, 36), (49, 6))),
        },
        (("tank.shape", ("own table",)),),
    ),
)

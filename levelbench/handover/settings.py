"""The parts of the sheet about what is typed into the controller: equation, settings in every form, limits."""

from levelbench.alarms.ladder import BAND_LETTERS, BAND_NAMES, ladder
from levelbench.handover.blocks import Block, Bullets, Equation, Grid, Heading, Note, Paragraph, Table
from levelbench.handover.typed import as_typed, pairs
from levelbench.project.as_found import FOUND_KEYS
from levelbench.project.fields import entries
from levelbench.quantity import Dimension
from levelbench.rig.bench import Bench
from levelbench.tuning.forms import EQUATIONS, Form, Value, all_forms

BAND_LIMITS = {**{key: BAND_NAMES[key] for key in reversed(BAND_NAMES)}, "deviation": "deviation"}
PARTS = (
    ("gain", ("gain", "proportional band")),
    ("integral", ("integral time", "integral rate", "integral gain")),
    ("derivative", ("derivative time", "derivative gain")),
)


def settings(bench: Bench) -> tuple[Block, ...]:
    """Give the equation of the controller, its settings in all three forms, and every entry as typed."""
    own = bench.project.loop_settings.form
    weighted = own == "series"
    return (
        Heading(f"Settings of {bench.tag('IC')}"),
        Grid(pairs(bench.project.loop_settings, bench.units)),
        Paragraph(f"This controller computes the {own} form:"),
        Equation(EQUATIONS[own]),
        Bullets(
            (
                "SP, PV and OP in the same units as the gain: % of span and %, or "
                f"{bench.units.volume} and %. OP is held between its limits.",
                "The set point weight b acts on the gain's share of a set point change; the derivative acts on PV "
                "only, filtered with Td/N."
                + (" In the series form this holds after conversion to the standard form." if weighted else ""),
                "Anti-windup: the integral holds while the output is at a limit, or limited in rate, and would go "
                "further, and while an interlock blocks the pump.",
                "Bumpless: in manual the integral follows the output, so that the change to automatic makes no step.",
            )
        ),
        forms(bench),
    )


def forms(bench: Bench) -> Table:
    """Give one row for each of the three actions, one column for each form, every unit in the cell."""
    every = all_forms(bench.rig)
    rows = [("equation", *(form.equation for form in every))]
    rows += [(name, *(_cell(form, groups) for form in every)) for name, groups in PARTS]
    head = ("", *(form.name + (": this controller" if form.own else "") for form in every))
    return Table(head, tuple(rows), (0.13, 0.29, 0.29, 0.29))


def _cell(form: Form, names: tuple[str, ...]) -> str:
    if form.missing:
        return form.missing
    return "\n".join(f"{_symbol(one)} {one.text}" for one in form.values if one.figure.name in names)


def _symbol(value: Value) -> str:
    """Give what stands before a value: the symbol at the head of its formula, or PB."""
    if value.figure.name == "proportional band":
        return "PB"
    symbol = value.figure.formula.split(" ")[0].removeprefix("1/").rstrip(",")
    return f"1/{symbol}" if value.figure.formula.startswith("1/") else symbol


def limits(bench: Bench) -> tuple[Block, ...]:
    """Give the limits on the volume with all that is typed for them, and what each leaves."""
    rungs = {rung.entry: rung for rung in ladder(bench.rig)}
    rows = []
    for key, band in reversed(bench.bands().items()):
        rung = rungs[f"bands.{key}.limit"]
        seconds = bench.time(rung.seconds_to_spill)
        rows.append(
            (
                BAND_NAMES[key],
                bench.tag(BAND_LETTERS[key]),
                band.limit.shown,
                bench.length(rung.level),
                band.dead_band.shown,
                band.on_delay.shown,
                band.off_delay.shown,
                band.priority,
                seconds,
            )
        )
    deviation = bench.project.bands.deviation
    if deviation:
        typed = (
            deviation.limit.shown,
            "–",
            deviation.dead_band.shown,
            deviation.on_delay.shown,
            deviation.off_delay.shown,
        )
        rows.append(("deviation", bench.tag("AD"), f"±{typed[0]}", *typed[1:], deviation.priority, "–"))
    head = ("limit", "tag", "at", "height", "dead band", "on-delay", "off-delay", "priority", "to spill")
    widths = (0.12, 0.13, 0.12, 0.11, 0.12, 0.1, 0.1, 0.1, 0.1)
    return (
        Heading("Limits and bands"),
        Table(head, tuple(rows), widths, right=(2, 3, 4, 5, 6, 8)),
        Paragraph(
            "Time to spill: the pump at its largest flow with the drain shut, "
            f"{bench.show(bench.fill_rate, Dimension.FLOW)}. People are given {bench.project.duty.time_to_act.shown}."
        ),
        *_switch(bench),
    )


def _switch(bench: Bench) -> tuple[Block, ...]:
    if bench.trip is None:
        return (
            Note(
                "■",
                "stop",
                "No overflow switch is described: nothing stops the pump by wire when the program or the sensor fails.",
            ),
        )
    rung = next(one for one in ladder(bench.rig) if one.name == "switch")
    return (
        Grid(
            (
                (f"{bench.tag('SHH')} (hard-wired)", "opens on high; a broken wire stops the pump too"),
                *pairs(bench.project.overflow_switch, bench.units),
                ("volume there", bench.volume(rung.volume)),
                ("from there to the spill", bench.time(rung.seconds_to_spill)),
            )
        ),
    )


def found_and_left(bench: Bench) -> Table:
    """Give the settings once more, with room to write what was found in the panel and what was left there."""
    loop, bands, found = bench.project.loop_settings, bench.project.bands, bench.project.as_found
    declared = entries(type(loop))

    def noted(key: str) -> str:
        """Give what was found, where somebody noted it."""
        known = found is not None and key in FOUND_KEYS
        return as_typed(getattr(found, key), declared[key], bench.units) if known else ""

    rows = [
        (declared[key].label, as_typed(getattr(loop, key), declared[key], bench.units), noted(key), "")
        for key in declared
    ]
    for key, name in BAND_LIMITS.items():
        one = getattr(bands, key)
        if one is not None:
            own = entries(type(one))
            rows += [
                (f"{name}, {own[part].label}", as_typed(getattr(one, part), own[part], bench.units), "", "")
                for part in own
                if part != "priority"
            ]
    return Table(("setting", "this sheet", "as found", "as left"), tuple(rows), (0.3, 0.26, 0.22, 0.22), tall=True)

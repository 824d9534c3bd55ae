"""The parts of the sheet about what is typed into the controller: equation, settings in every form, limits."""

from levelbench.alarms.ladder import ladder
from levelbench.alarms.names import name_of
from levelbench.alarms.rationale import REASONS
from levelbench.alarms.timing import alarms_in_use
from levelbench.handover.blocks import Block, Bullets, Equation, Grid, Heading, Note, Paragraph, Table
from levelbench.handover.typed import as_typed, pairs
from levelbench.project.as_found import FOUND_KEYS
from levelbench.project.fields import entries
from levelbench.rig.bench import Bench
from levelbench.tuning.forms import EQUATIONS, Form, Value, all_forms

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


def switch(bench: Bench) -> tuple[Block, ...]:
    """Give the hard-wired overflow switch as typed, and what it leaves."""
    return (Heading("Overflow switch"), *_switch(bench))


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
    loop, found = bench.project.loop_settings, bench.project.as_found
    declared = entries(type(loop))

    def noted(key: str) -> str:
        """Give what was found, where somebody noted it."""
        known = found is not None and key in FOUND_KEYS
        return as_typed(getattr(found, key), declared[key], bench.units) if known else ""

    rows = [
        (declared[key].label, as_typed(getattr(loop, key), declared[key], bench.units), noted(key), "")
        for key in declared
    ]
    for key, one in alarms_in_use(bench.rig).items():
        own = entries(type(one))
        rows += [
            (f"{name_of(key)}, {own[part].label}", as_typed(getattr(one, part), own[part], bench.units), "", "")
            for part in own
            if part not in REASONS
        ]
    return Table(("setting", "this sheet", "as found", "as left"), tuple(rows), (0.3, 0.26, 0.22, 0.22), tall=True)

"""The parts of the sheet about what was tried: before and after on the same runs, and filling with the drain shut."""

from levelbench.drawing.evidence import proof_picture
from levelbench.handover.blocks import Block, Bullets, Drawing, Equation, Heading, Paragraph, Table
from levelbench.handover.told import figure_table, value_of
from levelbench.project.as_found import FOUND_KEYS
from levelbench.project.fields import entries
from levelbench.project.records import LoopSettings
from levelbench.quantity import Figure, Units
from levelbench.rig import kernel
from levelbench.rig.bench import Bench
from levelbench.tuning.filling import cut_off, equation, law_figures
from levelbench.tuning.proof import Line, Proof

_KEY = (
    "Mean ± standard deviation over the seeds; ▼ less (better), ▲ more, ○ can't be told apart, = the same, ■ not to be "
    "compared. Difference and interval are of pairs with the same seed (Student 1908); of twenty such intervals one "
    "may miss."
)
_UNCERTAINTY = (
    "Uncertainty: the last three rows hold wherever the pump's flow is within 10 % and every part of the delay within "
    "25 % of what was entered (common practice, no source). Dead time exact."
)
_MARKS = {"less": "▼", "more": "▲", "same": "=", "open": "○", "never": "■"}


def proof(bench: Bench, found: Proof) -> tuple[Block, ...]:
    """Give the section “Proof”: verdict, picture, table, margins of both and how they hold in what is not known."""
    units, noted = bench.units, bench.project.as_found.noted if bench.project.as_found is not None else ""
    one, other = found.before.name, found.after.name
    runs = (
        f"Both were run on the same model of the rig with the same seeds, {found.seeds[0]} to {found.seeds[-1]}: the "
        "same noise, the same draws. The model, its delay and what is assumed of it are those of this sheet."
    )
    head = ("measure", one, other, "after less before", "95 % interval", "")
    table = Table(
        head,
        tuple(row_of(line, units) for line in found.lines),
        (0.29, 0.16, 0.16, 0.12, 0.11, 0.16),
        right=(1, 2, 3, 4),
    )
    why = f"{found.effect.words} {found.effect.why}".strip()
    picture = Drawing(
        proof_picture(found, units),
        "Volume as the controller sees it without noise: mean of the runs, tinted from the lowest to the highest.",
    )
    return (
        Heading("Proof"),
        *((Paragraph(f"As found: {noted}."),) if noted else ()),
        Paragraph(found.verdict),
        Paragraph(runs),
        picture,
        table,
        Paragraph(_KEY, quiet=True),
        *((Paragraph(why),) if not found.same else ()),
        Heading("Settings and margins, before and after", minor=True),
        _settings(found),
        _margins(found, units),
        Paragraph(_UNCERTAINTY),
    )


def row_of(line: Line, units: Units) -> tuple[str, ...]:
    """Give the row of a measure: name and unit, before, after, difference, interval, and what to say of it."""
    unit = units.of(line.before.dimension)

    def bare(figure: Figure) -> str:
        return value_of(figure, units).removesuffix(unit).strip()

    pairs = zip((line.before, line.after), line.spreads, strict=True)
    cells = [bare(mean) + (f" ± {bare(spread)}" if line.verdict != "never" else "") for mean, spread in pairs]
    difference = "–" if line.difference is None else bare(line.difference)
    interval = "–" if line.interval is None else f"± {bare(line.interval)}"
    return (f"{line.name}, {unit}", *cells, difference, interval, f"{_MARKS[line.verdict]} {_WORDS[line.verdict]}")


_WORDS = {"less": "less", "more": "more", "same": "the same", "open": "not told apart", "never": "never in some"}


def _settings(found: Proof) -> Table:
    """Give what was typed in both, entry by entry, where it differs; all of it when nothing does."""
    declared = entries(LoopSettings)
    both = [one.rig.project.loop_settings for one in (found.before, found.after)]
    told = {key: tuple(_typed(one, key) for one in both) for key in FOUND_KEYS}
    moved = {key: pair for key, pair in told.items() if pair[0] != pair[1]} or told
    rows = tuple((declared[key].label, *pair) for key, pair in moved.items())
    return Table(("setting", found.before.name, found.after.name), rows, (0.4, 0.3, 0.3))


def _typed(one: LoopSettings, key: str) -> str:
    value = getattr(one, key)
    entry = entries(LoopSettings)[key]
    if value is None:
        return "off" if entry.may_be_off else "–"
    return value if isinstance(value, str) else value.shown


def _margins(found: Proof, units: Units) -> Table:
    rows = []
    for move in found.effect.moves:
        one = move.after or move.before
        assert one is not None
        rows.append((one.name, *("–" if each is None else value_of(each, units) for each in (move.before, move.after))))
    rows += [
        (one.name, value_of(one, units), value_of(other, units))
        for one, other in zip(found.before.least, found.after.least, strict=True)
    ]
    return Table(("margin", found.before.name, found.after.name), tuple(rows), (0.4, 0.3, 0.3), right=(1, 2))


def filling(bench: Bench) -> tuple[Block, ...]:
    """Give the cut-off that fills with the drain shut, as it is programmed, for the starting set point."""
    rig, units = bench.rig, bench.units
    set_point, tolerance = float(rig.panel[kernel.P_SET_POINT]), float(rig.panel[kernel.P_SP_STEP]) / 2
    law = cut_off(rig, set_point)
    return (
        Heading("Filling with the drain shut"),
        Paragraph(
            "The pump can only add, so with the drain shut an overshoot stays. A controller that can be programmed may "
            "fill at full output and cut ahead of the set point by a lead that each fill corrects:"
        ),
        *(Equation(line) for line in equation(law, units)),
        *figure_table(law_figures(rig, set_point, tolerance), units),
        Bullets(
            (
                "The lead is kept for the next fill; a lead at its largest says that something is broken: look for it.",
                "Limits, switch and emergency stop act as before; the cut takes the place of the output only.",
            )
        ),
    )

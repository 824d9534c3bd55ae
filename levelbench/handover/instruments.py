"""The parts of the sheet about what is wired: tags, the PV and its signal, the output and what it does."""

from levelbench.alarms.names import MEANINGS, name_of, tag_of
from levelbench.alarms.timing import alarms_in_use
from levelbench.handover.blocks import Block, Grid, Heading, Paragraph, Table
from levelbench.handover.typed import as_typed, pairs
from levelbench.quantity import Dimension, Figure
from levelbench.review import scaling_table
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.tuning.loop import operating_point

FIFTHS = (0.0, 0.25, 0.5, 0.75, 1.0)


def tags(bench: Bench) -> tuple[Block, ...]:
    """Give the legend of tags after ISA-5.1."""
    project, number = bench.project, bench.project.loop
    means = project.first_letter_means or ("level" if project.first_letter == "L" else "as declared by the user")
    rows = [
        (bench.tag("T"), "transmitter", f"{project.sensor.kind} level sensor"),
        (bench.tag("IC"), "indicating controller", "volume controller in the operator panel"),
        (f"P-{number}", "pump", f"fill pump, {project.pump.drive}"),
    ]
    if bench.trip is not None:
        rows.append((bench.tag("SHH"), "switch, high-high", "overflow switch, hard-wired"))
    rows += [
        (tag_of(bench, key), MEANINGS[key], f"{name_of(key)}, in the program")
        for key in alarms_in_use(bench.rig)
        if key != "switch"
    ]
    if project.drain.kind in ("bottom outlet", "siphon over the rim"):
        rows.append((f"HV-{number}", "hand valve", f"in the drain ({project.drain.kind})"))
    rows += [
        (f"HS-{number}", "hand switches", "emergency stop, power on, reset, silence"),
        (f"XL-{number}", "X: stack light", "red, yellow, green, blue"),
        (f"XA-{number}", "X: horn", "sounds until silenced"),
    ]
    note = (
        f"First letter {project.first_letter}: {means}. ISA-5.1 has no first letter for volume, so the loop keeps its "
        f"{project.first_letter} and its PV is scaled in {bench.units.volume}."
        if project.first_letter == "L"
        else f"First letter {project.first_letter}: {means}; a user's choice, declared here as ISA-5.1 asks."
    )
    return (
        Heading("Tags (ANSI/ISA-5.1)"),
        Table(("tag", "letters", "here"), tuple(rows), (0.18, 0.3, 0.52)),
        Paragraph(f"{note} X is unclassified and means what the table says."),
    )


def process_value(bench: Bench) -> tuple[Block, ...]:
    """Give where the PV comes from, its range, and the truth table of its signal."""
    sensor = bench.project.sensor
    low, high = bench.rig.span
    ends = (
        ("PV at 4 mA", bench.volume(low)),
        ("PV at 20 mA", bench.volume(high)),
        ("span of the PV", bench.volume(high - low)),
        ("PV filter", bench.project.loop_settings.pv_filter.shown),
        ("on a failure signal", "output 0, integral held; latched until reset"),
    )
    return (
        Heading(f"Process value: {bench.tag('T')}"),
        Grid((*pairs(sensor, bench.units), *ends)),
        Heading("Scaling of the signal"),
        scaling(bench.rig),
    )


def scaling(rig: Rig) -> Table:
    """Give the truth table of the 4-20 mA signal, with a column to write the reading of the real panel in."""
    bench, rows = Bench(rig), []
    for row in scaling_table(rig):
        level = "–" if row.level is None else bench.length(row.level)
        volume = "–" if row.volume is None else bench.volume(row.volume)
        current = bench.show(row.current, Dimension.CURRENT, 1e-5)
        share = bench.show(row.share, Dimension.PERCENT, 1e-3)
        rows.append((current, str(row.counts), share, level, volume, row.meaning, ""))
    head = ("signal", "counts", "of span", "level", "volume", "meaning", "panel reads")
    return Table(head, tuple(rows), (0.11, 0.08, 0.09, 0.1, 0.14, 0.36, 0.12), right=(0, 1, 2, 3, 4))


def flow_figures(bench: Bench) -> tuple[Figure, ...]:
    """Give the flow at five outputs at the working set point's lift, which is what 0 to 100 % of output means."""
    point = operating_point(bench.rig)
    pump = bench.rig.params.pump
    found = []
    for output in FIFTHS:
        if pump.on_off:
            flow, how = output * bench.pump_flow(1.0, point.lift), "output × flow at 100 % (mean over cycles)"
        elif output < pump.stalls_at or output == 0.0:
            flow, how = 0.0, "below the stall: no flow"
        else:
            flow, how = bench.pump_flow(output, point.lift), "straight between slowest and largest flow; affinity laws"
        source = "the rig's pump curve; affinity laws of centrifugal pumps"
        key = f"output.flow_{round(100 * output)}"
        inputs = (("output", output, Dimension.PERCENT), ("lift", point.lift, Dimension.LENGTH))
        found.append(bench.figure(key, "flow", (flow, Dimension.FLOW), how, source, inputs=inputs))
    return tuple(found)


def output(bench: Bench) -> tuple[Block, ...]:
    """Give what the output means: the pump, and its flow at five points."""
    rows = tuple(
        (bench.show(share, Dimension.PERCENT, 0.01), bench.flow(one.si), one.formula, "", "")
        for share, one in zip(FIFTHS, flow_figures(bench), strict=True)
    )
    action = bench.project.loop_settings.action
    words = "output falls when the volume rises" if action == "reverse" else "output rises when the volume rises"
    lift = bench.length(operating_point(bench.rig).lift)
    return (
        Heading(f"Output: P-{bench.project.loop}"),
        Grid((("action", f"{action}: {words}"), *pairs(bench.project.pump, bench.units))),
        Table(
            ("output", "flow", f"how, at the set point's lift of {lift}", "drive signal", "measured"),
            rows,
            (0.09, 0.16, 0.49, 0.13, 0.13),
            right=(0, 1),
        ),
    )


def lamps(bench: Bench) -> tuple[Block, ...]:
    """Give the truth table of stack light and horn as typed."""
    rows = tuple(
        (row.state, row.red, row.yellow, row.green, row.blue, as_typed(row.horn)) for row in bench.project.stack_light
    )
    return (
        Heading("Stack light and horn"),
        Table(("state", "red", "yellow", "green", "blue", "horn"), rows, (0.3, 0.14, 0.14, 0.14, 0.14, 0.14)),
        Paragraph("Rows that hold at once add up; flashing over steady. Meaning of the colours after IEC 60073."),
    )

"""The loop-settings sheet, as blocks of content: what the panel shop and the technician set the real controller from.

Every number on it is what the person typed, or a figure of the rooms below; none is worked out here.
"""

from collections.abc import Sequence
from importlib.metadata import version

from levelbench.drawing.section import section
from levelbench.drawing.trend import trend
from levelbench.handover import alarms, evidence, instruments, settings
from levelbench.handover.blocks import (
    Block,
    Bullets,
    Drawing,
    Grid,
    Heading,
    Note,
    Paragraph,
    Sheet,
    Signatures,
    Table,
)
from levelbench.handover.told import figure_table
from levelbench.handover.typed import SECTIONS, as_typed, fingerprint, pairs
from levelbench.project import Project
from levelbench.review import Finding, Severity
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.tuning.loop import loop_model, margins
from levelbench.tuning.prediction import Prediction, Response
from levelbench.tuning.proof import Proof

VERSION = version("levelbench")
CAUTIONS = (
    "The overflow switch and the emergency stop are hard-wired in the panel and stop the pump without the program. "
    "Nothing on this sheet replaces them.",
    "A stop, a reset and a returning supply start nothing; only the start button does.",
    "An emergency stop does not stop a siphon or a bottom outlet: the drain runs on until its valve is shut.",
    "Local codes, the makers' instructions and a licensed person decide where somebody can get hurt. Prove the switch "
    "and the stop with water before the loop runs alone.",
)
MODEL = (
    "This sheet comes from a model of the rig as described. Check it against the real rig before relying on it: "
    "measure the pump's flow, the drain's flow and the delay, and keep the sheet only while they agree."
)


def loop_settings_sheet(
    rig: Rig, prediction: Prediction, findings: Sequence[Finding], proof: Proof | None = None
) -> Sheet:
    """Make the sheet of a rig from what its runs predict, what the rules say, and what was proved against before.

    Raises RigError when the pump gives no flow at the set point.
    """
    bench, project = Bench(rig), rig.project
    mark = fingerprint(project)
    blocks: tuple[Block, ...] = (
        *_head(bench, mark),
        *_worst(findings),
        Drawing(
            section(rig),
            "Section to scale just before a run begins: nothing flows yet. "
            "Seconds: the pump at its largest flow with the drain shut.",
        ),
        *instruments.tags(bench),
        *settings.settings(bench),
        *alarms.alarms(bench),
        *settings.switch(bench),
        *instruments.process_value(bench),
        *instruments.output(bench),
        *instruments.lamps(bench),
        *_predicted(bench, prediction),
        *(evidence.proof(bench, proof) if proof is not None else ()),
        *evidence.filling(bench),
        *_findings(findings),
        *_valid_for(bench),
        *_to_write_on(bench),
    )
    head = project.sheet
    document = " ".join(part for part in (head.document, f"rev. {head.revision}") if part)
    return Sheet(
        title=project.title,
        subtitle=f"Loop-settings sheet {bench.tag('IC')}",
        status=head.status,
        running=f"{bench.tag('IC')} · {document}",
        foot=f"settings {mark} · LevelBench {VERSION} · a model, not a promise",
        fingerprint=mark,
        blocks=blocks,
    )


def _head(bench: Bench, mark: str) -> tuple[Block, ...]:
    project, head = bench.project, bench.project.sheet
    units = bench.units
    pairs_of_head = (
        ("customer", head.customer or "–"),
        ("document", head.document or "–"),
        ("site", head.site or "–"),
        ("revision", head.revision),
        ("loop", f"{bench.tag('IC')}, {project.liquid.name}"),
        ("status", head.status),
        ("computed values in", f"{units.volume}, {units.length}, {units.flow}, s, %"),
        ("settings, program", f"{mark}, LevelBench {VERSION}"),
    )
    purpose = (
        f"{bench.tag('IC')} holds the volume in the tank between {project.loop_settings.set_point_low.shown} and "
        f"{project.loop_settings.set_point_high.shown} by the pump P-{project.loop} while up to "
        f"{project.duty.largest_draw.shown} is drawn."
    )
    return (Grid(pairs_of_head), Note("▲", "caution", " ".join(CAUTIONS)), Paragraph(purpose))


def _worst(findings: Sequence[Finding]) -> tuple[Block, ...]:
    """Say on the first page what must be changed before this sheet is used."""
    stops = [one for one in findings if one.severity is Severity.STOP]
    attends = sum(1 for one in findings if one.severity is Severity.ATTEND)
    if stops:
        told = " ".join(f"{one.title}: {one.text} {one.change}".strip() for one in stops)
        return (Note(Severity.STOP.mark, f"{len(stops)} to fix before this sheet is used", told),)
    if attends:
        mark = Severity.ATTEND.mark
        return (Paragraph(f"{mark} No finding stops; {attends} ask for attention, see “Findings”."),)
    return (Paragraph(f"{Severity.GOOD.mark} No design rule found anything to change."),)


def _predicted(bench: Bench, prediction: Prediction) -> tuple[Block, ...]:
    """Give what the model says: margins, delay and its parts, the runs and their figures."""
    model, margin = loop_model(bench.rig), margins(bench.rig)
    every = (
        margin.gain,
        margin.lowest_gain,
        margin.phase,
        margin.delay,
        margin.sensitivity,
        margin.ultimate_gain,
        margin.ultimate_period,
        margin.slow_cycling,
    )
    kept = tuple(one for one in every if one is not None)
    blocks: list[Block] = [
        Heading("What the model predicts"),
        Paragraph(MODEL),
        *figure_table(prediction.figures, bench.units),
        _plot(prediction.step, "Set point step"),
    ]
    if prediction.load:
        blocks.append(_plot(prediction.load, "Load step"))
    return (
        *blocks,
        Heading("Margins of the loop"),
        *(() if margin.stable else (Note("■", "stop", "The loop is unstable with these settings."),)),
        *figure_table(kept, bench.units),
        Heading("Process and delay behind them"),
        *figure_table((model.slope, *model.parts, model.total_delay), bench.units),
    )


def _plot(response: Response, title: str) -> Drawing:
    before = min(response.at, (response.until - response.at) / 8)
    times = (response.at - before, response.until)
    caption = "PV, set point (SP) and output (OP) of the run, with the noise of its seed; time from the left edge."
    return Drawing(trend(response.recording, times=times, title=title), caption)


def _findings(findings: Sequence[Finding]) -> tuple[Block, ...]:
    """Give what is to be changed or weighed, worst first, and how many rules found nothing."""
    told = [one for one in findings if one.severity is not Severity.GOOD]
    good = sum(1 for one in findings if one.severity is Severity.GOOD and one.applies)
    out = len(findings) - good - len(told)
    rows = tuple((f"{one.severity.mark} {one.severity.word}", one.title, one.text, one.change) for one in told)
    count = f"{good} design rules found nothing to change; {out} had nothing to judge on this rig."
    if not rows:
        return (Heading("Findings"), Paragraph(count))
    table = Table(("", "rule", "found", "change"), rows, (0.12, 0.22, 0.36, 0.3))
    return (Heading("Findings"), table, Paragraph(count))


def _valid_for(bench: Bench) -> tuple[Block, ...]:
    """Give what the settings are valid for: everything that was typed about the rig, and what was assumed."""
    project = bench.project
    blocks: list[Block] = [
        Heading("Valid for this rig only"),
        Paragraph("The settings hold for what is described here; test again when any of it is changed."),
    ]
    for key in ("liquid", "tank", "reservoir", "drain", "duty", "start"):
        blocks += [Heading(SECTIONS[key], minor=True), Grid(pairs(getattr(project, key), bench.units))]
    rods = tuple(
        (rod.name, f"{rod.diameter.shown} across, from {rod.bottom.shown} to {rod.top.shown}")
        for rod in project.tank.dead_wood
    )
    if rods:
        blocks += [Heading("Fittings in the liquid", minor=True), Grid(rods)]
    table = project.tank.table
    if table:
        rows = tuple((as_typed(level), as_typed(volume)) for level, volume in table)
        blocks.append(Heading("Level and volume of the tank", minor=True))
        blocks.append(Table(("level", "volume"), rows, (0.5, 0.5), right=(0, 1)))
    assumed = (
        "One temperature and one density throughout; the surface is level, its waves are the ripple that was typed.",
        "Walls upright in the reservoir; pump and tubes as typed, nothing clogged, no air but what is described.",
        "White noise on the sensor; the same delay in every scan; the converter has no drift.",
        "Margins are those of the linear loop about the starting set point, dead time exact.",
    )
    return (*blocks, Heading("Assumptions"), Bullets(assumed))


def _to_write_on(bench: Bench) -> tuple[Block, ...]:
    """Give what is filled in by hand: what was found and left in the panel, and the signatures."""
    return (
        Heading("As found and as left"),
        settings.found_and_left(bench),
        Heading("Signatures"),
        Signatures(_signatures(bench.project)),
    )


def _signatures(project: Project) -> tuple[tuple[str, str], ...]:
    head = project.sheet
    return (
        ("prepared", head.prepared),
        ("checked", head.checked),
        ("approved", head.approved),
        ("set in the panel by", ""),
        ("verified with water by", ""),
        ("witness", ""),
    )

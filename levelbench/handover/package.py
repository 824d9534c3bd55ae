"""The whole hand-over in one go: check, run, sheet, and every file of it in one folder."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from levelbench.alarms.record_csv import record_text
from levelbench.handover import document
from levelbench.handover.beside import beside
from levelbench.handover.content import loop_settings_sheet
from levelbench.handover.html import to_html
from levelbench.handover.pdf import to_pdf
from levelbench.handover.told import value_of
from levelbench.project import Project, units, write_whole
from levelbench.project.file_names import loop_files
from levelbench.project.saving import save_error
from levelbench.project.systems import put_in_place
from levelbench.quantity import NumberFormat, Units, numbers_shown_as
from levelbench.quantity.notation import POINT
from levelbench.records import write_csv
from levelbench.records.csv import journal_path
from levelbench.review import Finding, Severity, review, worst
from levelbench.rig import assemble
from levelbench.tuning.prediction import predict
from levelbench.tuning.proof import proof_of

Progress = Callable[[float], bool]
SHARES = (0.0, 0.5, 0.8, 0.9, 1.0)  # of the time that predicting, checking, proving and printing take


@dataclass(frozen=True)
class HandOver:
    """What was handed over: every file that was written, and what the rules found, worst first."""

    folder: Path
    files: tuple[Path, ...]
    findings: tuple[Finding, ...]

    @property
    def severity(self) -> Severity:
        """The worst that was found."""
        return worst(self.findings)


def hand_over(
    project: Project, folder: Path | str, progress: Progress | None = None, *, numbers: NumberFormat = POINT
) -> HandOver:
    """Check a project, run it, and write findings, recording, sheet, alarms and the project itself into a folder.

    Nothing in the folder is touched before every file is complete beside it; each then takes its place whole.
    `progress` is told the share done and answers whether to go on. Raises Cancelled when it says no, RigError for a rig
    that can't exist, SaveError when the folder can't be written to. `numbers` is how numbers are written for people;
    the recording and the values of the JSON keep the point.
    """
    with numbers_shown_as(numbers):
        return _hand_over(project, folder, progress)


def _hand_over(project: Project, folder: Path | str, progress: Progress | None) -> HandOver:
    rig, shown = assemble(project), units(project)
    prediction = predict(rig, _part(progress, 0))
    findings = review(rig, _part(progress, 1))
    sheet = loop_settings_sheet(rig, prediction, findings, proof_of(project, _part(progress, 2)))
    stem = loop_files(project.loop)
    papers = {
        f"{stem}-settings.pdf": to_pdf(sheet, project.sheet.paper),
        f"{stem}-settings.html": to_html(sheet).encode(),
        f"{stem}-findings.json": (document.to_json(_as_json(project, sheet.fingerprint, findings)) + "\n").encode(),
        f"{stem}-findings.txt": _as_text(project, findings, shown).encode(),
        f"{stem}-alarms.csv": record_text(rig).encode(),
        f"{stem}-project.toml": project.text.encode(),
    }
    target = Path(folder)
    with beside(target) as ready:
        for name, content in papers.items():
            write_whole(ready / name, content)
        recording = ready / f"{stem}-step.csv"
        write_csv(prediction.step.recording, recording, shown)
        names = (*papers, recording.name, journal_path(recording).name)
        files = tuple(_put(ready / name, target / name) for name in names)
    if progress is not None:
        progress(1.0)
    return HandOver(target, files, findings)


def _put(ready: Path, place: Path) -> Path:
    try:
        put_in_place(ready, place)
    except OSError as error:
        raise save_error(error, place) from error
    return place


def _part(progress: Progress | None, number: int) -> Progress | None:
    """Give the progress of one part of the work."""
    if progress is None:
        return None
    low, high = SHARES[number], SHARES[number + 1]
    return lambda share: progress(low + share * (high - low))


def _as_json(project: Project, mark: str, findings: Sequence[Finding]) -> dict[str, Any]:
    """Give the findings for other programs."""
    shown = units(project)
    return {
        "title": project.title,
        "loop": project.loop,
        "settings": mark,
        "worst": worst(findings).word,
        "findings": [document.finding(one, shown) for one in findings],
    }


def _as_text(project: Project, findings: Sequence[Finding], shown: Units) -> str:
    """Give the findings for people, worst first, each number with where it comes from."""
    lines = [f"{project.title}: findings, worst first", ""]
    for one in findings:
        lines.append(f"{one.severity.mark} {one.severity.word}: {one.title}")
        lines.append(f"  {one.text}")
        if one.change:
            lines.append(f"  Change: {one.change}")
        lines += [
            f"  {figure.name}: {value_of(figure, shown)} ({figure.formula}; {figure.source})" for figure in one.figures
        ]
        lines.append("")
    return "\n".join(lines)

"""The settings as they were found: kept as typed, checked as the controller's own, undone, no burden to old files."""

import pytest

from levelbench.project import Project, ProjectProblems, edit, edit_many, load, read_project, sample
from levelbench.project.as_found import FOUND_KEYS, as_found_from, settings_from
from levelbench.project.fields import entries
from levelbench.project.migrations import CURRENT
from levelbench.project.records import AsFound, LoopSettings
from levelbench.project.syntax import plain_data

TYPED = {"gain": "5.0 %/%", "integral": "0.56 repeats/min", "set_point_weight": "1"}


@pytest.fixture(params=["seedling_house", "parts_washer"])
def project(request: pytest.FixtureRequest) -> Project:
    return load(sample(request.param))


def test_nothing_was_found_unless_somebody_noted_it(project: Project) -> None:
    assert project.as_found is None
    assert CURRENT == 1  # a file without the section is the same as before it could have one


def test_what_was_found_is_kept_as_it_was_typed(project: Project) -> None:
    found = edit_many(project, as_found_from(TYPED, "12 March, before the visit"))
    assert found.as_found is not None
    assert found.as_found.gain is not None
    assert (found.as_found.gain.text, found.as_found.noted) == ("5.0 %/%", "12 March, before the visit")
    assert 'integral = "0.56 repeats/min"' in found.text
    again = read_project(found.text)
    assert again.as_found == found.as_found
    assert again.loop_settings == project.loop_settings


def test_taking_it_out_again_leaves_the_file_as_it_was(project: Project) -> None:
    found = edit_many(project, as_found_from(TYPED))
    without = edit(found, "as_found", None)
    assert without.as_found is None
    assert without.text.strip() == project.text.strip()


def test_noting_anew_leaves_nothing_of_the_older_note(project: Project) -> None:
    older = edit_many(project, as_found_from({**TYPED, "derivative": "3 s"}))
    newer = edit_many(older, as_found_from(TYPED))
    assert newer.as_found is not None
    assert newer.as_found.derivative.si == 0.0
    assert newer.text.count("[as_found]") == 1


def test_found_settings_go_into_the_controller_whole(project: Project) -> None:
    """What the found settings leave out is assumed, not what stands in the controller now."""
    now = edit_many(project, settings_from(TYPED))
    assert now.loop_settings.gain is not None
    assert now.loop_settings.gain.text == "5.0 %/%"
    assert now.loop_settings.set_point_weight.si == 1.0
    assert now.loop_settings.pv_filter.si == 0.0  # both samples have one now
    assert now.loop_settings.scan == project.loop_settings.scan
    back = edit_many(now, settings_from(plain_data(project.text)["loop_settings"]))
    assert back.loop_settings == project.loop_settings


@pytest.mark.parametrize(("wrong", "key", "words"), [
    ({"gain": "5 %/%", "proportional_band": "20 %", "integral": "22 s"}, "proportional_band", "same thing twice"),
    ({"integral": "22 s"}, "gain", "a gain or a proportional band"),
    ({"gain": "5 %/%"}, "integral", "is missing"),
    ({"gain": "5 %/%", "integral": "22 s", "form": "parallel"}, "integral", "gain per time"),
    ({"gain": "5 gal", "integral": "22 s"}, "gain", ""),
    ({"gain": "5 %/%", "integral": "22 s", "output_low": "60 %", "output_high": "40 %"}, "output_low", "less than"),
])  # fmt: skip
def test_found_settings_are_checked_as_the_controllers_own(
    project: Project, wrong: dict[str, str], key: str, words: str
) -> None:
    with pytest.raises(ProjectProblems) as caught:
        edit_many(project, as_found_from(wrong))
    assert [one.key for one in caught.value.problems] == [f"as_found.{key}"]
    assert words in caught.value.problems[0].message


def test_a_slip_in_the_section_names_the_nearest(project: Project) -> None:
    with pytest.raises(ProjectProblems) as caught:
        read_project(project.text + '\n[as_found]\ngian = "5 %/%"\nintegral = "22 s"\n')
    assert caught.value.problems[0].nearest == "gain"


def test_every_entry_is_one_of_the_controllers(project: Project) -> None:
    ours, controllers = entries(AsFound), entries(LoopSettings)
    assert all(ours[key] is controllers[key] for key in FOUND_KEYS)
    assert set(controllers) - set(FOUND_KEYS) == {"scan", "set_point_low", "set_point_high", "entry_step"}

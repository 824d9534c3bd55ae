"""The proof over shifts: the same for the same seed, its published figures, what it finds, and what it proposes."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from levelbench.alarms.measures import FAR_OVER, MET, OVER
from levelbench.alarms.proof import Proof, count, prove, replay
from levelbench.alarms.shifts import Use, Users
from levelbench.project import edit_many, load, sample
from levelbench.rig import Cancelled, Rig, RigError, assemble
from levelbench.rig.assemble import key_of
from levelbench.rig.panel import ALARM_NAMES

SHORT = Use(lasts=1800.0, lead_in=60.0, changes_least=1, changes_most=2)
CHATTERS = {"bands.high.limit": "3.00 gal", "bands.high.dead_band": "0 gal", "bands.high.on_delay": "0 s"}


@pytest.fixture(scope="module")
def rig() -> Rig:
    return assemble(load(sample("seedling_house")))


@pytest.fixture(scope="module")
def noisy(rig: Rig) -> Rig:
    return assemble(edit_many(rig.project, CHATTERS))


@pytest.fixture(scope="module")
def proof(noisy: Rig) -> Proof:
    return prove(noisy, shifts=16, seed=3, use=SHORT)


def test_the_same_seed_gives_the_same_proof_however_many_threads_work(noisy: Rig, proof: Proof) -> None:
    for threads in (1, 5):
        again = prove(noisy, shifts=16, seed=3, use=SHORT, threads=threads)
        assert again.measures == proof.measures
        assert (again.alarms, again.spread, again.verdict) == (proof.alarms, proof.spread, proof.verdict)
        assert again.worst.volume.tobytes() == proof.worst.volume.tobytes()
    assert prove(noisy, shifts=16, seed=4, use=SHORT).spread != proof.spread
    more = count(Users(noisy, SHORT, 3), 20)
    assert sorted(one.alarms for one in more[:16]) == list(proof.spread)  # more shifts, the same first ones


def test_published_figures_stand_beside_what_was_measured(noisy: Rig, proof: Proof) -> None:
    """Per hour 6 and 12; per day 150 and 300 (2009 only); floods over 10 in 10 min; 80/15/5 (ANSI/ISA-18.2)."""
    long = replace(SHORT, lasts=8 * 3600.0)
    by_key = {one.figure.key: one for one in prove(noisy, shifts=1, use=long).measures}
    assert "about 6 acceptable, 12" in by_key["shifts.per_hour"].norm
    assert "2016" in by_key["shifts.per_hour"].source
    assert by_key["shifts.per_shift"].norm.startswith("50 acceptable, 100 the most")
    assert "2009" in by_key["shifts.per_shift"].source
    assert by_key["shifts.peak"].norm == "at most 10"
    assert [by_key[f"shifts.priority.{one}"].norm for one in ("high", "medium", "low")] == [
        "about 5 %", "about 15 %", "about 80 %",
    ]  # fmt: skip
    assert all(one.source for one in proof.measures if one.norm)


def test_words_follow_the_published_figures(proof: Proof) -> None:
    hourly, tens = proof.measure("per_hour"), proof.measure("tens_over")
    assert hourly.figure.si == pytest.approx(sum(proof.spread) / (16 * 0.5))
    assert hourly.word == (MET if hourly.figure.si <= 6 else OVER if hourly.figure.si <= 12 else FAR_OVER)
    assert tens.figure.si == pytest.approx(round(tens.figure.si * 48) / 48)  # three of ten minutes in each shift
    assert hourly.interval is not None
    assert hourly.interval[0].si < hourly.figure.si < hourly.interval[1].si
    times = [proof.measure(f"status.{word}").figure.si for word in ("OK", "HIGH", "LOW")]
    assert sum(times) == pytest.approx(1.0)
    shares = [proof.measure(f"priority.{one}").figure.si for one in ("high", "medium", "low")]
    assert sum(shares) == pytest.approx(1.0)


def test_it_finds_the_alarm_that_chatters_and_its_edit_calms_it(noisy: Rig, proof: Proof) -> None:
    assert proof.advice.alarm == "high"
    assert "High is the worst" in proof.verdict
    assert "chattering alarms a shift" in proof.verdict
    assert list(proof.advice.edits) == ["bands.high.off_delay"]
    calm = assemble(edit_many(noisy.project, dict(proof.advice.edits)))
    after = prove(calm, shifts=16, seed=3, use=SHORT)
    assert sum(after.spread) < 0.5 * sum(proof.spread)
    assert after.measure("chatter").figure.si < 0.3 * proof.measure("chatter").figure.si


def test_the_sample_keeps_every_published_figure(rig: Rig) -> None:
    found = prove(rig, shifts=12, seed=1, use=SHORT)
    assert {one.word for one in found.measures} <= {MET, ""}
    assert "published figures are kept" in found.verdict
    assert found.advice.words == ""


def test_alarms_that_come_by_a_poisson_process_have_its_rate(rig: Rig) -> None:
    """A wire that breaks twice a shift, for a moment: the switch's alarm comes as often, within 99 % of Poisson."""
    project = edit_many(rig.project, {"bands.switch.priority": "high"})
    use = replace(SHORT, faults=2.0, fault_lasts=1.0)
    found = prove(assemble(project), shifts=40, seed=6, use=use)
    came = next(one for one in found.alarms if one.alarm == "switch").count("came")
    low, high = stats.poisson.interval(0.99, 2.0 * 40)
    assert low <= came <= high


def test_a_spill_that_no_alarm_foretold_is_found(rig: Rig) -> None:
    """A signal that stands still while the pump runs, no switch, and a ladder that knows nothing of it."""
    bands = {f"bands.{key_of(one)}": None for one in ALARM_NAMES if one != "deviation"}
    blind = bands | {
        "overflow_switch.fitted": False, "bands.deviation.on_delay": "1 h", "loop_settings.set_point_high": "5.5 gal",
        "drain.opening": "5 %", "start.set_point": "5.5 gal", "duty.largest_draw": "0.9 gal/min",
        "reservoir.charge": "9 gal",
    }  # fmt: skip
    use = replace(SHORT, faults=4.0, fault_lasts=900.0)
    found = prove(assemble(edit_many(rig.project, blind)), shifts=12, seed=2, use=use)
    spilt = found.measure("unwarned.spill")
    assert spilt.figure.si > 0
    assert spilt.word == OVER
    assert "take frozen signal and bad signal into use" in found.advice.words
    assert f"Take {found.advice.alarm} into use" in found.advice.words


def test_the_worst_shift_can_be_run_again(noisy: Rig, proof: Proof) -> None:
    users = Users(noisy, SHORT, 3)
    again = replay(users, proof.worst.shift, every=10)
    inside = again["time"] >= SHORT.lead_in
    step = int(np.count_nonzero(inside) // len(proof.worst.volume))
    np.testing.assert_array_equal(again["volume"][inside][::step], proof.worst.volume)
    assert int(proof.worst.tens.sum()) == proof.spread[-1]  # none of them missed anything


def test_it_stops_when_progress_says_no(noisy: Rig) -> None:
    heard: list[float] = []

    def progress(share: float) -> bool:
        heard.append(share)
        return len(heard) < 4

    with pytest.raises(Cancelled):
        prove(noisy, shifts=400, use=SHORT, progress=progress)
    assert heard == sorted(heard)
    assert heard[-1] < 0.1


@pytest.mark.parametrize(
    ("changes", "words"),
    [({"shifts": 0}, "no shift"), ({"seed": -1}, "seed"), ({"use": Use(draws_apart=0.0)}, "from the end of a draw")],
)
def test_what_cannot_be_run_is_refused_in_words(rig: Rig, changes: dict[str, object], words: str) -> None:
    with pytest.raises(RigError, match=words):
        prove(rig, **changes)  # type: ignore[arg-type]


def test_a_ladder_without_alarms_proves_nothing(rig: Rig) -> None:
    bare = edit_many(rig.project, {"bands": None})
    with pytest.raises(RigError, match="no alarm"):
        prove(assemble(bare), shifts=1)


@pytest.mark.parametrize("drain", ["none", "forced draw", "bottom outlet"])
def test_every_kind_of_drain_has_shifts(rig: Rig, drain: str) -> None:
    edits = {"drain.kind": drain} | ({"drain.draw": "0.1 gal/min"} if drain == "forced draw" else {})
    found = prove(assemble(edit_many(rig.project, edits)), shifts=4, use=SHORT)
    assert found.shifts == 4
    of_nothing = ("shifts.priority", "shifts.most_frequent", "shifts.false", "shifts.missed")  # a share of no alarms
    assert all(np.isfinite(one.figure.si) for one in found.measures if not one.figure.key.startswith(of_nothing))


@pytest.mark.parametrize("seed", range(10))
def test_any_ladder_by_chance_is_counted(rig: Rig, seed: int) -> None:
    """Limits anywhere, in any order, delays, latching and suppression by chance, faults: a proof whose parts agree."""
    rng = np.random.default_rng(seed)
    edits: dict[str, object] = {"alarm_handling.acknowledge": str(rng.choice(["by hand", "by itself"]))}
    for alarm in ("high_high", "high", "low", "low_low", "deviation"):
        edits |= {
            f"bands.{alarm}.limit": f"{rng.uniform(0.01, 6.0):.3f} gal",
            f"bands.{alarm}.dead_band": f"{rng.uniform(0.0, 0.3):.3f} gal",
            f"bands.{alarm}.on_delay": f"{rng.choice([0.0, 0.0, 2.0, 90.0]):g} s",
            f"bands.{alarm}.off_delay": f"{rng.choice([0.0, 0.0, 5.0, 90.0]):g} s",
            f"bands.{alarm}.latching": bool(rng.random() < 0.3),
            f"bands.{alarm}.suppressed_while": str(rng.choice(["never", "not started", "manual"])),
        }
    wild = assemble(edit_many(rig.project, edits))  # type: ignore[arg-type]
    found = prove(wild, shifts=3, seed=seed, use=replace(SHORT, lasts=900.0, faults=2.0, reaction=10.0))
    assert sum(one.count("came") for one in found.alarms) == sum(found.spread)
    for one in found.alarms:
        assert one.count("missed") <= one.count("beyond")
        assert one.count("chatter") <= one.count("came")
        assert 0.0 <= one.figures["standing"].si <= 1.0 + 1e-9
    words = [found.measure(f"status.{word}").figure.si for word in ("OK", "HIGH", "LOW")]
    assert sum(words) == pytest.approx(1.0)
    assert min(words) >= -1e-9
    assert found.verdict

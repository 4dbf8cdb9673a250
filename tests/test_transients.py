"""Needles against time: lags, pulses, loose contacts, restless tanks."""

import numpy as np
import pytest
from oracles import interrupter_seconds

from gaugesim.circuit import find
from gaugesim.errors import GaugesimError
from gaugesim.physics.engine import coolant_celsius
from gaugesim.reading import Situation, respond
from gaugesim.scenario.changes import Change
from gaugesim.scenario.fault import all_faults, parse_fault
from gaugesim.scenario.scenarios import stack
from gaugesim.transients import INTERRUPTER_BAND, INTERRUPTER_LAG, Disturbance, Transient, WarmUp, transient

BIMETAL = ("cluster_bimetal_5v", "cluster_bimetal_10v")
FUEL = ("fuel_two_coil_0_90", "fuel_three_coil_240_33", "fuel_four_coil")


def settled(name: str, state: str, *faults: str, **given: float) -> dict[str, float]:
    situation = Situation.of(find(name), state, given=given)
    changes: list[Change] = [
        parse_fault(situation.circuit, fault, situation.parameters)[1] for fault in faults
    ]
    positions = respond(situation, stack(changes) if changes else None).positions
    return {gauge: float(values[0]) for gauge, values in positions.items()}


def whole_cycles(run: Transient, after: float) -> np.ndarray:
    """Rows between the first and the last closing of the contact, warmed up."""
    closings = 1 + np.flatnonzero(run.contact[1:] & ~run.contact[:-1])
    closings = closings[run.times[closings] > after]
    return np.arange(closings[0], closings[-1])


@pytest.mark.parametrize("name", BIMETAL)
def test_a_sound_heated_needle_takes_several_seconds_and_hardly_ripples(name: str) -> None:
    """Common practice, no source: it does not leap up with the key, nor does it show the pulses."""
    run = transient(find(name), "key_off", "running_warm", 120.0)
    for gauge, end in settled(name, "running_warm").items():
        needle = run.positions[gauge]
        half_way = run.times[np.argmax(needle > (needle[0] + end) / 2)]
        assert 4 < half_way < 20
        assert needle.max() < end + 0.02
        assert np.ptp(needle[run.times > 90]) < 0.01


@pytest.mark.parametrize("name", BIMETAL)
def test_the_mean_square_of_the_pulses_is_the_design_voltage(name: str) -> None:
    circuit = find(name)
    assert circuit.sheet.regulator.convention == "rms"
    run = transient(circuit, "key_off", "running_warm", 120.0, step_seconds=0.01)
    volts = run.regulator_volts[whole_cycles(run, 30.0)]
    design = float(circuit.netlist.parameter_values()[circuit.sheet.regulator.design_volts])
    # the band holds the mean square to its own square
    assert np.mean(volts**2) == pytest.approx(design**2, rel=INTERRUPTER_BAND.value**2 + 0.01)


@pytest.mark.parametrize("name", BIMETAL)
@pytest.mark.parametrize("state", ["running_warm", "loads_on", "tank_full"])
def test_a_needle_pulses_about_its_steady_position(name: str, state: str) -> None:
    run = transient(find(name), "key_off", state, 120.0)
    rows = whole_cycles(run, 60.0)
    for gauge, position in settled(name, state).items():
        assert run.positions[gauge][rows].mean() == pytest.approx(position, abs=0.006)


def test_a_warm_regulator_gives_no_burst() -> None:
    # a cold one feeds the whole supply until its strip is warm
    name = "cluster_bimetal_5v"
    cold, warm = (transient(find(name), state, "running_warm", 10.0) for state in ("key_off", "running_warm"))
    steady = settled(name, "running_warm")["fuel"]
    assert np.all(cold.contact[:10])
    assert np.abs(warm.positions["fuel"] - steady).max() < 0.08


def test_the_contact_keeps_the_times_of_a_thermal_interrupter() -> None:
    circuit = find("cluster_bimetal_10v")
    run = transient(circuit, "key_off", "running_warm", 120.0, step_seconds=0.01)
    opens, closes = 1 + INTERRUPTER_BAND.value, 1 - INTERRUPTER_BAND.value
    full = (run.regulator_volts.max() / 10.0) ** 2
    changes = np.flatnonzero(np.diff(run.contact.astype(int)))
    stretches = np.diff(changes)[4:] * 0.01
    closed = run.contact[changes[4:-1] + 1]
    on, off = interrupter_seconds(full, opens, closes, INTERRUPTER_LAG.value)
    assert stretches[closed] == pytest.approx(on, abs=0.02)
    assert stretches[~closed] == pytest.approx(off, abs=0.02)


@pytest.mark.parametrize("fault", ["regulator=stuck_closed", "regulator=no_ground", "regulator_ground=open"])
def test_a_regulator_that_never_opens_pegs_every_needle(fault: str) -> None:
    run = transient(find("cluster_bimetal_5v"), "key_off", "running_warm", 60.0, fault)
    assert run.contact.all()
    for gauge in find("cluster_bimetal_5v").sheet.gauges.values():
        assert run.positions[gauge.id][-1] == gauge.stops[1]


def test_contacts_that_stay_open_leave_all_dead() -> None:
    run = transient(find("cluster_bimetal_5v"), "key_off", "running_warm", 60.0, "regulator=stuck_open")
    for gauge in find("cluster_bimetal_5v").sheet.gauges.values():
        assert np.all(run.positions[gauge.id] == gauge.stops[0])


def test_a_bimetal_needle_falls_to_rest_with_the_key_off() -> None:
    run = transient(find("cluster_bimetal_5v"), "running_warm", "key_off", 90.0)
    fuel = run.positions["fuel"]
    assert fuel[0] == pytest.approx(settled("cluster_bimetal_5v", "running_warm")["fuel"])
    assert np.all(np.diff(fuel) <= 0)
    assert fuel[-1] == find("cluster_bimetal_5v").gauge("fuel").stops[0]


def test_a_damped_needle_follows_and_stays_where_nothing_drives_it() -> None:
    circuit = find("cluster_air_core")
    lag = circuit.gauge("fuel").lag_seconds
    empty, full = (settled("cluster_air_core", f"tank_{level}")["fuel"] for level in ("empty", "full"))
    on = transient(circuit, "tank_empty", "tank_full", 10 * lag, step_seconds=lag / 10)
    assert on.positions["fuel"][0] == pytest.approx(empty)
    # 63.2 % of a step after its time constant
    assert on.positions["fuel"][10] == pytest.approx(empty + (1 - np.exp(-1)) * (full - empty))
    assert on.positions["fuel"][-1] == pytest.approx(full, abs=1e-4)
    off = transient(circuit, "tank_full", "key_off", 1.0)
    assert off.positions["fuel"] == pytest.approx(full)
    assert off.regulator_volts is None


@pytest.mark.parametrize("share", [0.0, 0.2, 0.7, 1.0])
def test_a_loose_contact_touches_for_its_share_of_the_time(share: float) -> None:
    loose = Disturbance(contact_share=share, contact_seconds=1.0, seed=3)
    run = transient(
        find("temp_two_coil"),
        "lights_off",
        "lights_off",
        2000.0,
        "sender_connector=intermittent",
        disturbance=loose,
    )
    # standard error of a two-state process over 2000 cycles is below 0.013
    assert run.touches.mean() == pytest.approx(share, abs=0.04)
    ends = {
        settled("temp_two_coil", "lights_off")["temperature"],
        settled("temp_two_coil", "lights_off", "sender_connector=open")["temperature"],
    }
    needle = run.positions["temperature"]
    assert np.all((needle > min(ends) - 1e-12) & (needle < max(ends) + 1e-12))
    if share in (0.0, 1.0):
        assert np.min([np.abs(needle[-1] - end) for end in ends]) < 1e-9


def test_a_bimetal_needle_averages_a_loose_contact() -> None:
    loose = Disturbance(contact_share=0.5, contact_seconds=0.4, seed=1)
    run = transient(
        find("cluster_bimetal_10v"),
        "key_off",
        "running_warm",
        300.0,
        "fuel_sender_connector=intermittent",
        disturbance=loose,
    )
    sound, bad = (
        settled("cluster_bimetal_10v", "running_warm", *fault)["fuel"]
        for fault in ((), ("fuel_sender_connector=open",))
    )
    late = run.positions["fuel"][run.times > 60]
    assert bad < late.min() < late.max() < sound
    assert late.std() < 0.3 * (sound - bad)


@pytest.mark.parametrize("name", FUEL)
def test_slosh_moves_the_needle_as_its_level_does_less_what_it_is_damped(name: str) -> None:
    small = Disturbance(slosh=0.01, slosh_seconds=2.0, seed=5)
    run = transient(find(name), "tank_half", "tank_half", 3000.0, disturbance=small, step_seconds=0.1)
    slope = (
        settled(name, "tank_half", fuel_level=0.501)["fuel"]
        - settled(name, "tank_half", fuel_level=0.499)["fuel"]
    ) / 0.002
    needle = run.positions["fuel"][1:]
    damped = 1 / np.hypot(1, 2 * np.pi * find(name).gauge("fuel").lag_seconds / small.slosh_seconds)
    assert damped < 0.2
    assert needle.std() == pytest.approx(0.01 * abs(slope) * damped, rel=0.25)
    assert needle.mean() == pytest.approx(settled(name, "tank_half")["fuel"], abs=0.01)


def test_wiper_noise_moves_the_needle_as_its_ohms_do() -> None:
    noisy = Disturbance(wiper_ohms=0.5, wiper_seconds=0.1, seed=2)
    circuit = find("fuel_two_coil_0_90")
    run = transient(circuit, "tank_half", "tank_half", 600.0, disturbance=noisy)
    situation = Situation.of(circuit, "tank_half")
    ohms = float(circuit.values(situation.parameters)["r.xsender.rtrack"])
    ends = [
        settled("fuel_two_coil_0_90", "tank_half", f"sender={ohms + step}")["fuel"] for step in (-0.01, 0.01)
    ]
    slope = (ends[1] - ends[0]) / 0.02
    # noise that forgets in 0.1 s, through a lag: its power is cut to memory / (memory + lag)
    damped = np.sqrt(0.1 / (0.1 + circuit.gauge("fuel").lag_seconds))
    assert run.positions["fuel"].std() == pytest.approx(0.5 * abs(slope) * damped, rel=0.15)


WARM = WarmUp()


def warmed(name: str, fault: str | None = None, warm_up: WarmUp = WARM, seconds: float = 900.0) -> Transient:
    steady = Disturbance(contact_share=0.0)
    states = ("key_on_cold", "running_warm")
    return transient(find(name), *states, seconds, fault, None, steady, step_seconds=5.0, warm_up=warm_up)


@pytest.mark.parametrize("name", ["temp_two_coil", "cluster_air_core"])
def test_an_engine_warms_to_where_the_circuit_settles_with_every_fault(name: str) -> None:
    # what is in another gauge's own branch alone hardly reaches this needle
    faults = [fault.id for fault in all_faults(find(name)) if fault.part.gauge in ("", "temperature")]
    for fault in (None, *faults):
        end = settled(name, "running_warm", *([fault] if fault else []))["temperature"]
        if not np.isnan(end):
            assert warmed(name, fault).positions["temperature"][-1] == pytest.approx(end, abs=1e-4), fault


def test_a_sender_lags_and_the_needle_shows_what_it_feels() -> None:
    sluggish, quick = (
        warmed("temp_two_coil", warm_up=WarmUp(sender_seconds=seconds)) for seconds in (60.0, 1e-3)
    )
    times = quick.times
    coolant = coolant_celsius(times, 20.0, 90.0, 0.2, 1500.0, 4.0)
    at = 60
    # between two results the circuit stands still, so the needle is where the last one sends it
    last = float(coolant[at - 1])
    expected = settled("temp_two_coil", "running_warm", coolant_celsius=last)["temperature"]
    assert quick.positions["temperature"][at] == pytest.approx(expected, abs=2e-3)
    # on a ramp a lag of 60 s is 60 s late
    late = np.interp(times[at], times + 60.0, quick.positions["temperature"])
    assert sluggish.positions["temperature"][at] == pytest.approx(late, abs=0.02)
    assert np.all(sluggish.positions["temperature"][5:] <= quick.positions["temperature"][5:] + 1e-9)


def test_a_hotter_engine_stays_hotter_all_the_way() -> None:
    sound, hot = (warmed("temp_two_coil", fault) for fault in (None, "process=real_high"))
    assert np.all(hot.positions["temperature"][1:] > sound.positions["temperature"][1:])


def test_what_cannot_warm_up_is_refused() -> None:
    with pytest.raises(GaugesimError, match="fuel_two_coil_0_90 has no coolant_celsius that could rise"):
        warmed("fuel_two_coil_0_90")
    with pytest.raises(GaugesimError, match="the coolant starts at 85 °C, where the thermostat is open"):
        transient(find("temp_two_coil"), "running_warm", "running_warm", 60.0, warm_up=WARM)


def test_the_same_seed_gives_the_same_run() -> None:
    def run(seed: int) -> np.ndarray:
        restless = Disturbance(slosh=0.05, wiper_ohms=2.0, seed=seed)
        return transient(
            find("fuel_two_coil_0_90"), "key_off", "tank_half", 10.0, disturbance=restless
        ).positions["fuel"][1:]

    assert np.array_equal(run(1), run(1))
    assert not np.array_equal(run(1), run(2))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"seconds": 0.0}, "seconds is 0.0; give a time above zero"),
        ({"step_seconds": -1.0}, "step_seconds is -1.0"),
        ({"seconds": 0.01}, "give at least one step, 0.05 s"),
        ({"disturbance": Disturbance(contact_share=1.5)}, "contact_share is 1.5; give a share from 0 to 1"),
        ({"disturbance": Disturbance(slosh_seconds=0.0)}, "slosh_seconds is 0.0"),
    ],
)
def test_times_and_shares_that_make_no_sense_are_refused(change: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        transient(
            **{
                "circuit": find("temp_two_coil"),
                "state_from": "key_off",
                "state_to": "lights_off",
                "seconds": 1.0,
            }
            | change
        )


def test_an_unknown_state_or_fault_is_named() -> None:
    with pytest.raises(GaugesimError, match="no state is called 'asleep'"):
        transient(find("temp_two_coil"), "asleep", "lights_off", 1.0)
    with pytest.raises(GaugesimError, match="did you mean sender"):
        transient(find("temp_two_coil"), "key_off", "lights_off", 1.0, "sendr=open")

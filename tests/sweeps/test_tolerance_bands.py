"""First-order bands over tolerances against draws of every tolerance at once, each network solved anew."""

from dataclasses import replace

import numpy as np
import pytest
from invariants.anew import Batch, read_off

from gaugesim.arrays import Floats
from gaugesim.circuit import Circuit, find
from gaugesim.reading import Situation, deviations, respond, spread
from gaugesim.scenario.check import NO_CHECK, find_check
from gaugesim.scenario.fault import HEALTHY, Change, change, find_fault
from gaugesim.scenario.scenarios import Scenarios, stack
from gaugesim.scenario.tolerance import DEVIATIONS_90, tolerances
from gaugesim.solve import nodal
from gaugesim.solve.network import Network, Path

DRAWS = 3000
# standard errors that a figure may be off, and what first order may miss beyond them
ERRORS = 4.0
MISSED_SHARE, MISSED_DEVIATION = 0.02, 0.06
INSIDE = 0.9

CASES = [
    ("fuel_two_coil_0_90", "tank_half", "", ""),
    ("fuel_two_coil_0_90", "tank_half", "", "sender=drift_down"),
    ("fuel_two_coil_0_90", "tank_full", "", "process=real_low"),
    ("fuel_two_coil_0_90", "tank_half", "volts_at:stud_sender", "stud_ground=high"),
    ("temp_opposed_coil", "running_warm", "", ""),
    ("temp_opposed_coil", "running_warm", "", "sender=drift_up"),
    ("temp_opposed_coil", "running_warm", "sender_ohms", "sender=drift_down"),
    ("temp_bridge", "running_warm", "sender_lead_volts", "coil_bridge=drift_up"),
    ("temp_three_coil", "lights_on", "volts_at:stud_sender", "sender_ground=high"),
    ("cluster_air_core", "running_warm", "", "oil_pressure_sender=drift_up"),
    ("cluster_bimetal_5v", "running_warm", "", ""),
    ("cluster_bimetal_5v", "running_warm", "", "fuel_sender=drift_up"),
    ("cluster_bimetal_10v", "running_warm", "", "fuel_process=real_low"),
    ("boat_panel", "running_warm", "", "temperature_sender=drift_down"),
]


def one_change(circuit: Circuit, fault: str, count: int, parameters: dict[str, Floats]) -> Change:
    if not fault:
        return replace(HEALTHY, severity=np.zeros(count))
    found = find_fault(circuit, fault)
    return change(circuit, found, np.full(count, found.mode.severity.typical), parameters)


def drawn(situation: Situation, fault: str) -> tuple[dict[str, Floats], Floats | None]:
    """Needles and reading of circuits whose every part and value is drawn within its tolerance."""
    circuit = situation.circuit
    variables = tolerances(circuit, situation.parameters, situation.state, situation.fixed)
    generator = np.random.default_rng(7)
    values = variables.values(generator.standard_normal((len(variables.names), DRAWS)))
    parameters = {**situation.parameters, **values}
    one = one_change(circuit, fault, DRAWS, parameters)
    rule = circuit.sheet.regulator
    if rule and rule.design_volts in values and rule.design_volts not in one.parameters:
        one = replace(one, parameters={**one.parameters, rule.design_volts: values[rule.design_volts]})
    rows = stack([one])
    networks = [*situation.phases, *([situation.meter] if situation.meter is not None else [])]
    batches = [batch(situation, network, parameters, one) for network in networks]
    currents = [nodal.solve(each.network, each.ohms, each.volts).currents for each in batches]
    seen = read_off(situation, rows, batches, currents, None)
    return dict(seen.positions), seen.reading


def batch(situation: Situation, network: Network, parameters: dict[str, Floats], one: Change) -> Batch:
    """The network of each draw; what the check has decided stays so."""
    circuit, decided = situation.circuit, situation.decided(network)
    paths = [] if decided.paths else [Path(f"{a}:{b}", a, b, np.inf) for a, b in one.paths]
    full = network.with_paths(paths)
    ohms, volts = np.tile(full.ohms, (DRAWS, 1)), np.tile(full.volts, (DRAWS, 1))
    values = circuit.values(parameters)
    for k, element in enumerate(circuit.netlist.elements):
        if element.name in decided.branches or np.isinf(full.ohms[k]):
            continue
        if element.kind == "r":
            ohms[:, k] = one.branches.get(element.name, values[element.name])
        elif element.kind == "v":
            volts[:, k] = one.volts.get(element.name, values[element.name])
    for path, given in zip(paths, one.paths.values(), strict=False):
        ohms[:, full.branch(path.name)] = given
    return Batch(full, ohms, volts)


def confirmed(values: Floats, middle: float, deviation: float, what: str) -> None:
    """The draws are spread as first order says, and nine in ten lie in its band."""
    spread_of_draws = values.std()
    # the standard error of a standard deviation, with the draws' own fourth moment
    fourth = np.mean((values - values.mean()) ** 4) / spread_of_draws**4
    error = np.sqrt((fourth - 1) / (4 * DRAWS))
    assert spread_of_draws / deviation == pytest.approx(1, abs=ERRORS * error + MISSED_DEVIATION), what
    inside = np.mean(np.abs(values - middle) <= DEVIATIONS_90 * deviation)
    error = np.sqrt(INSIDE * (1 - INSIDE) / DRAWS)
    assert inside == pytest.approx(INSIDE, abs=ERRORS * error + MISSED_SHARE), what


@pytest.mark.parametrize(("name", "state", "check", "fault"), CASES)
def test_the_band_holds_nine_draws_in_ten(name: str, state: str, check: str, fault: str) -> None:
    circuit = find(name)
    situation = Situation.of(circuit, state, find_check(circuit, check) if check else NO_CHECK)
    rows: Scenarios = stack([one_change(circuit, fault, 1, dict(situation.parameters))])
    stands, moves = respond(situation, rows), spread(situation, rows)
    positions, reading = drawn(situation, fault)
    own = len(situation.gauges)  # the gauges' own accuracies stand last, and are not drawn
    looked_at = 0
    for gauge in situation.gauges:
        middle = float(stands.positions[gauge.id][0])
        deviation = float(deviations(moves.positions[gauge.id][:-own])[0])
        # a band that meets a stop is cut there
        low, high = gauge.stops
        if low < middle - 3.5 * deviation and middle + 3.5 * deviation < high and deviation > 0:
            confirmed(positions[gauge.id], middle, deviation, f"{gauge.id} {middle} {deviation}")
            looked_at += 1
    if reading is not None and stands.reading is not None and moves.reading is not None:
        deviation = float(deviations(moves.reading[:-own])[0])
        confirmed(reading, float(stands.reading[0]), deviation, f"reading {stands.reading[0]} {deviation}")
        looked_at += 1
    assert looked_at

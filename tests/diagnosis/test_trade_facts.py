"""Facts of the trade as rankings, for gauges whose low sender ohms read hot. Common practice, no source."""

import pytest
from diagnosis.reports import report

from gaugesim.case import parse
from gaugesim.circuit import find
from gaugesim.diagnosis import Diagnosis, diagnose

MOVEMENTS = ("temp_opposed_coil", "temp_two_coil", "temp_three_coil", "temp_bridge")
# where the coil that ends at the sender has battery voltage behind it, the lead has it too once it is off
FULL_VOLTS = ("temp_opposed_coil", "temp_two_coil")
COLD = [{"state": "running_warm", "needle": "pegged_low"}]
AT_THE_SENDER = ("sender", "sender_connector", "sender_ground")
BEFORE_IT = ("sender_wire", "panel_connector_sender", "foil_sender", "stud_sender")


def ranked(circuit: str, **entries: list[dict]) -> Diagnosis:
    return diagnose(parse({"circuit": circuit, **entries}))


def share(found: Diagnosis, *parts: str) -> float:
    """Probability that one of these parts is at fault, alone or with another."""
    return sum(suspect.probability for suspect in found.ranking if {*suspect.part.split("+")} & {*parts})


@pytest.mark.parametrize("circuit", MOVEMENTS)
def test_grounded_lead_to_the_top_is_the_senders_end(circuit: str) -> None:
    """A needle that goes to the top has current through gauge and wire: the sender or its ground is bad."""
    checked = {"check": "ground_sender_lead", "state": "key_on_cold", "needle": "pegged_high"}
    before, after = ranked(circuit, seen=COLD), ranked(circuit, seen=COLD, measured=[checked])
    assert share(after, *AT_THE_SENDER) > 0.7
    assert share(after, *AT_THE_SENDER) > share(before, *AT_THE_SENDER) + 0.1
    assert share(after, *BEFORE_IT) < 0.15
    assert after.ranking[0].fault == "sender=open"


@pytest.mark.parametrize("circuit", MOVEMENTS)
@pytest.mark.parametrize("needle", ["pegged_low", "half"])
def test_grounded_lead_short_of_the_top_is_not_the_sender(circuit: str, needle: str) -> None:
    """A needle that stays short of the top is held back ahead of the sender, which is thereby cleared."""
    checked = {"check": "ground_sender_lead", "state": "key_on_cold", "needle": needle}
    found = ranked(circuit, seen=COLD, measured=[checked])
    before = ranked(circuit, seen=COLD)
    assert share(found, "sender") < 0.75 * share(before, "sender")
    assert found.ranking[0].part not in AT_THE_SENDER


@pytest.mark.parametrize("circuit", FULL_VOLTS)
def test_battery_voltage_on_the_lead_clears_all_before_it(circuit: str) -> None:
    """Full volts on the open lead came through all that feeds the sender; no volts were stopped there."""
    checked = {"check": "sender_lead_volts", "state": "key_on_cold", "volts": "battery"}
    full = ranked(circuit, seen=COLD, measured=[checked])
    none = ranked(circuit, seen=COLD, measured=[{**checked, "volts": "none"}])
    assert share(full, *AT_THE_SENDER) > 0.7
    assert share(none, *AT_THE_SENDER) < 0.05
    assert share(none, *BEFORE_IT) > 10 * share(none, *AT_THE_SENDER)


@pytest.mark.parametrize("circuit", ["temp_three_coil", "temp_bridge"])
def test_other_movements_show_less_on_a_good_lead(circuit: str) -> None:
    """Less than battery voltage is no fault there: the coil ends between two others."""
    checked = {"check": "sender_lead_volts", "state": "key_on_cold", "volts": "low"}
    before, after = ranked(circuit, seen=COLD), ranked(circuit, seen=COLD, measured=[checked])
    assert share(after, *AT_THE_SENDER) > share(before, *AT_THE_SENDER) + 0.1


def test_a_sender_must_move_with_the_water() -> None:
    """Ohms that move from cold to hot water clear the sender; ohms that stay where they were convict it."""
    circuit = find("temp_two_coil")
    waters = ("sender_in_water:20", "sender_in_water:90")
    sound = [report(circuit, "stud_sender=open", check, "key_off") for check in waters]
    assert sound[0]["ohms"] > 5 * sound[1]["ohms"]
    assert share(ranked(circuit.id, seen=COLD, measured=sound), "sender") < 0.02
    dead = [{**entry, "ohms": "open"} for entry in sound]
    assert ranked(circuit.id, seen=COLD, measured=dead).ranking[0].fault == "sender=open"
    # one that shows in hot water what it shows in cold is to be tried again: no way of failing does that
    same = [sound[0], {**sound[1], "ohms": sound[0]["ohms"]}]
    conflicts = ranked(circuit.id, seen=COLD, measured=same).conflicts
    assert [conflict.where for conflict in conflicts] == ["case.toml: measured[2]"]


def test_slack_nuts_hold_the_needle_at_mid_scale() -> None:
    """Nuts on a printed circuit slacken: at first now and then, at last for good."""
    half = {"state": "running_warm", "needle": "half"}
    always = ranked("temp_opposed_coil", seen=[half, {"state": "key_on_cold", "needle": "half"}])
    assert always.ranking[0].fault == "stud_bias=open"
    sometimes = ranked("temp_opposed_coil", seen=[{**half, "often": "sometimes"}])
    assert sometimes.ranking[0].fault == "stud_bias=intermittent"


def test_a_neighbour_with_slack_nuts_may_still_read_right() -> None:
    """The gauge beside it reading right does not acquit the nuts of this one."""
    low = {"state": "running_warm", "needle": "pegged_low", "gauge": "temperature"}
    right = {"state": "running_warm", "needle": "normal", "gauge": "fuel"}
    alone, found = (
        diagnose(parse({"circuit": "cluster_air_core", "gauge": "temperature", "seen": seen}))
        for seen in ([low], [low, right])
    )
    nuts = ("stud_feed", "stud_sender", "stud_ground")
    assert share(found, *nuts) > 0.9 * share(alone, *nuts) > 0.1


@pytest.mark.parametrize("circuit", MOVEMENTS)
def test_a_new_sender_that_helps_for_a_while_was_a_contact(circuit: str) -> None:
    """The fault was a contact that the work disturbed, not the sender."""
    replaced = [{"part": "sender", "result": "cured_for_a_while"}]
    found = ranked(circuit, seen=COLD, replaced=replaced)
    contacts = share(found, "sender_connector", "sender_ground")
    assert contacts > 4 * share(found, "sender")
    assert found.ranking[0].part == "sender_connector"


@pytest.mark.parametrize("circuit", ["temp_opposed_coil", "temp_two_coil"])
def test_light_corrosion_is_ohms(circuit: str) -> None:
    """Corrosion that is seen on the panel connector speaks for added ohms more than looseness does."""
    low = [{"state": "running_warm", "needle": "reads_low"}]

    def ohms(look: str) -> float:
        found = ranked(circuit, seen=low, inspected=[{"part": "panel_connector_sender", "found": look}])
        by = {suspect.fault: suspect.probability for suspect in found.ranking}
        return by["panel_connector_sender=high"] / by["panel_connector_sender=intermittent"]

    assert ohms("corroded") > 3 * ohms("loose")
    found = ranked(circuit, seen=low, inspected=[{"part": "panel_connector_sender", "found": "corroded"}])
    assert found.ranking[0].fault == "panel_connector_sender=high"


@pytest.mark.parametrize("circuit", MOVEMENTS)
def test_a_burnt_post_was_a_poor_joint(circuit: str) -> None:
    """Current heats a joint that is loose; sound ones do not burn."""
    seen = [{"state": "running_warm", "moves": "jumps"}]
    burnt = ranked(circuit, seen=seen, inspected=[{"part": "stud_feed", "found": "burnt"}])
    assert share(burnt, "stud_feed") > 6 * share(ranked(circuit, seen=seen), "stud_feed")


@pytest.mark.parametrize("circuit", MOVEMENTS)
def test_an_engine_runs_hot_at_times(circuit: str) -> None:
    """A fan that fails shows in slow traffic only: sometimes hot is a hot engine still."""
    hot = {"state": "running_warm", "needle": "high", "moves": "slowly"}
    sometimes = ranked(circuit, seen=[{**hot, "often": "sometimes"}])
    assert share(sometimes, "process") > 0.2


@pytest.mark.parametrize("circuit", MOVEMENTS)
def test_air_at_the_sender_comes_of_drained_coolant(circuit: str) -> None:
    """Coolant that was let out leaves air, which moves."""
    low = {"state": "running_warm", "needle": "low", "often": "sometimes"}

    def uncovered(**more: str) -> float:
        return of_fault(ranked(circuit, seen=[{**low, **more}]), "sender=uncovered")

    assert uncovered(after="engine_work") > 1.6 * uncovered()


@pytest.mark.parametrize("circuit", MOVEMENTS)
def test_a_new_sender_is_wrong_rather_than_open(circuit: str) -> None:
    """What is wrong since a sender was fitted is how it was fitted, or which: new ones are seldom open."""
    low = {"state": "running_warm", "needle": "reads_low"}
    since, before = ranked(circuit, seen=[{**low, "after": "sender_work"}]), ranked(circuit, seen=[low])
    rises = {
        fault: of_fault(since, fault) / of_fault(before, fault)
        for fault in ("sender=wrong_range", "sender=open")
    }
    assert rises["sender=wrong_range"] > 3 * rises["sender=open"]


@pytest.mark.parametrize("circuit", MOVEMENTS)
def test_a_needle_that_follows_is_behind_no_open_wire(circuit: str) -> None:
    """Reading low and moving the right way: something is let through."""
    low = {"state": "running_warm", "needle": "low"}
    plain, follows = ranked(circuit, seen=[low]), ranked(circuit, seen=[{**low, "moves": "follows"}])
    assert of_fault(follows, "sender_wire=open") < 0.5 * of_fault(plain, "sender_wire=open")
    assert of_fault(follows, "process=real_low") > 1.5 * of_fault(plain, "process=real_low")


def of_fault(found: Diagnosis, fault: str) -> float:
    return next(suspect.probability for suspect in found.ranking if suspect.fault == fault)

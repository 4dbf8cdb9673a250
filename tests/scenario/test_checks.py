"""What each kind of check hangs on the circuit, and what that shows, by hand."""

import ast
import math
import pathlib
from dataclasses import fields

import numpy as np
import pytest

from gaugesim.case import Inspected, Measured, Seen
from gaugesim.circuit import Circuit, available, find
from gaugesim.errors import CaseError, UnknownNameError
from gaugesim.reading import Situation, respond
from gaugesim.reading.instruments import INSTRUMENTS
from gaugesim.scenario import kinds
from gaugesim.scenario.check import JUMPER_OHMS, LAMP, METER, OHMMETER_OHMS, find_check
from gaugesim.scenario.check_list import check_ids
from gaugesim.scenario.kinds import KINDS
from gaugesim.solve.network import GROUND, Path
from gaugesim.template import copy_circuit
from gaugesim.vocabulary import TOPICS

COPPER = 1 + 0.00393 * 5
FIXED, SENSING = 150 * COPPER, 70 * COPPER
VOLTMETER = 10e6
PANEL = "behind_panel"
OFF = {"rsender_connector": np.inf}


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    return find("temp_two_coil")


@pytest.mark.parametrize(
    ("check", "path"),
    [
        ("substitute:100", Path("resistor", "sender_lead", GROUND, 100.0)),
        ("ground_sender_lead", Path("wire", "sender_lead", "engine_block", 0.02)),
        ("sender_lead_volts", Path(METER, "sender_lead", GROUND, VOLTMETER)),
        ("lamp_on_sender_lead", Path(LAMP, "sender_lead", GROUND, np.inf)),
    ],
)
def test_what_hangs_on_the_lead_taken_off_the_sender(circuit: Circuit, check: str, path: Path) -> None:
    found = find_check(circuit, check)
    assert found.setup.branches == OFF
    assert found.setup.paths == (path,)
    assert found.places == ("engine",)


@pytest.mark.parametrize(
    ("check", "path", "places"),
    [
        ("ground_at:stud_sender", Path("wire", "stud_sender", GROUND, 0.02), (PANEL,)),
        ("volts_at:body", Path(METER, "body", GROUND, VOLTMETER), ("battery",)),
        ("drop_across:stud_ground", Path(METER, "stud_ground", "foil_ground_far", VOLTMETER), (PANEL,)),
        ("drop_between:stud_feed:body", Path(METER, "stud_feed", "body", VOLTMETER), (PANEL, "battery")),
        ("lamp_at:stud_feed", Path(LAMP, "stud_feed", GROUND, np.inf), (PANEL,)),
        ("jumper_across:fuse", Path("wire", "fuse_in", "fuse_out", 0.02), ("fuse_box",)),
        ("jumper_between:stud_ground:body", Path("wire", "stud_ground", "body", 0.02), (PANEL, "battery")),
        ("feed_direct", Path("fused_lead", "battery_positive", "stud_feed", 0.05), (PANEL,)),
    ],
)
def test_what_is_added_while_all_stays_connected(
    circuit: Circuit, check: str, path: Path, places: tuple[str, ...]
) -> None:
    found = find_check(circuit, check)
    assert found.setup.paths == (path,)
    assert found.places == places
    assert not found.setup.branches
    assert not found.setup.dead
    assert found.setup.kept is None


def test_what_is_moved_or_looked_at_changes_nothing(circuit: Circuit) -> None:
    for name, reads, part in (
        ("wiggle:stud_ground", "jump", "stud_ground"),
        ("tap", "jump", "gauge:temperature"),
        ("look_at:sender_wire", "look", "sender_wire"),
    ):
        found = find_check(circuit, name)
        assert (found.reads, found.part) == (reads, part)
        assert found.setup == type(found.setup)()


def test_a_sender_in_water_reads_its_law_on_the_ohmmeter(circuit: Circuit) -> None:
    ohms = 70 * math.exp(3900 * (1 / (60 + 273.15) - 1 / (80 + 273.15)))
    reading = respond(Situation.of(circuit, None, find_check(circuit, "sender_in_water:60"))).reading
    assert reading is not None
    assert reading[0] == pytest.approx(ohms, rel=1e-9)


def test_a_gauge_is_measured_on_its_own_studs_whichever_is_complained_of() -> None:
    circuit = find("cluster_bimetal_5v")
    studs = "temperature_stud_feed:temperature_stud_sender"
    for complained in ("fuel", "temperature"):
        named, unnamed = (
            find_check(circuit, f"head_ohms:{of}{studs}", complained) for of in ("temperature:", "")
        )
        assert unnamed.gauge == "temperature"
        assert unnamed.setup == named.setup
        reading = respond(Situation.of(circuit, None, unnamed)).reading
        assert reading is not None
        assert reading[0] < 1000


def test_ohms_between_two_points_see_all_that_is_between_them(circuit: Circuit) -> None:
    check = find_check(circuit, "head_ohms:stud_feed:stud_ground")
    assert check.setup.dead
    assert {*(check.setup.kept or ())} == {"r.xtemperature.rfixed", "r.xtemperature.rsensing"}
    assert check.setup.paths == (Path(METER, "stud_feed", "stud_ground", OHMMETER_OHMS, -1.0),)
    reading = respond(Situation.of(circuit, None, check)).reading
    assert reading is not None
    # the sensing coil leads nowhere
    assert reading[0] == pytest.approx(FIXED, rel=1e-9)


def test_a_gauge_on_the_bench(circuit: Circuit) -> None:
    """12 V behind 0.1 ohm feed both coils, one by a lead to ground, one by a resistor."""
    situation = Situation.of(circuit, None, find_check(circuit, "bench_gauge:70"))
    # the supply drops out of the direction, so it is looked at by itself
    assert situation.check.setup.paths[0] == Path("bench_supply", "stud_feed", GROUND, 0.1, 12.0)
    fixed_ohms, sensing_ohms = FIXED + JUMPER_OHMS, SENSING + 70
    both = 1 / (1 / fixed_ohms + 1 / sensing_ohms)
    volts = 12 * both / (0.1 + both)
    fixed, sensing = 300 * volts / fixed_ohms, 200 * volts / sensing_ohms
    x = fixed + sensing * math.cos(math.radians(120))
    y = sensing * math.sin(math.radians(120))
    stand = (math.degrees(math.atan2(y, x)) - 16) / (64 - 16)
    assert respond(situation).positions["temperature"][0] == pytest.approx(stand, abs=1e-9)


@pytest.mark.parametrize(
    ("check", "error", "words"),
    [
        ("substitute", CaseError, "0 targets given; write substitute:OHMS"),
        ("substitute:-5", CaseError, "-5 ohms is out of reach; give 0 to 1e"),
        ("substitute:few", CaseError, "give ohms"),
        ("sender_in_water:300", CaseError, "300 celsius is out of reach; give -20 to 110"),
        ("float_by_hand:0.5", CaseError, "choose the check that fits its sender"),
        ("drop_between:body:body", CaseError, "body and body are the same point; name two different ones"),
        ("drop_across:process", CaseError, "process has no resistance of its own"),
        ("swap_sender_leads", CaseError, "1 gauges; write swap_sender_leads:A:B"),
        ("volts_at:bodi", UnknownNameError, "'bodi'.*body"),
        ("volt_at:body", UnknownNameError, "'volt_at'.*volts_at"),
    ],
)
def test_a_check_that_cannot_be_made(
    circuit: Circuit, check: str, error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        find_check(circuit, check)


@pytest.mark.parametrize(
    ("name", "gauge", "check", "words"),
    [
        ("temp_two_coil", "temperature", "unplug_sender", "pull the lead off the temperature sender"),
        ("boat_panel", "oil_pressure", "unplug_sender", "pull the lead off the oil pressure sender"),
        # one sender for two gauges is nobody's
        ("boat_two_station", "temperature_second", "unplug_sender", "pull the lead off the sender"),
        ("boat_two_station", "temperature_second", "tap", "tap the second station's temperature gauge"),
    ],
)
def test_gauges_and_senders_are_called_what_people_call_them(
    name: str, gauge: str, check: str, words: str
) -> None:
    assert words in find_check(find(name), check, gauge).words


@pytest.mark.parametrize("name", available())
def test_no_words_of_a_check_are_ids(name: str) -> None:
    circuit = find(name)
    for gauge in circuit.sheet.gauges:
        for check in check_ids(circuit, gauge):
            assert "_" not in find_check(circuit, check, gauge).words


def test_a_kind_that_nobody_knows_is_an_error_that_names_its_place(tmp_path: pathlib.Path) -> None:
    copy_circuit(find("temp_two_coil"), "mine", tmp_path)
    sheet = tmp_path / "mine.toml"
    sheet.write_text(sheet.read_text() + '\n[checks.volt_at]\nwords = "x"\nminutes = 1\nsource = "assumed"\n')
    circuit = find(str(tmp_path / "mine.cir"))
    for ask in (lambda: check_ids(circuit), lambda: find_check(circuit, "volts_at:fuse_out")):
        with pytest.raises(UnknownNameError, match=r"mine.toml: checks.volt_at: .* mean volts_at"):
            ask()


def compared(path: pathlib.Path) -> list[str]:
    """Names of kinds that a module compares something with, or keeps beside something in a table."""
    found: list[ast.expr] = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Compare):
            found += [node.left, *node.comparators]
        elif isinstance(node, ast.Dict):
            found += [key for key in node.keys if key is not None]
    texts = [one.value for expr in found for one in ast.walk(expr) if isinstance(one, ast.Constant)]
    return [text for text in texts if text in KINDS]


def test_no_module_asks_for_a_kind_by_its_name() -> None:
    package = pathlib.Path(kinds.__file__).parent.parent.parent
    # a vehicle of a few words has a stud that is called tap as well
    paths = [path for path in package.rglob("*.py") if path.parent.name != "compose"]
    assert {path.name: names for path in paths if (names := compared(path))} == {}


@pytest.mark.parametrize("name", KINDS)
def test_what_a_kind_reads_has_its_words_and_its_instrument(name: str) -> None:
    """What has no instrument would silently show no reading."""
    kind = KINDS[name]
    topic = TOPICS[kind.reads]
    assert (kind.reads in INSTRUMENTS) == bool(topic.meter)
    assert not (kind.by_hand and (topic.meter or kind.is_look))
    tables = (Inspected,) if kind.inspects else (Seen,) if kind.is_look else (Measured,)
    keys = {field.name for table in tables for field in fields(table)}
    assert {topic.in_a_case(word)[0] for word in topic.classes} <= keys

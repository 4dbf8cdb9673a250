"""A small sheet: what it becomes, and what every kind of mistake in it is answered with."""

from pathlib import Path

import pytest

from gaugesim.errors import SheetError
from gaugesim.sheet import Caution, Coil, Gauge, Mark, Part, Severity, Sheet, read

SHEET = """
words = "a gauge on a bench"
movement = "two-coil"
include = ["below/common.toml"]
default_state = "on"

[cautions]
hot = "the sender is hot"

[kinds.joint]
words = "joint"
unit = "ohm"
tolerance = 1.0
source = "assumed"
weight = 2
repair = "clean it"
repair_minutes = 3
[kinds.joint.modes.open]
words = "is open"
weight = 0.5
found = ["loose", "missing"]
source = "assumed"
[kinds.joint.modes.high]
words = "is corroded"
ohms = [0.5, 300]
typical = 15
weight = 0.25
source = "assumed"
[kinds.joint.modes.short]
words = "touches"
factor = [0.1, 0.9]
typical = 0
weight = 0.25
source = "assumed"

[kinds.process]
words = "what goes on"
unit = "none"
tolerance = 0
source = "assumed"
weight = 1
repair = "nothing"
repair_minutes = 0
price = 4.5

[kinds.leads]
words = "leads"
unit = "none"
tolerance = 0
source = "assumed"
weight = 1
repair = "exchange them"
repair_minutes = 5
[kinds.leads.modes.crossed]
words = "are exchanged"
weight = 1
source = "assumed"

[process.fuel_level]
words = "level"
unit = "1"
plus_minus = 0.05
low = 0
high = 1
source = "assumed"

[values.lamp]
words = "lamp"
unit = "ohm"
tolerance = 0.1
source = "assumed"

[states.on]
words = "key on"
set = { fuel_level = 0.5 }
plus_minus = { fuel_level = 0.2 }
minutes = 1
cautions = ["hot"]

[gauges.fuel]
words = "fuel gauge"
movement = "air_core"
topology = "two-coil"
instance = "Xfuel"
reads = "fuel_level"
degrees_low = 135
degrees_high = 45
stops = [-0.1, 1.1]
friction = 1
rest = [0, -2.5]
accuracy = 0.03
bench_volts = 12
lag_seconds = 0.5
source = "assumed"
coils = [
  { element = "R.Xfuel.Rone", turns = 300, degrees = 90 },
  { element = "r.xfuel.rtwo", turns = 400, degrees = 180 },
]
marks = [
  { at = 0, position = 0.0, label = "E" },
  { at = 0.5, position = 0.5 },
  { at = 1, position = 1.0, label = "F" },
]

[gauges.temperature]
words = "temperature gauge"
movement = "bimetal"
topology = "heater"
instance = "xtemperature"
reads = "fuel_level"
stops = [0, 1]
accuracy = 0.03
bench_volts = 5
lag_seconds = 12
source = "assumed"
element = "r.xtemperature.rheater"
low = 0.1
high = 0.4
marks = [{ at = 0, position = 0 }, { at = 0.5, position = 0.5 }, { at = 1, position = 1 }]

[points]
stud = { words = "the stud", place = "panel", gauge = "fuel", node = "Stud_A" }

[parts.sender]
words = "sender"
kind = "joint"
gauge = "fuel"
place = "panel"
element = "R.Xsender.R1"
chafes = "Sender_Lead"
weight = 5
without = ["short"]
[parts.sender.modes.wrong_range]
words = "is of the wrong range"
x = [0, 2]
typical = 1
weight = 0.1
source = "assumed"
set = { lamp = "lamp*x", fuel_level = 3 }

[parts.stud]
words = "nut"
kind = "joint"
place = "panel"

[parts.sender_leads]
words = "sender leads"
kind = "leads"
place = "panel"
crosses = ["fuel", "temperature"]

[groups.damp]
words = "water"
parts = ["sender", "stud"]
factor = 5
source = "assumed"

[consumers.panel_lamps]
words = "panel lamps"
node_a = "Lamp_feed"
node_b = "0"
rated_volts = 12
states = ["on"]

[checks.unplug_sender]
words = "unplug"
minutes = 1
cautions = "hot"
targets = ["sender"]
source = "assumed"

[regulator]
contact = "Rcontact"
heater = "Rheater"
design_volts = "lamp"
convention = "rms"
source = "assumed"
"""
COMMON = """
[places.panel]
words = "behind the panel"
setup_minutes = 45
source = "assumed"
[parts.stud]
words = "replaced by the sheet's own"
kind = "joint"
place = "panel"
[cautions]
hot = "replaced"
"""


def write(folder: Path, text: str, common: str = COMMON) -> Path:
    (folder / "below").mkdir(exist_ok=True)
    (folder / "below" / "common.toml").write_text(common)
    (folder / "bench.toml").write_text(text)
    return folder / "bench.toml"


@pytest.fixture
def sheet(tmp_path: Path) -> Sheet:
    return read(write(tmp_path, SHEET))


def test_the_whole(sheet: Sheet) -> None:
    assert (sheet.id, sheet.words, sheet.movement) == ("bench", "a gauge on a bench", "two-coil")
    assert (sheet.default_state, list(sheet.states), sheet.states["on"].set) == (
        "on",
        ["on"],
        {"fuel_level": 0.5},
    )
    assert sheet.states["on"].plus_minus == {"fuel_level": 0.2}
    assert sheet.cautions == {"hot": Caution("hot", "the sender is hot", "hot", "injury", "cold")}
    assert sheet.places["panel"].setup_minutes == 45
    assert sheet.points["stud"].node == "stud_a"
    assert sheet.groups["damp"].parts == ("sender", "stud")
    assert sheet.consumers["panel_lamps"].node_a == "lamp_feed"
    assert sheet.checks["unplug_sender"].cautions == ("hot",)
    assert sheet.regulator is not None
    assert (sheet.regulator.contact, sheet.regulator.convention) == ("rcontact", "rms")
    assert {name: each.process for name, each in sheet.quantities.items()} == {
        "fuel_level": True,
        "lamp": False,
    }
    assert sheet.quantities["lamp"].low == -float("inf")


def test_parts_take_after_their_kind(sheet: Sheet) -> None:
    sender, stud, leads = sheet.parts["sender"], sheet.parts["stud"], sheet.parts["sender_leads"]
    assert isinstance(sender, Part)
    assert (sender.element, sender.parameter, sender.chafes) == ("r.xsender.r1", "sender", "sender_lead")
    assert (sender.weight, sender.tolerance, sender.repair) == (5, 1, "clean it")
    assert list(sender.modes) == ["open", "high", "wrong_range"]
    assert (stud.words, stud.element, stud.gauge, stud.crosses) == ("nut", "rstud", "", ())
    assert list(stud.modes) == ["open", "high", "short"]
    assert (leads.element, leads.parameter, leads.crosses) == ("", "", ("fuel", "temperature"))


def test_modes_and_severities(sheet: Sheet) -> None:
    modes = {**sheet.parts["stud"].modes, **sheet.parts["sender"].modes}
    assert modes["open"].severity == Severity()
    assert modes["open"].found == ("loose", "missing")
    assert modes["high"].severity == Severity("ohms", 0.5, 300, 15, True)
    assert modes["short"].severity == Severity("factor", 0.1, 0.9, 0, True)
    assert modes["wrong_range"].severity == Severity("x", 0, 2, 1, False)
    lookup = {"lamp": 4.0, "x": 2.0}.__getitem__
    assert {name: each(lookup) for name, each in modes["wrong_range"].set.items()} == {
        "lamp": 8,
        "fuel_level": 3,
    }


def test_gauges(sheet: Sheet) -> None:
    fuel, temperature = sheet.gauges["fuel"], sheet.gauges["temperature"]
    assert isinstance(fuel, Gauge)
    assert fuel.coils == (Coil("r.xfuel.rone", 300, 90), Coil("r.xfuel.rtwo", 400, 180))
    assert (fuel.rest, fuel.instance, fuel.stops) == ((0, -2.5), "xfuel", (-0.1, 1.1))
    assert fuel.marks[0] == Mark(0, 0, "E")
    assert (temperature.coils, temperature.element) == ((), "r.xtemperature.rheater")
    assert (temperature.low, temperature.high) == (0.1, 0.4)


# What is written -> what is written in its place -> what is said (after the name of the file).
MISTAKES = {
    'words = "a gauge on a bench"': {
        "": "words: is missing; give a text in quotes",
        'wrods = "a"': "no key here is called 'wrods'; did you mean words?",
        "words = 5": "words: is 5; give a text in quotes",
        'words = " "': "words: is ' '; give a text in quotes",
        "words = a": "is not TOML: Invalid value",
    },
    'default_state = "on"': {
        'default_state = "onn"': "default_state: no choice is called 'onn'; did you mean on?",
    },
    "below/common.toml": {
        "below/comon.toml": "include: 'below/comon.toml' is not there; a file below",
        "../other.toml": "include: '../other.toml' is outside",
        "/etc/passwd": "include: '/etc/passwd' is outside",
    },
    '["below/common.toml"]': {"5": "include: is 5; give a list of texts"},
    "[cautions]": {"[caution]": "no key here is called 'caution'; did you mean cautions?"},
    'cautions = ["hot"]': {
        'cautions = ["cold"]': "states.on.cautions: no choice is called 'cold'; there are hot",
    },
    'cautions = "hot"': {
        'cautions = "hto"': "checks.unplug_sender.cautions: no choice is called 'hto'; did you mean hot?",
    },
    'unit = "ohm"\ntolerance = 1.0': {
        'unit = "mA"\ntolerance = 1.0': "kinds.joint.unit: no choice is called 'mA'",
    },
    "tolerance = 1.0": {
        "tolerance = -1": "kinds.joint.tolerance: is -1; give a number from 0 to 20",
        'tolerance = "5 %"': "kinds.joint.tolerance: is '5 %'; give a number from 0 to 20",
        "tolerance = true": "kinds.joint.tolerance: is True; give a number",
        "tolerance = nan": "kinds.joint.tolerance: is nan; give a number",
        "tolerence = 1.0":
            "kinds.joint.tolerance: is missing; give a number from 0 to 20 (is 'tolerence' meant for it?)",
    },
    "weight = 2\n": {"weight = -2\n": "kinds.joint.weight: is -2; give a number, 0 or more"},
    "[kinds.joint.modes.open]": {
        "[kinds.joint.modes.opne]": "kinds.joint.modes.opne: no mode is called 'opne'; did you mean open?",
    },
    '["loose", "missing"]': {
        '["losoe"]': "kinds.joint.modes.open.found: no choice is called 'losoe'; did you mean loose?",
    },
    "ohms = [0.5, 300]": {
        "ohms = [300, 0.5]": "kinds.joint.modes.high.ohms: is [300, 0.5]; give two numbers, [low, high]",
        "ohms = 15": "kinds.joint.modes.high.ohms: is 15; give two numbers, [low, high]",
        "ohms = [0, 300]": "kinds.joint.modes.high.ohms: starts at 0; a range in logarithms starts above 0",
        "ohm = [0.5, 300]":
            "kinds.joint.modes.high.typical: stands alone; give one of ohms, factor, x beside it",
        "ohms = [0.5, 300]\nfactor = [1, 2]":
            "kinds.joint.modes.high.factor: stands beside 'ohms'; a severity is one of",
        'ohms = [0.5, 300]\nspacing = "even"':
            "kinds.joint.modes.high.spacing: no choice is called 'even'; there are linear, log",
    },
    "typical = 15": {
        "": "kinds.joint.modes.high.typical: is missing",
        "typical = 500":
            "kinds.joint.modes.high.typical: is 500; a number from 0.5 to 300, or 0 for a dead short",
    },
    "plus_minus = 0.05": {
        "": "process.fuel_level.tolerance: is missing, and plus_minus too; give one of the two",
        "tolerence = 0.05":
            "process.fuel_level.tolerence: no key here is called 'tolerence'; did you mean tolerance?",
        "plus_minus = 0.05\ntolerance = 0":
            "process.fuel_level.tolerance: stands beside plus_minus; give one of the two",
    },
    "[values.lamp]": {"[values.fuel_level]": "values.fuel_level: stands in [process] too; keep one of them"},
    "set = { fuel_level = 0.5 }": {
        'set = { fuel_level = "half" }': "states.on.set.fuel_level: is 'half'; give a number",
        "set = 5": "states.on.set: is 5; make it a table, [set]",
    },
    "minutes = 1\ncautions = [": {
        'minutes = "1 h"\ncautions = [': "states.on.minutes: is '1 h'; give a number, 0 or more",
    },
    "[gauges.fuel]": {"[gauges.fule]": "gauges.fule: no gauge is called 'fule'; did you mean fuel?"},
    'movement = "air_core"': {
        'movement = "aircore"': "gauges.fuel.movement: no choice is called 'aircore'; did you mean air_core?",
        'movement = "bimetal"': "gauges.fuel.coils: do not fit movement 'bimetal'; coils belong to air_core",
    },
    'movement = "bimetal"': {
        'movement = "air_core"': "gauges.temperature.coils: do not fit movement 'air_core'",
    },
    "degrees_low = 135\n": {"": "gauges.fuel.degrees_low: is missing"},
    'element = "r.xtemperature.rheater"\n': {"": "gauges.temperature.element: is missing"},
    'reads = "fuel_level"\ndegrees': {
        'reads = "level"\ndegrees':
            "gauges.fuel.reads: no choice is called 'level'; did you mean fuel_level?",
    },
    "stops = [-0.1, 1.1]": {
        "stops = [0.1, 1.1]": "gauges.fuel.stops: are [0.1, 1.1]; the low stop at 0 or below",
        "stops = [-0.1, 0.9]": "gauges.fuel.stops: are [-0.1, 0.9]; the low stop at 0 or below",
    },
    "rest = [0, -2.5]": {
        "rest = 3": "gauges.fuel.rest: is 3; give [x, y] in ampere-turns",
        "rest = [0, 1, 2]": "gauges.fuel.rest: is [0, 1, 2]; give [x, y] in ampere-turns",
    },
    "accuracy = 0.03\nbench_volts = 12": {
        "accuracy = 3\nbench_volts = 12": "gauges.fuel.accuracy: is 3; give a number from 0 to 0.5",
    },
    "turns = 300": {
        "trns = 300": "gauges.fuel.coils[1].turns: is missing; give a number (is 'trns' meant for it?)",
        "turns = 300, wires = 2": "gauges.fuel.coils[1].wires: no key here is called 'wires'",
    },
    "{ at = 0.5, position = 0.5 },\n  {": {"{": "gauges.fuel.marks: has 2 entries; three or more"},
    "position = 0.5 },\n": {
        "position = 50 },\n": "gauges.fuel.marks[2].position: is 50; give a number from 0 to 1",
    },
    "[points]\nstud": {"points = 3\n[other]\nstud": "no key here is called 'other'"},
    'place = "panel", gauge = "fuel"': {
        'place = "pannel", gauge = "fuel"':
            "points.stud.place: no choice is called 'pannel'; did you mean panel?",
        'place = "panel", gauge = "oil"': "points.stud.gauge: no choice is called 'oil'",
    },
    'kind = "joint"\ngauge': {
        'kind = "jiont"\ngauge': "parts.sender.kind: no choice is called 'jiont'; did you mean joint?",
    },
    'without = ["short"]': {
        'without = ["shrot"]': "parts.sender.without: no choice is called 'shrot'; did you mean short?",
        'without = ["short", "open", "high", "wrong_range"]':
            "parts.sender.modes: is empty; a part has at least one way to fail",
    },
    "fuel_level = 3 }": {
        'fuel_level = "3 +" }': "parts.sender.modes.wrong_range.set.fuel_level: '3 +': found the end",
        "fuel_level = true }": "parts.sender.modes.wrong_range.set.fuel_level: is True; an expression of x",
    },
    'kind = "leads"\nplace = "panel"\n': {
        'kind = "process"\nplace = "panel"\n': "parts.sender_leads.modes: is empty",
    },
    'crosses = ["fuel", "temperature"]': {
        "": "parts.sender_leads.crosses: is []; mode crossed, and only that, takes the ids of two gauges",
        'crosses = ["fuel"]': "parts.sender_leads.crosses: is ['fuel']; mode crossed",
        'crosses = ["fuel", "fuel"]': "parts.sender_leads.crosses: is ['fuel', 'fuel']; mode crossed",
        'crosses = ["fuel", "temprature"]':
            "parts.sender_leads.crosses: no gauge or stud is called 'temprature'; did you mean temperature?",
    },
    'words = "nut"': {
        'words = "nut"\ncrosses = ["fuel", "temperature"]':
            "parts.stud.crosses: is ['fuel', 'temperature']; mode crossed, and only that",
    },
    'parts = ["sender", "stud"]': {
        'parts = ["sender", "studd"]': "groups.damp.parts: no choice is called 'studd'; did you mean stud?",
    },
    "factor = 5": {"factor = 0.5": "groups.damp.factor: is 0.5; give a number, 1 or more"},
    "[consumers.panel_lamps]": {
        "[consumers.panel_lamp]":
            "consumers.panel_lamp: no consumer is called 'panel_lamp'; did you mean panel_lamps?",
    },
    'states = ["on"]': {
        'states = ["off"]': "consumers.panel_lamps.states: no choice is called 'off'; there are on",
    },
    "rated_volts = 12": {
        "rated_volts = 0": "consumers.panel_lamps.rated_volts: is 0; give a number, 0.1 or more",
    },
    'convention = "rms"': {
        'convention = "peak"': "regulator.convention: no choice is called 'peak'; there are mean, rms",
    },
    'heater = "Rheater"': {"": "regulator.heater: is missing; give a text in quotes"},
    'design_volts = "lamp"': {"design_volts = 5": "regulator.design_volts: is 5; give a text in quotes"},
}  # fmt: skip


@pytest.mark.parametrize(
    ("written", "instead", "said"),
    [(key, *one) for key, others in MISTAKES.items() for one in others.items()],
)
def test_a_mistake_is_named_by_its_key(tmp_path: Path, written: str, instead: str, said: str) -> None:
    assert SHEET.count(written) == 1
    with pytest.raises(SheetError) as caught:
        read(write(tmp_path, SHEET.replace(written, instead)))
    assert said in str(caught.value)
    assert "bench.toml" in caught.value.where
    assert "\n" not in str(caught.value)


def test_a_sheet_needs_gauges_parts_points_and_states(tmp_path: Path) -> None:
    def up_to(heading: str) -> str:
        return SHEET[: SHEET.index(heading)]

    empty = "is empty; a circuit has at least one of them"
    places = COMMON[: COMMON.index("[parts")]
    points = '[points]\nstud = { words = "the stud", place = "panel" }\n'
    for text, said in {
        up_to("[cautions]"): "default_state: no choice is called 'on'; there is no choice here at all",
        up_to("[gauges.fuel]"): f"gauges: {empty}",
        up_to("[points]"): f"parts: {empty}",
        up_to("[points]") + points: f"parts: {empty}",
        up_to("[points]")
        + SHEET[SHEET.index("[parts.stud]") : SHEET.index("[parts.sender_l")]: f"points: {empty}",
    }.items():
        with pytest.raises(SheetError) as caught:
            read(write(tmp_path, text, places))
        assert said in str(caught.value)


@pytest.mark.parametrize(
    ("common", "said"),
    [
        ('words = "w"\n', "below/common.toml: words: no key here is called 'words'"),
        ("include = []\n", "below/common.toml: include: no key here is called 'include'"),
        ("[parts.x]\n", "below/common.toml: parts.x.kind: is missing"),
        ("[plcaes.x]\n", "below/common.toml: plcaes: no key here is called 'plcaes'; did you mean places"),
        ("a = ", "is not TOML"),
    ],
)
def test_a_mistake_in_an_included_file_names_that_file(tmp_path: Path, common: str, said: str) -> None:
    with pytest.raises(SheetError) as caught:
        read(write(tmp_path, SHEET, common))
    assert said in str(caught.value)
    assert "common.toml" in caught.value.where


def test_an_include_cannot_leave_by_a_link(tmp_path: Path) -> None:
    folder = tmp_path / "own"
    folder.mkdir()
    (tmp_path / "secret.toml").write_text("")
    path = write(folder, SHEET.replace("below/common.toml", "link.toml"))
    (folder / "link.toml").symlink_to(tmp_path / "secret.toml")
    with pytest.raises(SheetError, match=r"include: 'link\.toml' is outside own/"):
        read(path)


def test_files_that_are_no_sheets(tmp_path: Path) -> None:
    with pytest.raises(
        SheetError, match=r"cannot be read \(No such file or directory\); name a readable \.toml file"
    ):
        read(tmp_path / "none.toml")
    path = tmp_path / "bench.toml"
    path.write_bytes(b'words = "\xff"')
    with pytest.raises(SheetError, match="is not plain text; save it as UTF-8"):
        read(path)
    path.write_text("# filler\n" * 120_000)
    with pytest.raises(SheetError, match="it has more than 1000000 bytes"):
        read(path)

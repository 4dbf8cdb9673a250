"""The recipes of DEVELOPERS.md, followed: the new thing is proposed, drawn, asked for and explained."""

import re
from pathlib import Path

import pytest
from recipes.copied import CHECKOUT, Copied

DEVELOPERS = (CHECKOUT / "DEVELOPERS.md").read_text()


@pytest.fixture
def copy(tmp_path: Path) -> Copied:
    return Copied.make(tmp_path)


def promised(heading: str) -> int:
    """How many files DEVELOPERS.md says that a recipe touches, those of the circuit itself not counted."""
    (count,) = re.findall(rf"^## {heading}: (\d) files?$", DEVELOPERS, re.MULTILINE)
    return int(count)


MOVING_IRON = '''
"""A coil that pulls a vane against a spring: its needle goes with the square of the current."""

from gaugesim.movement.moving_coil import MovingCoil


class MovingIron(MovingCoil):
    """See the module."""

    id = "moving_iron"
    power = 2
    unit = "A2"
'''


def test_a_movement(copy: Copied) -> None:
    copy.write("gaugesim/movement/moving_iron.py", MOVING_IRON)
    table = "gaugesim/movement/__init__.py"
    copy.add(table, "from gaugesim.movement.moving_iron import MovingIron\n", before="\nMOVEMENTS")
    copy.add(table, "MovingIron(), ", before="MovingCoil())")
    assert len(copy.touched) == promised("Adding a movement")
    sheet = copy.folder / "netlists" / "boat_panel.toml"
    low, high = 0.00995, 0.01593  # amperes at the two ends of the voltmeter's scale
    text = sheet.read_text().replace('movement = "moving_coil"', 'movement = "moving_iron"')
    text = text.replace(f"low = {low}", f"low = {low**2:.9f}").replace(
        f"high = {high}", f"high = {high**2:.9f}"
    )
    sheet.write_text(text)
    told = copy.told(
        """
from gaugesim.reading import Situation
from gaugesim.reading.reasons import why, stands_at
from gaugesim.reading.reason_words import steps
from gaugesim.circuit import find
circuit = find("boat_panel")
own = why(Situation.of(circuit, "key_on_cold")).gauges["voltmeter"]
seen = [{"state": "key_on_cold", "gauge": "voltmeter", "needle": "low", "moves": "jumps"}]
ranking = gs.diagnose({"circuit": "boat_panel", "gauge": "voltmeter", "seen": seen})
ax = gs.plot.why(gs.see("boat_panel", "key_on_cold"), gauge="voltmeter")
show([own.position, stands_at(own), own.elements, ranking["fault"][:3], len(ax.texts)])
"""
    )
    position, stands, elements, suspects, drawn = told
    amperes = 12.5 / 1000
    assert position == pytest.approx(stands)
    assert position == pytest.approx((amperes**2 - low**2) / (high**2 - low**2), abs=0.02)
    assert elements == ["r.xvoltmeter.rcoil"]
    assert suspects
    assert drawn > 3


def test_a_check(copy: Copied) -> None:
    """A voltmeter from a point to the feed: what is lost on the way to it, without going to the battery."""
    kinds = "gaugesim/scenario/kinds/checks.py"
    kind = """
class VoltsBelowFeed(AtPoint):
    def _arrange(self, ask: Request) -> Arrangement:
        point, feed = ask.point(ask.arguments[0]), ask.point("panel_feed")
        setup = ask.hung(self.reads, feed.node, point.node)
        return Arrangement(setup, point.words, (point.place,))


"""
    copy.add(kinds, kind, before="KINDS: tuple")
    copy.add(kinds, '    VoltsBelowFeed("volts_below_feed", "volts"),\n', before="    LOOK_AT,")
    copy.add(
        "netlists/kinds/checks.toml",
        """
[checks.volts_below_feed]
words = "Key on, everything connected, voltmeter from the panel's feed to {target}"
minutes = 1
targets = ["sender_lead"]
cautions = ["battery_lead"]
source = "assumed"
""",
    )
    assert len(copy.touched) == promised("Adding a check")
    told = copy.told(
        """
from gaugesim.conversation.asking import check_question
from gaugesim.consultation import consult
check = "volts_below_feed:sender_lead"
seen = [{"state": "key_on_cold", "needle": "pegged_low"}]
case = gs.read_case(circuit="temp_two_coil", seen=seen)
work = consult(case)
offered = {option.check.id: option for option in work.job.options}
advice = work.check(check, offered[check].state)
later = work.with_answer("measured", check=check, state=offered[check].state, volts=0.1)
read = gs.see("temp_two_coil", "key_on_cold", check)
lead = gs.see("temp_two_coil", "key_on_cold", "volts_at:sender_lead")
feed = gs.see("temp_two_coil", "key_on_cold", "volts_at:panel_feed")
texts = [text.get_text() for text in gs.plot.schematic(read).texts]
question = check_question(work.circuit, advice, work.gauge)
show([read.reading.value, feed.reading.value - lead.reading.value, advice.words, advice.cautions,
      later.diagnosis.ranking[0].probability != work.diagnosis.ranking[0].probability,
      "voltmeter" in texts, question.text, len(advice.outcomes)])
"""
    )
    volts, expected, words, cautions, moved, drawn, question, outcomes = told
    assert volts == pytest.approx(expected, abs=1e-3)
    assert words.startswith("Key on, everything connected, voltmeter from the panel's feed to ")
    assert cautions
    assert moved
    assert drawn
    assert question
    assert outcomes > 1


def test_a_mode_of_failure(copy: Copied) -> None:
    """A fuse of the wrong kind gets hot: said with parameters, it needs no code."""
    copy.add(
        "netlists/kinds/parts.toml",
        """
[kinds.fuse.modes.too_thin]
words = "is of wire that is too thin"
set = { fuse = "fuse + x" }
x = [1, 30]
typical = 8
weight = 0.2
found = ["corroded"]
source = "assumed"
""",
    )
    assert len(copy.touched) == promised("Adding a mode of failure")
    told = copy.told(
        """
seen = [{"state": "key_on_cold", "needle": "pegged_low"}, {"state": "key_on_cold", "lamp": "dim"}]
ranking = gs.diagnose({"circuit": "temp_two_coil", "seen": seen[:1]})
fault = "fuse=too_thin@8"
shown = gs.see("temp_two_coil", "key_on_cold", "drop_across:fuse", fault)
texts = " ".join(text.get_text() for text in gs.plot.schematic(shown).texts)
repairs = gs.plan({"circuit": "temp_two_coil", "seen": seen[:1]}).consultation.job
words = [one.words for one in repairs.hypotheses]
show([ranking["fault"], shown.reading.value, texts, words])
"""
    )
    ranked, volts, texts, words = told
    assert "fuse=too_thin" in ranked
    assert volts > 0.1
    assert "too thin" in texts
    assert any("is of wire that is too thin" in one for one in words)


def test_a_mode_that_nothing_says(copy: Copied) -> None:
    copy.add(
        "netlists/kinds/parts.toml",
        '\n[kinds.fuse.modes.too_thin]\nwords = "is too thin"\nweight = 0.2\nsource = "assumed"\n',
    )
    told = copy.told("""
try:
    gs.find_circuit("temp_two_coil")
except Exception as error:
    show(str(error))
""")
    assert "kinds.fuse.modes.too_thin" in told
    assert "no mode is called" in told


def test_a_sender(copy: Copied) -> None:
    """Contacts along a tube, each with a resistor: the needle goes in steps."""
    copy.write(
        "netlists/senders/steps.cir",
        """* Level sender: a float closes one contact after another along a tube; its body is the other pole.
.subckt steps terminal body params: level=0.5 r0=240 r100=33 count=10 scale=1
* chain of contacts
Rsteps terminal body {scale*(r0 + (r100 - r0)*floor(min(max(level, 0), 1)*count + 0.5)/count)}
.ends
""",
    )
    assert len(copy.touched) == promised("Adding a sender")
    netlist = copy.folder / "netlists" / "fuel_four_coil.cir"
    text = netlist.read_text().replace(".include senders/track.cir", ".include senders/steps.cir")
    text = re.sub(
        r"sender_body track params: .*\n\+.*\n",
        "sender_body steps params: level={float_level} scale={sender} r0={track_empty} r100={track_full}\n",
        text,
    )
    netlist.write_text(text)
    for name in ("fuel_four_coil.toml", "shared/fuel_gauge.toml", "shared/tank.toml"):
        sheet = copy.folder / "netlists" / name
        sheet.write_text(sheet.read_text().replace("rtrack", "rsteps"))
    told = copy.told(
        """
import re
circuit = gs.find_circuit("fuel_four_coil")
levels = (0.41, 0.44, 0.51)
ohms = [gs.see("fuel_four_coil", given={"fuel_level": level}, check="sender_ohms").reading.value
        for level in levels]
seen = [{"state": "running_warm", "needle": "pegged_low"}]
plan = gs.plan({"circuit": "fuel_four_coil", "seen": seen})
ax = gs.plot.schematic(gs.see("fuel_four_coil"))
show([ohms, plan.next_check is not None, len(ax.texts), "sender=open" in gs.diagnose(plan.case)["fault"]])
"""
    )
    ohms, proposed, drawn, suspected = told
    step = (240 - 33) / 10
    assert ohms == pytest.approx([240 - 4 * step, 240 - 4 * step, 240 - 5 * step], abs=0.5)
    assert proposed
    assert drawn > 10
    assert suspected


def test_a_word(copy: Copied) -> None:
    """Some say of a needle that it stands at two thirds."""
    copy.add(
        "gaugesim/vocabulary/topics.py",
        '        Word("two_thirds", "at two thirds", also=("two third",), below=0.75),\n',
        before='        Word("three_quarters", "at three quarters", below=0.875),\n',
    )
    assert len(copy.touched) == promised("Adding a word")
    told = copy.told(
        """
from gaugesim.conversation.asking import check_question
from gaugesim.conversation.question import understand
from gaugesim.consultation import consult
state = "key_on_cold"
at = {"coolant_celsius": 86.0}
shown = gs.see("temp_two_coil", state, given=at)
seen = [{"state": "running_warm", "needle": "two_thirds"}]
work = consult(gs.read_case(circuit="temp_two_coil", seen=seen))
option = next(one for one in work.job.options if one.check.kind.id == "substitute")
advice = work.check(option.check.id, option.state)
heard = understand(check_question(work.circuit, advice, work.gauge), "two third")
texts = " ".join(text.get_text() for text in gs.plot.dials(shown).texts)
sentence = work.diagnosis.posteriors[0].observations[0].sentence
show([shown.needles["temperature"].word, option.classes, heard.choice.value, texts, sentence])
"""
    )
    word, outcomes, heard, drawn, explained = told
    assert word == heard == "two_thirds"
    assert "two_thirds" in outcomes
    assert "two thirds" in drawn
    assert "at two thirds" in explained


AMMETER = """def _amperes(of: Read) -> Shown:
    return of.mean, np.zeros(of.duty.shape, dtype=np.bool_)


"""
AMPERES = """# in amperes
AMPERES = Topic(
    "amperes",
    (Word("none", below=0.01), Word("some", "some current", also=("flows",))),
    asks="What does the ammeter show?",
    spread=0.004,
    number="amperes",
    unit="A",
    meter="the ammeter",
    or_number=", or how many amperes",
    span=(0.0, 2.0),
    near=(0.1, 0.01),
)
"""
IN_PLACE = """class InPlace(AcrossPart):
    def _arrange(self, ask: Request) -> Arrangement:
        part = ask.electric(ask.arguments[0])
        meter = Path(METER, *ask.ends(part), 0.05)
        setup = Setup(branches={part.element: np.inf}, paths=(meter,))
        return Arrangement(setup, part.words, (part.place,))


"""


def test_an_instrument(copy: Copied) -> None:
    """An ammeter in place of the fuse."""
    copy.add("gaugesim/reading/instruments.py", AMMETER, before="@dataclass(frozen=True)\nclass Instrument")
    copy.add("gaugesim/reading/instruments.py", '    "amperes": Instrument(_amperes),\n', before="}\n")
    vocabulary = "gaugesim/vocabulary/topics.py"
    copy.add(vocabulary, AMPERES, before="# by what a check reads, see")
    copy.add(vocabulary, '    "amperes": AMPERES,\n', before='    "jump": JUMP,\n')
    kinds = "gaugesim/scenario/kinds/checks.py"
    copy.add(kinds, IN_PLACE, before="SUBSTITUTE, VOLTS_AT = ")
    copy.add(kinds, "METER, ", before="Setup\nfrom gaugesim.scenario.fault")
    copy.add(kinds, '    InPlace("amperes_in_place", "amperes"),\n', before="    LOOK_AT,")
    copy.add(
        "netlists/kinds/checks.toml",
        """
[checks.amperes_in_place]
words = "Key off, ammeter in place of the {target}; key on, read it"
minutes = 2
targets = ["fuse"]
source = "assumed"
""",
    )
    assert len(copy.touched) == promised("Adding an instrument")
    told = copy.told(
        """
from gaugesim.consultation import consult
from gaugesim.conversation.asking import check_question
from gaugesim.conversation.question import understand
check, state = "amperes_in_place:fuse", "key_on_cold"
shown = gs.see("temp_two_coil", state, check)
lost = gs.see("temp_two_coil", state, check, "panel_connector_feed=open").reading.value
work = consult(gs.read_case(circuit="temp_two_coil", seen=[{"state": state, "needle": "pegged_low"}]))
offered = {option.check.id: option for option in work.job.options}
advice = work.check(check, offered[check].state)
texts = [text.get_text() for text in gs.plot.schematic(shown).texts]
heard = understand(check_question(work.circuit, advice, work.gauge), "flows").choice.value
def known(job):
    return {one.fault: one.probability for one in job.diagnosis.ranking}.get("panel_connector_feed=open", 0.0)

later = [known(work.with_answer("measured", check=check, state=state, amperes=one)) for one in (0.0, "some")]
why = work.with_answer("measured", check=check, state=state, amperes=0.0).diagnosis
sentence = " ".join(one.sentence for one in why.posteriors[0].observations)
from contextlib import redirect_stdout
from io import StringIO
from gaugesim.cli import main
from gaugesim.draw.bench_settings import reading_words
with redirect_stdout(StringIO()) as lines:
    main(["read", "temp_two_coil", "--state", state, "--check", check])
    main(["circuits", "temp_two_coil"])
from numpy.random import default_rng
from gaugesim.evaluation.interview import draw_interview
every = draw_interview(work.circuit, default_rng(1), (500, 500)).case.entries
asked = [entry.amperes for entry in every if getattr(entry, "check", "") == check]
named = [asked, lines.getvalue().count("Ammeter: "), *reading_words(shown.reading)]
show([shown.reading.value, shown.reading.unit, lost, [one.outcome for one in advice.outcomes],
      named, "ammeter" in texts, heard, known(work), later, sentence])
"""
    )
    amperes, unit, lost, outcomes, named, drawn, heard, before, (none, some), sentence = told
    assert unit == "A"
    assert amperes > 0.01
    assert lost == pytest.approx(0.0, abs=1e-6)
    assert named[:2] in ([["none"], 1], [[1.0], 1])
    assert named[2].startswith("Ammeter: ")
    assert {*outcomes} == {"none", "some"}
    assert drawn
    assert heard == "some"
    assert some < before < none
    assert "ammeter" in sentence

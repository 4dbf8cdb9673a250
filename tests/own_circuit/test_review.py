"""Mistakes put into a copy on purpose: each is found and said in plain words, and nothing else is."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from gaugesim import circuit as circuits
from gaugesim.cli import main
from gaugesim.errors import SheetError, UnknownNameError
from gaugesim.paths import shipped_netlists
from gaugesim.shortcomings import Finding, review
from gaugesim.template import copy_circuit

SHIPPED = sorted(path.stem for path in shipped_netlists().glob("*.cir"))
WORDS = ('words = "Coolant temperature gauge with a two-coil', 'words = "My gauge with a two-coil')

Spoil = Callable[..., Path]


@pytest.fixture
def spoil(tmp_path: Path) -> Spoil:
    """Copies a circuit and replaces texts in its two files; `more` is put at the sheet's end."""

    def path(
        netlist: tuple[str, str] = ("", ""),
        sheet: tuple[str, str] = ("", ""),
        more: str = "",
        branch: str = "",
        name: str = "temp_two_coil",
    ) -> Path:
        copied = copy_circuit(circuits.find(name), "mine", tmp_path)
        for file, changes in ((copied.netlist, [netlist]), (copied.sheet, [sheet, WORDS])):
            text = file.read_text(encoding="utf-8")
            for old, new in changes:
                assert old in text
                text = text.replace(old, new, 1) if old else text
            file.write_text(text, encoding="utf-8")
        if branch:
            text = copied.netlist.read_text(encoding="utf-8")
            copied.netlist.write_text(text.replace(".op\n", f"{branch}\n.op\n"), encoding="utf-8")
        with copied.sheet.open("a", encoding="utf-8") as file:
            file.write(more)
        return copied.netlist

    return path


def found(path: Path) -> list[Finding]:
    return list(review(circuits.read(path)))


@pytest.mark.parametrize("name", SHIPPED)
def test_the_shipped_circuits_have_nothing_to_say_about(name: str) -> None:
    assert review(circuits.find(name)) == ()


def test_a_sound_copy_with_words_of_its_own(spoil: Spoil) -> None:
    assert found(spoil()) == []


def test_a_misspelt_node_goes_nowhere(spoil: Spoil) -> None:
    findings = found(
        spoil(netlist=("Rsender_ground sender_body engine_block", "Rsender_ground sender_body engine_blok"))
    )
    words = [one.words for one in findings if one.subject == "node"]
    assert words == ["node engine_blok goes nowhere: only rsender_ground is on it; is engine_block meant?"]
    # and the scale shows it
    assert any(one.subject == "mark" for one in findings)


def test_both_ends_on_one_node(spoil: Spoil) -> None:
    findings = found(
        spoil(branch="* a lead joined to itself\nRspare body body {spare}\n.param spare=1", more=SPARE_VALUE)
    )
    assert [one.words for one in findings] == ["both ends of rspare are on node body: nothing flows in it"]


SPARE_VALUE = '\n[values.spare]\nwords = "spare"\nunit = "ohm"\ntolerance = 0\nsource = "assumed"\n'


def test_a_plain_number_that_is_no_part(spoil: Spoil) -> None:
    findings = found(spoil(branch="* a load\nRload battery_positive body 100"))
    assert len(findings) == 1
    assert findings[0].subject == "element"
    assert "rload (mine.cir:" in findings[0].words
    assert "has a plain number and is no part: it never fails and has no tolerance" in findings[0].words


def test_an_element_without_words(spoil: Spoil) -> None:
    findings = found(spoil(netlist=("* the sender's thread in the engine\n", "")))
    assert [(one.subject, one.name) for one in findings] == [("element", "rsender_ground")]
    assert "has no comment above it" in findings[0].words


def test_a_point_and_a_check_of_nothing(spoil: Spoil) -> None:
    findings = found(
        spoil(
            branch="* a lead to nowhere in particular\nRspare spare_end 0 {spare}\n.param spare=1",
            more=SPARE_VALUE + '\n[points]\nspare_end = { words = "the spare end", place = "engine" }\n',
        )
    )
    by_subject = {one.subject: one.words for one in findings}
    assert set(by_subject) == {"node", "check"}
    assert by_subject["check"] == "volts_at:spare_end separates nothing: no fault shows there in any state"


def test_a_point_that_is_cut_off(spoil: Spoil) -> None:
    findings = found(
        spoil(
            branch="* an island\nRspare spare_one spare_two {spare}\n* and back\n"
            "Rback spare_one spare_two {spare}\n.param spare=1",
            more=SPARE_VALUE + '\n[points]\nspare_one = { words = "the spare end", place = "engine" }\n',
        )
    )
    words = [one.words for one in findings if one.subject == "point"]
    assert words == ["point spare_one: its node spare_one is connected to nothing in any state"]


def test_a_fault_that_moves_nothing(spoil: Spoil) -> None:
    weak = (
        '\n[parts.movement]\nwords = "needle"\nkind = "movement"\n'
        'gauge = "temperature"\nplace = "behind_panel"\n'
        '[parts.movement.modes.weak]\nwords = "is weak"\nfactor = [0.8, 1.0]\ntypical = 0.9\nweight = 0.25\n'
        'found = ["sound"]\nsource = "assumed"\n'
    )
    findings = found(spoil(more=weak))
    assert [one.words for one in findings] == [
        "movement=weak moves nothing: no needle and no reading of any check shows it in any state"
    ]


def test_a_mark_off_by_more_than_a_fiftieth(spoil: Spoil) -> None:
    assert found(spoil(sheet=("{ at = 75, position = 0.52,", "{ at = 75, position = 0.53,"))) == []


def test_a_mark_off_by_a_twentieth(spoil: Spoil) -> None:
    findings = found(spoil(sheet=("{ at = 75, position = 0.52,", "{ at = 75, position = 0.57,")))
    assert [(one.subject, one.name) for one in findings] == [("mark", "temperature@75")]
    assert (
        "the sound temperature needle is at 0.52 where mark 75 of its scale is at 0.57" in findings[0].words
    )


def test_a_place_that_nothing_is_at(spoil: Spoil) -> None:
    attic = '\n[places.attic]\nwords = "in the attic"\nsetup_minutes = 5\nsource = "assumed"\n'
    assert [(one.subject, one.name) for one in found(spoil(more=attic))] == [("place", "attic")]


def test_a_gauge_whose_sender_has_no_lead(
    spoil: Spoil, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = spoil()
    shared = tmp_path / "shared" / "temperature_gauge.toml"
    lines = shared.read_text(encoding="utf-8").splitlines()
    shared.write_text(
        "\n".join(line for line in lines if not line.startswith("sender_lead = ")), encoding="utf-8"
    )
    findings = found(path)
    gauge = [one.words for one in findings if one.subject == "gauge"]
    assert gauge == ["the temperature gauge has no point sender_lead: what is asked there cannot be asked"]
    words = [one.words for one in findings if one.name == "sender_lead_volts"]
    assert len(words) == 1
    assert words[0].startswith("check sender_lead_volts cannot be done: ")
    assert {one.subject for one in findings} == {"gauge", "check"}
    # the card cannot be printed, but why is said
    assert main(["circuits", str(path)]) == 2
    assert "has no point sender_lead" in " ".join(capsys.readouterr().out.split())


def test_a_part_without_a_place_is_refused(spoil: Spoil, capsys: pytest.CaptureFixture[str]) -> None:
    path = spoil(
        sheet=(
            'element = "r.xtemperature.rfixed"\nplace = "behind_panel"\n',
            'element = "r.xtemperature.rfixed"\n',
        )
    )
    assert main(["circuits", str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "mine.toml: parts.coil_fixed.place: is missing" in err


def test_the_command_says_it(spoil: Spoil, capsys: pytest.CaptureFixture[str]) -> None:
    path = spoil(sheet=("{ at = 75, position = 0.52,", "{ at = 75, position = 0.57,"))
    assert main(["circuits", str(path), "--state", "key_on_cold"]) == 0
    out = capsys.readouterr().out
    end = out[out.index("WORTH A SECOND LOOK") :]
    assert "needle is at 0.52 where mark 75" in end
    assert max(map(len, end.splitlines())) <= 80
    assert main(["circuits", str(path), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert [one["name"] for one in data["review"]] == ["temperature@75"]


def test_a_sound_circuit_is_told_to_be_sound(spoil: Spoil, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["circuits", str(spoil()), "--state", "key_on_cold"]) == 0
    assert "nothing: wiring, sheet and scale go together" in capsys.readouterr().out


def test_a_shipped_circuit_is_only_described(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["circuits", "temp_two_coil", "--json"]) == 0
    assert "review" not in json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("typed", ["mine", "mien", "./mine", "./mine.toml"])
def test_ones_own_netlist_is_offered_where_one_stands(
    spoil: Spoil, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], typed: str
) -> None:
    monkeypatch.chdir(spoil().parent)
    assert main(["circuits", typed]) == 2
    assert capsys.readouterr().err == f"gaugesim: no circuit is called '{typed}'; did you mean mine.cir?\n"


def test_a_deleted_parameter_may_be_written_again(spoil: Spoil) -> None:
    with pytest.raises(SheetError, match=r"write \.param battery_volts=VALUE there, or did you"):
        circuits.read(spoil(netlist=(".param battery_volts=13.4\n", "")))


def test_a_copy_for_another_supply_names_what_was_left_at_the_old_volts(spoil: Spoil) -> None:
    path = spoil(netlist=(".param battery_volts=13.4", ".param battery_volts=26.8"))
    told = {one.subject: one.words for one in found(path)}
    assert {*told} == {"state", "gauge", "consumer", "netlist"}
    assert told["state"].startswith("the netlist's battery_volts are 26.8, and battery_volts of its states")
    assert "key_on_cold 12.5" in told["state"]
    assert "charging_volts 14.2" in told["netlist"]


def test_a_node_called_gnd_is_named_as_the_trap_that_it_is(spoil: Spoil) -> None:
    sender = "Rsender_ground sender_body "
    findings = found(spoil(netlist=(f"{sender}engine_block", f"{sender}GND")))
    words = [one.words for one in findings if one.name == "gnd"]
    assert len(words) == 1
    assert words[0].startswith("rsender_ground (mine.cir:")
    assert "SPICE takes gnd for node 0" in words[0]


def test_a_point_on_gnd_is_told_the_trap(spoil: Spoil) -> None:
    point = '\n[points.floor]\nwords = "floor"\nnode = "gnd"\nplace = "engine"\n'
    with pytest.raises(SheetError, match=r"points\.floor\.node: .*'gnd'.*SPICE takes gnd for node 0"):
        circuits.read(spoil(more=point))


def test_a_topology_that_does_not_match_its_coils_or_its_wiring(spoil: Spoil) -> None:
    topology = 'topology = "two-coil"'
    with pytest.raises(
        SheetError, match="topology: is 'three-coil', which has 3 coils, and 2 stand in coils"
    ):
        circuits.read(spoil(sheet=(topology, 'topology = "three-coil"')))


def test_a_topology_spelt_otherwise_is_named(spoil: Spoil) -> None:
    with pytest.raises(SheetError, match=r"topology: is 'Three_coil'; did you mean 'three-coil'\?"):
        circuits.read(spoil(sheet=('topology = "two-coil"', 'topology = "Three_coil"')))


def test_a_topology_of_the_same_coils_wired_otherwise(spoil: Spoil) -> None:
    findings = found(spoil(sheet=('topology = "two-coil"', 'topology = "two-coil series"')))
    assert len(findings) == 1
    assert "is 'two-coil series', and xtemperature (mine.cir:" in findings[0].words
    assert "is wired as 'two-coil'" in findings[0].words


def test_a_value_that_is_no_number_is_blamed_on_its_own_line(spoil: Spoil) -> None:
    path = spoil(netlist=(".param coil_fixed=", ".param coil_fixed=eighty*"))
    with pytest.raises(UnknownNameError, match=r"^mine\.cir:\d+: no parameter is called 'eighty'"):
        review(circuits.read(path))

"""The commands diagnose and plan: the contract of their JSON, and what a person is shown."""

import json
import math
from pathlib import Path

import pytest

from gaugesim.cli import main

CASES = Path(__file__).parents[2] / "netlists/cases"
# the faults of which one leads in each shipped case; which of them, what is said does not tell
LEADING = {
    "needles_up_before_start": {"harness_plug_ground=open", "panel_ground=open"},
    "climbs_with_the_lights": {"panel_connector_ground=high", "panel_ground=high"},
    "stuck_at_half": {"stud_bias=open"},
    "all_read_high": {"regulator=stuck_closed", "regulator_ground=open", "regulator=no_ground"},
    "cured_for_a_week": {"sender_connector=open", "sender_ground=open"},
    "which_movement": {"sender=open", "sender_connector=open", "sender_ground=open"},
}


_PRINTED: dict[tuple[str, ...], str] = {}


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What a command prints; what needs only shipped files is asked once."""
    if words not in _PRINTED:
        assert main(list(words)) == 0
        _PRINTED[words] = capsys.readouterr().out
    return _PRINTED[words]


def test_every_shipped_case_is_expected_here() -> None:
    assert {path.stem for path in CASES.glob("*.toml")} == set(LEADING)


@pytest.mark.parametrize("name", LEADING)
def test_diagnose_keeps_its_contract(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(printed(capsys, "diagnose", str(CASES / f"{name}.toml"), "--json"))
    required = {"circuit", "ranking", "circuits", "none_of_these", "groups", "next_check", "cautions"}
    assert required <= data.keys()
    assert data["ranking"][0]["fault"] in LEADING[name]
    assert len(LEADING[name]) == 1 or any(LEADING[name] <= set(group) for group in data["groups"])
    for suspect in data["ranking"]:
        keys = {"fault", "part", "mode", "probability", "words", "place", "repair_minutes", "explains"}
        assert keys <= suspect.keys()
        assert [one.split("=")[0] for one in suspect["fault"].split("+")] == suspect["part"].split("+")
    total = sum(suspect["probability"] for suspect in data["ranking"]) + data["none_of_these"]
    assert math.isclose(total, 1.0, abs_tol=1e-9)
    assert math.isclose(sum(data["circuits"].values()), 1.0, abs_tol=1e-9)
    probabilities = [suspect["probability"] for suspect in data["ranking"]]
    assert probabilities == sorted(probabilities, reverse=True)
    check = data["next_check"]
    assert {"check", "words", "minutes", "bits", "cautions", "outcomes"} <= check.keys()
    assert check["minutes"] > 0
    assert check["bits"] > 0
    known = {suspect["fault"] for suspect in data["ranking"]}
    for group in data["groups"]:
        assert len(group) > 1
        assert set(group) <= known


def test_two_readings_tell_movements_that_divide_the_supply(capsys: pytest.CaptureFixture[str]) -> None:
    """Free, the lead of the others has the battery's volts; how a gauge divides them varies with its make."""
    data = json.loads(printed(capsys, "diagnose", str(CASES / "which_movement.toml"), "--json"))
    assert data["circuit"] in ("temp_three_coil", "temp_bridge")
    assert data["circuits"]["temp_three_coil"] + data["circuits"]["temp_bridge"] > 0.95
    assert len(data["circuits"]) == 4


@pytest.mark.parametrize("name", LEADING)
def test_plan_keeps_its_contract(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(printed(capsys, "plan", str(CASES / f"{name}.toml"), "--json"))
    keys = {"circuit", "next_check", "tree", "expected_minutes", "lower_bound_minutes", "optimum_minutes"}
    assert keys <= data.keys()
    assert 0 < data["lower_bound_minutes"] <= data["expected_minutes"] * (1 + 1e-9)
    if data["optimum_minutes"] is not None:
        assert data["lower_bound_minutes"] <= data["optimum_minutes"] * (1 + 1e-9)

    def walk(node: dict, probability: float) -> None:
        assert math.isclose(node["probability"], probability, abs_tol=1e-9)
        children = node.get("outcomes", [])
        if children:
            below = sum(child["then"]["probability"] for child in children)
            assert math.isclose(below, probability, rel_tol=1e-6, abs_tol=1e-9)
            # what is to be expected is each outcome's own minutes and what it leaves to be expected
            ahead = sum(
                child["then"]["probability"]
                / below
                * (child["then"]["minutes"] - node["minutes"] + child["then"]["expected_minutes"])
                for child in children
            )
            assert math.isclose(node["expected_minutes"], ahead, rel_tol=1e-6)
        for child in children:
            assert child["then"]["minutes"] > node["minutes"]
            walk(child["then"], child["then"]["probability"])

    assert data["tree"]["expected_minutes"] == data["expected_minutes"]
    walk(data["tree"], 1.0)


@pytest.mark.parametrize("options", [(), ("--tree",)])
def test_a_person_is_told_the_minutes_that_a_program_is(
    capsys: pytest.CaptureFixture[str], options: tuple[str, ...]
) -> None:
    case = str(CASES / "cured_for_a_week.toml")
    data = json.loads(printed(capsys, "plan", case, "--json"))
    text = " ".join(printed(capsys, "plan", case, *options).split())
    assert (
        f"To the proven repair: {data['expected_minutes']:.0f} minutes to expect; "
        f"no plan takes less than {data['lower_bound_minutes']:.0f}. "
        f"Swapping parts in order of likelihood: {data['swap_parts_minutes']:.0f}."
    ) in text


@pytest.mark.parametrize("name", ["cured_for_a_week", "all_read_high", "stuck_at_half"])
def test_plan_says_what_each_suspect_would_show(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """By Bayes' rule that fits what each outcome leads to, and how likely the suspect is."""
    case = str(CASES / f"{name}.toml")
    ranking = json.loads(printed(capsys, "diagnose", case, "--all", "--json"))["ranking"]
    before = {entry["fault"]: entry["probability"] for entry in ranking}
    check = json.loads(printed(capsys, "plan", case, "--json"))["next_check"]
    outcomes = {entry["outcome"]: entry for entry in check["outcomes"]}
    compared = 0
    for told in check["expected_readings"]:
        outcome = outcomes[told["outcome"]]
        assert told["words"] == outcome["words"]
        after = {entry["fault"]: entry["probability"] for entry in outcome["leads_to"]}
        if told["fault"] in after:
            compared += 1
            suspected = after[told["fault"]] * outcome["probability"] / told["probability"]
            assert suspected == pytest.approx(before[told["fault"]], rel=0.02)
    assert compared >= 2
    text = " ".join(printed(capsys, "plan", case).split())
    for told in check["expected_readings"]:
        shown = f"- {told['suspect']}: {told['words']} ("
        assert (shown in text) or before[told["fault"]] < 0.06
    saved = check["minutes_saved"]
    assert ("Why: to mend something at once instead" in text) == (saved is not None and saved >= 0.5)
    assert not (saved is not None and "Quickest is to mend this at once" in text)


def test_a_person_is_shown_three_suspects_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    text = printed(capsys, "diagnose", str(CASES / "stuck_at_half.toml"))
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "nut on stud B (bias) is loose and makes no contact" in text
    assert "none of these" in text
    assert "! This advises and does not certify" in text


def test_a_really_hot_engine_is_warned_of(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = tmp_path / "hot.toml"
    case.write_text(
        'circuit = "temp_opposed_coil"\n[[seen]]\nstate = "running_warm"\nneedle = "reads_high"\n'
        '[[seen]]\nengine = "signs_of_heat"\n'
    )
    text = printed(capsys, "diagnose", str(case))
    assert "! The engine may really be hot" in text
    assert "really is high: the gauge is right" in text


def test_two_needles_of_which_neither_is_singled_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both are in the title, and that the engine may be hot stands first whichever was named first."""
    case = tmp_path / "both.toml"
    told = {"fuel": "reads_high", "temperature": "reads_high", "oil_pressure": "normal"}
    entries = "".join(
        f'[[seen]]\nstate = "running_warm"\ngauge = "{gauge}"\nneedle = "{needle}"\n'
        for gauge, needle in told.items()
    )
    case.write_text(f'circuit = "cluster_bimetal_5v"\n{entries}')
    title, caution = printed(capsys, "diagnose", str(case)).splitlines()[:2]
    assert title == "Fuel gauge and coolant temperature gauge (cluster_bimetal_5v)"
    assert caution.startswith("! The engine may really be hot")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "circuit"),
        ('circuit = "temp_oposed_coil"', "temp_opposed_coil"),
        ('circuit = "temp_opposed_coil"\n[[seen]]\nneedle = "hlaf"', "half"),
        ('circuit = "temp_opposed_coil"\n[[seen]]\nstate = "key_on_cld"\nneedle = "half"', "key_on_cold"),
        ('circuit = "temp_opposed_coil"\n[[measured]]\ncheck = "volt_at:stud_feed"\nvolts = 12', "volts_at"),
        ('circuit = "temp_opposed_coil"\n[[measured]]\ncheck = "unplug_sender"\nvolts = 12', "volts"),
        ('circuit = "temp_opposed_coil"\n[[inspected]]\npart = "sendr"\nfound = "loose"', "sender"),
        ('circuit = "temp_opposed_coil"\n[[seen]]\nneedle = [0.6, 0.4]', "lower end first"),
        ('circuit = "temp_opposed_coil"\n[[seen]]\nneedle = 3', "-0.5 to 1.5"),
        ("circuit = ", "TOML"),
    ],
)
def test_bad_input_gets_one_line(
    text: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = tmp_path / "case.toml"
    case.write_text(text)
    for command in ("diagnose", "plan"):
        assert main([command, str(case), "--json"]) == 2
        shown = capsys.readouterr()
        assert shown.out == ""
        assert len(shown.err.strip().splitlines()) == 1
        assert said in shown.err
        assert "case.toml" in shown.err

"""Finished cases kept in a folder, nothing overwritten, and counted by part and mode."""

from pathlib import Path

import pytest

from gaugesim.case import parse
from gaugesim.errors import CaseError
from gaugesim.paths import shipped_netlists
from gaugesim.records import cure_of, history_of, keep, past_repairs

STUCK = """
circuit = "temp_opposed_coil"
[[seen]]
state = "key_on_cold"
needle = "half"
[[seen]]
state = "running_warm"
needle = "half"
"""
NUT = (
    '[[inspected]]\npart = "stud_bias"\nfound = "loose"\n[[replaced]]\npart = "stud_bias"\nresult = "cured"\n'
)
FUEL = """
circuit = "cluster_air_core"
gauge = "fuel"
[[seen]]
state = "running_warm"
needle = "pegged_low"
[[measured]]
check = "ohms_across:sender_connector"
ohms = "open"
[[replaced]]
part = "sender_connector"
result = "cured"
"""


def written(folder: Path, name: str, text: str) -> Path:
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.toml"
    path.write_text(text)
    return path


def test_a_case_is_kept_word_for_word(tmp_path: Path) -> None:
    case = written(tmp_path, "stuck", f"# Tuesday, the blue boat\n{STUCK}{NUT}")
    target = keep(case, tmp_path / "finished")
    assert target == tmp_path / "finished" / "stuck.toml"
    assert target.read_bytes() == case.read_bytes()
    # once more does no harm
    assert keep(case, tmp_path / "finished") == target


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    folder = tmp_path / "finished"
    first = keep(written(tmp_path, "stuck", STUCK), folder)
    other = written(tmp_path, "stuck", STUCK + NUT)
    with pytest.raises(CaseError, match="is kept there already and is not overwritten; give it another name"):
        keep(other, folder)
    assert first.read_text() == STUCK
    assert keep(other, folder, "stuck_again") == folder / "stuck_again.toml"


def test_only_a_case_is_kept(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="circuit: is missing"):
        keep(written(tmp_path, "broken", "gauge = 'fuel'"), tmp_path / "finished")
    with pytest.raises(CaseError, match="without / in it"):
        keep(written(tmp_path, "stuck", STUCK), tmp_path / "finished", "../elsewhere")
    assert not (tmp_path / "finished").exists()


@pytest.mark.parametrize(
    ("results", "cured"),
    [
        ([], None),
        ([("sender", "no_change", 1)], None),
        ([("sender", "no_change", 1), ("stud_bias", "cured", 1)], "stud_bias"),
        ([("sender", "cured", 1), ("sender", "cured_for_a_while", 2)], None),
        # the later stage ended it, wherever it stands in the file
        ([("stud_bias", "cured", 3), ("sender", "cured_for_a_while", 2)], "stud_bias"),
    ],
)
def test_the_last_repair_ends_a_case(results: list[tuple[str, str, int]], cured: str | None) -> None:
    entries = [{"part": part, "result": result, "stage": stage} for part, result, stage in results]
    cure = cure_of(parse({"circuit": "temp_opposed_coil", "replaced": entries}))
    assert (cure.part if cure else None) == cured


def test_finished_cases_are_counted(tmp_path: Path) -> None:
    folder = tmp_path / "finished"
    written(folder, "a", STUCK + NUT)
    written(folder, "b", STUCK + NUT)
    written(folder, "c", FUEL)
    written(folder, "d", STUCK)
    written(folder, "e", "circuit = 3")
    written(folder, "f", STUCK.replace("temp_opposed_coil", "temp_oposed_coil") + NUT)
    history = history_of(folder)
    assert [path.stem for path in history.cured] == ["a", "b", "c"]
    assert [path.stem for path in history.open] == ["d"]
    assert {path.stem: "did you mean" in why for path, why in history.refused.items()} == {
        "e": False,
        "f": True,
    }
    by_part: dict[str, float] = {}
    for (part, _), count in history.counts.items():
        by_part[part] = by_part.get(part, 0.0) + count
    # a case counts once, whatever its part's ways to fail
    assert by_part == pytest.approx({"stud_bias": 2.0, "fuel_sender_connector": 1.0}, abs=0.03)
    counts = history.counts
    # half hot or cold without a jump is a nut that makes no contact; an open joint is open or now and then
    assert counts["stud_bias", "open"] > 1.5
    assert counts["fuel_sender_connector", "open"] > counts.get(("fuel_sender_connector", "high"), 0.0)


def test_a_whole_gauge_counts_for_what_was_wrong_inside(tmp_path: Path) -> None:
    folder = tmp_path / "finished"
    seen = '[[measured]]\ncheck = "head_ohms:stud_feed:stud_ground"\nohms = "open"\n'
    gauge = '[[replaced]]\npart = "gauge"\nresult = "cured"\n'
    written(folder, "a", f'circuit = "temp_two_coil"\n{seen}{gauge}')
    history = history_of(folder)
    (part, mode), count = max(history.counts.items(), key=lambda item: item[1])
    assert (part, mode) == ("coil_fixed", "open")
    assert count > 0.9


def test_a_folder_without_a_cure_teaches_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "finished"
    written(folder, "a", STUCK)
    written(folder, "b", "circuit = 3")
    with pytest.raises(
        CaseError, match=r"finished: none of its cases .* \(1 cannot be read\); a finished case"
    ):
        past_repairs(folder)


def test_no_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="there is no such folder"):
        history_of(tmp_path / "nowhere")


def test_the_shipped_cases_can_be_kept_and_counted(tmp_path: Path) -> None:
    folder = tmp_path / "finished"
    examples = sorted((shipped_netlists() / "cases").glob("*.toml"))
    for path in examples:
        keep(path, folder)
    history = history_of(folder)
    assert history.refused == {}
    assert len(history.cured) + len(history.open) == len(examples)

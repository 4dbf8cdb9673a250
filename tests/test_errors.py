"""The family of exceptions."""

import pickle

import pytest

from gaugesim import errors

FAMILY = {
    errors.NetlistError: ValueError,
    errors.SheetError: ValueError,
    errors.CaseError: ValueError,
    errors.UnknownNameError: LookupError,
    errors.OutOfRangeError: ValueError,
    errors.UnsolvableError: ArithmeticError,
    errors.EngineError: RuntimeError,
    errors.MissingPackageError: ImportError,
}


def test_the_table_above_is_the_whole_family() -> None:
    assert set(errors.GaugesimError.__subclasses__()) == set(FAMILY)


@pytest.mark.parametrize(("kind", "builtin"), FAMILY.items(), ids=lambda value: value.__name__)
class TestEveryError:
    def test_is_caught_as_its_builtin_and_as_the_family(
        self, kind: type[errors.GaugesimError], builtin: type[Exception]
    ) -> None:
        assert issubclass(kind, builtin)
        assert issubclass(kind, errors.GaugesimError)

    def test_is_one_plain_line(self, kind: type[errors.GaugesimError], builtin: type[Exception]) -> None:
        error = kind("the value is\n  negative", where="fuel.toml: parts.sender", remedy="give ohms above 0")
        assert str(error) == "fuel.toml: parts.sender: the value is negative; give ohms above 0"
        assert str(kind("the file is empty")) == "the file is empty"
        assert str(kind("the file is empty", "fuel.cir")) == "fuel.cir: the file is empty"

    def test_survives_the_way_to_another_process(
        self, kind: type[errors.GaugesimError], builtin: type[Exception]
    ) -> None:
        error = pickle.loads(pickle.dumps(kind("it is wrong", where="fuel.cir:3", remedy="make it right")))
        assert type(error) is kind
        assert (error.problem, error.where, error.remedy) == ("it is wrong", "fuel.cir:3", "make it right")


def test_location() -> None:
    assert errors.location("fuel.cir") == "fuel.cir"
    assert errors.location("fuel.cir", line=3) == "fuel.cir:3"
    assert errors.location("fuel.toml", key="scale") == "fuel.toml: scale"
    assert errors.location("fuel.toml", line=3, key="scale") == "fuel.toml:3: scale"


PARTS = ["sender", "sender_wire", "sender_connector", "engine_strap", "Fuse"]


@pytest.mark.parametrize(
    ("given", "first"),
    [
        ("sendr", "sender"),
        ("sender_conector", "sender_connector"),
        ("SENDER_WIRE", "sender_wire"),
        ("fuse", "Fuse"),
        ("strap", "engine_strap"),
        ("connector", "sender_connector"),
    ],
)
def test_the_nearest_name_comes_first(given: str, first: str) -> None:
    assert errors.nearest(given, PARTS)[0] == first


def test_nearest_is_empty_when_nothing_is_near() -> None:
    assert errors.nearest("flywheel", PARTS) == []
    assert errors.nearest("", PARTS) == []
    assert errors.nearest("sender", []) == []


def test_nearest_returns_no_name_twice_and_no_more_than_asked() -> None:
    assert sorted(errors.nearest("sender", PARTS)) == ["sender", "sender_connector", "sender_wire"]
    assert errors.nearest("sender", PARTS, most=1) == ["sender"]


def test_an_unknown_name_offers_the_nearest() -> None:
    error = errors.unknown_name("part", "fuze", PARTS, where="--fault")
    assert str(error) == "--fault: no part is called 'fuze'; did you mean Fuse?"


def test_an_unknown_name_offers_all_when_none_is_near() -> None:
    assert str(errors.unknown_name("state", "asleep", ["key_on", "key_off"])) == (
        "no state is called 'asleep'; there are key_off, key_on"
    )
    many = [f"part_{number:02}" for number in range(15)]
    assert str(errors.unknown_name("state", "zzz", many)).endswith("part_10, part_11 and 3 more")
    assert str(errors.unknown_name("state", "asleep", [])) == (
        "no state is called 'asleep'; there is no state here at all"
    )

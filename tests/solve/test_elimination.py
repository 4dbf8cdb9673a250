"""Resistances seen in large meshes against the inverse of their matrix and against hand values."""

import numpy as np
import pytest

from gaugesim.errors import UnknownNameError
from gaugesim.solve import elimination
from gaugesim.solve.elimination import TO_GROUND, resistances
from gaugesim.solve.network import Floats, Network, Path

SHAPES = {
    "line": [(k, k + 1) for k in range(299)],
    "tree": [((k - 1) // 3, k) for k in range(1, 300)],
    "star": [(hub, k) for hub in range(3) for k in range(3, 300)],
    "grid": [(k, k + 1) for k in range(299) if k % 15 < 14] + [(k, k + 15) for k in range(285)],
    "each to each": [(j, k) for k in range(70) for j in range(k)],
    "twice over": [(k, k + 1) for k in range(199)] + [(k + 1, k) for k in range(0, 199, 3)],
}


@pytest.mark.parametrize("name", SHAPES)
def test_resistances_are_those_of_the_inverse(name: str) -> None:
    ends = SHAPES[name]
    generator = np.random.default_rng(len(name))
    one, other = generator.permuted(np.array(ends), axis=1).T
    size = int(max(one.max(), other.max())) + 1
    # numbered without order
    shuffled = generator.permutation(size)
    one, other = shuffled[one], shuffled[other]
    siemens = 10 ** generator.uniform(-1, 1, len(one))
    grounded = np.where(generator.random(size) < 0.2, 10 ** generator.uniform(-1, 1, size), 0.0)
    grounded[0] = 1.0
    matrix = np.diag(grounded)
    for a, b, value in zip(one, other, siemens, strict=True):
        matrix[[a, b, a, b], [a, b, b, a]] += value * np.array([1.0, 1.0, -1.0, -1.0])
    inverse = np.linalg.inv(matrix)
    own = np.diagonal(inverse)
    seen = resistances(one, other, siemens, grounded)
    wanted = own[one] + own[other] - 2 * inverse[one, other]
    np.testing.assert_allclose(seen.at(one, other), wanted, rtol=1e-9)
    np.testing.assert_allclose(seen.at(other, one), wanted, rtol=1e-9)
    ground, every = np.full(size, TO_GROUND), np.arange(size)
    np.testing.assert_allclose(seen.at(every, ground), own, rtol=1e-9)
    np.testing.assert_allclose(seen.at(ground, every), own, rtol=1e-9)
    assert np.all(seen.at(np.append(every, TO_GROUND), np.append(every, TO_GROUND)) == 0)
    joined = set(zip(one, other, strict=True)) | set(zip(other, one, strict=True))
    strangers = [(0, k) for k in range(1, size) if (0, k) not in joined]
    assert np.all(np.isnan(seen.at(*np.array(strangers, dtype=int).reshape(-1, 2).T)))


def test_little_of_a_net_is_left_to_plain_elimination(monkeypatch: pytest.MonkeyPatch) -> None:
    left, plain = [], elimination._one_by_one

    def counting(mesh: elimination._Mesh) -> tuple[Floats, Floats]:
        left.append(len(mesh.grounded))
        return plain(mesh)

    monkeypatch.setattr(elimination, "_one_by_one", counting)
    side = 40
    node = np.arange(side * side).reshape(side, side)
    one = np.concatenate([node[:, :-1].ravel(), node[:-1].ravel()])
    other = np.concatenate([node[:, 1:].ravel(), node[1:].ravel()])
    resistances(one, other, np.ones(len(one)), np.ones(side * side))
    assert max(left) < 0.2 * side * side


def test_milliohms_beside_megohms_keep_their_digits() -> None:
    # a line that one end alone grounds: what is seen is plain addition
    size = 3000
    k = np.arange(size - 1)
    ohms = np.where(k % 2, 1e-4, 1e6)
    grounded = np.zeros(size)
    grounded[0] = 1 / 3.0
    seen = resistances(k, k + 1, 1 / ohms, grounded)
    np.testing.assert_allclose(seen.at(k, k + 1), ohms, rtol=1e-12)
    np.testing.assert_allclose(seen.to_ground, 3.0 + np.append(0.0, np.cumsum(ohms)), rtol=1e-11)


def test_numbers_of_several_names() -> None:
    network = Network.of([Path("battery", "a", "0", 0.0, 12.0), Path("lamp", "b", "a", 6.0)])
    assert network.node_numbers(["b", "0", "a"]).tolist() == [network.node(name) for name in ("b", "0", "a")]
    assert network.branch_numbers(["lamp", "battery"]).tolist() == [1, 0]
    with pytest.raises(UnknownNameError, match="no node is called 'c'"):
        network.node_numbers(["a", "c"])
    with pytest.raises(UnknownNameError, match=r"no branch is called 'lmp'; did you mean lamp\?"):
        network.branch_numbers(["battery", "lmp"])

"""The plan on one page."""

from collections.abc import Callable
from itertools import combinations

import numpy as np
import pytest
from matplotlib.axes import Axes

from gaugesim.draw import Page, TreeNode, draw_plan, plan_page

ACTIONS = (
    "Key on, pull the lead off the temperature sender, watch the needle",
    "look at the fuse",
    "voltmeter from the lead to battery negative",
)
OUTCOMES = ("pegged_high", "half", "14 V", "stays where it was whatever one does")


def random_plan(seed: int, depth: int = 4) -> TreeNode:
    random = np.random.default_rng(seed)

    def grown(probability: float, minutes: float, left: int) -> TreeNode:
        words = str(random.choice(ACTIONS))
        if left == 0 or random.random() < 0.1:
            return TreeNode(words, probability, minutes)
        shares = random.dirichlet(np.ones(int(random.integers(2, 5))))
        return TreeNode(
            words,
            probability,
            minutes,
            tuple(
                (str(random.choice(OUTCOMES)), grown(probability * share, minutes + 5, left - 1))
                for share in shares
            ),
        )

    return grown(1.0, 0.0, depth)


def leaf_weight(page: Page) -> float:
    return sum(box.probability for box in page.boxes if box.ends)


@pytest.mark.parametrize("seed", range(12))
def test_a_page_holds_the_whole_plan_legibly(seed: int, legible: Callable[[Axes], None]) -> None:
    page = plan_page(random_plan(seed))
    assert leaf_weight(page) == pytest.approx(1.0)
    assert sum(box.ends for box in page.boxes) <= 20
    for one, other in combinations(page.boxes, 2):
        apart = abs(one.middle - other.middle) >= (one.height + other.height) / 2
        assert apart or one.left + one.width < other.left or other.left + other.width < one.left
    for box in page.boxes:
        assert box.left >= 0
        assert box.left + box.width <= page.width
        assert box.height / 2 <= box.middle <= page.height - box.height / 2
    legible(draw_plan(page))


def test_a_small_plan_is_drawn_in_full() -> None:
    plan = TreeNode(
        "look at the fuse",
        1.0,
        0.0,
        (("blown", TreeNode("replace it", 0.3, 4.0)), ("sound", TreeNode("pull the lead", 0.7, 2.0))),
    )
    page = plan_page(plan)
    assert [box.lines for box in page.boxes] == [
        ("look at the fuse", "100 %, 0 min"), ("replace it", "30 %, 4 min"), ("pull the lead", "70 %, 2 min")
    ]  # fmt: skip
    assert [box.outcome for box in page.boxes] == [(), ("blown",), ("sound",)]
    assert [box.parent for box in page.boxes] == [-1, 0, 0]
    assert [box.ends for box in page.boxes] == [False, True, True]


def test_the_least_likely_branches_go_first() -> None:
    page = plan_page(random_plan(3, depth=5), leaves=10)
    assert sum(box.ends for box in page.boxes) <= 10
    assert leaf_weight(page) == pytest.approx(1.0)
    kept = max(page.boxes, key=lambda box: box.probability * box.ends)
    assert kept.lines[0] != "not drawn"


def test_a_heavier_line_leads_to_the_likelier() -> None:
    ax = draw_plan(
        plan_page(TreeNode("a", 1.0, 0.0, (("x", TreeNode("b", 0.9, 1.0)), ("y", TreeNode("c", 0.1, 1.0)))))
    )
    assert ax.lines[0].get_linewidth() > 2 * ax.lines[1].get_linewidth()

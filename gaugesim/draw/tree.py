"""The plan as a tree on one page: what to do, and what each outcome leads to."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gaugesim.draw.style import new_page, points_per_unit, text_width

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LETTERS = 7.0
_LINE = 8.8
_WRAP = 24
_OUTCOME_WRAP = 15
_PAD = 4.0
_GAP = 6.0
_MARGIN = 8.0
_MOST_LEAVES = 20
_REST = "less likely"


@dataclass(frozen=True)
class TreeNode:
    """A node of a plan: what to do, the chance of coming here [1], minutes spent by then, what follows."""

    label: str
    probability: float
    minutes: float
    children: tuple[tuple[str, TreeNode], ...] = ()


@dataclass(frozen=True)
class Box:
    """A node on the page, in points from the upper left corner.

    Attributes
    ----------
    parent : int
        Number of the box it hangs on; -1 for the first.
    """

    lines: tuple[str, ...]
    outcome: tuple[str, ...]
    probability: float
    left: float
    middle: float
    width: float
    height: float
    parent: int
    ends: bool


@dataclass(frozen=True)
class Page:
    """A plan laid out.

    Attributes
    ----------
    boxes : tuple of Box
        A parent before its children.
    width, height : float
        [point].
    """

    boxes: tuple[Box, ...]
    width: float
    height: float


def plan_page(root: TreeNode, leaves: int = _MOST_LEAVES) -> Page:
    """Lay a plan out from left to right.

    Parameters
    ----------
    leaves : int
        How many ends fit on the page; the least likely branches are put together beyond that [1].

    Examples
    --------
    >>> sender, wire = TreeNode("new sender", 0.6, 30.0), TreeNode("mend the wire", 0.4, 45.0)
    >>> ends = (("to the top", sender), ("stays", wire))
    >>> page = plan_page(TreeNode("ground the sender lead", 1.0, 0.0, ends))
    >>> [box.lines[0] for box in page.boxes], [box.parent for box in page.boxes]
    (['ground the sender lead', 'new sender', 'mend the wire'], [-1, 0, 0])
    """
    kept = _pruned(root, leaves)
    widths: dict[int, tuple[float, float]] = {}
    _measure(kept, "", 0, widths)
    lefts = [_MARGIN]
    for depth in range(len(widths)):
        outcome = widths[depth + 1][0] + 3 * _GAP if depth + 1 in widths else 0.0
        lefts.append(lefts[-1] + widths[depth][1] + outcome)
    boxes: list[Box] = []
    bottom = _place(kept, "", 0, -1, _MARGIN, lefts, widths, boxes)
    return Page(tuple(boxes), lefts[-1] + _MARGIN, bottom + _MARGIN - _GAP)


def _leaf_count(node: TreeNode) -> int:
    return sum(_leaf_count(child) for _, child in node.children) or 1


def _copied(node: TreeNode, floor: float) -> TreeNode:
    """The plan with branches below some probability put together."""
    if not node.children:
        return TreeNode(node.label, node.probability, node.minutes)
    low = [child for _, child in node.children if child.probability < floor]
    # one end by itself takes no more room than a note that it is left out
    left = low if len(low) > 1 or any(child.children for child in low) else []
    kept = [(outcome, child) for outcome, child in node.children if not any(child is each for each in left)]
    children = [(outcome, _copied(child, floor)) for outcome, child in kept]
    if left:
        weight = sum(child.probability for child in left)
        minutes = max(child.minutes for child in left)
        children.append((_REST, TreeNode("not drawn", weight, minutes)))
    return TreeNode(node.label, node.probability, node.minutes, tuple(children))


def _pruned(root: TreeNode, leaves: int) -> TreeNode:
    floor = 0.0
    result = _copied(root, floor)
    while _leaf_count(result) > leaves and floor < 1.0:
        floor = max(1.25 * floor, 1e-4)
        result = _copied(root, floor)
    return result


def _lines(node: TreeNode) -> tuple[str, ...]:
    facts = f"{node.probability:.0%}, {node.minutes:.0f} min"
    return (*textwrap.wrap(node.label, _WRAP), facts.replace("%", " %"))


def _outcome(words: str) -> tuple[str, ...]:
    return tuple(textwrap.wrap(words.replace("_", " "), _OUTCOME_WRAP))


def _measure(node: TreeNode, outcome: str, depth: int, widths: dict[int, tuple[float, float]]) -> None:
    """Widest outcome and widest box in each column."""
    own = max(text_width(line, _LETTERS, "bold") for line in _lines(node)) + 2 * _PAD
    words = max((text_width(line, _LETTERS) for line in _outcome(outcome)), default=0.0)
    before = widths.get(depth, (0.0, 0.0))
    widths[depth] = (max(before[0], words), max(before[1], own))
    for name, child in node.children:
        _measure(child, name, depth + 1, widths)


def _place(
    node: TreeNode,
    outcome: str,
    depth: int,
    parent: int,
    top: float,
    lefts: list[float],
    widths: dict[int, tuple[float, float]],
    boxes: list[Box],
) -> float:
    """Put a node and all below it on the page, and return where the next one may begin."""
    lines, words = _lines(node), _outcome(outcome)
    height = len(lines) * _LINE + 2 * _PAD
    room = max(height, len(words) * _LINE + _LINE) + _GAP
    number = len(boxes)
    boxes.append(
        Box(lines, words, node.probability, lefts[depth], 0.0, widths[depth][1], height, parent, False)
    )
    y, middles = top, []
    for name, child in node.children:
        first = len(boxes)
        y = _place(child, name, depth + 1, number, y, lefts, widths, boxes)
        middles.append(boxes[first].middle)
    middle = (middles[0] + middles[-1]) / 2 if middles else top + room / 2
    short = max(0.0, top + room / 2 - middle)  # a box may be taller than all that follows it
    for k in range(number + 1, len(boxes)):
        boxes[k] = replace(boxes[k], middle=boxes[k].middle + short)
    middle += short
    boxes[number] = replace(boxes[number], middle=middle, ends=not middles)
    return max(y + short, middle + room / 2)


def draw_plan(page: Page, ax: Axes | None = None, notes: Sequence[str] = ()) -> Axes:
    """Draw a plan.

    Examples
    --------
    >>> plan = TreeNode("look at the fuse", 1.0, 0.0, (("blown", TreeNode("replace it", 1.0, 4.0)),))
    >>> ax = draw_plan(plan_page(plan))
    >>> [text.get_text().splitlines()[0] for text in ax.texts]
    ['look at the fuse', 'replace it', 'blown']
    """
    from matplotlib.patches import FancyBboxPatch

    letters = int((page.width - 2 * _MARGIN) / (0.6 * _LETTERS))
    heading = [line for note in notes for line in textwrap.wrap(f"! {note}", letters)]
    top = 1.35 * _LETTERS * len(heading) + (_MARGIN if heading else 0.0)
    height = page.height + top
    ax = ax if ax is not None else new_page(page.width / 72, height / 72)
    ax.set_axis_off()
    ax.set(xlim=(0, page.width), ylim=(page.height, -top), aspect="equal")
    scale = points_per_unit(ax, page.width, height)
    for k, line in enumerate(heading):
        y = -top + _MARGIN + (k + 0.5) * 1.35 * _LETTERS
        ax.text(_MARGIN, y, line, va="center", fontsize=_LETTERS * scale, weight="bold")
    for box in page.boxes:
        style = "square,pad=0" if box.ends else "round,pad=0,rounding_size=5"
        ax.add_patch(
            FancyBboxPatch(
                (box.left, box.middle - box.height / 2), box.width, box.height, boxstyle=style,
                facecolor="0.9" if box.ends else "white", edgecolor="black", linewidth=0.8 * scale, zorder=2,
            )
        )  # fmt: skip
        text = "\n".join(box.lines)
        ax.text(box.left + _PAD, box.middle, text, va="center", fontsize=_LETTERS * scale, zorder=3)
        if box.parent < 0:
            continue
        above = page.boxes[box.parent]
        start, bend = above.left + above.width, above.left + above.width + _GAP
        heavy = (0.6 + 3.0 * box.probability) * scale
        path = [(start, above.middle), (bend, above.middle), (bend, box.middle), (box.left, box.middle)]
        ax.plot(*zip(*path, strict=True), color="0.35", linewidth=heavy, solid_joinstyle="miter", zorder=1)
        words = "\n".join(box.outcome)
        ax.text(
            bend + _GAP,
            box.middle - 2.0,
            words,
            va="bottom",
            fontsize=_LETTERS * scale,
            style="italic",
            zorder=3,
        )
    return ax

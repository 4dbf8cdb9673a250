"""The ranking after each piece of evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from gaugesim.arrays import Floats
from gaugesim.draw.labels import label_ends
from gaugesim.draw.style import line_style, marker_style, new_axes, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_OTHERS = "all others"


@dataclass(frozen=True)
class RankingSteps:
    """Probabilities of faults after each piece of evidence.

    Attributes
    ----------
    steps : tuple of str
        What was known: the first is before any evidence.
    probability : ndarray, shape (steps, faults)
        Each row sums to 1, or to less where other faults are left out.
    """

    steps: tuple[str, ...]
    faults: tuple[str, ...]
    probability: Floats


def course(
    steps: Sequence[str], faults: Sequence[str], probability: ArrayLike, most: int = 7
) -> RankingSteps:
    """Keep the faults worth a line of their own, and put the others together.

    The likeliest at the end first; last what is left to 1, where that is more than a thousandth anywhere.

    Parameters
    ----------
    probability : array_like, shape (steps, faults)
        [1].
    most : int
        How many faults to keep [1].

    Raises
    ------
    ValueError
        If the shapes do not fit, a value is no probability, or a row sums to more than 1.

    Examples
    --------
    >>> table = [[0.2, 0.5, 0.3], [0.8, 0.1, 0.1]]
    >>> kept = course(["at first", "lead grounded"], ["a", "b", "c"], table, most=1)
    >>> kept.faults, kept.probability.round(2).tolist()
    (('a', 'all others'), [[0.2, 0.8], [0.8, 0.2]])
    """
    table = np.asarray(probability, dtype=float)
    if table.shape != (len(steps), len(faults)) or not len(steps):
        raise ValueError(
            f"probability has shape {table.shape}; give one row a step, ({len(steps)}, {len(faults)})"
        )
    if not np.all((table >= 0) & (table <= 1)) or np.any(table.sum(axis=1) > 1 + 1e-9):
        raise ValueError("probabilities lie from 0 to 1 and each row sums to 1 at most")
    # who leads at the end, and who led on the way
    importance = table[-1] + 0.3 * table.max(axis=0)
    kept = np.argsort(-importance, kind="stable")[:most]
    kept = kept[np.argsort(-table[-1, kept], kind="stable")]
    names, columns = [faults[k] for k in kept], table[:, kept]
    rest = 1.0 - columns.sum(axis=1)
    if rest.max() > 1e-3:
        names.append(_OTHERS)
        columns = np.concatenate([columns, np.maximum(rest, 0.0)[:, None]], axis=1)
    return RankingSteps(tuple(steps), tuple(names), columns)


def draw_course(ranking: RankingSteps, ax: Axes | None = None) -> Axes:
    r"""Draw how the ranking moved with each piece of evidence.

    Examples
    --------
    >>> faults, table = ["stud B is loose", "sender is open"], [[0.3, 0.7], [0.9, 0.1]]
    >>> ax = draw_course(course(["at first", "needle at half"], faults, table))
    >>> [text.get_text() for text in ax.texts]
    ['stud B is loose: 90\xa0%', 'sender is open: 10\xa0%']
    """
    count = len(ranking.steps)
    ax = ax if ax is not None else new_axes(max(7.0, 3.6 + 1.15 * count), 5.2)
    places = np.arange(count)
    labels = []
    for i, words in enumerate(ranking.faults):
        style = line_style(i) | {"color": "black", "markersize": 5}
        if words == _OTHERS:
            style |= {"color": "0.45", "marker": "", "linestyle": "-"}
        column = ranking.probability[:, i]
        ax.plot(places, column, linewidth=2.0 if i == 0 else 1.2, gid=words, **style)  # type: ignore[arg-type]
        marker = {"marker": "_"} if words == _OTHERS else marker_style(i)
        last = f"{100 * column[-1]:.0f}" if column[-1] >= 0.01 else "below 1"
        labels.append((float(column[-1]), f"{words}: {last}\N{NO-BREAK SPACE}%", marker))
    end = max(count - 1, 1)
    width = 0.62 * max(3.0, end)
    ax.set(xlim=(-0.15, end + width), ylim=(-0.02, 1.02))
    ax.set_xticks(places, [wrapped(step, 15) for step in ranking.steps], fontsize=8)
    ax.set_yticks(np.linspace(0, 1, 6), [f"{share:.0%}" for share in np.linspace(0, 1, 6)])
    ax.spines[["top", "right"]].set_visible(False)
    ax.spines.bottom.set_bounds(-0.15, end)
    ax.grid(axis="y", color="0.9", zorder=0)
    ax.set_ylabel("probability")
    label_ends(ax, labels, x=end, size=8.0, span=(0.0, 1.0), wrap=34, gap=0.025)
    return ax

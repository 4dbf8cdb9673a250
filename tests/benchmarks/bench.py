"""One frame of the bench on every shipped circuit: from a moved slider to the drawn picture.

    python tests/benchmarks/bench.py [FRAMES]

Every frame moves one slider, drawn at random, and draws the whole figure. Processor time and the clock, in
milliseconds: a busy machine lengthens the clock only.
"""

import sys
import time

import numpy as np
from matplotlib.figure import Figure

from gaugesim.circuit import available, find
from gaugesim.draw import Bench
from gaugesim.draw.bench import SIZE


def frames(bench: Bench, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Processor time and clock of each frame, shape (count,) [s]."""
    random = np.random.default_rng(1)
    spent, clock = np.empty(count), np.empty(count)
    for k in range(count):
        which = random.choice(bench._panel._sliders)
        value = random.uniform(which.valmin, which.valmax)
        before, start = time.process_time(), time.perf_counter()
        which.set_val(round(value) if which.valstep else value)  # this canvas draws at once
        spent[k], clock[k] = time.process_time() - before, time.perf_counter() - start
    return spent, clock


def window() -> Figure:
    """A figure as large as the bench's window at a hundred dots an inch, drawn by the same library."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    figure = Figure(figsize=SIZE, dpi=100)
    FigureCanvasAgg(figure)
    return figure


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    print(f"{'circuit':26}{'processor ms':^26}{'clock ms':^26}")
    print(f"{'':26}{'median':>8} {'95 %':>8} {'worst':>8} {'median':>8} {'95 %':>8} {'worst':>8}")
    for name in available():
        circuit = find(name)
        bench = Bench(circuit, figure=window())
        bench.figure.canvas.draw()
        texts = []
        for times in frames(bench, count):
            low, high = np.percentile(1e3 * times, [50, 95])
            texts.append(f"{low:8.1f} {high:8.1f} {1e3 * times.max():8.1f}")
        print(f"{circuit.id:26}{' '.join(texts)}", flush=True)


if __name__ == "__main__":
    main()

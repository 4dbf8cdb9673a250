"""The bench: sliders for what goes on and what is wrong; needles, voltages and the meter follow at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from gaugesim.circuit import Circuit
from gaugesim.draw.background import Still
from gaugesim.draw.bench_settings import (
    NONE,
    BenchOptions,
    Setting,
    hidden_fault,
    on_sliders,
    reading_words,
    setting_scene,
    severity_words,
    share_of,
)
from gaugesim.draw.dial import Dial, DialView, dials
from gaugesim.draw.list_search import found_by, next_of
from gaugesim.draw.live import LiveSchematic
from gaugesim.draw.on_paper import draw_on_paper
from gaugesim.draw.panel import Control, Panel, list_slider
from gaugesim.draw.scenes import Scene
from gaugesim.draw.schematics import Schematic, schematic
from gaugesim.draw.style import wrapped
from gaugesim.errors import GaugesimError
from gaugesim.files import write_files
from gaugesim.scenario.caution import check_cautions
from gaugesim.scenario.fault import find_fault
from gaugesim.sheet import Quantity

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.figure import Figure

SIZE = (15.0, 9.0)  # of the window [inch]
_UNITS = {"celsius": "°C", "1": ""}
_NAMES = ("fault", "second fault")


class Bench:
    """A circuit to play with, in a window, in a notebook or on paper.

    Parameters
    ----------
    faults : sequence of str
        As for `scene`; the first two that have a mode are on the sliders.
    gauge : str, optional
        The gauge whose branch alone is drawn, large; the whole circuit, with all its gauges, if left out.
    hide : int, optional
        Seed of a fault that is there but not shown until `reveal`.
    figure : matplotlib.figure.Figure, optional
        A window's or a notebook's; one without a window if left out.

    Attributes
    ----------
    drawn : str or None
        The gauge whose branch is drawn; None where all are.
    hidden : str
        The hidden fault, ``""`` without one.

    Examples
    --------
    >>> from gaugesim.circuit import find
    >>> bench = Bench(find("temp_opposed_coil"), faults=["stud_bias=open"])
    >>> bench.choose(values={"coolant_celsius": 110.0})
    >>> round(bench.scene.seen.needles["temperature"].position, 3)
    0.5
    """

    def __init__(
        self,
        circuit: Circuit,
        state: str | None = None,
        check: str = NONE,
        faults: Sequence[str] = (),
        given: Mapping[str, float] | None = None,
        gauge: str | None = None,
        hide: int | None = None,
        figure: Figure | None = None,
    ) -> None:
        self.circuit, self.gauge = circuit, circuit.gauge(gauge).id
        self.drawn = self.gauge if gauge or len(circuit.sheet.gauges) == 1 else None
        self.choices = BenchOptions(circuit, self.gauge, whole=self.drawn is None)
        self.figure = _plain_figure() if figure is None else figure
        self._typed, self._list = "", "fault"
        self._is_seen = figure is not None  # else it is drawn when it is saved, and not before
        state = state or circuit.sheet.default_state
        self.hidden = NONE if hide is None else hidden_fault(circuit, self.gauge, hide, state)
        self.revealed = not self.hidden
        moved, others = on_sliders(circuit, faults, self.gauge)
        others = (*others, self.hidden) if self.hidden else others
        self.setting = Setting(state, self.choices.known_check(check), dict(given or {}), moved, others)
        self.scene: Scene = setting_scene(circuit, self.gauge, self.setting)
        self._build()
        self.figure.canvas.mpl_connect("resize_event", self._resized)
        self.figure.canvas.mpl_connect("key_press_event", self._key)
        self.figure.canvas.mpl_connect("button_press_event", self._press)

    def choose(
        self,
        state: str | None = None,
        check: str | None = None,
        values: Mapping[str, float] | None = None,
        faults: Sequence[str] | None = None,
    ) -> None:
        """Set what is shown, as the sliders do.

        Parameters
        ----------
        state : str, optional
            Its own process values come with it.
        check : str, optional
            ``""`` for none.
        faults : sequence of str, optional
            Instead of those there are, but for a hidden one.

        Raises
        ------
        CaseError, UnknownNameError
            What is wrong and what would be right; the bench then stays as it was.
        """
        setting = self.setting
        if state is not None:
            setting = replace(setting, state=state, values={})
        if check is not None:
            setting = replace(setting, check=self.choices.known_check(check))
        if values is not None:
            setting = replace(setting, values={**setting.values, **values})
        if faults is not None:
            moved, others = on_sliders(self.circuit, faults, self.gauge)
            setting = replace(setting, faults=moved, others=(*others, self.hidden) if self.hidden else others)
        self._apply(setting)
        for which, control in enumerate(self._controls()):
            self._panel.put(which, control.start)

    def reveal(self) -> None:
        """Show the hidden fault, and every voltage and current with it."""
        self.revealed = True
        if self.hidden:
            moved, others = on_sliders(self.circuit, [self.hidden], self.gauge)
            rest = tuple(text for text in self.setting.others if text != self.hidden)
            self.setting = replace(self.setting, faults=moved, others=(*rest, *others))
            self.scene = setting_scene(self.circuit, self.gauge, self.setting)
        self._build_anew()
        self._draw()

    def save(self, path: Path | str, dpi: float = 150.0, replace: bool = True) -> None:
        """Draw a still of the bench, without its sliders, into a file.

        Parameters
        ----------
        path : path
            Its ending says which kind: .png, .pdf, .svg.
        dpi : float
            Dots in an inch, of an image [1].
        """
        path, shown = Path(path), [*self._set_lines(), *self._message()]
        figure = draw_on_paper(self._title(), shown, self._shown_dials(), self._picture(), self.revealed)
        write_files({path: _written(figure, path.suffix.lower().removeprefix("."), dpi)}, replace)

    def _repr_png_(self) -> bytes:
        with self._still.awake():
            return _written(self.figure, "png", 80.0)

    def _set_lines(self) -> list[str]:
        """What the sliders say of state, values and faults."""
        quantities = self.choices.quantities
        values = [
            f"{each.words}: {self._value_words(each)}"
            for each in quantities
            if each.id in self.setting.values
        ]
        faults = [self._fault_words(k) for k, (fault, _) in enumerate(self.setting.faults) if fault]
        return [self._state_words(), *values, *(f"Fault: {words}" for words in faults)]

    def _title(self) -> str:
        several = self.drawn and len(self.circuit.sheet.gauges) > 1
        branch = f": {self.circuit.gauge(self.drawn).words}" if several else ""
        return f"{self.circuit.sheet.words}{branch}"

    def _build(self) -> None:
        """Draw everything anew, at the figure's size."""
        self.figure.clear()
        self._size = tuple(self.figure.get_size_inches())
        right = self.figure.add_axes((0.4, 0.01, 0.595, 0.98))
        left = self.figure.add_axes((0.01, 0.645, 0.38, 0.3))
        self._circuit = LiveSchematic(self._picture(), right, self.revealed)
        self._dials = DialView(self._shown_dials(), left)
        buttons = {} if self.revealed else {"reveal the fault": self.reveal}
        self._panel = Panel(self.figure, (0.01, 0.012, 0.38, 0.625), self._controls(), buttons)
        title = wrapped(self._title(), 66)
        size = 8.5 * min(self._size[0] / SIZE[0], self._size[1] / SIZE[1])
        self.figure.text(0.012, 0.985, title, va="top", fontsize=size, weight="bold")
        self._panel.write(self._message())
        moving: list[Artist] = [*self._circuit.moving, *self._dials.moving, *self._panel.moving]
        self._still = Still(self.figure, moving)

    def _build_anew(self) -> None:
        self._panel.close()
        self._build()

    def _apply(self, setting: Setting) -> None:
        """Show another setting, in place."""
        self.scene, self.setting = setting_scene(self.circuit, self.gauge, setting), setting
        self._circuit.renew(self._picture())
        self._dials.renew(self._shown_dials())
        self._panel.write(self._message())
        self._draw()

    def _draw(self) -> None:
        if self._is_seen:
            self.figure.canvas.draw_idle()

    def _picture(self) -> Schematic:
        shown = self.scene
        if not self.revealed:  # even a switch that stands open would give it away
            others = tuple(text for text in self.setting.others if text != self.hidden)
            shown = setting_scene(self.circuit, self.gauge, replace(self.setting, others=others))
        return schematic(shown, self.drawn, fixed=True)

    def _shown_dials(self) -> list[Dial]:
        shown = dials(self.scene)
        # what really goes on would give a hidden fault of the process away
        return [dial if self.revealed else replace(dial, truth=None) for dial in shown]

    def _controls(self) -> list[Control]:
        choices, setting = self.choices, self.setting
        result = [list_slider("state", choices.states, setting.state, self._state_words, self._set_state)]
        given = self.circuit.parameters(setting.state, setting.values)
        values = self.circuit.parameter_values(given)
        for each in choices.quantities:
            start = float(np.clip(float(values[each.id]), each.low, each.high))
            name = each.id.removesuffix(f"_{each.unit}").removesuffix("_volts").replace("_", " ")
            show, move = partial(self._value_words, each), partial(self._set_value, each.id)
            result.append(Control(name, each.low, each.high, start, show, move))
        result.append(list_slider("check", choices.checks, setting.check, self._check_words, self._set_check))
        for which, name in enumerate(_NAMES) if self.revealed else ():
            fault, share = setting.faults[which]
            words, moved = partial(self._fault_words, which), partial(self._set_fault, which)
            result.append(list_slider(name, choices.faults, fault, words, moved))
            show, move = partial(self._severity_words, which), partial(self._set_severity, which)
            result.append(Control("    how bad", 0.0, 1.0, share, show, move))
        return result

    def _state_words(self) -> str:
        return self.circuit.sheet.states[self.setting.state].words

    def _check_words(self) -> str:
        check = self.scene.situation.check
        return check.words if check.id else "none"

    def _value_words(self, quantity: Quantity) -> str:
        values = self.circuit.parameter_values(self.scene.situation.parameters)
        unit = _UNITS.get(quantity.unit, quantity.unit)
        return f"{float(values[quantity.id]):.3g} {unit}".strip()

    def _fault_words(self, which: int) -> str:
        fault = self.setting.faults[which][0]
        return find_fault(self.circuit, fault).words if fault else "none"

    def _severity_words(self, which: int) -> str:
        return severity_words(self.circuit, *self.setting.faults[which])

    def _set_state(self, state: str) -> None:
        self.choose(state=state)

    def _set_check(self, check: str) -> None:
        self._apply(replace(self.setting, check=check))

    def _set_value(self, name: str, value: float) -> None:
        self._apply(replace(self.setting, values={**self.setting.values, name: value}))

    def _set_fault(self, which: int, fault: str) -> None:
        self._apply(self.setting.with_fault(which, fault, self.setting.faults[which][1]))

    def _set_severity(self, which: int, share: float) -> None:
        self._apply(self.setting.with_fault(which, self.setting.faults[which][0], share))

    def _message(self) -> list[str]:
        """What the meter reads, what was done, what to beware of."""
        check = self.scene.situation.check
        lines = [check.words] if check.id else []
        lines += reading_words(self.scene.seen.reading)
        if self._typed:
            lines.insert(0, f"Typed for the {self._list}: {self._typed}")
        if self.revealed:
            others = [words for name, words in self.scene.faults.items() if name in self.setting.others]
            lines += [f"Fault: {words}" for words in others]
            lines += self._circuit.shown.back_words
        else:
            lines.append("A fault is hidden: find it by the needles and by checks.")
        cautions = check_cautions(self.circuit, check, self.setting.state)
        return lines + [f"! {caution.words}" for caution in cautions]

    def _resized(self, _event: Any) -> None:
        if tuple(self.figure.get_size_inches()) != self._size:
            self._build_anew()

    def _key(self, event: Any) -> None:
        """Arrows step the slider last moved; letters find a fault or, after a tab, a check."""
        if event.key in ("left", "right"):
            self._panel.step(1 if event.key == "right" else -1)
            return
        if event.key == "tab":
            self._typed, self._list = "", "check" if self._list == "fault" else "fault"
        elif event.key == "escape":
            self._typed = ""
        elif event.key == "backspace":
            self._typed = self._typed[:-1]
        elif event.key and len(event.key) == 1 and event.key.isprintable():
            self._typed += event.key
        else:
            return
        kind = self._list if self.revealed else "check"
        name = found_by(
            self._typed, self.choices.check_words if kind == "check" else self.choices.fault_words
        )
        if name is not None and kind == "check":
            self.choose(check=name)
        elif name is not None:
            self._put_fault(name)
        else:
            self._apply(self.setting)

    def _press(self, event: Any) -> None:
        """A part that is clicked fails, in each of its ways in turn, then it is sound again."""
        name = self._circuit.part_at(event)
        if name and self.revealed:
            self._put_fault(next_of(self.setting.faults[0][0], self.choices.faults_of(name)))

    def _put_fault(self, fault: str) -> None:
        """Make it the first of the faults, of its typical severity."""
        severity = find_fault(self.circuit, fault).mode.severity if fault else None
        share = share_of(severity, severity.typical) if severity else 0.5
        self._apply(self.setting.with_fault(0, fault, share))
        for which, control in enumerate(self._controls()):
            self._panel.put(which, control.start)


def open_bench(circuit: Circuit, **options: Any) -> Bench:
    """A bench in a window of its own, or in a notebook's cell that has interactive figures.

    Keep it while the window is open; ``matplotlib.pyplot.show()`` waits until it is closed.
    """
    from matplotlib import pyplot

    figure = pyplot.figure(figsize=SIZE)
    manager = figure.canvas.manager
    keys = None if manager is None else manager.key_press_handler_id
    if keys is not None:  # the window's own keys would save or close it while a person types
        figure.canvas.mpl_disconnect(keys)
    try:
        return Bench(circuit, figure=figure, **options)
    except GaugesimError:  # no empty window is left
        pyplot.close(figure)
        raise


def _written(figure: Figure, kind: str, dpi: float) -> bytes:
    """A figure as the content of a file."""
    from io import BytesIO

    buffer = BytesIO()
    figure.savefig(buffer, format=kind, dpi=dpi)
    return buffer.getvalue()


def _plain_figure() -> Figure:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=SIZE)
    FigureCanvasAgg(figure)
    return figure

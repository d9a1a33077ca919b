"""The exploration window itself: what keys and widgets do, the clock, and one frame as a picture."""

import io
from dataclasses import replace
from time import perf_counter

from lostneutral.consequences import cautions
from lostneutral.errors import UsageError
from lostneutral.report.drawing import styled
from lostneutral.teaching.window import settings as moves
from lostneutral.teaching.window.frame import Rated, frame, words
from lostneutral.teaching.window.session import Session
from lostneutral.teaching.window.view import View

TICK = 0.04  #: s between two looks at the clock
LONGEST_TICK = 0.1  #: s of the circuit's time at most for one look, so that a slow machine does not jump
SIZE = (10.0, 6.9)  #: inches at 100 dots each: fits a screen of 1024 × 768
SPARED = 70  #: dots of the screen's height that title bar and task bar need
STILL_SIZE = (12.8, 8.0)
ROOM = 1.2  #: half the width of the triangle's plane, in the length of the longest phasor of the supply


class Window:
    """A session drawn on a figure; keys and widgets change it. Works on any canvas, with a screen or without.

    Without `whole` it does not wait for all settled states to be found: they come while it is seen.
    """

    def __init__(self, case, figure, whole=True):
        self.session, self.figure, self.canvas = Session(case, whole), figure, figure.canvas
        self.rated, self.view = Rated(), None
        self.keys = {
            "n": self._move(moves.switch_neutral), "left": self._move(moves.step_ohms, False),
            "right": self._move(moves.step_ohms, True), "up": self._move(moves.choose_load, -1),
            "down": self._move(moves.choose_load, 1), " ": lambda: self.act("switch", self.settings.load),
            "+": self._move(moves.step_factor, True), "=": self._move(moves.step_factor, True),
            "-": self._move(moves.step_factor, False), "r": self._again, "p": self._move(moves.switch_predict),
            "enter": self._move(moves.switch_hidden), "t": self._move(moves.next_pace),
            "s": lambda: self.act("state", None), "o": lambda: self.act("point", None),
            "pageup": self._move(moves.turn_page, -1), "pagedown": self._move(moves.turn_page, 1)}
        self._build()
        figure.canvas.mpl_connect("draw_event", lambda _: self._drawn())
        figure.canvas.mpl_connect("resize_event", lambda _: self._resized())
        figure.canvas.mpl_connect("key_press_event", lambda event: self.press(event.key))

    @property
    def settings(self):
        """What is set now."""
        return self.session.settings

    @property
    def frame(self):
        """What is to be seen now."""
        return frame(self.session, self.rated)

    def press(self, key):
        """Do what `key` stands for; other keys do nothing."""
        if key in self.keys:
            self.keys[key]()

    def act(self, name, value):
        """Do what a widget asks for."""
        settings = self.settings
        self.take({"neutral": lambda: moves.switch_neutral(settings), "ohms": lambda: moves.with_ohms(settings, value),
                   "switch": lambda: moves.switch_load(settings, value),
                   "factor": lambda: moves.with_factor(settings, *value),
                   "predict": lambda: moves.switch_predict(settings), "hidden": lambda: moves.switch_hidden(settings),
                   "pace": lambda: moves.next_pace(settings),
                   "state": lambda: moves.next_state(settings, len(self.session.solutions)),
                   "point": lambda: moves.next_point(settings, len(self.session.case.points)),
                   "page": lambda: _page_round(settings)}[name]())

    def take(self, settings):
        """Take new settings and show what follows."""
        before = self.settings
        self.session.change(settings)
        if (settings.page, settings.point) != (before.page, before.point):
            self._build()
            self.canvas.draw_idle()
        else:
            self.refresh()

    def tick(self, seconds):
        """Let `seconds` go by on the wall's clock."""
        if self.session.tick(min(seconds, LONGEST_TICK)):
            self.refresh()

    def refresh(self):
        """Show how things stand, by drawing what moves."""
        now = self.frame
        if set(now.corners) != set(self.view.phasors) or _reach(self.session, now) != self.view.reach:
            self._build()
            self.canvas.draw_idle()
            return
        self.view.show(now, self.settings)
        self.view.draw_moving(self.canvas)

    def _build(self):
        now = self.frame
        if self.view:
            self.view.close()
        self.view = View(self.figure, now, self.settings, _reach(self.session, now), self.act)
        self.view.show(now, self.settings)

    def _drawn(self):
        if self.figure.canvas is self.canvas and not self.canvas.is_saving():
            self.view.drawn_whole(self.canvas)

    def _resized(self):
        self._build()
        self.canvas.draw_idle()

    def _move(self, move, *arguments):
        return lambda: self.take(move(self.settings, *arguments))

    def _again(self):
        """Go back to the case, with what is shown and how as it was."""
        start = moves.first(self.session.given)
        self.take(replace(self.settings, ohms=start.ohms, on=start.on, factors=start.factors, state=0,
                          hidden=self.settings.predict))


def _page_round(settings):
    further = moves.turn_page(settings, 1)
    return replace(settings, load=0) if further is settings else further


def _reach(session, now):
    """Return how far the plane of phasors has to go, V: wider by steps when the star point leaves it."""
    longest = max(abs(z) for z in session.case.supply.phasors.values())
    reach, far = ROOM * longest, max((abs(z) for _, z in (("", now.star or 0j), *now.ghosts)), default=0.0)
    while far > 0.95 * reach and reach < 1e4 * longest:
        reach *= 1.5
    return reach


def still(case, kind="png"):
    """Return (picture as bytes, its text) of the window on `case` as it stands: a "png" or an "svg", without a screen."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with styled():
        figure = Figure(figsize=STILL_SIZE, dpi=100)
        FigureCanvasAgg(figure)
        window = Window(case, figure)
        out = io.BytesIO()
        figure.savefig(out, format=kind, metadata={"Software": None} if kind == "png" else {"Date": None, "Creator": None})
    return out.getvalue(), words(window.frame, cautions(case))


def open_window(case):
    """Open the window on `case` and return when it is closed. UsageError where no window can be opened."""
    with styled():
        import matplotlib
        # The keys are the window's own.
        matplotlib.rcParams.update({name: [] for name in matplotlib.rcParams if name.startswith("keymap.")})
        matplotlib.rcParams.update({"keymap.fullscreen": ["f"], "keymap.quit": ["q"], "toolbar": "None"})
        plt, figure = _figure()
        _fill_the_screen(figure.canvas.manager)
        window = Window(case, figure, whole=False)
        figure.canvas.manager.set_window_title(f"{case.title} – broken neutral")
        last = perf_counter()

        def look():
            nonlocal last
            now = perf_counter()
            window.tick(now - last)
            last = now

        figure.canvas.draw_idle()
        timer = figure.canvas.new_timer(interval=int(1000 * TICK))
        timer.add_callback(look)
        timer.start()
        plt.show(block=True)


def _fill_the_screen(manager):
    """Make the window as large as the screen has room for, where the toolkit tells the screen's size."""
    screen = getattr(manager, "window", None)
    if hasattr(screen, "winfo_screenwidth"):
        screen.deiconify()
        screen.update()  # only a window that is there knows how many dots a point has
        manager.resize(int(0.99 * screen.winfo_screenwidth()), screen.winfo_screenheight() - SPARED)
        screen.update()


def _figure():
    try:
        import matplotlib.pyplot as plt

        figure = plt.figure(figsize=SIZE, dpi=100)
        if getattr(figure.canvas, "required_interactive_framework", None) is not None:
            return plt, figure
        why = f"matplotlib's backend is {plt.get_backend()}, which has no window"
    except Exception as error:  # noqa: BLE001 - each toolkit has errors of its own for a screen that is not there
        why = " ".join(str(error).split())
    raise UsageError(
        f"No window can be opened here: {why}.\n"
        "On a machine with a screen, install a toolkit for windows that Python can use (tkinter; on many systems the "
        "package python3-tk), and leave MPLBACKEND unset.\n"
        "Without a screen, draw one frame: lostneutral explore CASE --still frame.png")

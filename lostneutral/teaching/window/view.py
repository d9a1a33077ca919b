"""How a frame is drawn: a figure with its widgets; of what moves only the panels that changed are drawn anew."""

from math import log2, nan
from textwrap import wrap

from matplotlib.patches import Rectangle
from matplotlib.transforms import Bbox, TransformedBbox
from matplotlib.widgets import Button, CheckButtons, Slider

from lostneutral.report.drawing import DASHES, HATCHES, INK, SOFT, colour, label
from lostneutral.report.figures import clearest
from lostneutral.report.glyphs import printable
from lostneutral.report.words import connection, number, significant
from lostneutral.teaching.window import settings as moves

SMALLEST = 1 / 57  #: size of the smallest text, as a share of the window's height: 12 dots in 700, 18 in 1010
LARGE = 1 / 13  #: of the readings
TALL = 9 / 16  #: height over width of the proportions that texts are sized for; a narrower window has smaller ones
FULL = 4.0  #: times rated at which a bar is as long as its scale
WIDE, NOTES = 50, 5  #: letters and lines that notes have room for
KEYS = ("n neutral · ← → joint · ↑ ↓ choose load · space on/off · + − power · r as in the case · p predict first · "
        "Enter show/hide · t time · s settled state · o point · Page ↑ ↓ loads · f full screen · q quit")
BUTTONS = ("neutral", "predict", "hidden", "pace", "state", "point", "page")
GROUND, FIELD, MARK = "#ffffff", "#f0f0f0", "#ffe9a8"
_MARK, _LEFT, _BARS, _BAR_END, _SAID, _POWER, _POWER_END = 0.352, 0.364, 0.578, 0.728, 0.735, 0.886, 0.925
_PLANE = 0.34  #: right edge of the triangle's part
_TOP, _BOTTOM = 0.83, 0.315  #: of the loads


class _QuietSlider(Slider):
    drawon = False  # from the beginning: a slider that is being made would have the whole figure drawn


class Panel:
    """A part of the window: what stands in it is kept as a picture, what moves is drawn over that when it changed."""

    def __init__(self, figure, left, bottom, right, top):
        self.box = TransformedBbox(Bbox([[left, bottom], [right, top]]), figure.transFigure)
        self.artists, self.background = [], None

    @property
    def changed(self):
        """Whether an artist was changed since it was drawn."""
        return any(artist.stale for artist in self.artists)

    def keep(self, canvas):
        """Keep the picture that the canvas has here."""
        self.background = canvas.copy_from_bbox(self.box)

    def draw(self, canvas):
        """Draw what moves over the kept picture."""
        canvas.restore_region(self.background)
        for artist in self.artists:
            artist.axes.draw_artist(artist)


class View:
    """The window's contents on `figure`, for the loads of one page; `show(frame)` brings it up to date.

    `act(name, value)` is called with what the widgets ask for. Nothing is worked out here.
    """

    def __init__(self, figure, frame, settings, reach, act):
        self.figure, self.act, self.reach = figure, act, reach
        self.panels, self.frame, self.drawn = [], frame, False
        width, height = figure.get_size_inches() * figure.dpi
        self.unit = min(height, 1.25 * width * TALL)  # narrower than 4:3 the letters shrink with the width
        self.page = range(settings.page * moves.PAGE, min((settings.page + 1) * moves.PAGE, len(frame.bars)))
        figure.clear()
        figure.set_facecolor(GROUND)
        self.sheet = self._axes((0, 0, 1, 1))
        self.sheet.set_zorder(-1)
        self._head(frame)
        self._triangle(frame)
        self._loads(frame)
        self._controls()
        self._foot()

    def close(self):
        """Take the widgets off the canvas, before another view takes its place."""
        for widget in (self.switches, self.joint, *self.buttons, *(row[-1] for row in self.rows.values() if row[-1])):
            widget.disconnect_events()

    # --- parts that stand -------------------------------------------------------------------------------------

    def _axes(self, place, facecolor="none"):
        axes = self.figure.add_axes(place, facecolor=facecolor)
        axes.set_xticks([])
        axes.set_yticks([])
        for spine in axes.spines.values():
            spine.set_visible(False)
        axes.set_xlim(0, 1)
        axes.set_ylim(0, 1)
        return axes

    def _points(self, share):
        return share * self.unit * 72 / self.figure.dpi

    def _text(self, axes, x, y, text="", share=SMALLEST, moves_=False, **style):
        made = axes.text(x, y, text, fontsize=self._points(share), **({"va": "center", "color": INK} | style))
        return self._move(made) if moves_ else made

    def _panel(self, left, bottom, right, top):
        """Begin a panel, in shares of the window: what moves from here on belongs to it."""
        self.panels.append(Panel(self.figure, left, bottom, right, top))

    def _move(self, artist):
        artist.set_animated(True)
        self.panels[-1].artists.append(artist)
        return artist

    def _head(self, frame):
        self._text(self.sheet, 0.012, 0.972, label(frame.title, 60), SMALLEST * 1.35, fontweight="bold")
        self._panel(0.6, 0.952, 1, 1)
        self.where = self._text(self.sheet, 0.988, 0.972, share=SMALLEST * 1.2, moves_=True, ha="right")
        names = (*frame.volts, "N")
        step = 0.976 / len(names)
        self.readings = {}
        for n, name in enumerate(names):
            left = 0.012 + n * step
            self.sheet.add_patch(Rectangle((left, 0.848), step - 0.008, 0.1, facecolor=FIELD, edgecolor="none"))
            ink = colour(name)
            self._text(self.sheet, left + 0.008, 0.922, name if name == "N" else f"{name}-N", SMALLEST * 1.4,
                       fontweight="bold", color=ink)
            self.sheet.plot([left + 0.008, left + step - 0.016], [0.857, 0.857], color=ink, ls=DASHES[name], lw=self._points(1 / 250))
            self._panel(left, 0.848, left + step - 0.008, 0.948)
            self.readings[name] = self._text(self.sheet, left + step - 0.014, 0.904, share=LARGE, moves_=True, ha="right",
                                             fontweight="bold")

    def _triangle(self, frame):
        axes = self._axes((0.0, 0.415, _PLANE, 0.425))
        axes.set_aspect("equal", adjustable="datalim")
        box = axes.get_window_extent()
        high = self.reach
        wide = high * box.width / box.height
        if wide < self.reach:
            high, wide = self.reach * box.height / box.width, self.reach
        axes.set_xlim(-wide, wide)
        axes.set_ylim(-high, high)
        self._panel(0, 0.415, _PLANE, 0.84)
        self.plane, line = axes, self._points(1 / 220)
        corners, outline = frame.corners, [*frame.outline, frame.outline[0]]
        axes.plot([z.real for z in outline], [z.imag for z in outline], color=SOFT, lw=line / 2)
        axes.plot([0], [0], marker="+", ms=4 * line, mew=line / 2, color=INK)
        self.phasors = {name: self._move(axes.plot([], [], color=colour(name), ls=DASHES[name], lw=line)[0])
                        for name in corners}
        for name, z in corners.items():
            out = z * (1 + 0.11 * self.reach / (abs(z) or 1.0))
            self._text(axes, out.real, out.imag, name, SMALLEST * 1.6, ha="center", fontweight="bold", color=colour(name))
        self.shift = self._move(axes.plot([], [], color=colour("N"), ls=DASHES["N"], lw=line)[0])
        self.ghosts = [(self._move(axes.plot([], [], marker="o", ms=4 * line, mfc="none", mec=colour("N"), mew=line / 2)[0]),
                        self._text(axes, 0, 0, moves_=True, share=SMALLEST * 1.2, color=colour("N"), ha="center"))
                       for _ in range(8)]
        paper = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85}
        self.star_name = self._text(axes, 0, 0, "N", SMALLEST * 1.6, True, color=colour("N"), fontweight="bold",
                                    ha="center", bbox=paper)
        self.star = self._move(axes.plot([], [], marker="o", ms=4 * line, color=colour("N"), mec=INK)[0])
        self._panel(0, 0.3, _PLANE, 0.415)
        self.aside = self._text(self.sheet, 0.012, 0.302, moves_=True, va="bottom", linespacing=1.05)

    def _loads(self, frame):
        count = max(len(self.page), 1)
        width, height = self.figure.bbox.size
        row = min((_TOP - 0.03 - _BOTTOM) / count, 0.13)
        self.top, self.dot = _TOP - 0.03, 1.5 / (row * height)  # of a row's height: what rounding may put into the next
        bottom = self.top - count * row
        for x, text, side in ((_LEFT, "load, on or off", "left"), (_BARS, "0", "center"),
                              (_BARS + (_BAR_END - _BARS) / FULL, "1 × rated", "center"), (_BAR_END, f"{FULL:g} ×", "right"),
                              (_SAID, "light or power", "left"), (_POWER, "power", "left")):
            self._text(self.sheet, x, _TOP - 0.012, text, ha=side, color=SOFT)
        self._panel(_MARK - 0.01, bottom, _MARK + 0.01, self.top)
        self.chosen = self._move(self.sheet.plot([_MARK], [0], marker=">", ms=self._points(SMALLEST), color=INK)[0])
        self.rows, self.row = {}, row
        bars = [frame.bars[n] for n in self.page]
        axes = self._axes((_LEFT, bottom, _BARS - _LEFT - 0.01, row * count))
        self.share = SMALLEST * (1.3 if count <= 6 and width > 1.5 * height else 1.0)
        size = self._points(self.share)
        self._panel(_LEFT, bottom, _BARS - 0.01, self.top)
        names = [label(bar.name, 24) + "  " + connection(bar) for bar in bars]
        self.switches = CheckButtons(axes, names, [bar.on for bar in bars], useblit=False,
                                     label_props={"fontsize": [size] * count, "color": [INK] * count},
                                     frame_props={"s": [(0.95 * size) ** 2] * count}, check_props={"s": [(0.8 * size) ** 2] * count})
        self._place_switches(axes, count)
        self.switches.drawon, self.on = False, None
        self.switches.on_clicked(lambda _: self._switched())
        scale = self._axes((_BARS, bottom, _BAR_END - _BARS, row * count))
        scale.set_xlim(0, FULL)
        scale.set_ylim(count, 0)
        for at, n in enumerate(self.page):
            self.rows[n] = self._row(scale, at, n, bars[at], self.top - (at + 1) * row)

    def _place_switches(self, axes, count):
        """Put the check boxes, which matplotlib spreads over its axes, on the rows."""
        heights = [1 - (n + 0.5) / count for n in range(count)]
        marks = list(axes.collections)
        for collection in marks:
            offsets = collection.get_offsets()
            offsets[:, 0] = 0.045
            offsets[:, 1] = heights
            collection.set_offsets(offsets)
        for text, y in zip(self.switches.labels, heights):
            text.set_position((0.1, y))
        self._move(marks[-1])

    def _row(self, scale, at, n, bar, bottom):
        line = next((c for c in bar.connect if c in HATCHES), "N") if "N" in bar.connect else None
        ink, above = colour(line) if line else INK, bottom + self.row
        self._panel(_BARS, bottom, _BAR_END, above)
        # The pattern is slow to draw: it stands there whole, and what moves is the cover over the part that is not meant.
        scale.add_patch(Rectangle((0, at + 0.2), FULL, 0.6, facecolor=FIELD, edgecolor=ink, lw=1.2,
                                  hatch=HATCHES[line] if line else "\\\\"))
        cover = self._move(scale.add_patch(Rectangle((0, at + 0.14), FULL + 1, 0.72, facecolor=GROUND, edgecolor="none")))
        end = self._move(scale.plot([0, 0], [at + 0.2, at + 0.8], color=ink, lw=1.2, solid_capstyle="butt")[0])
        ends = [at + self.dot, at + 1 - self.dot]
        self._move(scale.plot([0, 0, nan, 1, 1], [*ends, nan, *ends], color=SOFT, lw=1.0, solid_capstyle="butt")[0])
        middle = bottom + self.row / 2
        self._panel(_SAID, bottom, _POWER - 0.008, above)
        said = self._text(self.sheet, _SAID, middle, share=self.share, moves_=True, fontweight="bold")
        self._panel(_POWER - 0.008, bottom, 1, above)
        rated = self._text(self.sheet, 0.988, middle, moves_=True, ha="right")
        slider = None
        if bar.factor is not None:
            slider = self._slider((_POWER, bottom + 0.15 * self.row, _POWER_END - _POWER, 0.7 * self.row),
                                  *(log2(f) for f in moves.FACTORS), lambda v, n=n: self.act("factor", (n, 2.0**v)))
        return cover, end, said, rated, slider

    def _slider(self, place, low, high, changed):
        axes = self._axes(place)
        middle = (low + high) / 2 if low < 0 else low
        slider = _QuietSlider(axes, "", low, high, valinit=middle, color=SOFT, track_color=FIELD, initcolor="none",
                        handle_style={"facecolor": "white", "edgecolor": INK, "size": self._points(SMALLEST)})
        slider.valtext.set_visible(False)
        for artist in (slider.poly, *axes.lines):
            self._move(artist)
        slider.on_changed(changed)
        return slider

    def _controls(self):
        self._panel(0.385, 0.26, 1, 0.298)
        self.joint = self._slider((0.395, 0.262, 0.593, 0.03), 0.0, 1.0, lambda v: self.act("ohms", moves.ohms_at(v)))
        self._panel(0, 0.25, 0.385, 0.298)
        self.joint_said = self._text(self.sheet, 0.012, 0.277, share=SMALLEST * 1.5, moves_=True, fontweight="bold")
        for ohms in (0.0, 0.1, 1.0, 10.0, 100.0, 1000.0, float("inf")):
            words = "sound" if ohms == 0 else "open" if ohms == float("inf") else significant(ohms, "Ω", 1)
            side = "left" if ohms == 0 else "right" if ohms == float("inf") else "center"
            self._text(self.sheet, 0.395 + 0.593 * moves.place(ohms), 0.25, words, ha=side, color=SOFT)
        self.buttons, self.button_words = [], {}
        step = 0.976 / len(BUTTONS)
        for n, name in enumerate(BUTTONS):
            axes = self._axes((0.012 + n * step, 0.193, step - 0.007, 0.046))
            button = Button(axes, "", color=FIELD, hovercolor=FIELD)
            button.drawon = False
            button.on_clicked(lambda _, name=name: self.act(name, None))
            button.label.set_fontsize(self._points(SMALLEST * 1.05))
            self._panel(0.012 + n * step, 0.193, 0.005 + (n + 1) * step, 0.239)
            self.button_words[name] = self._move(button.label)
            self.buttons.append(button)

    def _foot(self):
        keys = self._wrapped("Keys: " + KEYS, " · ")
        self._text(self.sheet, 0.012, 0.006, keys, va="bottom", color=SOFT, linespacing=1.1)
        self.sheet.add_patch(Rectangle((0, 0.058), 1, 0.13, facecolor=MARK, edgecolor="none"))
        self._panel(0, 0.058, 1, 0.188)
        self.warned, self.cautions = self._text(self.sheet, 0.012, 0.184, moves_=True, va="top", linespacing=1.15), ()

    def _wrapped(self, text, between="   ", share=SMALLEST):
        """Return `text` in lines as wide as the window, broken between its parts only."""
        renderer = self.figure.canvas.get_renderer()
        probe = self._text(self.sheet, 0, 0, share=share)
        most, lines = 0.976 * self.figure.bbox.width, [""]
        for part in text.split(between):
            probe.set_text(lines[-1] + between + part)
            if lines[-1] and probe.get_window_extent(renderer).width > most:
                lines.append(part)
            else:
                lines[-1] = f"{lines[-1]}{between}{part}" if lines[-1] else part
        probe.remove()
        return "\n".join(lines)

    def _warn(self, texts):
        """Write the cautions as large as they have room for."""
        self.cautions, room = texts, 0.122 * self.figure.bbox.height / self.unit
        for share in (1.25 * SMALLEST, 1.12 * SMALLEST, SMALLEST):
            lines = self._wrapped("   ".join(f"⚠ {text}" for text in texts), share=share)
            if (lines.count("\n") + 1) * share * 1.3 <= room:
                break
        self.warned.set_text(lines)
        self.warned.set_fontsize(self._points(share))

    def _switched(self):
        """Tell which of the loads was clicked: the one whose box no longer stands as the frame has it."""
        for n, on in zip(self.page, self.switches.get_status()):
            if on != self.frame.bars[n].on:
                self.act("switch", n)
                return

    # --- parts that move --------------------------------------------------------------------------------------

    def show(self, frame, settings):
        """Bring everything that moves up to date with `frame`; nothing is drawn yet."""
        self.frame = frame
        pages = -(-len(frame.bars) // moves.PAGE)
        self.where.set_text(f"point: {label(frame.place, 28)}" + (f"   loads: page {settings.page + 1} of {pages}" if pages > 1 else ""))
        for name, text in self.readings.items():
            said = _amps(frame.neutral_current) if name == "N" else number(frame.volts[name], 0) + " V"
            text.set_text("?" if frame.hidden else said)
        if frame.cautions != self.cautions:
            self._warn(frame.cautions)
        self._show_star(frame)
        self._show_loads(frame, settings)
        self.joint_said.set_text(label(frame.joint, 32))
        _quietly(self.joint, moves.place(settings.ohms))
        words = {"neutral": "Close the neutral" if settings.ohms == float("inf") else "Open the neutral",
                 "predict": f"Predict first: {'on' if frame.predict else 'off'}",
                 "hidden": "SHOW" if frame.hidden else "Hide", "pace": f"Time: {frame.pace}",
                 "state": "Next state", "point": "Next point", "page": "Next loads"}
        for name, text in words.items():
            self.button_words[name].set_text(text)

    def _show_star(self, frame):
        star = None if frame.hidden else frame.star
        for name, phasor in self.phasors.items():
            z = frame.corners.get(name)
            there = star is not None and z is not None
            phasor.set_data(*(([star.real, z.real], [star.imag, z.imag]) if there else ([], [])))
        self.star.set_data(*(([], []) if star is None else ([star.real], [star.imag])))
        self.shift.set_data(*(([], []) if star is None else ([0, star.real], [0, star.imag])))
        self.star_name.set_visible(star is not None)
        if star is not None:
            taken = [-star, *(z - star for z in frame.corners.values()), *(z - star for _, z in frame.ghosts)]
            at = star + 0.13 * self.reach * clearest(taken)
            self.star_name.set_position((at.real, at.imag))
        for (mark, letter), ghost in zip(self.ghosts, (*(() if frame.hidden else frame.ghosts), *[None] * len(self.ghosts))):
            at = [] if ghost is None else [ghost[1]]
            mark.set_data([z.real for z in at], [z.imag for z in at])
            letter.set_text("" if ghost is None else ghost[0])
            if ghost is not None:
                letter.set_position((ghost[1].real, ghost[1].imag + 0.09 * self.reach))
        said = "What will happen? Say it, then press Enter." if frame.hidden else (
            "The neutral floats: no figure" if frame.star is None else f"Star point N: {number(abs(frame.star), 0)} V from the middle.")
        notes = [line for note in frame.notes for line in wrap(printable(note), WIDE)]
        if len(notes) > NOTES:
            notes[NOTES - 1] = label(notes[NOTES - 1] + " …", WIDE)
        self.aside.set_text("\n".join([*notes[:NOTES], said]))

    def _show_loads(self, frame, settings):
        at = settings.load - self.page.start
        height = self.top - (at + 0.5) * self.row
        if self.chosen.get_ydata()[0] != height:
            self.chosen.set_ydata([height])
        on = [frame.bars[n].on for n in self.page]
        if on != self.on:
            self.switches.ax.collections[-1].set_facecolor([INK if each else "none" for each in on])
            self.on = on
        for n, (cover, end, said, rated, slider) in self.rows.items():
            bar = frame.bars[n]
            times = 0.0 if frame.hidden or bar.times is None else min(bar.times, FULL)
            if cover.get_x() != times:
                cover.set_x(times)
                end.set_xdata([times, times])
            said.set_text("off" if not bar.on else "?" if frame.hidden else bar.word if bar.times is None or
                          bar.word in ("dark", "dead") else f"{number(bar.times, 2)}× {bar.word}")
            rated.set_text(bar.rated)
            if slider:
                _quietly(slider, log2(bar.factor))

    def drawn_whole(self, canvas):
        """Keep what stands, after the canvas has drawn it, and draw what moves."""
        self.drawn = True
        for panel in self.panels:
            panel.keep(canvas)
            panel.draw(canvas)
        canvas.blit(self.figure.bbox)

    def draw_moving(self, canvas):
        """Draw the panels that changed."""
        changed = [panel for panel in self.panels if panel.changed] if self.drawn else []
        for panel in changed:
            panel.draw(canvas)
        if changed:
            canvas.blit(Bbox.union([panel.box for panel in changed]))


def _amps(value):
    """Return a current as large figures have room for."""
    return number(value, 0 if value is None or value >= 99.95 else 1 if value >= 9.995 else 2) + " A"


def _quietly(slider, value):
    """Move a slider without telling anybody, if it is not there yet."""
    if slider.val == value:
        return
    slider.eventson = False
    slider.set_val(value)
    slider.eventson = True

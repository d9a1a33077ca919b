"""The parts that every view is made of: plain HTML elements, fields that follow the case, choices, messages."""

from collections.abc import Callable, Mapping, Sequence
from itertools import count

from nicegui import ui
from nicegui.elements.mixins.text_element import TextElement

from lostneutral.desk.plates import Read


class Tag(TextElement):
    """An HTML element with a text, or with children inside `with`."""

    def __init__(self, tag: str, text: str = "", classes: str = "", **attributes):
        super().__init__(tag=tag, text=text)
        if classes:
            self.classes(classes)
        self.set(**attributes)

    def set(self, **attributes) -> "Tag":
        """Set attributes; an underscore stands for a dash, None takes one away."""
        changed = False
        for key, value in attributes.items():
            key = key.rstrip("_").replace("_", "-")
            if value is None:
                changed |= self._props.pop(key, None) is not None
            elif self._props.get(key) != value:
                self._props[key] = value
                changed = True
        if changed:
            self.update()
        return self

    def say(self, text: str) -> "Tag":
        """Show `text`, if it is another."""
        if self.text != text:
            self.set_text(text)
        return self


class TextField:
    """A labelled field that writes as it is typed in and follows the case while nobody is in it.

    `shown()` is the case's text for it, `typed(text)` takes what was typed, `wrong()` the faults at it.
    """

    def __init__(self, label: str, shown: Callable[[], str], typed: Callable[[str], object], wrong: Callable[[], str] = str,
                 hint: str = "", long: bool = False, suggestions: Sequence[str] = (), classes: str = "", placeholder: str = ""):
        self.shown, self.typed, self.wrong, self.hint, self.note = shown, typed, wrong, hint, ""
        self.focused = self._quiet = False
        make = ui.textarea if long else ui.input
        with Tag("div", classes=f"field-box {classes}"):
            own = f"field-{next(_numbers)}"
            Tag("label", label, "field-label", for_=own)
            self.element = make(value=shown(), placeholder=placeholder or None, on_change=self._change)
        self.element.props("outlined dense autogrow hide-bottom-space" if long else "outlined dense hide-bottom-space")
        self.element.props["for"] = own
        self.element.props["autocomplete"] = "off"
        if suggestions:
            self.element.props["list"] = data_list(suggestions)
        self.element.classes("field")
        self.element.on("focus", self._focus, []).on("blur", self._blur, [])
        self._error: tuple[str, str] = "", ""
        self.refresh()

    def _focus(self):
        self.focused = True

    def _blur(self):
        self.focused = False
        self.refresh()

    def _change(self, event):
        if self._quiet:
            return
        found = self.typed(event.value or "")
        self.note = found.note if isinstance(found, Read) else found if isinstance(found, str) else ""

    def refresh(self) -> None:
        """Show what the case says now; the text of a field that somebody is in stays."""
        if not self.focused:
            text = self.shown()
            if (self.element.value or "") != text:
                self._quiet = True
                self.element.set_value(text)
                self._quiet = False
        error, note = self.wrong(), self.note or self.hint
        if (error, note) != self._error:
            self._error = error, note
            self._prop("error", bool(error))
            self._prop("error-message", f"{error}{' · ' if self.note else ''}{self.note}" if error else None)
            self._prop("hint", note or None)
            self.element.update()

    def _prop(self, name, value):
        if value:
            self.element._props[name] = value
        else:
            self.element._props.pop(name, None)


class ChoiceField:
    """A labelled native list of choices that follows the case."""

    def __init__(self, label: str, options: Callable[[], Mapping[str, str]], shown: Callable[[], str],
                 chosen: Callable[[str], object], wrong: Callable[[], str] = str, classes: str = "", bare: bool = False):
        self.options, self.shown, self.wrong = options, shown, wrong
        own = f"field-{next(_numbers)}"
        with Tag("div", classes=f"choice {'bare' if bare else ''} {classes}") as self.element:
            if not bare:
                Tag("label", label, "field-label", for_=own)
            self.select = Tag("select", id=own)
            if bare:
                self.select.set(aria_label=label)
            self.error = Tag("span", "", "fault", role="alert")
        self.select.on("change", lambda event: self._chosen(event.args, chosen), js_handler="(e) => emit(e.target.value)")
        self._options: dict[str, str] = {}
        self.refresh()

    def _chosen(self, value, chosen):
        value = str(value)
        if value in self._options:
            self.select._props["value"] = value
            chosen(value)

    def refresh(self) -> None:
        options, value = dict(self.options()), self.shown()
        if value not in options:
            options[value] = value
        if options != self._options:
            self._options = options
            self.select.clear()
            with self.select:
                for key, words in options.items():
                    Tag("option", words, value=key)
            self.select._props.pop("value", None)
        self.select.set(value=value)
        error = self.wrong()
        self.error.say(error)
        self.select.set(aria_invalid="true" if error else None)


_numbers = count(1)
_lists: dict[tuple, str] = {}


def data_list(values: Sequence[str]) -> str:
    """Return the id of a list of suggestions that stands in every page: see `data_lists`."""
    return _lists.setdefault(tuple(values), f"list-{len(_lists) + 1}")


def data_lists() -> None:
    """Put every list of suggestions that was asked for so far into the page."""
    with ui.element("div").classes("hidden"):
        for values, name in _lists.items():
            with Tag("datalist", id=name):
                for value in values:
                    Tag("option", value=value)


def button(words: str, act: Callable, classes: str = "", label: str = "", **attributes) -> Tag:
    """Return a native button."""
    made = Tag("button", words, f"button {classes}", type="button", **attributes)
    if label:
        made.set(aria_label=label)
    made.on("click", lambda: act())
    return made


def folded(words: str) -> ui.expansion:
    """Return a part that opens when its words are pressed."""
    return ui.expansion(words).classes("more").props("dense")


def window(heading: str) -> ui.dialog:
    """Return a dialog whose name is the heading with that id inside it."""
    made = ui.dialog()
    made._props["aria-labelledby"] = heading
    return made


def cards(legend: str, options: Sequence[tuple[str, str, str, str]], name: str, shown: Callable[[], str],
          chosen: Callable[[str], object]) -> Callable[[], None]:
    """Make a group of pictures with words of which one is chosen: (value, title, words, svg). Return what refreshes it."""
    radios = {}
    with Tag("fieldset", classes="cards"):
        Tag("legend", legend)
        for value, title, words, svg in options:
            with Tag("label", classes="card"):
                radio = Tag("input", type="radio", name=name, value=value)
                radio.on("change", lambda _, v=value: chosen(v))
                radios[value] = radio
                if svg:
                    ui.html(svg, sanitize=False).classes("card-picture").props("aria-hidden=true")
                Tag("strong", title)
                Tag("span", words, "small")

    def refresh():
        value = shown()
        for key, radio in radios.items():
            radio.set(checked=True if key == value else None)

    refresh()
    return refresh


class Rows:
    """A list of parts, one for each number, that follows which numbers there are and their order."""

    def __init__(self, container: ui.element, make: Callable[[int], object]):
        self.container, self.make = container, make
        self.parts: dict[int, tuple[ui.element, object]] = {}

    def refresh(self, uids: Sequence[int]) -> None:
        """Make what is new, take away what is gone, and refresh the rest."""
        for uid in [u for u in self.parts if u not in uids]:
            self.parts.pop(uid)[0].delete()
        for uid in uids:
            if uid not in self.parts:
                with self.container:
                    before = len(self.container.default_slot.children)
                    part = self.make(uid)
                self.parts[uid] = self.container.default_slot.children[before], part
        wanted = [self.parts[uid][0] for uid in uids]
        if [c for c in self.container.default_slot.children if c in wanted] != wanted:
            for element in wanted:
                element.move(self.container)
        for uid in uids:
            self.parts[uid][1].refresh()


def say(words: str, bad: bool = False) -> None:
    """Show a short message, which screen readers read out."""
    ui.notify(words, type="negative" if bad else "info", position="top", close_button="Close", timeout=9000 if bad else 4000,
              multi_line=True, attrs={"role": "alert" if bad else "status"})

"""Documents, drawings, lessons and answers of a few cases are those that are kept. Kind of all: pins behaviour (see `outline`).

Figures of every case of the casebook are held in `tests/cli/test_casebook.py`, what `where` and `deduce` find in
`tests/evidence/test_casebook_agrees.py`, each where it is worked out anyway.
"""

import pytest
import test_drawn
import test_drawn_edges
import test_drawn_lessons
import test_given_by_hand
import test_lesson_edges
import views
from outline import held


@pytest.mark.thorough
def test_documents_are_those_kept():
    held("documents", views.documents(("village-hall", "intermittent-joint", "full-neutral", "everything")))


def test_figures_of_hand_made_values_are_those_kept():
    held("by-hand", views.by_hand(test_drawn, test_drawn_edges, test_given_by_hand, test_drawn_lessons, test_lesson_edges))


def test_lessons_are_those_kept():
    held("lessons", views.lessons(("evening-class", "intermittent-joint")))


@pytest.mark.parametrize("name", ["mill-cottage"])
def test_ranges_are_those_kept(name):
    held(f"{name}-ranges", views.ranges(name))


@pytest.mark.parametrize("name", ["leaves-the-triangle"])
def test_pages_are_those_kept(name):
    held(f"{name}-page", views.page(name))


@pytest.mark.parametrize("name", ["intermittent-joint"])
def test_courses_are_told_as_kept(name):
    held(f"{name}-course", views.course(name))


def test_exercises_are_those_kept():
    held("exercises", views.tasks(24))


def test_comparisons_are_those_kept():
    held("compared", {"equal and unequal": views.compared("three-equal-lamps", "three-unequal-lamps"), "altered": views.altered("everything")})


def test_figures_of_everything_are_those_kept():
    held("everything", views.figures(views.result("everything")))


def test_what_is_set_is_what_is_kept():
    held("sets", views.sets("evening-class"))


@pytest.mark.parametrize("name", ["intermittent-joint"])
def test_films_are_those_kept(name):
    held("films", views.films(name))

"""Paths of pages: safe for any name, and different for different names."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.site import links

PATH = re.compile(r"sheet/[a-z0-9]+(-[a-z0-9]+)*\.html")


@given(st.text())
def test_any_name_gives_a_path_of_plain_letters(name):
    path = links.sheet_page(name)
    assert PATH.fullmatch(path)
    assert len(path) < 80


@given(st.text(), st.text())
def test_two_names_give_two_paths(one, other):
    assert (links.sheet_page(one) == links.sheet_page(other)) == (one == other)


@pytest.mark.parametrize(
    ("one", "other"),
    [("S-104", "s-104"), ("S-104", "S 104"), ("é", "e"), ("S\u2013104", "S-104"), ("Ⅳ", "IV"), ("", " ")],
)
def test_similar_names_have_different_paths(one, other):
    assert links.sheet_page(one) != links.sheet_page(other)
    assert links.sheet_page(one).lower() != links.sheet_page(other).lower(), "also where case is folded"


def test_a_path_resembles_its_name():
    assert links.sheet_page("Éclair S-104").startswith("sheet/eclair-s-104-")
    assert links.trial_page("T 1").startswith("trial/t-1-")


def test_a_name_without_plain_letters_has_a_path_too():
    assert re.fullmatch(r"sheet/[0-9a-f]{10}\.html", links.sheet_page("木材"))


@pytest.mark.parametrize(
    ("page", "root"), [("index.html", ""), ("sheet/a.html", "../"), ("a/b/c.html", "../../")]
)
def test_relative_path_to_the_root(page, root):
    assert links.to_root(page) == root

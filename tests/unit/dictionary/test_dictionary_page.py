"""The page of tables and columns: all that is declared, each with an address of its own, and nothing from outside."""

from html.parser import HTMLParser

import pytest

from pipelines.dictionary.declared import published_tables, record_tables
from pipelines.site import dictionary
from pipelines.site.reading import Published
from pipelines.warehouse.statements import formulas

TABLES = (*published_tables(), *record_tables())


class Read(HTMLParser):
    """The content of a page: its texts by id, its ids, and its links."""

    def __init__(self, page):
        super().__init__()
        self.ids, self.references, self.texts, self._open = [], [], {}, []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        self.references += [attributes[name] for name in ("href", "src") if name in attributes]
        if tag not in ("meta", "link", "input", "br", "wbr"):
            self._open.append(attributes.get("id"))
        if "id" in attributes:
            self.ids.append(attributes["id"])

    def handle_endtag(self, _tag):
        self._open.pop()

    def handle_data(self, text):
        for name in filter(None, self._open):
            self.texts[name] = self.texts.get(name, "") + text


def page_of(laboratory):
    return dictionary.page(Published({"setting": [{"laboratory": laboratory, "time_zone": "UTC"}]}))


@pytest.fixture(scope="module")
def read():
    return Read(page_of("Example laboratory"))


def words(text):
    return " ".join(text.split())


def test_every_table_and_column_has_an_address_below_which_it_is_explained(read):
    for table in TABLES:
        assert words(table.grain) in words(read.texts[table.full_name])
        for column in table.columns:
            entry = words(read.texts[f"{table.full_name}.{column.name}"])
            assert column.name in entry
            assert column.sql_type in entry
            assert words(column.description) in entry
            assert ("may be missing" in entry.split(words(column.description))[0]) is column.nullable
            assert all(value in entry for value in column.allowed)
            assert (column.source or "") in entry


def test_every_formula_has_an_address_below_which_it_is_explained(read):
    for formula in formulas():
        entry = words(read.texts[f"formulas.{formula.name}"])
        assert words(formula.text) in entry
        assert all(parameter in entry for parameter in formula.parameters)


def test_addresses_are_unique_and_links_lead_to_them(read):
    assert len(set(read.ids)) == len(read.ids)
    within = [reference[1:] for reference in read.references if reference.startswith("#")]
    assert set(within) <= set(read.ids)
    assert {table.full_name for table in TABLES} <= set(within)


def test_it_reaches_for_nothing_outside_the_published_folder(read):
    assert not [reference for reference in read.references if "//" in reference]
    assert {"../dictionary.md", "../contract.odcs.yaml"} <= set(read.references)


def test_a_name_from_the_laboratory_stays_text():
    page = page_of('<script>alert("x")</script> & sons')
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page

"""The page of tables and columns: the data dictionary with a search box."""

from pipelines.dictionary.declared import published_tables, record_tables
from pipelines.dictionary.documents import CONTRACT, DICTIONARY
from pipelines.dictionary.history import changes, contract_version
from pipelines.dictionary.units import MEANING_OF_UNIT
from pipelines.dictionary.wording import limits_text, pieces, rules_text
from pipelines.site import links
from pipelines.site.reading import Published
from pipelines.site.rendering import render
from pipelines.warehouse.statements import formulas
from schemas.units import SUFFIX_OF_UNIT


def page(published: Published) -> str:
    """Return the page with every declared table, whatever the snapshot has."""
    history = changes()
    return render(
        "dictionary",
        links.TABLES,
        published.all("setting")[0],
        version=contract_version(history),
        groups=(("Published tables", published_tables()), ("Records", record_tables())),
        formulas=formulas(),
        units=[(unit, ending, MEANING_OF_UNIT[unit]) for unit, ending in SUFFIX_OF_UNIT.items()],
        changes=tuple(reversed(history)),
        documents=(DICTIONARY, CONTRACT),
        limits_text=limits_text,
        pieces=pieces,
        rules_text=rules_text,
    )

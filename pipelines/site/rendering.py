"""Rendering templates to HTML. Jinja2 escapes all text from files."""

import re
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from pipelines.site import labels, links, tables
from pipelines.site.figures import Row

NAVIGATION = (
    (links.START, "Start"),
    (links.TRIALS, "Trials"),
    (links.SHEETS, "All sheets"),
    (links.TESTERS, "Testers"),
    (links.TABLES, "Tables"),
)


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("pipelines.site"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.policies["json.dumps_kwargs"] = {"separators": (",", ":"), "ensure_ascii": False}
    environment.filters |= {
        "number": labels.number,
        "moment": labels.moment,
        "counted": labels.counted,
        "body": tables.body,
        "words": labels.words,
    }
    return environment


_INVISIBLE = re.compile("[\u200b-\u200f\u202a-\u202e\u2060-\u2064\u2066-\u206f\ufeff]")


def visible(text: str) -> str:
    """Replace each invisible character by a dot; such characters could reverse or hide the text around them."""
    return _INVISIBLE.sub("·", text)


def render(template: str, page: str, setting: Row, **shown: Any) -> str:
    """Return a page: ``template`` names its template, ``page`` is its path, ``setting`` the row of settings."""
    return visible(
        _environment()
        .get_template(f"{template}.html.jinja")
        .render(
            root=links.to_root(page),
            here=page,
            laboratory=setting["laboratory"],
            time_zone=setting["time_zone"],
            navigation=NAVIGATION,
            links=links,
            **shown,
        )
    )

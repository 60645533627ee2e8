"""From a template and what a page shows to HTML. Text from outside is escaped by Jinja2, always."""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from pipelines.site import labels, links, tables

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


def render(template: str, page: str, laboratory: str, **shown: Any) -> str:
    """Return a page: ``template`` is its file's name before ``.html.jinja``, ``page`` the path it will stand at."""
    return (
        _environment()
        .get_template(f"{template}.html.jinja")
        .render(
            root=links.to_root(page),
            here=page,
            laboratory=laboratory,
            navigation=NAVIGATION,
            links=links,
            **shown,
        )
    )

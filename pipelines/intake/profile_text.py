"""The keys of an export profile's TOML and their allowed values."""

import codecs
import re
from string import Formatter
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from pipelines.settings import TimeZone


class _ProfileTable(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, populate_by_name=True)


def _compiles(pattern: str) -> str:
    try:
        re.compile(pattern)
    except re.error as error:
        raise ValueError(f"{pattern!r} is not a regular expression: {error}") from None
    return pattern


def _is_line_count_or_compiles(preamble: int | str) -> int | str:
    if isinstance(preamble, int) and preamble < 0:
        raise ValueError("the number of lines must not be negative")
    return preamble if isinstance(preamble, int) else _compiles(preamble)


def _has_one_group(pattern: str) -> str:
    if re.compile(_compiles(pattern)).groups != 1:
        raise ValueError(f"{pattern!r} needs exactly one group (…), around the value")
    return pattern


def _as_tuple(value: Any) -> Any:
    return (value,) if isinstance(value, str) else tuple(value) if isinstance(value, list) else value


Regex = Annotated[str, AfterValidator(_compiles)]
OneGroup = Annotated[str, AfterValidator(_has_one_group)]
LineCountOrRegex = Annotated[int | str, AfterValidator(_is_line_count_or_compiles)]
Texts = Annotated[tuple[str, ...], BeforeValidator(_as_tuple)]
SomeTexts = Annotated[Texts, Field(min_length=1)]


_NOT_FILE_ENCODINGS = {"idna", "punycode", "raw-unicode-escape", "unicode-escape", "undefined", "utf-7"}
"""Codecs of Python that no file is encoded in."""


class Recognise(_ProfileTable):
    """How a file is recognised; every condition given must hold."""

    header: SomeTexts
    name: str | None = None


class Dialect(_ProfileTable):
    """How the file is written. Keys that are left out are detected once per file, never per cell."""

    encoding: str | None = None
    delimiter: Literal[";", ",", "\t", "|"] | None = None
    decimal: Literal[".", ","] | None = None
    thousands: Literal[".", ",", " ", "'"] | None = None
    preamble: LineCountOrRegex | None = None
    header_rows: Annotated[int, Field(ge=1, le=5)] = 1
    units_row: bool = False
    footer: Regex | None = None
    sheet: str | None = None
    missing: Texts = ("",)
    negative_in_parentheses: bool = False

    @model_validator(mode="after")
    def _check_separators(self) -> "Dialect":
        if self.thousands and not self.decimal:
            raise ValueError("thousands needs decimal as well")
        if self.decimal and self.decimal == self.thousands:
            raise ValueError(f"decimal and thousands are both {self.decimal!r}")
        if self.encoding is not None:
            try:
                "".encode(self.encoding)
                if codecs.lookup(self.encoding).name in _NOT_FILE_ENCODINGS:
                    raise LookupError
            except (LookupError, UnicodeError):
                raise ValueError(
                    f"{self.encoding!r} is not an encoding; write for example 'cp1252'"
                ) from None
        return self


class _ValueFormat(_ProfileTable):
    """How a text becomes a value: its unit, its time format and zone, or the values of its codes."""

    unit: str | None = None
    format: str | None = None
    zone: TimeZone | None = None
    language: str | None = None
    values: dict[str, Texts] | None = None


class PreambleValue(_ValueFormat):
    """A value given once per file: above the table (``line``) or in the file's name (``name``)."""

    line: OneGroup | None = None
    name: OneGroup | None = None

    @model_validator(mode="after")
    def _one_place(self) -> "PreambleValue":
        if (self.line is None) == (self.name is None):
            raise ValueError(
                "give either line (a pattern for the lines above the table) or name (a pattern for the file name)"
            )
        return self


def _named_fields(template: str) -> str:
    try:
        fields = [(name, spec, conversion) for _, name, spec, conversion in Formatter().parse(template)]
    except ValueError as error:
        raise ValueError(f"{template!r} is not a template: {error}") from None
    named = [name for name, spec, conversion in fields if name is not None and not spec and not conversion]
    if (
        not named
        or not all(name.isidentifier() for name in named)
        or len(named) < len(template.split("{")) - 1
    ):
        raise ValueError(f"{template!r} needs the names of parts in braces, such as '{{project}}-{{number}}'")
    return template


def fields_of(template: str) -> list[str]:
    """Return the names of the parts in a template, in their order."""
    return [name for _, name, _, _ in Formatter().parse(template) if name is not None]


Template = Annotated[str, AfterValidator(_named_fields)]


class _Cells(_ProfileTable):
    """Cells of a row as one text: the header cells, how they are joined, and the part of the text that counts."""

    from_: SomeTexts | None = Field(None, alias="from")
    occurrence: Annotated[int, Field(ge=1)] | None = None
    join: str = " "
    pattern: OneGroup | None = None

    @model_validator(mode="after")
    def _occurrence_of_one_cell(self) -> Self:
        if self.occurrence is not None and len(self.from_ or ()) != 1:
            raise ValueError("occurrence needs from with one header cell")
        return self

    def cells(self) -> tuple[str, ...]:
        """Return the names of the header cells in the table that is read: of a repeated one with its occurrence."""
        names = tuple(" ".join(cell.split()) for cell in self.from_ or ())
        return names if self.occurrence is None else (occurrence_of(names[0], self.occurrence),)


def occurrence_of(cell: str, number: int) -> str:
    """Return the name of the header cell that stands for the given occurrence of a repeated one."""
    return f"{cell} (occurrence {number})"


class ColumnSource(_ValueFormat, _Cells):
    """Where a quantity comes from: header cells, a template of parts, a constant, or counting rows."""

    template: Template | None = None
    value: str | int | float | None = None
    count_within: Texts | None = None

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        given = (self.from_, self.template, self.value, self.count_within)
        if sum(source is not None for source in given) != 1:
            raise ValueError(
                "give one of from (header cells), template (of parts), value (a constant) or count_within (columns)"
            )
        return self


class Part(_Cells):
    """A named part of a template: header cells, or a text above the table or in the file's name and folder."""

    line: OneGroup | None = None
    name: OneGroup | None = None

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if sum(source is not None for source in (self.from_, self.line, self.name)) != 1:
            raise ValueError(
                "give one of from (header cells), line (above the table) or name (the file's name)"
            )
        return self


def _as_source(value: Any) -> Any:
    return {"from": value} if isinstance(value, str) else value


class Preamble(_ProfileTable):
    """Values given above the table or in the file's name."""

    values: dict[str, PreambleValue] = {}


class Block(_ProfileTable):
    """A file of several tables: each block has its own lines above the table, header, units row and summaries."""

    begin: Regex


class Transpose(_ProfileTable):
    """A transposed table: a line for each quantity, with its name in the first cell, and a column for each record."""

    units: bool = False


class WideQuantity(_ProfileTable):
    """One of several quantities under wide headers: its text in the header cells, and its unit."""

    from_: str = Field(alias="from")
    unit: str | None = None


class Wide(_ProfileTable):
    """A wide export: each column holds the values of another piece, which its header cell names.

    The named groups of ``header`` are quantities of the record. If each piece has several columns, the group
    ``quantity`` says which of ``quantities`` a column holds.
    """

    header: Regex
    quantity: str | None = None
    unit: str | None = None
    quantities: dict[str, WideQuantity] = {}
    values: dict[str, dict[str, Texts]] = {}

    @model_validator(mode="after")
    def _one_form(self) -> "Wide":
        groups = set(re.compile(self.header).groupindex)
        if not groups - {"quantity"}:
            raise ValueError(
                "header needs a named group (?P<name>…) for each quantity that a header cell contains"
            )
        if (self.quantity is None) == (not self.quantities):
            raise ValueError("give either quantity (with its unit) or a table of quantities")
        if ("quantity" in groups) != bool(self.quantities):
            raise ValueError(
                "a table of quantities needs the group (?P<quantity>…) in header, and the group needs the table"
            )
        if unknown := sorted(self.values.keys() - groups):
            raise ValueError(f"values.{unknown[0]}: header has no such group")
        return self

    def sources(self) -> dict[str, ColumnSource]:
        """Return the quantities of header cells and values as columns of the table in long form."""
        several = {name: quantity.unit for name, quantity in self.quantities.items()}
        units = {self.quantity: self.unit} if self.quantity is not None else several
        groups = [name for name in re.compile(self.header).groupindex if name != "quantity"]
        return {
            **{
                name: ColumnSource(from_=(wide_column(name),), values=self.values.get(name))
                for name in groups
            },
            **{name: ColumnSource(from_=(wide_column(name),), unit=unit) for name, unit in units.items()},
        }


def wide_column(quantity: str) -> str:
    """Return the name of a quantity's column in a wide export's table in long form."""
    return f"(wide) {quantity}"


class ProfileText(_ProfileTable):
    """The contents of a profile file."""

    record: str
    tester: str | None = None
    recognise: Recognise
    dialect: Dialect = Dialect()
    preamble: Preamble = Preamble()
    parts: dict[str, Annotated[Part, BeforeValidator(_as_source)]] = {}
    units: dict[str, str] = {}
    block: Block | None = None
    transpose: Transpose | None = None
    wide: Wide | None = None
    columns: dict[str, Annotated[ColumnSource, BeforeValidator(_as_source)]] = Field(min_length=1)

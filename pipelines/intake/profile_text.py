"""The keys of an export profile's TOML and their allowed values."""

import codecs
import re
from typing import Annotated, Any, Literal

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
    units_row: bool = False
    footer: Regex | None = None
    missing: Texts = ("",)

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


class ColumnSource(_ValueFormat):
    """Where a quantity comes from: header cells, a constant, or counting rows."""

    from_: SomeTexts | None = Field(None, alias="from")
    join: str = " "
    pattern: OneGroup | None = None
    value: str | int | float | None = None
    count_within: Texts | None = None

    @model_validator(mode="after")
    def _one_source(self) -> "ColumnSource":
        if sum(given is not None for given in (self.from_, self.value, self.count_within)) != 1:
            raise ValueError("give one of from (header cells), value (a constant) or count_within (columns)")
        return self


def _as_source(value: Any) -> Any:
    return {"from": value} if isinstance(value, str) else value


class Preamble(_ProfileTable):
    """Values given above the table or in the file's name."""

    values: dict[str, PreambleValue] = {}


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
    wide: Wide | None = None
    columns: dict[str, Annotated[ColumnSource, BeforeValidator(_as_source)]] = Field(min_length=1)

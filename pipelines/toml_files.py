"""Reading TOML files that people write; every error names the file, the key and the nearest right key."""

import difflib
import io
import tomllib
from pathlib import Path
from typing import Annotated, Any, TypeVar, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from pipelines.errors import SettingsError

Model = TypeVar("Model", bound=BaseModel)


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file; raises SettingsError with the line when it is not TOML."""
    return parse_toml(path.read_bytes(), path)


def parse_toml(data: bytes, path: Path) -> dict[str, Any]:
    """Parse the bytes of the TOML file ``path``; raises SettingsError with the line when they are not TOML."""
    try:
        return tomllib.loads(io.TextIOWrapper(io.BytesIO(data), encoding="utf-8-sig").read())
    except UnicodeDecodeError as error:
        raise SettingsError(f"{path}: is not UTF-8 text ({error.reason}).", "Save it as UTF-8.") from None
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{path}: is not valid TOML: {error}.") from None


def checked(model: type[Model], data: dict[str, Any], path: Path) -> Model:
    """Validate TOML data; raises SettingsError that names file, key, what is wrong and the nearest right key."""
    try:
        return model.model_validate(data)
    except ValidationError as error:
        complaints = "\n".join(_complaint(model, detail, path) for detail in error.errors())
        raise SettingsError(complaints) from None


_PLAIN = {
    "tuple_type": 'must be a list, such as ["…"]',
    "too_short": "must not be empty",
    "missing": "is missing",
}
"""Plain words for messages of pydantic that are in terms of Python."""


def _complaint(model: type[BaseModel], detail: ErrorDetails, path: Path) -> str:
    where = ".".join(str(part) for part in detail["loc"])
    if detail["type"] == "extra_forbidden":
        known = _known_keys(model, detail["loc"][:-1])
        return f"{path}: {where}: unknown key{nearest(str(detail['loc'][-1]), known)}"
    message = _PLAIN.get(detail["type"], detail["msg"].removeprefix("Value error, "))
    given = "" if isinstance(detail["input"], dict) else f" (given: {detail['input']!r})"
    return f"{path}: {where}: {message}{given}"


def nearest(word: str, known: list[str]) -> str:
    """Return '; did you mean …? Known: …' for an unknown word."""
    near = difflib.get_close_matches(word, known, n=1, cutoff=0.5)
    hint = f"; did you mean {near[0]!r}?" if near else "."
    return f"{hint} Known: {', '.join(sorted(known))}." if known else hint


def _known_keys(model: type[BaseModel], location: tuple[int | str, ...]) -> list[str]:
    current: Any = model
    for part in location:
        fields = getattr(current, "model_fields", {})
        # Besides models there are tables whose keys are free: dict[str, model].
        current = fields[part].annotation if part in fields else get_args(current)[-1]
        while get_origin(current) is Annotated:
            current = get_args(current)[0]
    return [field.alias or name for name, field in current.model_fields.items()]

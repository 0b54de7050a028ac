"""What all tables of the job file share: no unknown keys, values as people write them."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator, model_validator
from pydantic_core import PydanticCustomError


def _quantity(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise PydanticCustomError("quantity", "a length, angle or number was expected here")
    return value


def _listed(value: Any) -> Any:
    return value if isinstance(value, list) else [value]


Quantity = Annotated[str | int | float, PlainValidator(_quantity)]
"""One value, still as it was written."""

Values = Annotated[tuple[Quantity, ...], BeforeValidator(_listed), Field(min_length=1)]
"""One value, or a list of readings of the same thing."""

Names = tuple[str, ...]

OneOrMoreNames = Annotated[tuple[str, ...], BeforeValidator(_listed), Field(min_length=1)]
"""A name, or a list of names."""


class Table(BaseModel):
    """A table of the file; a key that it does not know is an error that lists the keys it knows."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _only_known_keys(cls, data: Any) -> Any:
        if not isinstance(data, dict) or cls.model_config.get("extra") == "allow":
            return data
        known = [field.alias or name for name, field in cls.model_fields.items()]
        for key in data:
            if key not in known:
                raise PydanticCustomError("unknown_key", "there is no such key", {"key": key, "known": known})
        return data


class Size(Table):
    """A size as measured: one reading or several, with what, and how well."""

    readings: Values = Field(alias="is")
    by: str | None = None
    sd: Quantity | None = None
    note: str = ""

    @model_validator(mode="before")
    @classmethod
    def _short_form(cls, data: Any) -> Any:
        return {"is": data} if isinstance(data, (str, int, float, list)) and data is not True else data


def _by_side(value: Any) -> Any:
    """Take a size that is said once as that of both sides."""
    return value if isinstance(value, dict) and "is" not in value else {"both": value}


BySide = Annotated[dict[str, Size], BeforeValidator(_by_side)]
"""A size on each side, by the job's names of the sides, or one for both."""


class Doubt(Table):
    """How far something that is still to be done may be off."""

    sd: Quantity

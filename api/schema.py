"""What the OpenAPI description says beyond what the views and serializers say themselves."""

from typing import Any, Literal

from drf_spectacular.extensions import OpenApiAuthenticationExtension, OpenApiSerializerFieldExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import build_bearer_security_scheme_object
from drf_spectacular.utils import OpenApiParameter

from scheduling.quantities import UNITS, Dimension, UnitSystem

Direction = Literal["request", "response"]

EXAMPLES: dict[Dimension, str] = {
    Dimension.LENGTH: "52 ft",
    Dimension.DEPTH: "5 in",
    Dimension.AREA: "400 ft2",
    Dimension.VOLUME: "10 yd3",
    Dimension.TEMPERATURE: "72 F",
    Dimension.SPEED: "8 mph",
    Dimension.MASS: "66000 lb",
    Dimension.DENSITY: "150 lb/ft3",
    Dimension.VOLUME_RATE: "60 yd3/h",
    Dimension.STRENGTH: "4000 psi",
    Dimension.AGGREGATE: "3/4 in",
    Dimension.RAIN: "0.1 in",
    Dimension.SLUMP: "4 in",
    Dimension.SLOPE: "1/4 in per ft",
    Dimension.MINUTES_A_VOLUME: "7 min/yd3",
    Dimension.MINUTES: "25 min",
    Dimension.HOURS: "8 h",
    Dimension.PERCENT: "5 %",
    Dimension.FRACTION: "45 %",
}

UNITS_ASKED = {
    "name": "units",
    "in": "query",
    "description": "The units of every quantity in the answer; without it the company's own.",
    "schema": {"type": "string", "enum": [system.value for system in UnitSystem]},
}
IF_MATCH = OpenApiParameter(
    "If-Match",
    str,
    OpenApiParameter.HEADER,
    description="The ETag of the version you read, in place of “version” in the body.",
)

INTRODUCTION = """
Pours, crews, trucks, forecasts and texts of a concrete flatwork contractor.

**Sign in** with `POST /api/v1/tokens/` and send the token as `Authorization: Bearer …`.

**Quantities** carry their unit: `{"value": 18.0, "unit": "yd3"}`, or in requests also `"18 yd3"`, `"5 in"`,
`"30' 6\""`. Answers come in the company's units, or as `?units=us` or `?units=metric` asks.

**Times** without an offset are read on the clock of the site; answers carry the site's offset. A time that
the clocks skip or show twice is refused unless an offset says which is meant.

**Changes to a pour** or to the company's settings name the version they were made from: `version` in the
body, or its ETag in `If-Match`.
Without it the answer is 428; if somebody changed the pour since, 412 with the current `version`.

**Clashes** are shown, not forbidden: a booking that asks for people in two places at once is answered 409
with each clash and a start that would be free. Send it again with `"accept_clashes": true` to book it all
the same.

**Errors** have one shape, `application/problem+json`.
"""

QUANTITY = {
    "type": "object",
    "description": "A number with its unit.",
    "properties": {"value": {"type": "number"}, "unit": {"type": "string"}},
    "required": ["value", "unit"],
    "example": {"value": 18.0, "unit": "yd3"},
}

REFERENCE = {
    "type": "object",
    "description": "Another row, by its id; the name is for people.",
    "properties": {"id": {"type": "integer"}, "name": {"type": "string"}},
    "required": ["id", "name"],
}

PROBLEM = {
    "type": "object",
    "description": "Whatever went wrong, in one shape (RFC 9457). `code` is for programs, `detail` for "
    "people; some codes carry more: “clashes” a list of `clashes` with a free start each, “out_of_date” the "
    "current `version`, “sheet_wrong” its `problems` by line and column.",
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "code": {"type": "string"},
        "errors": {
            "type": "array",
            "description": "Each thing wrong with the request, with the path to its field.",
            "items": {
                "type": "object",
                "properties": {
                    "field": {"type": "string", "example": "sections[0].depth"},
                    "code": {"type": "string"},
                    "message": {"type": "string"},
                },
                "required": ["field", "code", "message"],
            },
        },
    },
    "required": ["type", "title", "status", "detail", "code", "errors"],
    "additionalProperties": True,
}


class QuantityFieldSchema(OpenApiSerializerFieldExtension):
    """Answers carry a `Quantity`; requests take that with the units of the dimension, or a text."""

    target_class = "api.fields.QuantityField"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: Direction) -> dict[str, Any]:
        return part("Quantity" if direction == "response" else name_given(self.target.dimension))


class ReferenceFieldSchema(OpenApiSerializerFieldExtension):
    """Requests name another row by its id; answers say its name too."""

    target_class = "api.fields.ReferenceField"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: Direction) -> dict[str, Any]:
        return part("Reference") if direction == "response" else {"type": "integer"}


class KeptOrGivenSchema(OpenApiSerializerFieldExtension):
    """The id of something kept, or what matters of it."""

    target_class = "api.serializers.previews.KeptOrGiven"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: Direction) -> dict[str, Any]:
        facts = auto_schema.resolve_serializer(self.target.facts, direction)
        return {"oneOf": [{"type": "integer"}, facts.ref]}


def part(name: str) -> dict[str, str]:
    """A reference to a part that `add_parts` writes."""
    return {"$ref": f"#/components/schemas/{name}"}


def name_given(dimension: Dimension) -> str:
    return f"{dimension.value.title().replace('_', '')}Given"


def quantity_given(dimension: Dimension, example: str) -> dict[str, Any]:
    """What a request may say for a quantity of this dimension."""
    units = list(UNITS[dimension])
    apart = {
        "type": "object",
        "properties": {"value": {"type": "number"}, "unit": {"type": "string", "enum": units}},
        "required": ["value", "unit"],
        "additionalProperties": False,
    }
    return {
        "description": f"A number with its unit, apart or as one text such as “{example}”. "
        f"Units: {', '.join(units)}.",
        "oneOf": [apart, {"type": "string", "maxLength": 60}],
        "example": example,
    }


class TokenScheme(OpenApiAuthenticationExtension):
    target_class = "api.authentication.TokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        return build_bearer_security_scheme_object(header_name="Authorization", token_prefix="Bearer")


def add_parts(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Hook: write what fields refer to, and what holds for every operation."""
    given = {name_given(dimension): quantity_given(dimension, text) for dimension, text in EXAMPLES.items()}
    result["components"]["schemas"] |= {
        "Quantity": QUANTITY, "Reference": REFERENCE, "Problem": PROBLEM, **given,
    }  # fmt: skip
    result["info"]["description"] = INTRODUCTION
    problem = {"application/problem+json": {"schema": part("Problem")}}
    for path, operations in result["paths"].items():
        for operation in operations.values():
            operation["responses"]["default"] = {"description": "What went wrong.", "content": problem}
            if "/tokens/" not in path:
                operation.setdefault("parameters", []).append(UNITS_ASKED)
    return result


def close_requests(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Hook: a name we do not know is refused, and a change leaves as it is what it does not say."""
    for name, schema in result["components"]["schemas"].items():
        if name.endswith("Request") and schema.get("type") == "object":
            schema.setdefault("additionalProperties", False)
        if name.startswith("Patched"):
            for field in schema["properties"].values():
                field.pop("default", None)
    return result

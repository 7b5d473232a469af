"""The API's document as people read it: each call with what it asks, what it answers and the scopes it needs."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from .book import document

__all__ = ["Call", "Part", "shown"]


@dataclass(frozen=True, slots=True)
class Part:
    """A field of what is sent or answered."""

    name: str
    kind: str
    words: str
    is_needed: bool


@dataclass(frozen=True, slots=True)
class Call:
    """One call."""

    method: str
    path: str
    summary: str
    needs: list[str]
    asks: list[Part]
    gives: str  # the name of what is answered
    parts: list[Part]


def _ref(schema: dict[str, Any]) -> str:
    return str(schema.get("$ref", "")).rsplit("/", 1)[-1]


def _kind(schema: dict[str, Any]) -> str:
    """Return what a value is, in a few words."""
    if name := _ref(schema):
        return name
    if choices := schema.get("enum"):
        return ", ".join(str(choice) or "nothing" for choice in choices)
    if ways := [_kind(way) for way in schema.get("anyOf", []) if way.get("type") != "null"]:
        return " or ".join(ways)
    if schema.get("type") == "array":
        return f"list of {_kind(schema['items'])}"
    return str(schema.get("format") or schema.get("type") or "value")


def _parts(schema: dict[str, Any]) -> list[Part]:
    needed = schema.get("required", [])
    return [
        Part(name, _kind(one), one.get("description", ""), name in needed)
        for name, one in schema.get("properties", {}).items()
    ]


def _call(method: str, path: str, call: dict[str, Any], schemas: dict[str, Any]) -> Call:
    asks = [
        Part(one["name"], _kind(one["schema"]), one.get("description", ""), one["required"])
        for one in call.get("parameters", [])
    ]
    if body := call.get("requestBody"):
        asks += _parts(schemas[_ref(body["content"]["application/json"]["schema"])])
    gives = _ref(call["responses"][200]["content"]["application/json"]["schema"])
    needs = call["security"][0]["Token"]
    return Call(method.upper(), path, call["summary"], needs, asks, gives, _parts(schemas[gives]))


def shown() -> Iterator[tuple[str, list[Call]]]:
    """Yield the calls in their groups."""
    whole = document()
    groups: dict[str, list[Call]] = {}
    for path, calls in whole["paths"].items():
        for method, call in calls.items():
            made = _call(method, path, call, whole["components"]["schemas"])
            groups.setdefault(call["tags"][0], []).append(made)
    yield from groups.items()

"""What the description that programs read says, address by address, and docs/api.md made of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Address:
    """One address. takes : (name, what it is) of each parameter and of each key of the body."""

    method: str
    path: str
    about: str
    takes: tuple[tuple[str, str], ...]


def addresses(described: dict[str, Any]) -> list[tuple[str, list[Address]]]:
    """The addresses of an OpenAPI description under their headings."""
    schemas = described.get("components", {}).get("schemas", {})
    groups: dict[str, list[Address]] = {}
    for path, methods in described["paths"].items():
        for method, told in methods.items():
            takes = [(one["name"], _about(one, one.get("schema", {}))) for one in told.get("parameters", [])]
            takes += _body(told.get("requestBody", {}), schemas)
            one = Address(method.upper(), path, told.get("description", told.get("summary", "")), tuple(takes))
            groups.setdefault(told.get("tags", ["Other"])[0], []).append(one)
    return list(groups.items())


def _body(told: dict[str, Any], schemas: dict[str, Any]) -> list[tuple[str, str]]:
    found = []
    for content in told.get("content", {}).values():
        schema = content["schema"]
        schema = schemas.get(schema.get("$ref", "").rpartition("/")[2], schema)
        needed = schema.get("required", [])
        for name, kind in schema.get("properties", {}).items():
            found.append((name, _about({"required": name in needed, **kind}, kind)))
    return found


def _about(told: dict[str, Any], schema: dict[str, Any]) -> str:
    kinds = [schema.get("type", "")] if "type" in schema else [one.get("type", "") for one in schema.get("anyOf", [])]
    parts = [" or ".join(kind for kind in kinds if kind), told.get("description", ""), "needed" if told.get("required") else ""]
    return "; ".join(part for part in parts if part)


def api_page(described: dict[str, Any]) -> str:
    """The whole page as Markdown. described : an OpenAPI description."""
    info = described["info"]
    about = info["description"] if isinstance(info, dict) else ""
    parts = [
        "# Interface for programs\n",
        "Written by `make docs`; do not edit by hand.\n",
        f"{about}\n",
        "The same as OpenAPI lies at `/api/v1/openapi.json` of a desk that is being served; a readable page at `/interface`.\n",
        "An example, with the desk of this machine and a token made under People:\n\n```sh\n"
        'curl -H "Authorization: Bearer $TOKEN" '
        "http://127.0.0.1:8017/api/v1/candidates\n```\n",
    ]
    for heading, group in addresses(described):
        parts.append(f"## {heading}\n")
        for one in group:
            takes = "".join(f"- `{name}`: {what or 'any'}\n" for name, what in one.takes)
            parts.append(f"### `{one.method} {one.path}`\n\n{one.about}\n" + (f"\n{takes}" if takes else ""))
    return "\n".join(parts)

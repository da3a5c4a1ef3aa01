"""Write a typed Python client from the OpenAPI document and nothing else."""

from __future__ import annotations

import keyword
import re
from typing import Any

SCHEMA = "#/components/schemas/"
PLAIN = {
    "string": "str",
    "integer": "int",
    "number": "float",
    "boolean": "bool",
    "null": "None",
}
HEAD = '''\
"""A client of the register, written from its OpenAPI document."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Literal, NotRequired, TypeAlias, TypedDict
from urllib.parse import quote, urlencode

Answer = tuple[int, Mapping[str, str], bytes]
Send = Callable[[str, str, Mapping[str, str], bytes], Answer]


class Refused(Exception):
    """The register refused a request; ``problem`` says why (RFC 9457)."""

    def __init__(self, status: int, problem: dict[str, Any]) -> None:
        super().__init__(f"{status} {problem.get('code')}: {problem.get('detail')}")
        self.status, self.problem = status, problem


class Register:
    """Every operation of the register, by its name in the document."""

    def __init__(self, send: Send, *, patience: int = 5) -> None:
        self._send, self._patience = send, patience

    def _ask(
        self,
        method: str,
        address: str,
        query: Mapping[str, Any],
        headers: Mapping[str, str | None],
        body: Any = None,
    ) -> Any:
        asked = {name: _text(each) for name, each in query.items() if each is not None}
        url = f"{address}?{urlencode(asked)}" if asked else address
        told = {name: value for name, value in headers.items() if value is not None}
        data = b"" if body is None else json.dumps(body).encode()
        if body is not None:
            told["Content-Type"] = "application/json"
        for attempt in range(self._patience + 1):
            status, answered, content = self._send(method, url, told, data)
            wait = answered.get("Retry-After")
            if status < 400:
                is_json = "json" in answered.get("Content-Type", "")
                return json.loads(content) if is_json else content
            if attempt == self._patience or status not in (409, 429, 503) or not wait:
                raise Refused(status, json.loads(content))
            time.sleep(float(wait))
        raise AssertionError
'''
TAIL = '''

def rows(ask: Callable[..., Any], *args: Any, **query: Any) -> Iterator[Any]:
    """Yield the rows of every page of a list."""
    while True:
        page = ask(*args, **query)
        yield from page["results"]
        if not page["next"]:
            return
        query["cursor"] = _cursor(page["next"])


def _cursor(address: str) -> str:
    from urllib.parse import parse_qs, urlsplit

    return parse_qs(urlsplit(address).query)["cursor"][0]


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return ",".join(map(str, value)) if isinstance(value, list) else str(value)
'''


def client_source(document: dict[str, Any]) -> str:
    """Return the source of a client for a document."""
    methods = [
        _method(method, address, told)
        for address, operations in document["paths"].items()
        for method, told in operations.items()
    ]
    shapes = [
        _shape(name, schema)
        for name, schema in document["components"]["schemas"].items()
    ]
    return HEAD + "\n".join(methods) + TAIL + "\n\n" + "\n".join(shapes) + "\n"


def _shape(name: str, schema: dict[str, Any]) -> str:
    if schema.get("type") != "object" or not schema.get("properties"):
        return f"{name}: TypeAlias = {_type(schema, quoted=True)}"
    required = set(schema.get("required", ()))
    members = [
        f'    "{member}": {_member(inner, is_required=member in required)},'
        for member, inner in schema["properties"].items()
    ]
    return "\n".join([f'{name} = TypedDict("{name}", {{', *members, "})"])


def _member(schema: dict[str, Any], *, is_required: bool) -> str:
    kind = f'"{_type(schema, quoted=False)}"'
    return kind if is_required else f"NotRequired[{kind}]"


def _type(schema: dict[str, Any], *, quoted: bool) -> str:
    if "$ref" in schema:
        return str(schema["$ref"]).removeprefix(SCHEMA)
    for words in ("anyOf", "oneOf"):
        if words in schema:
            kinds = [_type(each, quoted=quoted) for each in schema[words]]
            return " | ".join(dict.fromkeys(kinds))
    if "allOf" in schema:
        return _type(schema["allOf"][0], quoted=quoted)
    if "enum" in schema:
        words = ", ".join(repr(word) for word in schema["enum"])
        return f"Literal[{words}]".replace('"', "'")
    kinds = schema.get("type", [])
    named = kinds if isinstance(kinds, list) else [kinds]
    found = [_plain(kind, schema, quoted=quoted) for kind in named]
    return " | ".join(found) or "Any"


def _plain(kind: str, schema: dict[str, Any], *, quoted: bool) -> str:
    if kind == "array":
        return f"list[{_type(schema['items'], quoted=quoted)}]"
    return PLAIN.get(kind, "dict[str, Any]")


def _method(method: str, address: str, told: dict[str, Any]) -> str:
    parameters = told.get("parameters", ())
    path = re.findall(r"{(\w+)}", address)
    query = [each for each in parameters if each["in"] == "query"]
    headers = [each for each in parameters if each["in"] == "header"]
    body = _json(told.get("requestBody", {}))
    takes = ["self", *(f"{name}: str | int" for name in path)]
    if body:
        takes.append(f"body: {_type(body, quoted=False)}")
    named = [
        f"{_python(each['name'])}: {_type(each['schema'], quoted=False)} | None = None"
        for each in [*query, *headers]
    ]
    if named:
        takes += ["*", *named]
    url = re.sub(r"{(\w+)}", r"{quote(str(\1), safe='')}", address)
    name, result = _snake(told["operationId"]), _answer(told)
    where = [f'"{method.upper()}"', f'f"{url}"']
    sent = [*where, _pairs(query), _pairs(headers), *(["body"] if body else [])]
    return "\n".join(
        [
            "",
            f"    def {name}({', '.join(takes)}) -> {result}:",
            f'        """{told.get("summary", "")}"""',
            f"        told: {result} = self._ask({', '.join(sent)})",
            "        return told",
        ]
    )


def _answer(told: dict[str, Any]) -> str:
    for status, answer in sorted(told["responses"].items(), reverse=True):
        if status.startswith("2"):
            schema = _json(answer)
            # Chosen members come as a part; who chooses knows which.
            if schema and "anyOf" in schema:
                schema = schema["anyOf"][0]
            return _type(schema, quoted=False) if schema else "bytes"
    return "None"


def _json(content: dict[str, Any]) -> dict[str, Any] | None:
    found = content.get("content", {}).get("application/json")
    return found["schema"] if found else None


def _pairs(parameters: list[dict[str, Any]]) -> str:
    pairs = [f'"{each["name"]}": {_python(each["name"])}' for each in parameters]
    return "{" + ", ".join(pairs) + "}"


def _python(name: str) -> str:
    word = name.lower().replace("-", "_")
    return f"{word}_" if keyword.iskeyword(word) else word


def _snake(name: str) -> str:
    return re.sub(r"(?<!^)([A-Z])", r"_\1", name).lower()

"""Holds what the program prints with --json to its schema file, tests/schemas/NAME.schema.json.

NAME is the middle of the output's schema name, dropledger/NAME/VERSION: one name, one shape, one file. A name without a file
is an error, and so is a member that the file does not name, whether it says `additionalProperties` or not. usage in a test: found = held(done.stdout)"""
import json
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "schemas"
TYPES = {"object": dict, "array": list, "string": str, "boolean": bool, "null": type(None)}


def is_of_type(value, name):
    if name == "number":
        return isinstance(value, (int, float)) and not isinstance(value, bool)
    if name == "integer":
        return isinstance(value, int) and not isinstance(value, bool)
    return isinstance(value, TYPES[name])


def misfits(value, schema, root, path="$"):
    """The few keywords of JSON Schema that the files use."""
    if "$ref" in schema:
        file, _, part = schema["$ref"].partition("#/$defs/")
        root = schema_of(file.removesuffix(".schema.json")) if file else root
        return misfits(value, root["$defs"][part] if part else root, root, path)
    if "anyOf" in schema:
        tries = [misfits(value, option, root, path) for option in schema["anyOf"]]
        return [] if any(not found for found in tries) else tries[0]
    if "enum" in schema and value not in schema["enum"]:
        return [f"{path} is {value!r}, not one of {schema['enum']}"]
    if "type" in schema and not is_of_type(value, schema["type"]):
        return [f"{path} is {value!r}, not of type {schema['type']}"]
    found = []
    if "minimum" in schema and value < schema["minimum"] or "maximum" in schema and value > schema["maximum"]:
        found.append(f"{path} is {value}, out of range")
    if isinstance(value, list):
        if not schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", len(value)):
            found.append(f"{path} has {len(value)} items")
        for i, item in enumerate(value):
            found += misfits(item, schema.get("items", {}), root, f"{path}[{i}]")
    if isinstance(value, dict):
        found += [f"{path}.{key} is missing" for key in schema.get("required", []) if key not in value]
        for key, item in value.items():
            other = schema.get("additionalProperties", False if "properties" in schema else {})
            inner = schema.get("properties", {}).get(key, other)
            if inner is False:
                found.append(f"{path}.{key} is not in the schema")
            else:
                found += misfits(item, inner, root, f"{path}.{key}")
    return found


def schema_of(name):
    file = FOLDER / f"{name}.schema.json"
    assert file.is_file(), f"an output of schema {name}, and no {file.name} in tests/schemas"
    return json.loads(file.read_text(encoding="utf-8"))


def held(text):
    """The output, read; an AssertionError where it is not as its schema says."""
    value = json.loads(text)
    schema = schema_of(value["schema"].split("/")[1])
    found = misfits(value, schema, schema)
    assert not found, f"{value['schema']}: {'; '.join(found[:5])}"
    return value

"""JSON to a stream, path by path, so that a district does not stand twice in memory."""

import json
from typing import Any, TextIO


def write_json(data: dict[str, Any], stream: TextIO) -> None:
    """Write a record as JSON, one item of its lists a line."""
    encode = json.JSONEncoder(allow_nan=False, ensure_ascii=False).encode
    stream.write("{")
    for place, (key, value) in enumerate(data.items()):
        stream.write(f"{',' if place else ''}\n{encode(key)}: ")
        if isinstance(value, list) and value and isinstance(value[0], dict):
            stream.write("[\n")
            for index, item in enumerate(value):
                stream.write(encode(item))
                stream.write(",\n" if index + 1 < len(value) else "\n")
            stream.write("]")
        else:
            stream.write(encode(value))
    stream.write("\n}\n")

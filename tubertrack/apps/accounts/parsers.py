"""JSON that comes in: however it is nested or torn, an answer and not a crash."""

from __future__ import annotations

from typing import Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser


class SafeJSONParser(JSONParser):
    """As JSONParser; nesting beyond what Python can read is a parse error too."""

    def parse(self, stream: Any, media_type: Any = None, parser_context: Any = None) -> Any:
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError as problem:
            raise ParseError("it is nested too deep") from problem

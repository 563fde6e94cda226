"""Builds the frontend into the package, so that an installed wheel needs no Node."""

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class FrontendHook(BuildHookInterface[Any]):
    """Runs before the files of a wheel are gathered."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        if self.target_name != "wheel":
            return
        sys.path.insert(0, str(Path(__file__).parents[2]))
        from tubertrack.config.setup.frontend import ensure_built

        ensure_built()

"""The face that everything is printed in: B612, an open font made to be read on instruments.

It comes with the built app (npm packages @fontsource/b612 and @fontsource/b612-mono). Without a
build, and for scripts that it lacks, the computer's DejaVu stands in.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

# (family, weight): beginning of the file's name, as the build leaves it
_FILES = {
    ("B612", 400): "b612-latin-400-normal",
    ("B612", 700): "b612-latin-700-normal",
    ("B612 Mono", 400): "b612-mono-latin-400-normal",
    ("B612 Mono", 700): "b612-mono-latin-700-normal",
}
SANS = '"B612", "DejaVu Sans", sans-serif'
MONO = '"B612 Mono", "DejaVu Sans Mono", monospace'


@dataclass(frozen=True)
class Fonts:
    """Files of the bundled face by their address; empty when there are none."""

    files: Mapping[str, Path] = field(default_factory=dict)
    css: str = ""

    @property
    def is_bundled(self) -> bool:
        return bool(self.files)


def bundled_fonts(spa_dir: Path) -> Fonts:
    """The face in the built app, or none at all unless every cut of it is there."""
    files: dict[str, Path] = {}
    rules: list[str] = []
    for (family, weight), beginning in _FILES.items():
        found = sorted(spa_dir.glob(f"assets/{beginning}*.woff2"))
        if not found:
            return Fonts()
        address = found[-1].resolve().as_uri()
        files[address] = found[-1]
        rules.append(
            f'@font-face {{ font-family: "{family}"; font-weight: {weight}; src: url("{address}") }}'
        )
    return Fonts(files, "\n".join(rules))

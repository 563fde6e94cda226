"""The OpenAPI file and the TypeScript types made from it; both are committed."""

import subprocess
from pathlib import Path

from tubertrack.config.setup import frontend
from tubertrack.config.setup.progress import ROOT

OPENAPI = ROOT / "frontend" / "openapi.yaml"
TYPES = ROOT / "frontend" / "src" / "sync" / "api-types.d.ts"


def openapi_text() -> str:
    """The API of the code as it stands, as OpenAPI 3.0.3 in YAML."""
    import django

    django.setup()
    from drf_spectacular.generators import SchemaGenerator
    from drf_spectacular.renderers import OpenApiYamlRenderer

    schema = SchemaGenerator().get_schema(request=None, public=True)
    return OpenApiYamlRenderer().render(schema, renderer_context={}).decode("utf-8")


def types_text(openapi: Path) -> str:
    """The client's types for an OpenAPI file."""
    frontend.ensure_packages(all_of_them=True)
    npm, env = frontend.node_command()
    return subprocess.run(
        [*npm, "exec", "--offline", "--", "openapi-typescript", str(openapi)],
        cwd=frontend.FRONTEND,
        env=env,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    ).stdout


def write_api_types() -> None:
    """Both files are current."""
    OPENAPI.write_text(openapi_text(), "utf-8", newline="\n")
    TYPES.write_text(types_text(OPENAPI), "utf-8", newline="\n")

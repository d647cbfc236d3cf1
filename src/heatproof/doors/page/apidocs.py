"""OpenAPI as one plain page: no script, nothing fetched from elsewhere."""

from html import escape
from typing import Any

HEAD = """<!doctype html><html lang="en"><meta charset="utf-8"><title>heatproof over HTTP</title>
<style>body{font:14px/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem}
dt{font-weight:600;margin-top:1rem}dd{margin:0}code{background:#8881;padding:0 .2rem}</style>
<h1>heatproof over HTTP</h1>
<p>The same as data: <a href="openapi.json">openapi.json</a>. Every screen has its JSON twin.</p>"""


def docs_page(schema: dict[str, Any]) -> str:
    """Every path with what it does and takes."""
    groups: dict[str, list[str]] = {}
    for path, methods in schema["paths"].items():
        for method, told in methods.items():
            groups.setdefault((told.get("tags") or ["other"])[0], []).append(entry(path, method, told))
    return HEAD + "".join(f"<h2>{escape(tag)}</h2><dl>{''.join(found)}</dl>" for tag, found in groups.items())


def entry(path: str, method: str, told: dict[str, Any]) -> str:
    """One path and method."""
    names = [p["name"] for p in told.get("parameters", [])]
    body = told.get("requestBody", {}).get("content", {})
    kinds = [str(c.get("schema", {}).get("$ref", kind)).rsplit("/", 1)[-1] for kind, c in body.items()]
    takes = ", ".join([*names, *kinds])
    about = escape(told.get("description") or told.get("summary", ""))
    return (
        f"<dt><code>{method.upper()} {escape(path)}</code></dt><dd>{about}"
        + (f" Takes {escape(takes)}." if takes else "")
        + "</dd>"
    )

"""Requests to the page: every route, bodies and parameters damaged, uploads of damaged files."""

import json
import random
import re
import shutil
from pathlib import Path
from typing import Any

import fuzz_logs as L
import fuzz_meshes
import fuzz_mutators as M
from fastapi.testclient import TestClient
from fuzz_projects import SMALL
from fuzz_readers import Reader, Told

from heatproof.doors.page.app import make_app

HERE = "http://127.0.0.1:8000"
FINE = (503, 507)  # not computed yet; the disk is at fault
NAMES = (
    "loom",
    "head",
    "hill",
    "run.csv",
    "cheap",
    "run.yaml",
    "release-t1.json",
    "1",
    "0",
    "-1",
    "999999999999999999999",
)
BODIES: dict[str, dict[str, Any]] = {
    "/api/start": {"example": "hatchback", "folder": "demo"},
    "/api/edit": {"version": 0, "fit": ["shield"], "leave": [],
                  "values": [{"file": "kit.yaml", "path": "changes.engine.rated_power", "text": "64 kW"}]},
    "/api/variants": {"version": 0, "name": "cheap"}, "/api/take": {"version": 0, "name": "cheap"},
    "/api/against": {"name": "cheap"}, "/api/save": {"version": 0, "keep_mine": True},
    "/api/undo": {"version": 0}, "/api/redo": {"version": 0}, "/api/reread": {"version": 0},
    "/api/jobs": {"kind": "against", "logs": ["run.csv"], "paths": [], "ambient": "20 degC", "altitude": "0 m"},
    "/api/logs/{name}/channels": {"rows": [{"column": "Oil temp [degC]", "quantity": "oil_temperature", "unit": "degC",
                                            "place": "", "time_constant_s": 3.0, "ignore": False}]},
}  # fmt: skip
ODD_PATHS = (
    "..%2f..%2fcar.yaml",
    "%00",
    "%ff",
    "a" * 3000,
    "%F0%9F%94%A5",
    "%0d%0aX:%20y",
    " ",
    "%",
    "{name}",
    "NaN",
    "con.csv",
)
ODD_QUERIES = ("NaN", "inf", "-1", "1e999", "", "\0", "a" * 5000, "[]", "ölkühler", "hill", "loom", "0", "1")


class Page(Reader):
    """One request; the whole project must still be readable afterwards, whatever was asked."""

    may_change = ("demo",)

    def start(self) -> None:
        self.folder = Path(shutil.copytree(SMALL, self.inputs / "demo"))
        (self.folder / "logs").mkdir()
        (self.folder / "logs" / "run.csv").write_bytes(L.TEXTS[0])
        (self.inputs / "beside.txt").write_text("not to be touched")
        self.app = make_app(self.folder, root=self.inputs, background=False)
        self.app.state.start.need().wait(120.0)
        self.client = TestClient(self.app, base_url=HERE, raise_server_exceptions=True).__enter__()
        self.routes = [(path, method.upper()) for path, ways in self.app.openapi()["paths"].items() for method in ways
                       if path != "/api/events"]  # fmt: skip
        self.warm()

    def warm(self) -> None:
        """What a first look compiles is compiled before anybody counts processor time."""
        for path, method in self.routes:
            if method == "GET" and "{" not in path:
                self.client.get(path)
        self.client.get("/api/parts/loom")

    def end(self) -> None:
        self.client.__exit__(None, None, None)

    def put(self, dice: random.Random) -> None:
        path, self.method = dice.choice(self.routes)
        body = BODIES.get(path)
        self.content: bytes = b""
        if body is not None:
            body = body | ({"version": self.app.state.start.need().version} if "version" in body else {})
            self.content = (
                M.json_bytes(json.dumps(body).encode(), dice)
                if dice.random() < 0.8
                else json.dumps(body).encode()
            )
        self.path = re.sub(r"\{[^}]*\}", lambda _: dice.choice((*NAMES, *NAMES, *ODD_PATHS)), path)
        keys = ("duty", "time", "after", "first", "second", "text", "column", "on", "short", "units", "x")
        self.query = {key: dice.choice(ODD_QUERIES) for key in dice.sample(keys, dice.choice((0, 1, 2, 5)))}
        if dice.random() < 0.3:
            self.query |= {
                "duty": "hill",
                "first": "loom",
                "second": "head",
                "text": "loom",
                "column": "Oil temp [degC]",
            }

    def read(self) -> None:
        reply = self.client.request(
            self.method,
            self.path,
            content=self.content,
            params=self.query,
            headers={"content-type": "application/json"},
        )
        self.judge(reply)

    def judge(self, reply: Any) -> None:
        assert reply.status_code < 500 or reply.status_code in FINE, (reply.status_code, reply.text[:300])
        if reply.status_code == 422 and "findings" in reply.text:
            raise Told(reply.text, good=bool(reply.json()["what"]))
        if reply.status_code >= 400:
            raise Told(reply.text, good=bool(reply.text))


class Uploads(Page):
    """Damaged logs and meshes sent up, then looked at as the page does."""

    def put(self, dice: random.Random) -> None:
        for room in ("logs", "parts"):
            shutil.rmtree(self.folder / room, ignore_errors=True)
        self.log = dice.random() < 0.7
        if self.log:
            self.name = dice.choice(
                ("a.csv", "a b.txt", "a.parquet", "a.mf4", "../a.csv", "ä.csv", ".csv", "a.csv\0", "x" * 300)
            )
            self.data = M.text(dice.choice(L.TEXTS), dice)
        else:
            self.name = dice.choice(("a.stl", "a.glb", "A.STL", "../a.stl", "a.obj", "a.stl.exe"))
            self.data = M.binary(fuzz_meshes.BOX.export(file_type="stl"), dice)
        self.rows = M.tree(BODIES["/api/logs/{name}/channels"], dice)

    def read(self) -> None:
        where = "/api/logs" if self.log else "/api/meshes"
        reply = self.client.post(where, files={"file": (self.name, self.data)})
        self.judge(reply)
        if self.log:
            name = reply.json()["name"]
            try:
                self.judge(self.client.get(f"/api/logs/{name}"))
                self.judge(self.client.get(f"/api/logs/{name}/traces", params={"column": "Oil temp [degC]"}))
            finally:
                self.judge(
                    self.client.post(
                        f"/api/logs/{name}/channels", content=json.dumps(self.rows).encode("utf-8", "replace")
                    )
                )


READERS = {"page": Page, "uploads": Uploads}

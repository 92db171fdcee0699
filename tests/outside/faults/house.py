"""A house that changes at random, and what a build of it may leave behind. Knows nothing of the program but its files."""

import hashlib
import json
import os
import pathlib
import re
import subprocess

LINE = re.compile(r"([\w-]+): ([a-z]+) (\d+) (0x[0-9a-f]{4,8}(?:\+0x[0-9a-f]{4,8})*) ([0-9a-f]{32})")
PROGRAM = os.environ["HOUSEWRIGHT"]
# One worker thread, so that the n-th call of a kind is the same one in every run.
CALM = {"PATH": "/usr/bin:/bin", "RAYON_NUM_THREADS": "1"}


def address(raw):
    return f"{raw >> 11}/{raw >> 8 & 7}/{raw & 255}"


class Broken(Exception):
    """Something is not as it must be at every instant."""


class House:
    """A folder with a house, its ledger and its output folder."""

    def __init__(self, folder, chance):
        self.folder, self.chance = pathlib.Path(folder), chance
        self.folder.mkdir(parents=True, exist_ok=True)
        self.out = self.folder / "build"
        self.appliances, self.born = {}, 0
        self.given = {}  # (bridge, number) -> unique id, of every ledger and build ever seen
        for _ in range(12):
            self.add()
        self.write()

    def add(self):
        self.born += 1
        key = f"lamp-{self.chance.randrange(10**6):06}-{self.born}"
        self.appliances[key] = (self.chance.choice(["wharf", "quay"]), self.born, None)

    def change(self):
        """Makes the next build different from the last one."""
        for _ in range(3):
            self.add()
        deed = self.chance.randrange(3) if len(self.appliances) < 40 else 0
        key = self.chance.choice(sorted(self.appliances))
        bridge, number, _ = self.appliances[key]
        if deed == 0:
            for gone in [key, *self.chance.sample(sorted(self.appliances), 4)]:
                self.appliances.pop(gone, None)
        elif deed == 1:
            del self.appliances[key]
            self.appliances[f"{key}-x"] = (bridge, number, key)
        self.write()

    def write(self):
        lines = [
            "housewright: 1",
            "house: { id: faults, name: Faults }",
            "buses: { main: {} }",
            "bridges: { wharf: { name: Wharf, capacity: 100 }, quay: { name: Quay, capacity: 100 } }",
            "rooms:",
            "  hall:",
            "    name: Hall",
            "    appliances:",
        ]
        for key, (bridge, number, formerly) in self.appliances.items():
            lines += [f"      {key}:", f"        name: Lamp {number}", "        class: on-off-light"]
            lines += [f"        bridge: {bridge}"] + ([f"        formerly: {formerly}"] if formerly else [])
            lines += ["        points:"]
            command, feedback = address(0x0800 + number), address(0x8000 + number)
            lines += [f"          switching: {{ command: {command}, feedback: {feedback} }}"]
        # In one step: a build may be reading it.
        next_one = self.folder.with_name(self.folder.name + ".next")
        next_one.write_text("\n".join(lines) + "\n")
        next_one.rename(self.folder / "house.yaml")

    def command(self, out=None):
        return [PROGRAM, "build", str(self.folder), "--out", str(out or self.out)]

    def build(self, before=(), out=None, **more):
        """Runs a build to its end, whatever that is; `before` is what runs it."""
        command = [*before, *self.command(out)]
        return subprocess.run(command, env=CALM, capture_output=True, text=True, timeout=120, **more)

    def must_build(self):
        """The next build succeeds by itself, and nothing but a house and its build remains."""
        done = self.build()
        if done.returncode != 0:
            raise Broken(f"the next build failed with {done.returncode}: {done.stderr}")
        self.look()
        self.tidy()
        keys = {endpoint["key"].split("/")[0] for endpoint in self.endpoints(self.out)}
        if keys != set(self.appliances):
            raise Broken(f"the build is not of this house: {keys ^ set(self.appliances)}")

    def tidy(self):
        found = sorted(path.name for path in self.folder.iterdir())
        if found != ["build", "house.yaml", "ledger.yaml"]:
            raise Broken(f"left behind: {found}")

    def look(self):
        """Ledger and last build are whole and go together, and no number was given twice."""
        ledger = self.ledger()
        if self.out.exists():
            self.look_at_build(self.out, ledger)
        else:
            last = self.folder / ".build.housewright-last"
            if last.exists():
                self.look_at_build(last, ledger)
            elif self.given and ledger and getattr(self, "placed", False):
                raise Broken("the build has gone")

    def look_at_build(self, folder, ledger):
        self.placed = True
        manifest = json.loads((folder / "manifest.json").read_text())
        named = {output["path"]: output for output in manifest["outputs"]}
        there = {str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file()} - {"manifest.json"}
        if there != set(named):
            raise Broken(f"files of the build: {there ^ set(named)}")
        for path, output in named.items():
            content = (folder / path).read_bytes()
            if hashlib.sha256(content).hexdigest() != output["sha256"] or len(content) != output["bytes"]:
                raise Broken(f"{path} is not what the manifest says")
        for endpoint in self.endpoints(folder):
            place = (endpoint["bridge"], endpoint["number"])
            if ledger.get(place) != endpoint["uniqueId"]:
                raise Broken(f"the build has {place} {endpoint}, the ledger has {ledger.get(place)}")

    def endpoints(self, folder):
        for path in sorted(folder.glob("*.bridge.json")):
            definition = json.loads(path.read_text())
            for endpoint in definition["endpoints"]:
                yield {"bridge": definition["bridge"]["key"], **endpoint}

    def ledger(self):
        """Bridge and number of every identity in the ledger, with its unique id."""
        path = self.folder / "ledger.yaml"
        if not path.exists():
            if self.given:
                raise Broken("the ledger has gone")
            return {}
        text = path.read_text()
        if not text.startswith("housewright-ledger: 1\n") or not text.endswith("\n"):
            raise Broken(f"the ledger is cut off: {text[-80:]!r}")
        found = {}
        for _, bridge, number, _, unique_id in LINE.findall(text):
            place = (bridge, int(number))
            if place in found:
                raise Broken(f"the ledger gives {place} twice")
            found[place] = unique_id
        for place, unique_id in self.given.items():
            if found.get(place) != unique_id:
                raise Broken(f"{place} was {unique_id} and is {found.get(place)}")
        if len(set(found.values())) != len(found):
            raise Broken("a unique id stands for two endpoints")
        self.given = found
        return found

"""A build that is killed at any instant, that meets a full disk or a folder it may not write, that runs twice at once.

After each fault the ledger and the last build must be whole and go together, no endpoint number may have been given
twice, and the next build must succeed by itself. `faults.py NAME` runs one of the parts.
"""

import os
import pathlib
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time

from house import CALM, PROGRAM, Broken, House, address

# As many builds as it takes are begun until so many were killed before their end.
KILLS = 310
# Every call that changes something in the file system; each is counted by itself. `?` for those that are not on
# every machine.
CHANGES = (
    "?mkdir mkdirat openat write ?writev ?pwrite64 fsync fdatasync syncfs fchmod ?chmod fchmodat fchown ?fchownat"
    " ?rename renameat ?renameat2 ?unlink unlinkat ?rmdir flock"
).split()
# More of one kind than any build makes; a build that goes on beyond this has lost its way.
MOST = 400


def strace(expression, *more):
    return ["strace", "-f", "-qq", "-o", "/dev/null", *more, "-e", f"inject={expression}"]


def kinds():
    """The calls by kind, and for those that several threads make also by the file."""
    for kind in CHANGES:
        yield kind, ()
    staged = [f".build.housewright-next/{name}" for name in ("manifest.json", "wharf.bridge.json", "review.md")]
    for name in (*staged, ".ledger.yaml.housewright-next"):
        for kind in ("openat", "write", "fsync"):
            yield kind, (name,)


def paths(house, names):
    return [word for name in names for word in ("-P", str(house.folder / name))]


def killed_at_random(folder, chance):
    """SIGKILL at random instants of a build."""
    house = House(folder, chance)
    house.must_build()
    durations = []
    for _ in range(5):
        house.change()
        start = time.monotonic()
        house.must_build()
        durations.append(time.monotonic() - start)
    usual, hits, begun = min(durations), 0, 0
    while hits < KILLS:
        begun += 1
        if begun > 20 * KILLS:
            raise Broken("hardly a build is killed before its end")
        house.change()
        child = subprocess.Popen(house.command(), env=CALM, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(chance.uniform(0, usual))
        child.send_signal(signal.SIGKILL)
        hits += child.wait() == -signal.SIGKILL
        house.look()
        if chance.random() < 0.5:
            house.must_build()
    house.must_build()
    return f"{hits} of {begun} killed before their end"


def killed_at_each_change(folder, chance, always=()):
    """SIGKILL before the first, second, third … call of each kind that changes something."""
    house = House(folder, chance)
    house.must_build()
    kills = 0
    for kind, names in kinds():
        for at in range(1, MOST):
            house.change()
            before = strace(f"{kind}:signal=SIGKILL:when={at}", *paths(house, names), *always)
            done = house.build(before)
            house.look()
            if done.returncode == 0:
                break
            kills += 1
            house.must_build()
        else:
            raise Broken(f"{kind} without an end")
        house.must_build()
    return f"{kills} kills"


def killed_where_names_cannot_be_exchanged(folder, chance):
    """The same on a file system that knows no exchange of two names."""
    return killed_at_each_change(folder, chance, ("-e", "inject=?renameat2:error=EINVAL"))


def failing_calls(folder, chance):
    """Each call of each kind fails once: with a full disk, with a broken one."""
    house = House(folder, chance)
    house.must_build()
    failures = 0
    for error in ("ENOSPC", "EIO"):
        for kind, names in kinds():
            if kind in ("openat", "write") and not names:
                continue  # Reading and the terminal fail, too; that is told elsewhere, listing below.
            for at in range(1, MOST):
                house.change()
                done = house.build(strace(f"{kind}:error={error}:when={at}", *paths(house, names)))
                house.look()
                if done.returncode not in (0, 2):
                    raise Broken(f"{kind} {at} {error}: {done.returncode} {done.stderr}")
                if done.returncode == 2:
                    failures += 1
                    if "= help:" not in done.stderr:
                        raise Broken(f"{kind} {at} {error} without help: {done.stderr}")
                house.must_build()
                if done.returncode == 0 and not came_so_far(house, kind, at, names):
                    break
    return f"{failures} failures"


def came_so_far(house, kind, at, names):
    """Whether a build has an `at`-th call of a kind: some of them may fail and the build succeeds."""
    house.change()
    done = house.build(strace(f"{kind}:signal=SIGKILL:when={at}", *paths(house, names)))
    house.must_build()
    return done.returncode != 0


def broken_listings(folder, chance):
    """The disk breaks off while a folder of the house is listed: what is missing is never taken for gone."""
    house = pathlib.Path(folder)
    rooms = "rooms: {{ r{0}: {{ name: Room {0}, appliances: {{ l{0}: {{ name: Lamp {0}, class: on-off-light, points: {1} }} }} }} }}\n"
    for number, floor in enumerate(("cellar", "ground", "upper"), 1):
        (house / "floors" / floor).mkdir(parents=True)
        points = f"{{ switching: {{ command: {address(0x0800 + number)}, feedback: {address(0x8000 + number)} }} }}"
        (house / "floors" / floor / "rooms.yaml").write_text(rooms.format(number, points))
    root = ["housewright: 1", "house: { id: faults, name: Faults }", "buses: { main: {} }", "bridges: { b: { name: B, capacity: 9 } }"]
    (house / "house.yaml").write_text("\n".join([*root, "include: [floors/*/*.yaml]"]) + "\n")
    build = [PROGRAM, "build", str(house)]
    run = lambda before: subprocess.run([*before, *build], env=CALM, capture_output=True, text=True)
    if run([]).returncode != 0:
        raise Broken("the house cannot be built")
    ledger, told = (house / "ledger.yaml").read_bytes(), 0
    for error in ("EIO", "ENOMEM"):
        for at in range(1, MOST):
            done = run(strace(f"getdents64:error={error}:when={at}"))
            if (house / "ledger.yaml").read_bytes() != ledger:
                raise Broken(f"getdents64 {at} {error}: the ledger has changed")
            if done.returncode == 0 and "no change" not in done.stdout:
                raise Broken(f"getdents64 {at} {error}: {done.stdout}")
            if done.returncode != 0 and "= help:" not in done.stdout + done.stderr:
                raise Broken(f"getdents64 {at} {error} without help: {done.returncode} {done.stdout} {done.stderr}")
            told += done.returncode != 0
            if run(strace(f"getdents64:signal=SIGKILL:when={at}")).returncode == 0:
                break
        else:
            raise Broken("getdents64 without an end")
    if told < 6:
        raise Broken(f"only {told} listings that broke off were told")
    return f"{told} failures"


def full_disk(folder, chance):
    """A disk with a little more room each time, until a build fits."""
    disk = pathlib.Path(folder) / "disk"
    disk.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(disk)], capture_output=True)
    if mounted.returncode != 0:
        return "left out: only root may mount a small disk"
    try:
        house = House(disk / "house", chance)
        house.must_build()
        failures = 0
        for room in range(0, 200, 4):
            house.change()
            ballast = disk / "ballast"
            with open(ballast, "wb") as file:
                free = os.statvfs(disk).f_bavail * os.statvfs(disk).f_frsize
                file.write(bytes(max(0, free - room * 1024)))
            done = house.build()
            house.look()
            if done.returncode != 0:
                failures += 1
                if done.returncode != 2 or "disk is full" not in done.stderr:
                    raise Broken(f"a full disk is told as: {done.returncode} {done.stderr}")
            ballast.unlink()
            house.must_build()
        if failures < 3:
            raise Broken("the disk never was full")
        return f"{failures} builds did not fit"
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def without_permission(folder, chance):
    """Folders and files that may not be written or read."""
    if os.getuid() != 0:
        return "left out: only root can become somebody who may not"
    program = shutil.copy(PROGRAM, pathlib.Path(folder) / "program")
    os.chmod(program, 0o755)
    os.chmod(folder, 0o755)
    house = House(pathlib.Path(folder) / "house", chance)
    house.command = lambda out=None: [program, "build", str(house.folder), "--out", str(out or house.out)]
    nobody = {"user": 65534, "group": 65534, "extra_groups": []}
    subprocess.run(["chown", "-R", "65534:65534", str(house.folder)], check=True)
    house.build(**nobody)
    house.look()
    ledger = house.folder / "ledger.yaml"
    elsewhere = pathlib.Path(folder) / "elsewhere"
    elsewhere.mkdir(mode=0o777)
    elsewhere.chmod(0o777)
    cases = [(house.folder, 0o555, None), (house.folder, 0o555, elsewhere / "out"), (ledger, 0o000, None)]
    cases += [(elsewhere, 0o555, elsewhere / "out"), (house.out, 0o000, None)]
    for path, mode, out in cases:
        house.change()
        subprocess.run(["chown", "-R", "65534:65534", str(house.folder)], check=True)
        usual, held = path.stat().st_mode & 0o777, ledger.read_bytes()
        path.chmod(mode)
        done = house.build(out=out, **nobody)
        path.chmod(usual)
        if done.returncode not in (1, 2) or not re.search(r"help: ", done.stderr):
            raise Broken(f"{path} {mode:o}: {done.returncode} {done.stderr}")
        if ledger.read_bytes() != held:
            raise Broken(f"{path} {mode:o}: the ledger has changed")
        house.look()
        done = house.build(**nobody)
        if done.returncode != 0:
            raise Broken(f"the next build failed: {done.stderr}")
        house.look()
        house.tidy()
    # A last build that somebody protected is replaced all the same, and leaves nothing in the way of the next.
    for _ in range(2):
        house.change()
        subprocess.run(["chown", "-R", "65534:65534", str(house.folder)], check=True)
        house.out.chmod(0o555)
        done = house.build(**nobody)
        if done.returncode != 0:
            raise Broken(f"a protected output folder is in the way: {done.stderr}")
        house.look()
        house.tidy()
    house.out.chmod(0o755)
    # Who may not write the house can still build elsewhere when nothing is to be remembered.
    house.folder.chmod(0o555)
    done = house.build(out=elsewhere / "out", **nobody)
    house.folder.chmod(0o755)
    if done.returncode != 0:
        raise Broken(f"a house that is only read cannot be built: {done.stderr}")
    return f"{len(cases)} refusals"


def at_once(folder, chance):
    """Several builds of one house at once, while it changes; some of them are killed."""
    house = House(folder, chance)
    for turn in range(40):
        children = []
        for _ in range(4):
            house.change()
            command = house.command()
            children.append(subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True))
        if turn % 2:
            time.sleep(chance.uniform(0, 0.02))
            children[chance.randrange(4)].kill()
        for child in children:
            said = child.communicate(timeout=120)[1]
            if child.returncode not in (0, -signal.SIGKILL):
                raise Broken(f"one of several builds failed with {child.returncode}: {said}")
        house.look()
        house.must_build()
    return "160 builds"


PARTS = [
    killed_at_random,
    killed_at_each_change,
    killed_where_names_cannot_be_exchanged,
    failing_calls,
    broken_listings,
    full_disk,
    without_permission,
    at_once,
]


def main():
    wanted = sys.argv[1:]
    for part in PARTS:
        if wanted and part.__name__ not in wanted:
            continue
        start = time.monotonic()
        seed = 20240501
        with tempfile.TemporaryDirectory(prefix="faults-") as folder:
            said = part(os.path.join(folder, "it") if part not in (full_disk, without_permission) else folder,
                        random.Random(seed))
        print(f"{part.__name__.replace('_', ' ')}: {said}, {time.monotonic() - start:.0f} s", flush=True)


if __name__ == "__main__":
    main()

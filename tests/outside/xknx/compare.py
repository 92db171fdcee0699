"""Compares the codec with xknx on random values. See README.md beside this file.

    compare.py [SEED | fresh [VALUES PER TYPE]]

The program is named by HOUSEWRIGHT. Without a seed it is 1, so that what guards main says the same every time. Exit code 1 on a difference that is not known, or on a known one
that did not show up.
"""

from __future__ import annotations

from fractions import Fraction
import math
import os
from pathlib import Path
import random
import re
import subprocess
import sys
from typing import Any

from xknx.dpt import DPTArray, DPTBase, DPTBinary
from xknx.dpt.dpt import DPTComplex, DPTEnum, DPTNumeric
import yaml

HERE = Path(__file__).parent
NAMES = yaml.safe_load((HERE.parent / "knx" / "known-differences.yaml").read_text(encoding="utf-8"))
KNOWN = yaml.safe_load((HERE / "known-differences.yaml").read_text(encoding="utf-8"))
PROGRAM = os.environ["HOUSEWRIGHT"]


def covers(entry: dict[str, Any], dpt: str) -> bool:
    return entry["dpt"] == dpt or entry["dpt"] == dpt.split(".")[0] + ".*"


class Words:
    """Its names and numbers in ours: the known differences of one type."""

    def __init__(self, dpt: str) -> None:
        entries = [entry for entry in NAMES if covers(entry, dpt)]
        self.names = {k: v for entry in reversed(entries) for k, v in entry.get("names", {}).items()}
        self.counted = {e["field"]: e["counted-from"] for e in entries if "counted-from" in e}
        self.decimals = min((e["decimals"] for e in entries if "decimals" in e), default=None)
        self.digits = min((e["digits"] for e in entries if "digits" in e), default=None)

    def name(self, theirs: str) -> str:
        return self.names.get(theirs, theirs.replace("_", "-"))

    def scalar(self, field: str, value: Any) -> Any:
        """A bool, a name or a number, as ours."""
        if isinstance(value, bool):
            return str(value).lower()
        if isinstance(value, str):
            return self.name(value)
        return value - self.counted.get(field, 0)


def plain(value: Any) -> Any:
    if hasattr(value, "as_dict"):
        return {k: v for k, v in value.as_dict().items() if v is not None}
    return value.name.lower() if hasattr(value, "name") and hasattr(value, "value") else value


def text(cls: type[DPTBase], words: Words, value: Any) -> str:
    """One of its values as our text."""
    if isinstance(value, dict):
        return " ".join(f"{words.name(k)}={words.scalar(words.name(k), v)}" for k, v in value.items()) or "nothing"
    if cls.dpt_main_number in (4, 16):
        escaped = "".join(c if " " <= c != '"' and c != "\\" else f"\\u{{{ord(c):x}}}" for c in value)
        return f'"{escaped}"'
    return str(words.scalar("value", value))


def numbers(cls: type[DPTNumeric], rng: random.Random) -> float:
    """Of every size; near the ends; of the type's own steps."""
    lo, hi = cls.value_min, cls.value_max
    step = cls.resolution if cls.dpt_main_number in (7, 8) else 1
    if cls.dpt_main_number == 14:
        return rng.choice([rng.uniform(-1e6, 1e6), rng.uniform(-1, 1), math.ldexp(rng.uniform(-1, 1), rng.randint(-120, 128))])
    lo, hi = lo * step, hi * step
    kind = rng.random()
    if kind < 0.04 and cls.dpt_main_number not in (9, 17, 29):
        # Beyond an end by a part of a step.
        part = rng.uniform(0.05, 0.95) * step
        return round(rng.choice([lo - part, hi + part]), 1 if step == 1 else 3)
    if kind < 0.1:
        value = rng.choice([lo, hi, lo - step, hi + step, 0])
    elif kind < 0.5:
        value = rng.uniform(lo, hi)
    else:
        value = rng.choice([1, -1]) * math.exp(rng.uniform(-6, math.log(max(abs(lo), abs(hi), 2))))
    if cls.dpt_main_number == 9 and kind > 0.95:
        # Between the last mantissa of an exponent and the first of the next.
        return round(rng.uniform(2047, 2048) * 2 ** rng.randint(0, 12) / 100, 4)
    if cls.dpt_main_number == 9:
        return round(value, rng.choice([0, 1, 2, 3]))
    if cls.dpt_main_number == 5 and cls.dpt_sub_number in (1, 3):
        return round(value, rng.choice([0, 0, 1, 2]))
    if kind > 0.9 and cls.dpt_main_number not in (17, 29):
        return round(value, 1)
    return round(value / step) * step if isinstance(step, int) else round(round(value / step) * step, 2)


def field(schema: dict[str, Any], rng: random.Random) -> Any:
    if schema["type"] == "boolean":
        return rng.random() < 0.5
    if schema["type"] == "enum":
        return rng.choice(schema["options"])
    lo, hi = schema["value_min"], schema["value_max"]
    if schema["type"] == "integer":
        return rng.choice([lo, hi, rng.randint(lo, hi), rng.randint(lo, hi), rng.randint(lo, hi)])
    return round(rng.uniform(lo, hi), rng.choice([1, 4]) if hi <= 1 else 1)


def structure(cls: type[DPTComplex], rng: random.Random) -> dict[str, Any]:
    """All fields, or the optional ones by chance."""
    whole = rng.random() < 0.5
    return {
        schema["name"]: field(schema, rng)
        for schema in cls.get_dict_schema()
        if schema["required"] or whole or rng.random() < 0.75
    }


def any_value(cls: type[DPTBase], rng: random.Random) -> Any:
    if issubclass(cls, DPTEnum):
        return rng.choice(list(cls.data_type)).name.lower()
    if issubclass(cls, DPTComplex):
        return structure(cls, rng)
    if issubclass(cls, DPTNumeric):
        return numbers(cls, rng)
    letters = "ABC xyz 019 .,;!?" if rng.random() < 0.6 else "Grüße é ÿ ° ß" if rng.random() < 0.8 else "21 € ≈ λ"
    length = cls.payload_length
    word = "".join(rng.choice(letters) for _ in range(1 if length == 1 else rng.randint(0, length))).strip()
    return word or "A"


def any_raw(cls: type[DPTBase], rng: random.Random) -> str:
    """Random bits, or a valid payload with one bit turned round."""
    if cls.payload_type is DPTBinary:
        return f"{rng.randrange(1 << cls.payload_length):02x}"
    if cls.dpt_main_number == 4 and rng.random() < 0.05:
        return "00"
    raw = bytearray(rng.randbytes(cls.payload_length))
    if rng.random() < 0.6:
        try:
            raw = bytearray(bytes(cls.to_knx(any_value(cls, rng)).value))
            raw[rng.randrange(len(raw))] ^= rng.choice([0, 1 << rng.randrange(8)])
        except Exception:
            pass
    return raw.hex()


def their_encode(cls: type[DPTBase], value: Any) -> str | None:
    try:
        payload = cls.to_knx(value)
    except Exception:
        return None
    return f"{payload.value:02x}" if isinstance(payload, DPTBinary) else bytes(payload.value).hex()


def their_decode(cls: type[DPTBase], raw: str) -> Any:
    data = bytes.fromhex(raw)
    try:
        return plain(cls.from_knx(DPTBinary(data[0]) if cls.payload_type is DPTBinary else DPTArray(data)))
    except Exception:
        return None


def ours(command: str, lines: list[str]) -> list[tuple[str | None, str]]:
    """What our program says to each line: the result's last part, or None and the message."""
    run = subprocess.run([PROGRAM, command], input="\n".join(lines) + "\n", capture_output=True, text=True, check=False)
    if run.returncode not in (0, 1):
        raise SystemExit(f"{PROGRAM} {command} ended with {run.returncode}: {run.stderr[:500]}")
    refused = {}
    for line in run.stderr.splitlines():
        number, message = line.removeprefix("line ").split(": ", 1)
        refused[int(number)] = message
    results = iter(run.stdout.splitlines())
    return [(None, refused[n]) if n in refused else (next(results), "") for n in range(1, len(lines) + 1)]


def same_number(words: Words, printed: str, theirs: float) -> bool:
    value = float(printed)
    shown = len(printed.partition(".")[2])
    tolerance = 0.5 * 10.0**-shown * 1.000001 if shown or value.is_integer() else 0.0
    if words.digits is not None:
        tolerance = max(10.0 ** (1 - words.digits) * abs(theirs), 1e-45)
    elif words.decimals is not None:
        tolerance += 0.5 * 10.0**-words.decimals
    elif isinstance(theirs, int):
        tolerance = 0
    return abs(value - theirs) <= tolerance


def same_value(cls: type[DPTBase], words: Words, shown: str, theirs: Any) -> bool:
    """Whether our text means their value."""
    if isinstance(theirs, dict):
        if cls.dpt_main_number == 11:
            year, month, day = shown.split("-")
            return {"year": int(year), "month": int(month), "day": int(day)} == theirs
        if cls.dpt_main_number == 10:
            clock, day = shown.split(" ")[-1], shown.split(" ")[0] if " " in shown else "no-day"
            hour, minute, second = map(int, clock.split(":"))
            return (words.name(theirs["day"]), theirs["hour"], theirs["minutes"], theirs["seconds"]) == (day, hour, minute, second)
        pairs = {} if shown == "nothing" else dict(pair.split("=") for pair in shown.split(" "))
        wanted = {words.name(k): words.scalar(words.name(k), v) for k, v in theirs.items()}
        return pairs.keys() == wanted.keys() and all(
            pairs[k] == v if isinstance(v, str) else same_number(words, pairs[k], v) for k, v in wanted.items())
    if cls.dpt_main_number in (4, 16):
        return unquoted(shown) == theirs
    if isinstance(theirs, str):
        return words.name(theirs) == shown
    return same_number(words, shown.split(" ")[0], theirs - words.counted.get("value", 0))


def unquoted(shown: str) -> str:
    if len(shown) < 2 or not (shown[0] == shown[-1] == '"'):
        return shown
    escapes = {"n": "\n", "r": "\r", "t": "\t", "0": "\0"}
    return re.sub(r"\\(?:u\{([0-9a-f]+)\}|(.))",
                  lambda m: chr(int(m[1], 16)) if m[1] else escapes.get(m[2], m[2]), shown[1:-1])


def value16(raw: str) -> float:
    n = int(raw, 16)
    return ((n & 0x7FF) - (2048 if n & 0x8000 else 0)) * 2 ** (n >> 11 & 15) / 100


def is_nearer(cls: type[DPTBase], value: Any, mine: str, theirs: str) -> bool:
    """Whether the number in our payload is nearer to the value than the one in theirs; ties are ours if even."""
    main = cls.dpt_main_number
    if main not in (5, 6, 7, 8, 9, 12, 13, 17, 29):
        return False
    exact = Fraction(str(value))
    if main == 9:
        return abs(Fraction(str(value16(mine))) - exact) <= abs(Fraction(str(value16(theirs))) - exact)
    step = Fraction(str(cls.resolution)) if main in (7, 8) else Fraction(1)
    wanted = round((exact - (1 if main == 17 else 0)) / step)
    bits = 8 * cls.payload_length
    return int(mine, 16) == wanted % 2**bits


def is_beyond_by_part(cls: type[DPTNumeric], value: float) -> bool:
    """Whether a number is beyond an end of the range, and by less than a step."""
    step = Fraction(str(cls.resolution)) if cls.dpt_main_number in (7, 8) else Fraction(1)
    lo, hi, exact = Fraction(str(cls.value_min)) * step, Fraction(str(cls.value_max)) * step, Fraction(str(value))
    return lo - step < exact < lo or hi < exact < hi + step


def main() -> None:
    word = sys.argv[1] if len(sys.argv) > 1 else "1"
    seed = random.SystemRandom().randrange(1 << 32) if word == "fresh" else int(word)
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 500
    print(f"seed {seed}, {count} values a type and direction", flush=True)
    rng = random.Random(seed)
    absent = {entry["dpt"] for entry in NAMES if entry.get("absent")}
    classes = [c for c in DPTBase.dpt_class_tree() if c.has_distinct_dpt_numbers() and c.dpt_sub_number is not None]
    classes = sorted((c for c in classes if c.dpt_number_str() not in absent), key=lambda c: c.dpt_number_str())
    jobs: dict[str, list[tuple[type[DPTBase], Words, Any, str]]] = {"encode": [], "decode": []}
    for cls in classes:
        dpt, words = cls.dpt_number_str(), Words(cls.dpt_number_str())
        for _ in range(count):
            value, raw = any_value(cls, rng), any_raw(cls, rng)
            jobs["encode"].append((cls, words, value, f"{dpt} {text(cls, words, value)}"))
            jobs["decode"].append((cls, words, raw, f"{dpt} {raw}"))
    complaints: list[str] = []
    used = [0] * len(KNOWN)
    for direction, todo in jobs.items():
        for (cls, words, given, line), (result, message) in zip(todo, ours(direction, [job[3] for job in todo]), strict=True):
            dpt = cls.dpt_number_str()
            theirs = their_encode(cls, given) if direction == "encode" else their_decode(cls, given)
            if result is None and theirs is None:
                continue
            shown = None if result is None else result.rsplit(" ", 1)[1] if direction == "encode" else result.split(" ", 2)[2]
            if shown is not None and theirs is not None:
                if direction == "decode" and same_value(cls, words, shown, theirs):
                    continue
                if direction == "encode" and shown == theirs:
                    continue
            for n, entry in enumerate(KNOWN):
                mine = result is None and entry["ours"] in message
                if entry["ours"] == "nearer":
                    mine = shown is not None and theirs is not None and is_nearer(cls, given, shown, theirs)
                if entry["ours"] == "character 0":
                    mine = shown is not None and unquoted(shown) == "\0"
                if entry.get("beyond") == "part":
                    mine = mine and is_beyond_by_part(cls, given)
                if entry["direction"] == direction and entry["dpt"] in ("all", dpt.split(".")[0]) and mine \
                        and (theirs is None) == (entry["theirs"] == "refused"):
                    used[n] += 1
                    break
            else:
                complaints.append(f"{direction} {line}: ours {shown if result else message!r}, theirs {theirs!r}")
    total = sum(map(len, jobs.values()))
    for n, entry in enumerate(KNOWN):
        print(f"{used[n]:6} known: {entry['direction']} {entry['dpt']}, {entry['ours']}: {entry['reason']}")
        if used[n] == 0:
            complaints.append(f"not seen any more: {entry}")
    for complaint in complaints[:40]:
        print(complaint)
    print(f"{len(classes)} types, {total - len(complaints)} passed, {len(complaints)} failed")
    sys.exit(1 if complaints else 0)


if __name__ == "__main__":
    main()
